//! What a part that came on a day is of, was to be had on that day: its profile, or the type of a block.

use jiff::civil::Date;

use super::faults::Faults;
use super::former::GoneSegment;
use super::lifetime::{Absent, Lifetime};
use super::machine::{Axis, Machine, Rail, Segment};
use super::shop::Shop;
use super::spanned::Name;
use crate::finding::{Finding, Grade, names};

/// Tells the parts whose `since` lies on a day on which there was nothing of their kind. Of what is there from the start
/// nobody says on which day it was bought.
pub(super) fn told(machine: &Machine, shop: &Shop, faults: &mut Faults) {
    if !shop.profiles.iter().any(|it| it.since.or(it.until).is_some())
        && !shop.blocks.iter().any(|it| it.since.or(it.until).is_some())
    {
        return;
    }
    let gone: Vec<(&Axis, Vec<GoneSegment>)> =
        machine.rails().map(|(_, axis, rail)| (axis, rail.gone_segments())).collect();
    let went: Vec<(&Name, Date)> = gone.iter().flat_map(|(_, gone)| gone).filter_map(serial_of).collect();
    for (_, axis, rail) in machine.rails() {
        for (number, segment) in rail.segments.iter().enumerate() {
            of_segment(shop, (axis, rail), (number, segment), &went, faults);
        }
    }
    for (axis, gone) in &gone {
        for it in gone {
            // Of the profile that its rail had while it lay there.
            of_segment(shop, (axis, it.rail), (it.number, it.segment), &went, faults);
        }
    }
    for axis in &machine.axes {
        for block in axis.carriage.iter().flat_map(|it| it.blocks.iter().chain(&it.former_blocks)) {
            let Some(kind) = block.kind.as_ref().and_then(|name| shop.block(name)) else { continue };
            let next =
                "correct the day or the name; where there was one left, say in the shop file from when until when";
            let cited = format!("block {}", *kind.name);
            came(&axis.name, block.life, &cited, |day| kind.absent_on(day), next, faults);
        }
    }
}

fn serial_of<'r>(gone: &GoneSegment<'r>) -> Option<(&'r Name, Date)> {
    Some((&gone.segment.serial.as_ref()?.value, gone.until))
}

fn of_segment(
    shop: &Shop,
    (axis, rail): (&Axis, &Rail),
    (number, segment): (usize, &Segment),
    went: &[(&Name, Date)],
    faults: &mut Faults,
) {
    let (Some(profile), Some(since)) = (rail.profile.as_ref().and_then(|name| shop.profile(name)), segment.life.since)
    else {
        return;
    };
    // A bar that was there already need not be sold: somebody had it, or it lay on a rail until then.
    let lay = |serial: &Name| went.iter().any(|(of, until)| *of == serial && *until <= since.date);
    if segment.owned || segment.serial.as_ref().is_some_and(|serial| lay(serial)) {
        return;
    }
    let address = format!("{}.{}.seg{}", *axis.name, *rail.name, number + 1);
    let cited = format!("profile {}", *profile.name);
    let next = "correct the day or the name; where there was one left, say in the shop file from when until when; \
                where it is the bar that lay there before, give both its serial number";
    came(&address, segment.life, &cited, |day| profile.absent_on(day), next, faults);
}

fn came(
    address: &str,
    life: Lifetime,
    cited: &str,
    absent_on: impl Fn(Date) -> Option<Absent>,
    next: &str,
    faults: &mut Faults,
) {
    let Some(since) = life.since.filter(|_| !life.only_changed) else { return };
    let Some(absent) = absent_on(since.date) else { return };
    let label = match absent {
        Absent::NotYet(_) => "the first day",
        Absent::NoMore(_) => "the last day",
    };
    let message = format!("this came on {}, and {cited} was {absent}", *since);
    faults.found.push(
        Finding::new(names::UNKNOWN_REFERENCE, Grade::Nonconformity, address, since.place, message)
            .here("it came")
            .also(absent.end().place, label)
            .next(next),
    );
}
