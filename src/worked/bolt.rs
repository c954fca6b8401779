//! A fastener of the shop file as a bolt that can be computed.

use super::Lacking;
use crate::calc::bolts::{Bolt, Class, Friction, Head, KNOWN_THREADS, Thread};
use crate::ledger::Fastener;
use crate::quantity::{Amount, Torque};

/// The bolt and its friction. Nothing where thread, class, head or friction is not stated, an error where one of them is
/// not in the tables.
pub fn bolt(fastener: &Fastener) -> Result<Option<(Bolt, Friction)>, Lacking> {
    let (Some(thread), Some(class), Some(head), Some((least, most))) =
        (&fastener.thread, &fastener.class, &fastener.head, &fastener.friction)
    else {
        return Ok(None);
    };
    let known_thread = Thread::named(thread).ok_or_else(|| {
        Lacking::new(
            thread.place,
            format!("thread `{}` is not in the tables", **thread),
            format!("known threads: {KNOWN_THREADS}; for another, state most-torque"),
        )
    })?;
    let known_class = Class::named(class).ok_or_else(|| {
        let known: Vec<&str> = Class::ALL.iter().map(|class| class.name()).collect();
        Lacking::new(
            class.place,
            format!("property class `{}` is not in the tables", **class),
            format!("known classes: {}; for another, state most-torque", known.join(", ")),
        )
    })?;
    let known_head = Head::named(head).ok_or_else(|| {
        let known: Vec<&str> = Head::ALL.iter().map(|head| head.name()).collect();
        Lacking::new(head.place, format!("head `{}` is not in the tables", **head), known.join(", "))
    })?;
    let seat = fastener.seat_diameter.map(|seat| seat.value.to_f64());
    let bolt = Bolt::new(known_thread, known_class, known_head, seat).map_err(|why| {
        let place = fastener.seat_diameter.map_or(head.place, |seat| seat.place);
        Lacking::new(place, why.to_string(), "state seat-diameter: the mean diameter of the seat under the head")
    })?;
    let friction = Friction::new(least.value.to_f64(), most.value.to_f64()).map_err(|why| {
        Lacking::new(least.place, why.to_string(), "write friction as its least and its most: 0.12 0.14")
    })?;
    Ok(Some((bolt, friction)))
}

/// The most torque the bolt itself may have, when tightening may use this share of its yield point; rounded down to a
/// thousandth of a N·m.
pub fn allowed(bolt: &Bolt, friction: Friction, share: f64) -> Torque {
    let newton_metres = bolt.allowed_torque(friction).newton_metres * share / crate::calc::bolts::YIELD_SHARE;
    Torque::milli((newton_metres * 1000.0).floor() as i64)
}
