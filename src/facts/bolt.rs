//! A fastener of the shop file as a bolt that can be computed, and what the torques of a support make of it.

use super::FactError;
use crate::calc::bolts::{BoltHead, Class, Friction, KNOWN_CLASSES, KNOWN_THREADS, SeatedBolt, Thread, ValueRange};
use crate::finding::Place;
use crate::ledger::{Body, Fastener, HeldTorque, Ledger, Spanned};
use crate::quantity::{Amount, Ratio, Torque};

/// The bolt and its friction. Nothing where thread, class, head or friction is not stated, an error where one of them is
/// not in the tables.
pub(crate) fn bolt(fastener: &Fastener) -> Result<Option<(SeatedBolt, Friction)>, FactError> {
    let (Some(thread), Some(class), Some(head), Some((least, most))) =
        (&fastener.thread, &fastener.class, &fastener.head, &fastener.friction)
    else {
        return Ok(None);
    };
    let known_thread = Thread::named(thread).ok_or_else(|| {
        FactError::new(
            thread.place,
            format!("thread `{}` is not in the tables", **thread),
            format!("known threads: {KNOWN_THREADS}; for another, state most-torque"),
        )
    })?;
    let known_class = Class::named(class).ok_or_else(|| {
        FactError::new(
            class.place,
            format!("property class `{}` is not in the tables", **class),
            format!("known classes: {KNOWN_CLASSES}; for another, state most-torque"),
        )
    })?;
    let known_head = BoltHead::named(head).ok_or_else(|| {
        let known: Vec<&str> = BoltHead::ALL.iter().map(|head| head.name()).collect();
        FactError::new(head.place, format!("head `{}` is not in the tables", **head), known.join(", "))
    })?;
    let seat = fastener.seat_diameter.map(|seat| seat.value.to_f64());
    let bolt = SeatedBolt::new(known_thread, known_class, known_head, seat).map_err(|why| {
        let place = fastener.seat_diameter.map_or(head.place, |seat| seat.place);
        FactError::new(place, why.to_string(), "state seat-diameter: the mean diameter of the seat under the head")
    })?;
    let friction = Friction::new(least.value.to_f64(), most.value.to_f64()).map_err(|why| {
        FactError::new(least.place, why.to_string(), "write friction as its least and its most: 0.12 0.14")
    })?;
    Ok(Some((bolt, friction)))
}

/// The most torque the bolt itself may have, when tightening may use this share of its yield point; rounded down to a
/// thousandth of a N·m.
pub(crate) fn allowed(bolt: &SeatedBolt, friction: Friction, share: f64) -> Torque {
    let newton_metres = bolt.allowed_torque(friction).newton_metres * share / crate::calc::bolts::YIELD_SHARE;
    Torque::milli((newton_metres * 1000.0).floor() as i64)
}

/// What the bolts of one support hold, over the error of the wrench.
pub(crate) struct TightenedSupport {
    /// The latest record of them.
    pub record: Option<usize>,
    /// The permissible error of its wrench.
    pub error: Option<Spanned<Ratio>>,
    /// Each bolt's torque, read or as the wrench was set, and where it was written.
    pub torques: Vec<(Torque, Place)>,
    /// From the least torque less the error to the greatest with it, in N·m.
    pub between: Option<ValueRange>,
}

/// The torques of a support's bolts.
pub(crate) fn tightened<'h>(ledger: &Ledger, held: impl Iterator<Item = &'h HeldTorque> + Clone) -> TightenedSupport {
    let record = held.clone().map(|held| held.record).max_by_key(|record| ledger.timeline.rank[*record]);
    let fasten = |record: usize| match &ledger.records[record].body {
        Body::Fasten(fasten) => Some(fasten),
        _ => None,
    };
    let wrench = record.and_then(fasten).and_then(|fasten| ledger.shop.wrench(fasten.wrench.as_ref()?));
    let error = wrench.and_then(|wrench| wrench.permissible_error);
    let torque = |held: &HeldTorque| match held.torque {
        Some(torque) => Some((torque, held.place)),
        None => fasten(held.record)?.setting.map(|setting| (setting.value, setting.place)),
    };
    let torques: Vec<(Torque, Place)> = held.filter_map(torque).collect();
    let part = error.map_or(0.0, |error| error.to_f64());
    let all = || torques.iter().map(|(torque, _)| torque.to_f64());
    let (least, most) = (all().fold(f64::MAX, f64::min) * (1.0 - part), all().fold(0.0, f64::max) * (1.0 + part));
    let between = (least <= most).then_some(ValueRange { least: least.max(0.0), most });
    TightenedSupport { record, error, torques, between }
}

/// The preload of torques in N and its share of the proof load in %, least and greatest, rounded outward: neither is
/// ever shown or judged narrower than it is.
pub(crate) struct Preload {
    pub newtons: (i64, i64),
    pub percent: (i64, i64),
}

/// What torques of a bolt make; nothing where they make no sense.
pub(crate) fn preload(bolt: &SeatedBolt, friction: Friction, torques: ValueRange) -> Option<Preload> {
    let outward = |between: ValueRange, scale: f64| {
        ((between.least * scale).floor() as i64, (between.most * scale).ceil() as i64)
    };
    let newtons = outward(bolt.preload_n(torques, friction).ok()?, 1.0);
    let percent = outward(bolt.proof_share(torques, friction).ok()?, 100.0);
    Some(Preload { newtons, percent })
}
