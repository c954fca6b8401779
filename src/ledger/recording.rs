//! Reads records, and finds what they are about in the machine.

use super::address::{Lost, Target};
use super::describe::Faults;
use super::given::{Given, Row, Word, amount, word};
use super::machine::{Machine, Rail, RailId};
use super::record::*;
use super::shop::Shop;
use crate::finding::{Finding, Grade, Place};
use crate::quantity::Length;

/// The names of all record nodes.
pub const KINDS: [&str; 12] = [
    "fasten",
    "inspect",
    "survey",
    "loosen",
    "shim",
    "receive",
    "run-force",
    "attach",
    "void",
    "concession",
    "release",
    "service",
];

/// What records may cite: the machine, and the instruments of the shop unless its text is too damaged to know them.
#[derive(Clone, Copy)]
pub(super) struct Known<'l> {
    pub machine: &'l Machine,
    pub shop: Option<&'l Shop>,
}

pub(super) fn record(row: Row, known: Known, faults: &mut Faults) -> Option<Record> {
    let machine = known.machine;
    let kind = *KINDS.iter().find(|kind| **kind == row.name())?;
    let on_index = match kind {
        "receive" => None,
        "survey" | "void" | "concession" => Some(1),
        _ => Some(0),
    };
    let on = on_index.and_then(|index| row.arg_text(index));
    // What a void or a concession is about may be gone from the description: those look for themselves.
    let target = on.as_ref().and_then(|on| match Target::find(machine, on) {
        Ok(target) => Some(target),
        Err(lost) => {
            let damaged = matches!(lost, Lost::Part { .. }) && rail_of(machine, on).is_some_and(|rail| rail.damaged);
            if !matches!(kind, "void") && !damaged {
                report(lost, on, faults);
            }
            None
        }
    });
    instruments(row, kind, known, faults);
    let lost = on.is_some() && target.is_none();
    let mut reading = Reading { machine, faults, rail: target.and_then(Target::rail), lost, before: 0 };
    let body = match kind {
        "fasten" => Body::Fasten(reading.fasten(row)),
        "inspect" => Body::Inspect(inspect(row)),
        "survey" => Body::Survey(reading.survey(row)),
        "loosen" => Body::Loosen(reading.loosen(row, target)),
        "shim" => Body::Shim(reading.shim(row)),
        "receive" => Body::Receive(receive(row)),
        "run-force" => Body::RunForce(RunForce {
            gauge: row.text("gauge"),
            readings: row.named("at").filter_map(|row| Some((row.arg_amount(0)?, row.arg_amount(1)?))).collect(),
        }),
        "attach" => Body::Attach(Attach { file: row.text("file"), sha256: row.text("sha256") }),
        "void" => Body::Void(Void {
            kind: row.arg_text(0),
            of: row.moment("of"),
            reason: row.text("reason"),
            withdraws: None,
        }),
        "concession" => Body::Concession(concession(row)),
        "release" => {
            Body::Release(Release { seal: row.text("seal"), groups: row.named("sealed").filter_map(sealed).collect() })
        }
        _ => Body::Service(Service { task: row.word("task"), travelled: row.amount("travelled") }),
    };
    if !target.and_then(Target::rail).is_some_and(|id| machine.rail(id).damaged) {
        check_target(kind, on.as_ref(), target, reading.faults);
    }
    Some(Record {
        kind,
        place: row.place(),
        whole: row.at(row.node.span()),
        damaged: reading.lost || reading.faults.damage.hits(row.at(row.node.span())),
        on,
        target,
        date: row.moment("date"),
        by: row.text("by"),
        notes: row.named("note").filter_map(|note| note.arg_text(0)).collect(),
        body,
        void: None,
    })
}

/// The gauge or wrench that a record cites.
fn instruments(row: Row, kind: &str, known: Known, faults: &mut Faults) {
    let Some(shop) = known.shop else { return };
    let address = || match kind {
        "survey" => row.arg_text(1),
        _ => row.arg_text(0),
    };
    let address = || address().map_or(String::new(), |on| on.value);
    match kind {
        "fasten" => {
            if let Some(name) = row.text("wrench").filter(|name| shop.wrench(name).is_none()) {
                faults.unknown(
                    "wrench",
                    name.word(),
                    shop.wrenches.iter().map(|wrench| wrench.name.as_str()),
                    address(),
                );
            }
        }
        "inspect" | "survey" | "run-force" => {
            if let Some(name) = row.text("gauge").filter(|name| shop.gauge(name).is_none()) {
                faults.unknown("gauge", name.word(), shop.gauges.iter().map(|gauge| gauge.name.as_str()), address());
            }
        }
        _ => {}
    }
}

/// The rail that the first two parts of an address name.
fn rail_of<'m>(machine: &'m Machine, address: &str) -> Option<&'m Rail> {
    let mut parts = address.splitn(3, '.');
    let (axis, rail) = (parts.next()?, parts.next()?);
    machine.axes[machine.axis(axis)?].rails.iter().find(|it| *it.name == rail)
}

fn report(lost: Lost, on: &Given<String>, faults: &mut Faults) {
    fn given<'n>(name: &'n str, on: &Given<String>) -> Given<&'n str> {
        Given { value: name, place: on.place }
    }
    match lost {
        Lost::Axis { name, known } => faults.unknown("axis", given(&name, on), known, on.value.clone()),
        Lost::Rail { name, known } => faults.unknown("rail", given(&name, on), known, on.value.clone()),
        Lost::Part { name, known } => {
            faults.unknown("joint, support or segment", given(&name, on), known, on.value.clone())
        }
        Lost::TooLong => faults.unknown("part", on.word(), [], on.value.clone()),
    }
}

/// A record about the wrong sort of thing: an inspection of a rail, a fastening of a joint.
fn check_target(kind: &str, on: Option<&Given<String>>, target: Option<Target>, faults: &mut Faults) {
    let (Some(on), Some(target)) = (on, target) else { return };
    let (right, wants) = match kind {
        "fasten" | "survey" | "shim" => (matches!(target, Target::Rail(_)), "a rail, as `X.port`"),
        "inspect" => (matches!(target, Target::Joint(..)), "a joint, as `X.port.J1`"),
        "loosen" => (!matches!(target, Target::Axis(_)), "a rail, a segment or a support, as `X.port.S4`"),
        "run-force" | "release" | "service" => (matches!(target, Target::Axis(_)), "an axis, as `X`"),
        _ => (true, ""),
    };
    if !right {
        let message = format!("`{kind}` is about {wants}; `{}` is something else", **on);
        faults.found.push(
            Finding::new("wrong-value", Grade::Nonconformity, on.value.clone(), on.place, message)
                .here("names something else")
                .next(format!("write {wants}")),
        );
    }
}

struct Reading<'a> {
    machine: &'a Machine,
    faults: &'a mut Faults,
    rail: Option<RailId>,
    /// Something is named that is not there.
    lost: bool,
    /// The support that was named before: mostly a row is about the next one.
    before: usize,
}

impl<'a> Reading<'a> {
    fn rail(&self) -> Option<&'a Rail> {
        self.rail.map(|id| self.machine.rail(id))
    }

    fn address(&self) -> String {
        self.rail.map_or(String::new(), |id| self.machine.rail_address(id))
    }

    fn support(&mut self, name: Given<&str>) -> Option<usize> {
        let rail = self.rail()?;
        let near = [self.before + 1, self.before.wrapping_sub(1)];
        let near = near.into_iter().find(|at| rail.supports.get(*at).is_some_and(|support| support.name == *name));
        let found = near.filter(|_| rail.distinct()).or_else(|| rail.support(*name));
        self.before = found.unwrap_or(self.before);
        self.lost |= found.is_none();
        if found.is_none() && !rail.damaged && !self.faults.damage.hits(name.place) {
            let address = self.address();
            if rail.joints.iter().any(|joint| joint.name == *name) {
                let joint = *name;
                let message = format!("there is no support under joint `{joint}`");
                let finding = Finding::new("unknown-reference", Grade::Nonconformity, address, name.place, message);
                self.faults.found.push(
                    finding.here("no such support").next(format!("describe it: joint-support {joint} at=… covers=…")),
                );
            } else {
                self.faults.unknown(
                    "support",
                    name,
                    rail.supports.iter().map(|support| support.name.as_str()),
                    address,
                );
            }
        }
        found
    }

    /// The supports of a row of names and ranges, in the order they are named. A range holds every support that
    /// stands between its two ends, both included.
    fn supports(&mut self, row: Row) -> Vec<Given<usize>> {
        let mut all = Vec::new();
        for entry in row.node.args() {
            let Some(word) = word(entry) else { continue };
            let place = row.at(entry.span());
            let mut find = |name| self.support(Given { value: name, place });
            match word.split_once("..") {
                None => all.extend(find(word).map(|value| Given { value, place })),
                Some((first, last)) => {
                    let (Some(first), Some(last)) = (find(first), find(last)) else { continue };
                    let range: Box<dyn Iterator<Item = usize>> =
                        if first <= last { Box::new(first..=last) } else { Box::new((last..=first).rev()) };
                    all.extend(range.map(|value| Given { value, place }));
                }
            }
        }
        all
    }

    /// A bolt number beyond those that the support has.
    fn bolt(&mut self, support: usize, interface: Interface, bolt: usize, place: Place) {
        let Some(rail) = self.rail() else { return };
        let it = &rail.supports[support];
        let Some(count) = it.bolt_count(interface).filter(|count| bolt > *count) else { return };
        if rail.damaged || self.faults.damage.hits(place) {
            return;
        }
        let message = format!("{} has {count} bolts, and no bolt {bolt}", it.name);
        let address = format!("{}.{}", self.address(), it.name);
        let finding = Finding::new("unknown-reference", Grade::Nonconformity, address, place, message)
            .here("no such bolt")
            .also(it.place, format!("{count} bolts here"))
            .next("count the bolts along increasing position; check what the support covers, or its bolts");
        self.faults.found.push(finding);
    }

    fn fasten(&mut self, row: Row) -> Fasten {
        let interface = row.word("interface").map_or(Interface::Rail, |interface| interface.value);
        let mut rows = Vec::with_capacity(row.size_hint());
        let mut missed = Vec::new();
        for row in row.children() {
            match row.name() {
                "clicked" => rows.extend(self.supports(row).into_iter().map(|support| FastenRow {
                    support: support.value,
                    place: support.place,
                    what: Tightened::Clicked,
                })),
                "missed" => {
                    let Some(support) = row.arg_word(0).and_then(|name| self.support(name)) else { continue };
                    if let Some(bolt) = row.count("bolt").filter(|bolt| **bolt > 0) {
                        self.bolt(support, interface, *bolt as usize, bolt.place);
                        missed.push(Given { value: (support, *bolt as usize - 1), place: row.place() });
                    }
                }
                "at" => {
                    let Some(support) = row.arg_word(0).and_then(|name| self.support(name)) else { continue };
                    let torques = row
                        .node
                        .args()
                        .skip(1)
                        .map(|entry| amount(entry).map(|value| Given { value, place: row.at(entry.span()) }));
                    rows.push(FastenRow { support, place: row.place(), what: Tightened::Read(torques.collect()) });
                }
                _ => {}
            }
        }
        missed.sort_by_key(|missed| missed.value);
        Fasten {
            stage: row.word("stage"),
            interface,
            wrench: row.text("wrench"),
            setting: row.amount("setting"),
            temperature: row.amount("temperature"),
            rows,
            missed,
        }
    }

    fn survey(&mut self, row: Row) -> Survey {
        let kind = row.arg_text(0).and_then(|word| Some(Given { value: SurveyKind::of(&word)?, place: word.place }));
        let mut stations = Vec::with_capacity(row.size_hint());
        for row in row.named("at") {
            stations.extend(self.station(row));
        }
        Survey {
            kind,
            stage: row.word("stage"),
            gauge: row.text("gauge"),
            temperature: row.amount("temperature"),
            plus: row.word("plus"),
            stations,
            closure: row.child("closure").and_then(|row| self.station(row)),
        }
    }

    fn station(&mut self, row: Row) -> Option<StationReading> {
        let entry = row.arg(0)?;
        let (support, position, name) = match amount::<Length>(entry) {
            Some(position) => (None, position, position.to_string()),
            None => {
                let name = row.arg_word(0)?;
                let support = self.support(name)?;
                (Some(support), self.rail()?.supports[support].at, name.value.to_string())
            }
        };
        let mut readings = Vec::new();
        let mut blank = false;
        for entry in row.node.args().skip(1) {
            match amount(entry) {
                Some(value) => readings.push(Given { value, place: row.at(entry.span()) }),
                None => blank = true,
            }
        }
        Some(StationReading { place: row.place(), support, position, name, readings, blank })
    }

    fn loosen(&mut self, row: Row, target: Option<Target>) -> Loosen {
        let mut supports = Vec::new();
        let mut rows = row.named("at").peekable();
        if rows.peek().is_some() {
            for row in rows {
                supports.extend(self.supports(row));
            }
        } else if let (Some(target), Some(rail)) = (target, self.rail()) {
            let whole = match target {
                Target::Axis(_) | Target::Rail(_) => 0..rail.supports.len(),
                Target::Segment(_, segment) => {
                    let segment = &rail.segments[segment];
                    rail.supports.partition_point(|support| support.at < segment.from)
                        ..rail.supports.partition_point(|support| support.at <= segment.to)
                }
                Target::Joint(_, joint) => rail.joints[joint].support.map_or(0..0, |support| support..support + 1),
                Target::Support(_, support) => support..support + 1,
            };
            supports.extend(whole.map(|value| Given { value, place: row.place() }));
        }
        let interface = row.text("interface").and_then(|word| Interface::of(&word));
        Loosen { reason: row.text("reason"), interface, supports }
    }

    fn shim(&mut self, row: Row) -> Shim {
        let mut rows = Vec::with_capacity(row.size_hint());
        for row in row.named("at") {
            let Some(support) = row.arg_word(0).and_then(|name| self.support(name)) else { continue };
            let leaves = row.node.args().skip(1).filter_map(|entry| {
                let value: Length = amount(entry)?;
                (value != Length::ZERO).then(|| Given { value, place: row.at(entry.span()) })
            });
            rows.push(ShimRow { support, place: row.place(), leaves: leaves.collect() });
        }
        Shim { rows }
    }
}

fn inspect(row: Row) -> Inspect {
    let carrier = row.child("carrier");
    let light = row.child("light").and_then(|row| {
        let seen = row.arg_text(0)?;
        Some(Given { value: seen.value == "seen", place: row.place() })
    });
    let grooves = row.children().filter_map(|row| {
        let groove = Groove::of(row.name())?;
        let entries: Vec<_> = row.node.args().collect();
        let pairs = entries.chunks_exact(3).filter_map(|three| {
            let length = |entry: crate::syntax::EntryRef| {
                amount::<Length>(entry).map(|value| Given { value, place: row.at(entry.span()) })
            };
            Some((length(three[0])?, length(three[2])?))
        });
        Some(GrooveReading { groove, place: row.place(), pairs: pairs.collect() })
    });
    Inspect {
        gauge: row.text("gauge"),
        temperature: row.amount("temperature"),
        plus: row.word("plus"),
        stylus: row.word("stylus"),
        position: row.length("position"),
        reach: carrier.and_then(|carrier| carrier.length("reach")),
        travel: carrier.and_then(|carrier| carrier.length("travel")),
        light,
        feeler: row.child("feeler").and_then(|row| Some(Given { value: row.arg_amount(0)?.value, place: row.place() })),
        grooves: grooves.collect(),
    }
}

fn receive(row: Row) -> Receive {
    let parts = row.named("part").map(|row| {
        let mark = row.text("mark");
        ReceivedPart {
            place: row.place(),
            serial: row.text("serial"),
            lot: row.text("lot"),
            near_mark: row.text("near-mark").or_else(|| mark.clone()),
            far_mark: row.text("far-mark").or(mark),
            profile: row.text("profile"),
            length: row.length("length"),
            rejected: row.text("state").is_some_and(|state| *state == "rejected"),
        }
    });
    Receive { parts: parts.collect() }
}

fn concession(row: Row) -> Concession {
    let accepts = row.node.prop("accepts").map(|entry| Given {
        value: (entry.raw().to_string(), entry.ty().map(|(unit, _)| unit.to_string())),
        place: row.at(entry.span()),
    });
    Concession { rule: row.arg_text(0), accepts, until: row.moment("until"), reason: row.text("reason") }
}

fn sealed(row: Row) -> Option<SealedGroup> {
    let facts =
        row.named("fact").filter_map(|fact| Some((fact.arg_text(0)?.value, fact.arg_text(1)?.value, fact.place())));
    Some(SealedGroup {
        place: row.place(),
        name: row.arg_text(0)?.value,
        digest: row.text("digest")?.value,
        facts: facts.collect(),
    })
}
