//! Which whole bars of its profiles a machine took: those on rails now, and those that went.

use std::collections::BTreeMap;

use crate::finding::Place;
use crate::ledger::{Ledger, Name, Profile, Rail, RailId};
use crate::quantity::Length;

/// The whole bars of one length that a machine took, where the shop counts them.
pub(crate) struct BarsUsed {
    pub profile: Name,
    pub length: Length,
    /// Where the shop says how many there were.
    pub place: Place,
    /// On rails now.
    pub used: usize,
    /// On rails no more.
    pub scrapped: usize,
}

/// The bars that the machine took, of each profile and length of which the shop counts how many it has.
pub(crate) fn bars_used(ledger: &Ledger) -> Vec<BarsUsed> {
    if !ledger.shop.profiles.iter().flat_map(|profile| &profile.stock).any(|(_, count)| count.is_some()) {
        return Vec::new();
    }
    let whole = whole_bars(ledger);
    let mut all: Vec<BarsUsed> = Vec::new();
    for profile in ledger.shop.profiles.iter() {
        for (bar, _) in profile.stock.iter().filter(|(_, count)| count.is_some()) {
            let (profile, length) = (profile.name.value.clone(), **bar);
            if all.iter().any(|of| (&of.profile, of.length) == (&profile, length)) {
                continue;
            }
            let used = whole.get(&(profile.as_str(), length)).map_or(0, Vec::len);
            let scrapped = scrapped(ledger, &profile, length);
            all.push(BarsUsed { profile, length, place: bar.place, used, scrapped });
        }
    }
    all
}

/// How many segments of a profile and length lay on a rail and went.
pub(crate) fn scrapped(ledger: &Ledger, profile: &str, length: Length) -> usize {
    let of_profile = |rail: &Rail| profile_of(ledger, rail).is_some_and(|it| it.name.as_str() == profile);
    // Of the profile that its rail had while it lay there.
    let gone = ledger.machine.rails().flat_map(|(.., rail)| rail.gone_segments()).filter(|gone| of_profile(gone.rail));
    gone.filter(|gone| !gone.segment.owned && *gone.segment.length == length).count()
}

/// By profile and length: the segments that need a whole bar of it.
pub(crate) fn whole_bars(ledger: &Ledger) -> BTreeMap<(&str, Length), Vec<(RailId, usize)>> {
    let mut whole: BTreeMap<(&str, Length), Vec<(RailId, usize)>> = BTreeMap::new();
    for (id, _, rail) in ledger.machine.rails() {
        let Some(profile) = profile_of(ledger, rail).filter(|profile| !profile.stock.is_empty()) else { continue };
        for (index, segment) in rail.segments.iter().enumerate().filter(|(_, segment)| !segment.owned) {
            if profile.stock.iter().any(|(bar, _)| bar.value == *segment.length) {
                whole.entry((profile.name.as_str(), *segment.length)).or_default().push((id, index));
            }
        }
    }
    whole
}

fn profile_of<'l>(ledger: &'l Ledger, rail: &Rail) -> Option<&'l Profile> {
    ledger.shop.profile(rail.profile.as_ref()?)
}
