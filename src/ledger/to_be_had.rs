//! What a part that came on a day is of, was to be had on that day: its profile, or the type of a block.

use super::faults::Faults;
use super::lifetime::{Absent, Lifetime};
use super::machine::{Axis, Machine, Rail, Segment};
use super::shop::Shop;
use crate::finding::{Finding, Grade, names};

/// Tells the parts whose `since` lies on a day on which there was nothing of their kind. Of what is there from the start
/// nobody says on which day it was bought.
pub(super) fn told(machine: &Machine, shop: &Shop, faults: &mut Faults) {
    for axis in &machine.axes {
        for rail in &axis.rails {
            let Some(profile) = rail.profile.as_ref().and_then(|name| shop.profile(name)) else { continue };
            let gone = rail.gone_segments();
            let gone = gone.iter().map(|it| (it.number, it.segment));
            // A bar that was there already need not be sold.
            let bought = |(_, it): &(usize, &Segment)| !it.owned;
            for (number, segment) in rail.segments.iter().enumerate().chain(gone).filter(bought) {
                let address = address(axis, rail, number);
                let cited = format!("profile {}", *profile.name);
                came(&address, segment.life, &cited, |day| profile.absent_on(day), faults);
            }
        }
        for block in axis.carriage.iter().flat_map(|it| it.blocks.iter().chain(&it.former_blocks)) {
            let Some(kind) = block.kind.as_ref().and_then(|name| shop.block(name)) else { continue };
            let cited = format!("block {}", *kind.name);
            came(&axis.name, block.life, &cited, |day| kind.absent_on(day), faults);
        }
    }
}

fn address(axis: &Axis, rail: &Rail, number: usize) -> String {
    format!("{}.{}.seg{}", *axis.name, *rail.name, number + 1)
}

fn came(
    address: &str,
    life: Lifetime,
    cited: &str,
    absent_on: impl Fn(jiff::civil::Date) -> Option<Absent>,
    faults: &mut Faults,
) {
    let Some(since) = life.since else { return };
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
            .next("correct the day or the name; where there was one left, say in the shop file from when until when"),
    );
}
