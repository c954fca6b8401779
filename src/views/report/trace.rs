//! What rests on a name: the day an instrument turns out wrong or a lot bad, every record and part that it touches.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

use super::evidence::{counting, of_release, standing};
use super::gather::signed;
use super::instruments::instrument;
use super::model::Signed;
use super::serial;
use crate::finding::{Locator, counted};
use crate::judging::lint::Judged;
use crate::ledger::seal::{about, release_of};
use crate::ledger::{Body, Ledger, Name, Record, Spanned, look};
use crate::quantity::{Amount, Length};
use crate::rules::Case;

/// What is looked for.
#[derive(Clone, Debug)]
pub struct Tracing {
    pub(crate) name: String,
    /// Records before this day are left out.
    pub since: Option<Date>,
    /// What names that look like it have in common.
    look: String,
    /// The name as a thickness of shim leaf, where it is a number.
    leaf: Option<Length>,
}

impl Tracing {
    /// Everything that rests on what has this name, from a day on.
    pub fn new(name: impl Into<String>, since: Option<Date>) -> Tracing {
        let name = name.into();
        let leaf = Length::read(name.trim_end_matches("mm").trim_end(), None).ok().filter(|leaf| *leaf > Length::ZERO);
        Tracing { leaf, look: look(&name), name, since }
    }

    /// A name as it is shown, where it is the one looked for or cannot be told from it by eye, which is then said.
    fn is(&self, name: &str) -> Option<String> {
        match name == self.name {
            true => Some(name.to_owned()),
            false => (look(name) == self.look).then(|| format!("{name}, which only looks like it")),
        }
    }
}

/// What rests on a name in one ledger.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Traced {
    pub(crate) path: String,
    pub(crate) title: Option<String>,
    /// The released axes.
    #[serde(rename = "released_axes")]
    pub released: Vec<String>,
    /// Those of them whose release rests on one of the records.
    #[serde(rename = "resting_axes")]
    pub resting: Vec<String>,
    pub(crate) parts: Vec<TracedPart>,
    pub(crate) records: Vec<TracedRecord>,
    /// The name is described or used here at all, whatever the day.
    pub known: bool,
    /// Every name that could have been asked for.
    #[serde(skip)]
    pub names: BTreeSet<String>,
}

/// A part of the machine.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(rename = "Part")]
pub(crate) struct TracedPart {
    pub address: String,
    pub why: String,
}

/// What a record is to the machine, the gravest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub(crate) enum TracedRank {
    #[serde(rename = "a release rests on it")]
    Released,
    #[serde(rename = "it counts now")]
    Counts,
    #[serde(rename = "history")]
    History,
}

impl TracedRank {
    pub(crate) const ALL: [TracedRank; 3] = [TracedRank::Released, TracedRank::Counts, TracedRank::History];
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct TracedRecord {
    pub kind: &'static str,
    pub on: Option<String>,
    #[serde(flatten)]
    pub signed: Signed,
    pub why: String,
    /// `a release rests on it`, `it counts now` or `history`: the first that is true.
    #[serde(rename = "rests")]
    pub rank: TracedRank,
    /// `counts now`, `under the release`, `replaced since`, `undone since`, `corrected since`, `withdrawn` or `does not
    /// count`.
    #[serde(rename = "evidence")]
    pub standing: &'static str,
    /// Whether the release of its axis rests on it; null where the axis is not released.
    pub release_rests_on_it: Option<bool>,
    /// Its number that lies nearest a limit, and how near.
    pub margin: Option<String>,
    pub file: String,
    pub line: u32,
}

/// In the order that matters: machines under a release that rests on the name, others that are released, and the rest.
pub(crate) fn gravest_first(machines: &mut [Traced]) {
    machines.sort_by_key(|machine| (machine.resting.is_empty(), machine.released.is_empty()));
}

/// Finds what rests on a name in one ledger.
pub fn trace(judged: &Judged, tracing: &Tracing) -> Traced {
    let ledger = &judged.ledger;
    // What counts, and how near a limit it lies, hangs on no day.
    let case = Case::new(ledger, Date::MAX);
    let serials = serial::places(ledger, |name| tracing.is(name));
    let mut names = BTreeSet::new();
    let parts = parts(ledger, tracing, &mut names);
    let locator = Locator::new(&ledger.sources);
    let counting = counting(ledger);
    let axes = 0..ledger.machine.axes.len();
    let releases: Vec<usize> = axes.filter(|axis| release_of(ledger, *axis).is_some()).collect();
    let evidence: OnceCell<Vec<BTreeSet<usize>>> = OnceCell::new();
    let mut resting = BTreeSet::new();
    let mut known = !parts.is_empty() || described(ledger, tracing, &mut names);
    let mut records = Vec::new();
    for (index, record) in in_order(ledger) {
        let mut reasons = reasons(record, tracing, &mut names);
        reasons.extend(serials.iter().filter_map(|place| serial::reason(ledger, record, place)));
        known |= !reasons.is_empty();
        let early = tracing.since.is_some_and(|since| record.date.is_some_and(|date| date.date < since));
        if reasons.is_empty() || early {
            continue;
        }
        let at = locator.locate(record.place);
        let mut rests = None;
        for (at, axis) in releases.iter().enumerate().filter(|(_, axis)| about(ledger, **axis, index)) {
            let evidence = evidence.get_or_init(|| releases.iter().map(|axis| of_release(ledger, *axis)).collect());
            let here = evidence[at].contains(&index);
            rests = Some(here || rests == Some(true));
            if here {
                resting.insert(*axis);
            }
        }
        let standing = match standing(&case, &counting, index) {
            // What a standing release rests on was not replaced for it, whatever was read later.
            "replaced since" if rests == Some(true) => "under the release",
            standing => standing,
        };
        records.push(TracedRecord {
            rank: match (rests, standing) {
                (Some(true), _) => TracedRank::Released,
                (_, "counts now") => TracedRank::Counts,
                _ => TracedRank::History,
            },
            margin: case.nearest_limit(index).map(|number| number.words()),
            kind: record.kind,
            on: record.on.as_ref().map(|on| on.to_string()),
            signed: signed(record),
            why: reasons.join("; "),
            standing,
            release_rests_on_it: rests,
            file: at.file.to_string(),
            line: at.line,
        });
    }
    let name = |axis: usize| ledger.machine.axes[axis].name.to_string();
    Traced {
        path: judged.path.0.clone(),
        title: ledger.machine.title.as_ref().or(ledger.machine.name.as_ref()).map(|title| title.to_string()),
        released: releases.into_iter().map(name).collect(),
        resting: resting.into_iter().map(name).collect(),
        parts,
        records,
        known,
        names,
    }
}

/// All records in the order of the timeline, withdrawn ones after the others.
fn in_order(ledger: &Ledger) -> impl Iterator<Item = (usize, &Record)> {
    let withdrawn = (0..ledger.records.len()).filter(|index| !ledger.records[*index].counts());
    ledger.timeline.order.iter().copied().chain(withdrawn).map(|index| (index, &ledger.records[index]))
}

/// Why a record rests on a name.
fn reasons(record: &Record, tracing: &Tracing, names: &mut BTreeSet<String>) -> Vec<String> {
    let mut reasons = Vec::new();
    let mut is = |name: &str| {
        names.insert(name.to_string());
        tracing.is(name)
    };
    if let Some((wrench, name)) = instrument(record).and_then(|(wrench, name)| Some((wrench, is(name)?))) {
        reasons.push(format!("made with {} {name}", if wrench { "wrench" } else { "gauge" }));
    }
    if let Some(by) = record.by.as_ref().and_then(|by| is(by)) {
        reasons.push(format!("by {by}"));
    }
    match &record.body {
        Body::Shim(shim) => {
            let rows = shim.rows.iter().filter(|row| row.leaves.iter().any(|leaf| Some(leaf.value) == tracing.leaf));
            let count = rows.count();
            if let Some(leaf) = tracing.leaf.filter(|_| count > 0) {
                reasons.push(format!(
                    "a leaf of {leaf} under {count} {}",
                    if count == 1 { "support" } else { "supports" }
                ));
            }
        }
        Body::Receive(receive) => {
            for part in &receive.parts {
                let serial = part.serial.as_ref().and_then(|serial| is(serial));
                let lot = part.lot.as_ref().and_then(|lot| is(lot));
                match (serial, lot, &part.serial) {
                    (Some(serial), ..) => reasons.push(format!("received serial {serial}")),
                    (None, Some(lot), Some(serial)) => {
                        reasons.push(format!("received serial {} of lot {lot}", serial.value));
                    }
                    (None, Some(lot), None) => reasons.push(format!("received a part of lot {lot}")),
                    (None, None, _) => {}
                }
            }
        }
        _ => {}
    }
    reasons
}

/// The serial number and lot of a segment, where one of them is the name.
fn named(
    (serial, lot): (&Option<Spanned<Name>>, &Option<Spanned<Name>>),
    is: &mut impl FnMut(&str) -> Option<String>,
) -> Option<Vec<String>> {
    let mut found = false;
    let mut all = Vec::new();
    for (what, name) in [("serial", serial), ("lot", lot)] {
        let Some(name) = name else { continue };
        let shown = is(name);
        found |= shown.is_some();
        all.push(format!("{what} {}", shown.unwrap_or_else(|| name.to_string())));
    }
    found.then_some(all)
}

/// The parts of the machine that are of a name: its segments, and what is screwed on or rides with it.
fn parts(ledger: &Ledger, tracing: &Tracing, names: &mut BTreeSet<String>) -> Vec<TracedPart> {
    let mut parts = Vec::new();
    let mut is = |name: &str| {
        names.insert(name.to_string());
        tracing.is(name)
    };
    for it in &ledger.machine.parts {
        let Some(went) = it.went else { continue };
        let Some(named) = named((&it.serial, &it.lot), &mut is) else { continue };
        let until = it.life.until.map_or(went, |until| until.date.min(went));
        let whole = if until == went { " with its rail" } else { "" };
        let why = format!("segment, {}; it went{whole} on {until}", named.join(", "));
        parts.push(TracedPart { address: it.on.to_string(), why });
    }
    for (id, axis, rail) in ledger.machine.rails() {
        for (segment, it) in rail.segments.iter().enumerate() {
            let Some(named) = named((&it.serial, &it.lot), &mut is) else { continue };
            let mut what: Vec<String> = Vec::new();
            what.extend(it.life.since.as_ref().map(|since| format!("there since {}", **since)));
            what.extend(named);
            let meets = rail.joints.iter().filter(|joint| joint.before == segment || joint.before + 1 == segment);
            let meets: Vec<&str> = meets.map(|joint| joint.name.as_str()).collect();
            let meets = if meets.is_empty() { String::new() } else { format!("; meets {}", meets.join(" and ")) };
            parts.push(TracedPart {
                address: ledger.machine.segment_address(id, segment),
                why: format!("segment from {} to {}, {}{meets}", it.from, it.to, what.join(", ")),
            });
        }
        for gone in rail.gone_segments() {
            let it = gone.segment;
            let Some(named) = named((&it.serial, &it.lot), &mut is) else { continue };
            let named = named.join(", ");
            parts.push(TracedPart {
                address: ledger.machine.segment_address(id, gone.number),
                why: format!("segment from {} to {}, {named}; it went on {}", it.from, it.to, gone.until),
            });
        }
        let cited = [("profile", &rail.profile), ("rail bolts", &rail.rail_bolt), ("base bolts", &rail.base_bolt)];
        for (what, name) in cited {
            if let Some(name) = name.as_ref().and_then(|name| is(name)) {
                let address = ledger.machine.rail_address(id);
                parts.push(TracedPart { address, why: format!("{what} {name}") });
            }
        }
        for support in 0..rail.supports.len() {
            let Some((_, row)) = ledger.shims(id, support, None) else { continue };
            let count = row.leaves.iter().filter(|leaf| Some(leaf.value) == tracing.leaf).count();
            if let Some(leaf) = tracing.leaf.filter(|_| count > 0) {
                let address = ledger.machine.support_address(id, support);
                parts.push(TracedPart { address, why: format!("{count} × a leaf of {leaf} lies here") });
            }
        }
        let Some(carriage) = axis.carriage.as_ref().filter(|_| id.rail == 0) else { continue };
        let mut blocks: BTreeMap<String, usize> = BTreeMap::new();
        for kind in carriage.blocks.iter().filter_map(|block| is(block.kind.as_ref()?)) {
            *blocks.entry(kind).or_default() += 1;
        }
        for block in &carriage.former_blocks {
            let (Some(kind), Some(until)) = (block.kind.as_ref().and_then(|kind| is(kind)), block.life.until) else {
                continue;
            };
            let why = format!("block of type {kind} at {}; it went on {}", *block.at, *until);
            parts.push(TracedPart { address: axis.name.to_string(), why });
        }
        for (kind, count) in blocks {
            let why = format!("{} of type {kind}", counted(count, "block", "blocks"));
            parts.push(TracedPart { address: axis.name.to_string(), why });
        }
    }
    parts
}

/// Whether the shop describes something of that name.
fn described(ledger: &Ledger, tracing: &Tracing, names: &mut BTreeSet<String>) -> bool {
    let shop = &ledger.shop;
    names.extend(shop.gauges.iter().map(|gauge| gauge.name.to_string()));
    names.extend(shop.wrenches.iter().map(|wrench| wrench.name.to_string()));
    names.extend(shop.profiles.iter().map(|profile| profile.name.to_string()));
    names.extend(shop.fasteners.iter().map(|fastener| fastener.name.to_string()));
    names.extend(shop.blocks.iter().map(|block| block.name.to_string()));
    let leaves = shop.shim_stock.iter().flat_map(|stock| &stock.leaves);
    names.extend(leaves.map(|leaf| leaf.thickness.number()));
    let name = tracing.name.as_str();
    names.iter().any(|name| tracing.is(name).is_some())
        || Length::read(name, None).is_ok_and(|leaf| names.contains(&leaf.number()))
}
