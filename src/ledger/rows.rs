//! The rows of records: supports by their names, and what was done and read there.

use std::cell::Cell;

use jiff::civil::Date;
use smallvec::SmallVec;

use super::address::Target;
use super::faults::Faults;
use super::former::RailThen;
use super::joint_end::{JointEnd, JointSide};
use super::machine::{Interface, Machine, Rail, RailId};
use super::named::NameKey;
use super::proposed::joint_support_line;
use super::record::*;
use super::references::Scope;
use super::spanned::{Keyword, Name, SourcedEntry, SourcedNode, Spanned};
use super::totals::CountedPart;
use crate::finding::names;
use crate::finding::{Finding, Grade, Place, counted};
use crate::language::schema::Refers;
use crate::quantity::Length;

/// One record while its rows are read.
pub(super) struct RowReader<'a> {
    machine: &'a Machine,
    pub faults: &'a mut Faults,
    rail: Option<(RailId, &'a Rail)>,
    /// The rail as it stood on the day of the record.
    stood: Option<RailThen<'a>>,
    /// What is recorded rests on the rail over a support too.
    with_rail: bool,
    /// Something is named that is not there.
    pub lost: bool,
    /// Something is named that went since.
    went: bool,
    /// The support that was named before: mostly a row is about the next one.
    before: usize,
    pub notes: Vec<Spanned<Name>>,
}

/// An end in a joint that a row is about.
struct EndThen {
    end: JointEnd,
    /// As it is called today, where it is there still.
    name: Name,
    /// The support under it.
    support: Option<usize>,
    is_there: bool,
}

/// The support that a row is about.
enum RowSupport {
    /// It is there now.
    Now(usize),
    /// It was moved or went since: its name, and where it stood.
    Then(Name, Length),
}

impl<'a> RowReader<'a> {
    pub(crate) fn new(
        machine: &'a Machine,
        faults: &'a mut Faults,
        rail: Option<(RailId, &'a Rail)>,
        day: Option<Date>,
        lost: bool,
    ) -> RowReader<'a> {
        let stood = rail.map(|(_, rail)| RailThen::on(rail, day));
        RowReader { machine, faults, rail, stood, with_rail: true, lost, went: false, before: 0, notes: Vec::new() }
    }

    fn rail(&self) -> Option<&'a Rail> {
        self.rail.map(|(_, rail)| rail)
    }

    fn address(&self) -> String {
        self.rail.map_or(String::new(), |(id, _)| self.machine.rail_address(id))
    }

    /// Takes a note; any other row is none.
    pub(crate) fn note(&mut self, row: SourcedNode) {
        if row.name() == "note" {
            self.notes.extend(row.arg_text(0));
        }
    }

    /// The support that is there now, of the one that a name means; nothing where it is history.
    fn support(&mut self, name: Spanned<&str>) -> Option<usize> {
        let named = self.named(name)?;
        let now = self.stood?.support_now(named, self.with_rail);
        self.went |= now.is_none();
        now
    }

    /// The support that a name means, there or not; nothing where one stood that nobody described.
    fn support_then(&mut self, name: Spanned<&str>) -> Option<RowSupport> {
        let named = self.named(name)?;
        let stood = self.stood?;
        let now = stood.support_now(named, self.with_rail);
        self.went |= now.is_none();
        now.map(RowSupport::Now).or_else(|| {
            let it = &stood.rail().supports[named];
            (!it.life.stand_in).then(|| RowSupport::Then(it.name.clone(), it.at))
        })
    }

    /// The support that a name means on the rail as it stood.
    fn named(&mut self, name: Spanned<&str>) -> Option<usize> {
        let rail = self.stood?.rail();
        let key = NameKey::new(*name);
        let is = |at: &usize| rail.has_at(*at, key, *name);
        let (next, last) = (self.before + 1, self.before.wrapping_sub(1));
        let near = Some(next).filter(is).or_else(|| Some(last).filter(is)).filter(|_| rail.distinct());
        let found = near.or_else(|| rail.support(*name));
        match found {
            Some(found) => self.before = found,
            None if self.stood.is_some_and(|stood| stood.went_that_day(*name)) => self.went = true,
            None => self.no_support(rail, name),
        }
        found
    }

    /// Says that a rail has no support of that name.
    fn no_support(&mut self, rail: &Rail, name: Spanned<&str>) {
        self.lost = true;
        if rail.damaged || self.faults.damage.hits(name.place) {
            return;
        }
        let address = self.address();
        if rail.joints.iter().any(|joint| joint.name == *name) {
            let joint = *name;
            let message = format!("there is no support under joint `{joint}`");
            let finding = Finding::new(names::UNKNOWN_REFERENCE, Grade::Nonconformity, address, name.place, message);
            self.faults.found.push(
                finding.here("no such support").next(format!("describe it: {}", joint_support_line(joint, None))),
            );
        } else {
            let scope = Scope { rail: Some(rail), ..Scope::default() };
            let told = self.faults.found.len();
            self.faults.unknown(Refers::Support, name, scope, address);
            for finding in &mut self.faults.found[told..] {
                finding.next +=
                    "; where it was taken away since, keep its row with `until=`, or give its `omit` a `since=`";
            }
        }
    }

    /// The support that a row begins with.
    fn first_support<'d>(&mut self, args: &mut impl Iterator<Item = SourcedEntry<'d>>) -> Option<usize> {
        self.support(args.next()?.text()?)
    }

    /// Takes the supports of a row of names and ranges, in the order they are named. A range holds every support that
    /// stands between its two ends, both included.
    fn supports<T>(&mut self, row: SourcedNode, all: &mut Vec<T>, of: impl Fn(Spanned<usize>) -> T) {
        for cell in row.args() {
            let Some(Spanned { value: word, place }) = cell.text() else { continue };
            let (stood, with_rail) = (self.stood, self.with_rail);
            let went = Cell::new(false);
            let now = |named: usize| {
                let now = stood?.support_now(named, with_rail);
                went.set(went.get() || now.is_none());
                now
            };
            let of = |value| Some(of(Spanned { value: now(value)?, place }));
            let mut find = |name| self.named(Spanned { value: name, place });
            match ends(word) {
                None => {
                    let found = find(word).and_then(of);
                    if !self.faults.take(CountedPart::Rows, 1, place) {
                        return;
                    }
                    all.extend(found);
                }
                Some((first, last)) => {
                    let (Some(first), Some(last)) = (find(first), find(last)) else { continue };
                    // Counted before it is written out: a few letters may name very many.
                    if !self.faults.take(CountedPart::Rows, first.abs_diff(last) + 1, place) {
                        return;
                    }
                    if first <= last {
                        all.extend((first..=last).filter_map(of));
                    } else {
                        all.extend((last..=first).rev().filter_map(of));
                    }
                }
            }
            self.went |= went.get();
        }
    }

    /// A bolt number beyond those that the support has.
    fn bolt(&mut self, support: usize, interface: Interface, bolt: usize, place: Place) {
        let Some(rail) = self.rail() else { return };
        let it = &rail.supports[support];
        let Some(count) = it.bolt_count(interface).filter(|count| bolt > *count) else { return };
        if rail.damaged || self.faults.damage.hits(place) {
            return;
        }
        let message = format!("{} has {}, and no bolt {bolt}", it.name, counted(count, "bolt", "bolts"));
        let address = format!("{}.{}", self.address(), it.name);
        let finding = Finding::new(names::UNKNOWN_REFERENCE, Grade::Nonconformity, address, place, message)
            .here("no such bolt")
            .also(it.place, format!("{count} bolts here"))
            .next("count the bolts along increasing position; check what the support covers, or its bolts");
        self.faults.found.push(finding);
    }

    pub(crate) fn fasten(&mut self, row: SourcedNode) -> Fasten {
        let mut fasten = Fasten {
            stage: None,
            interface: Interface::Rail,
            wrench: None,
            setting: None,
            temperature: None,
            rows: Vec::with_capacity(row.size_hint()),
            torques: Vec::new(),
            missed: Vec::new(),
            turned: Vec::new(),
            former: Vec::new(),
            went: false,
        };
        for (name, cell) in row.props() {
            match name {
                "stage" => fasten.stage = cell.word(),
                "interface" => {
                    fasten.interface = cell.word().map_or(Interface::Rail, |interface| interface.value);
                    self.with_rail = fasten.interface == Interface::Rail;
                }
                "wrench" => fasten.wrench = cell.text(),
                "setting" => fasten.setting = cell.amount(),
                "temperature" => fasten.temperature = cell.amount(),
                _ => {}
            }
        }
        for row in row.children() {
            let mut args = row.args();
            if row.name() != "clicked" && !self.faults.take(CountedPart::Rows, 1, row.place()) {
                break;
            }
            match row.name() {
                "clicked" => self.supports(row, &mut fasten.rows, |support| {
                    let what = TorqueReading::Clicked;
                    FastenRow { support: support.value, place: support.place, what }
                }),
                word @ ("missed" | "turned") => {
                    let Some(support) = self.first_support(&mut args) else { continue };
                    if let Some(bolt) = row.count("bolt").filter(|bolt| **bolt > 0) {
                        self.bolt(support, fasten.interface, *bolt as usize, bolt.place);
                        let it = Spanned { value: (support, *bolt as usize - 1), place: row.place() };
                        if word == "missed" { fasten.missed.push(it) } else { fasten.turned.push(it) }
                    }
                }
                "at" => {
                    let first = args.next().and_then(SourcedEntry::text);
                    let support = match first.and_then(|name| self.support_then(name)) {
                        None => continue,
                        Some(RowSupport::Now(support)) => support,
                        Some(RowSupport::Then(name, position)) => {
                            let values = args.map(SourcedEntry::amount).collect();
                            fasten.former.push(FormerRow { place: row.place(), name, position, values });
                            continue;
                        }
                    };
                    if fasten.torques.is_empty() {
                        // Most supports have two bolts.
                        fasten.torques.reserve(2 * fasten.rows.capacity());
                    }
                    let first = fasten.torques.len() as u32;
                    for cell in args {
                        fasten.torques.push(cell.amount());
                    }
                    let what = TorqueReading::Read { first, last: fasten.torques.len() as u32 };
                    fasten.rows.push(FastenRow { support, place: row.place(), what });
                }
                _ => self.note(row),
            }
        }
        fasten.went = self.went;
        fasten.missed.sort_by_key(|missed| missed.value);
        fasten.turned.sort_by_key(|turned| turned.value);
        fasten
    }

    pub(crate) fn survey(&mut self, row: SourcedNode) -> Survey {
        let mut survey = Survey {
            kind: row
                .arg_text::<&str>(0)
                .and_then(|word| Some(Spanned { value: SurveyKind::from_word(*word)?, place: word.place })),
            stage: None,
            gauge: None,
            temperature: None,
            plus: None,
            angles: None,
            stations: Vec::with_capacity(row.size_hint()),
            former: Vec::new(),
            closure: None,
            former_closure: None,
        };
        for (name, cell) in row.props() {
            match name {
                "stage" => survey.stage = cell.word(),
                "gauge" => survey.gauge = cell.text(),
                "temperature" => survey.temperature = cell.amount(),
                "plus" => survey.plus = cell.word(),
                _ => {}
            }
        }
        let mut closure = None;
        survey.angles = row.child("angles").and_then(|row| self.angle_steps(row)).map(Box::new);
        for row in row.children() {
            if !self.faults.take(CountedPart::Rows, 1, row.place()) {
                break;
            }
            match row.name() {
                "angles" => {}
                "at" => match self.station(row) {
                    Some((station, true)) => survey.stations.push(station),
                    Some((station, false)) => survey.former.push(station),
                    None => {}
                },
                "closure" => closure = closure.or(Some(row)),
                _ => self.note(row),
            }
        }
        match closure.and_then(|row| self.station(row)) {
            Some((station, true)) => survey.closure = Some(station),
            Some((station, false)) => survey.former_closure = Some(station),
            None => {}
        }
        self.one_sort(&survey, row);
        self.chain(&survey);
        survey
    }

    fn angle_steps(&mut self, row: SourcedNode) -> Option<AngleSteps> {
        let base = row.size("base")?;
        let (from, from_stands) = self.station_at(row, row.prop("from")?)?;
        Some(AngleSteps { place: row.place(), from, from_stands, base })
    }

    /// Tells readings of another sort than the survey has: an angle where lengths are read, or a length where angles are; and
    /// angles that are added up to no straightness.
    fn one_sort(&mut self, survey: &Survey, node: SourcedNode) {
        let rows = || survey.stations.iter().chain(&survey.former).chain(&survey.closure).chain(&survey.former_closure);
        let said = node.child("angles");
        let (places, what, here, next): (Vec<Place>, _, _, _) = match said {
            Some(_) => (
                rows().flat_map(|row| &row.readings).map(|it| it.place).collect(),
                "a length, and this survey reads angles",
                "a plain number is a length in mm",
                "write the angle with its unit, as (um.m-1)12, (mm.m-1)0.012, (arcsec)2.5 or (urad)12; where lengths were read, leave `angles` out",
            ),
            None => (
                rows().flat_map(|row| &row.angles).map(|it| it.place).collect(),
                "an angle, and this survey reads lengths",
                "an angle",
                "say from where the steps went and how long each is: angles from=… base=…; where a length was read, write it in mm",
            ),
        };
        if let Some(first) = places.iter().min().copied() {
            let more = match places.len() {
                1 => String::new(),
                2 => ", and so is 1 more".to_string(),
                n => format!(", and so are {} more", n - 1),
            };
            self.tell(first, format!("this is {what}{more}"), here, next);
        }
        let only = survey.kind.filter(|kind| kind.value != SurveyKind::Straightness);
        if let (Some(kind), Some(row)) = (only, said) {
            let message = format!("a {} is not added up from angles: only straightness is", kind.value.word());
            self.tell(row.place(), message, "angles", "survey straightness, or read how far each station lies");
        }
    }

    /// Tells where the steps of a survey of angles do not follow each other, each as long as the base.
    fn chain(&mut self, survey: &Survey) {
        let Some(steps) = &survey.angles else { return };
        let mut rows: Vec<&StationReading> = survey.stations.iter().chain(&survey.former).collect();
        rows.sort_by_key(|row| row.position);
        rows.dedup_by_key(|row| row.position);
        let base = *steps.base;
        let mut before = &steps.from;
        if let Some(row) = std::iter::once(before).chain(rows.iter().copied()).find(|row| row.end.is_some()) {
            let joint = row.joint_named().unwrap_or_default();
            self.tell(
                row.place,
                format!("{} is one end in a joint, and an angle does not tell the two apart", row.name),
                "an end in a joint",
                &format!("write {joint}; how far its ends stand off each other, the groove steps tell"),
            );
            return;
        }
        for row in rows {
            let step = row.position - before.position;
            if step == base {
                before = row;
                continue;
            }
            let (message, next) = match step.nm() {
                ..=0 => (
                    format!("{} does not lie behind {}, where the steps begin", row.name, before.name),
                    "let `from` be where the first step begins, and each row where a step ends, along increasing positions"
                        .to_string(),
                ),
                nm if nm % base.nm() == 0 => (
                    format!("the step from {} to {} is {step}, {} times the base of {base}", before.name, row.name, nm / base.nm()),
                    format!("read every step between {} and {} too, or state the base that was used", before.name, row.name),
                ),
                _ => (
                    format!("the step from {} to {} is {step}, and the base is {base}", before.name, row.name),
                    "write the positions at which the feet stood, or state the base that was used".to_string(),
                ),
            };
            self.tell(row.place, message, "the step ends here", &next);
            return;
        }
    }

    /// What is wrongly written in a record about the rail.
    fn tell(&mut self, place: Place, message: String, here: &str, next: &str) {
        self.lost = true;
        if self.faults.damage.hits(place) {
            return;
        }
        let finding = Finding::new(names::WRONG_VALUE, Grade::Nonconformity, self.address(), place, message);
        self.faults.found.push(finding.here(here).next(next));
    }

    pub(crate) fn running_force(&mut self, row: SourcedNode) -> RunningForce {
        let rows = row.named("at").filter_map(|row| {
            let mut args = row.args();
            let position = args.next()?.amount()?;
            let forces: SmallVec<_> = args.filter_map(|cell| cell.amount()).collect();
            (!forces.is_empty()).then(|| ForceRow { place: row.place(), position, forces })
        });
        RunningForce { gauge: row.text("gauge"), rows: rows.collect() }
    }

    /// The joint and the side that a name means; nothing where it means something else.
    fn names_end<'n>(&self, name: &'n str) -> Option<(&'n str, JointSide)> {
        let (of, side) = JointSide::split(name)?;
        let rail = self.stood?.rail();
        let like_a_joint = of.strip_prefix('J').is_some_and(|number| number.bytes().all(|byte| byte.is_ascii_digit()));
        (rail.support(name).is_none() && (like_a_joint || rail.support(of).is_some())).then_some((of, side))
    }

    /// An end of a joint of that name, on the rail as it stood.
    fn joint_end(&mut self, name: Spanned<&str>, of: &str, side: JointSide) -> Option<EndThen> {
        let stood = self.stood?;
        let Some(joint) = stood.rail().joints.iter().position(|joint| joint.name == of) else {
            if stood.joint_went_that_day(of) {
                self.went = true;
            } else {
                self.no_joint_end(stood.rail(), name, of);
            }
            return None;
        };
        let now = stood.joint_now(joint);
        self.went |= now.is_none();
        let joint_now = now.zip(self.rail()).map(|(now, rail)| &rail.joints[now]);
        Some(EndThen {
            end: JointEnd { at: stood.rail().joints[joint].position, side },
            name: joint_now.map_or_else(|| Name::from(*name), |joint| side.named(&joint.name)),
            support: joint_now.and_then(|joint| joint.support),
            is_there: now.is_some(),
        })
    }

    /// Says that a rail has no end of that name.
    fn no_joint_end(&mut self, rail: &Rail, name: Spanned<&str>, of: &str) {
        self.lost = true;
        if rail.damaged || self.faults.damage.hits(name.place) {
            return;
        }
        let address = self.address();
        if rail.support(of).is_none() {
            let ends: Vec<Name> = rail.joint_ends().collect();
            self.faults.unknown_among(Refers::Joint, name, || ends.iter().map(Name::as_str).collect(), address);
            return;
        }
        let message =
            format!("`{}` is no station: a support has no sides, only a joint has an end on either side", *name);
        let finding = Finding::new(names::UNKNOWN_REFERENCE, Grade::Nonconformity, address, name.place, message);
        self.faults.found.push(finding.here("no such station").next(format!("write `{of}`, the support")));
    }

    /// A station where it lay on the day of the record, and whether what lay there is there still.
    fn station(&mut self, row: SourcedNode) -> Option<(StationReading, bool)> {
        let mut args = row.args();
        let (mut station, is_there) = self.station_at(row, args.next()?)?;
        for cell in args {
            match (cell.amount(), cell.angle()) {
                (Some(reading), _) => station.readings.push(reading),
                (None, Some(angle)) => station.angles.push(angle),
                (None, None) => station.blank = true,
            }
        }
        Some((station, is_there))
    }

    /// The station that a row names, before anything was read there.
    fn station_at(&mut self, row: SourcedNode, first: SourcedEntry) -> Option<(StationReading, bool)> {
        let at = |support, position, name, end| StationReading {
            place: row.place(),
            support,
            position,
            end,
            name,
            readings: SmallVec::new(),
            angles: SmallVec::new(),
            blank: false,
        };
        let (station, is_there) = match first.amount::<Length>() {
            Some(position) => {
                let is_kept = self.stood.is_none_or(|stood| stood.is_kept(*position));
                (at(None, *position, Name::from(position.to_string()), None), is_kept)
            }
            None => {
                let name = first.text()?;
                if let Some((joint, side)) = self.names_end(*name) {
                    let EndThen { end, name, support, is_there } = self.joint_end(name, joint, side)?;
                    (at(support, end.position(), name, Some(end)), is_there)
                } else {
                    match self.support_then(name)? {
                        RowSupport::Now(support) => {
                            let it = &self.rail()?.supports[support];
                            (at(Some(support), it.at, it.name.clone(), None), true)
                        }
                        RowSupport::Then(name, position) => (at(None, position, name, None), false),
                    }
                }
            }
        };
        Some((station, is_there))
    }

    pub(crate) fn loosen(&mut self, row: SourcedNode, target: Option<Target>) -> Loosen {
        let mut supports = Vec::new();
        self.with_rail = false;
        let mut rows = row.named("at").peekable();
        if rows.peek().is_some() {
            for row in rows {
                self.supports(row, &mut supports, |support| support);
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
            if self.faults.take(CountedPart::Rows, whole.len(), row.place()) {
                supports.extend(whole.map(|value| Spanned { value, place: row.place() }));
            }
        }
        let interface = row.word("interface").map(|interface| interface.value);
        Loosen { reason: row.text("reason"), interface, supports }
    }

    pub(crate) fn inspect(&mut self, row: SourcedNode) -> Inspect {
        let mut inspect = Inspect::default();
        for (name, cell) in row.props() {
            match name {
                "gauge" => inspect.gauge = cell.text(),
                "temperature" => inspect.temperature = cell.amount(),
                "stage" => inspect.stage = cell.word(),
                "plus" => inspect.plus = cell.word(),
                "stylus" => inspect.stylus = cell.word(),
                "position" => inspect.position = cell.amount(),
                _ => {}
            }
        }
        // Of each the first counts.
        let (mut carrier, mut light, mut feeler) = (None, None, None);
        for row in row.children() {
            match row.name() {
                "carrier" => carrier = carrier.or(Some(row)),
                "light" => light = light.or(Some(row)),
                "feeler" => feeler = feeler.or(Some(row)),
                name => match Groove::from_word(name) {
                    Some(groove) => inspect.grooves.push(groove_reading(groove, row)),
                    None => self.note(row),
                },
            }
        }
        inspect.reach = carrier.and_then(|carrier| carrier.length("reach"));
        inspect.travel = carrier.and_then(|carrier| carrier.length("travel"));
        inspect.light =
            light.and_then(|row| Some(Spanned { value: *row.arg_text::<&str>(0)? == "seen", place: row.place() }));
        inspect.feeler = feeler.and_then(|row| Some(Spanned { value: row.arg_amount(0)?.value, place: row.place() }));
        inspect
    }

    pub(crate) fn shim(&mut self, row: SourcedNode) -> Shim {
        let mut shim = Shim { rows: Vec::with_capacity(row.size_hint()), former: Vec::new() };
        // Shims lie where they lay, whichever rail lies upon them.
        self.with_rail = false;
        for row in row.named("at") {
            if !self.faults.take(CountedPart::Rows, 1, row.place()) {
                break;
            }
            let mut args = row.args();
            let first = args.next().and_then(SourcedEntry::text);
            let Some(support) = first.and_then(|name| self.support_then(name)) else { continue };
            let leaves = args.filter_map(SourcedEntry::amount).filter(|leaf: &Spanned<Length>| **leaf != Length::ZERO);
            let place = row.place();
            match support {
                RowSupport::Now(support) => shim.rows.push(ShimRow { support, place, leaves: leaves.collect() }),
                RowSupport::Then(name, position) => {
                    let values = leaves.map(Some).collect();
                    shim.former.push(FormerRow { place, name, position, values });
                }
            }
        }
        shim
    }
}

/// The two ends of a range, as `S1..S9`.
fn ends(word: &str) -> Option<(&str, &str)> {
    let dots = word.as_bytes().windows(2).position(|two| two == b"..")?;
    Some((&word[..dots], &word[dots + 2..]))
}

fn groove_reading(groove: Groove, row: SourcedNode) -> GrooveReading {
    let mut pairs = SmallVec::new();
    let mut args = row.args();
    while let (Some(before), Some(_), Some(after)) = (args.next(), args.next(), args.next()) {
        pairs.extend(before.amount().zip(after.amount()));
    }
    GrooveReading { groove, place: row.place(), pairs }
}
