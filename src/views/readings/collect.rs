//! From a judged ledger to its readings, record by record in the order of the files.

use std::collections::{BTreeMap, HashMap};
use std::ops::RangeFrom;
use std::rc::Rc;

use foldhash::fast::FixedState;
use jiff::civil::Date;
use smallvec::SmallVec;
use smol_str::{SmolStr, ToSmolStr};

use super::place::ReadingPlace;
use super::reading::Reading;
use super::row::{Common, LedgerCells, LimitCells, ReadQuantity, ReadingRow, RecordCells};
use super::verdict::{FindingsByPlace, ReadingVerdict};
use crate::calc::step::MeanStep;
use crate::facts::proof::{self, GaugeCertainty};
use crate::facts::steps::{JointState, is_slanted, joint_state};
use crate::facts::survey::SurveyReadings;
use crate::facts::survey_doubt;
use crate::facts::survey_state::CurrentSurveys;
use crate::facts::torque_window::window;
use crate::finding::{Limit, Locator, Place};
use crate::judging::lint::Judged;
use crate::language::rulebook::{LimitName, Rulebook};
use crate::ledger::{
    Body, Fasten, FastenRow, FormerRow, HeldTorque, Inspect, Instrument, Interface, Keyword, Ledger, Name, RailId,
    Record, RepeatedQuantity, Shim, Spanned, Stage, StationReading, Survey, SurveyKind, Target, TorqueReading,
};
use crate::quantity::{Amount, Angle, Force, Length, Moment, Ratio, Torque};
use crate::rules::Case;
use crate::rules::ReadingKind;

/// All readings of a ledger.
pub fn collect(judged: &Judged) -> Vec<Reading> {
    let mut all = Vec::new();
    each(judged, |row| all.push(row.into()));
    all
}

/// Hands on the readings of a ledger one by one: a fleet has millions, and nobody keeps them.
pub(crate) fn each(judged: &Judged, mut take: impl FnMut(&ReadingRow)) {
    let ledger = &judged.ledger;
    let machine = ledger.machine.name.as_ref().map(|name| name.value.clone()).unwrap_or_default();
    let mut numbers = 0..;
    let mut taker = ReadingCollector {
        ledger,
        // Limits do not depend on the day.
        case: Case::new(ledger, jiff::civil::Date::MIN),
        cells: common(&mut numbers, LedgerCells { ledger: judged.path.to_smolstr(), machine }),
        no_limit: common(&mut numbers, LimitCells::default()),
        files: ledger.sources.iter().map(|(_, file)| common(&mut numbers, file.path.to_smolstr())).collect(),
        findings: FindingsByPlace::new(&judged.findings),
        locator: Locator::new(&ledger.sources),
        hand_on: &mut take,
        numbers,
        held: BTreeMap::new(),
        joints: BTreeMap::new(),
        alike: BTreeMap::new(),
        places: BTreeMap::new(),
        torques: HashMap::default(),
        repeats: HashMap::default(),
    };
    for (index, record) in ledger.records.iter().enumerate() {
        taker.record(index, record);
    }
}

/// What many rows share, told from all else that they share.
fn common<T>(numbers: &mut RangeFrom<u32>, of: T) -> Common<T> {
    Common { number: numbers.next().unwrap_or(u32::MAX), of }
}

/// What each bolt of one support holds.
type SharedBolts = Rc<[Option<HeldTorque>]>;

struct ReadingCollector<'l, 't> {
    ledger: &'l Ledger,
    /// By which limits each axis is judged.
    case: Case<'l>,
    cells: Common<LedgerCells>,
    no_limit: Common<LimitCells>,
    /// The paths of the sources.
    files: Vec<Common<SmolStr>>,
    findings: FindingsByPlace<'l>,
    locator: Locator<'l>,
    hand_on: &'t mut dyn FnMut(&ReadingRow),
    /// What rows share is numbered by these.
    numbers: RangeFrom<u32>,
    /// What bolts hold now and how joints stand now: asked for by every record of them, worked out once.
    held: BTreeMap<(RailId, usize, u8, u8), SharedBolts>,
    joints: BTreeMap<(RailId, usize), Rc<JointState<'l>>>,
    /// How many records of one kind, stage, address and moment there were so far.
    alike: BTreeMap<(&'static str, &'static str, &'l str, Option<Moment>), u32>,
    /// The supports of rails that never changed.
    places: BTreeMap<(RailId, usize), Rc<Common<ReadingPlace>>>,
    /// Torques of wrenches that may be off by a share: few of them, each read of many bolts.
    torques: HashMap<(Torque, Option<Ratio>), SpeltTorque, FixedState>,
    /// How often each thing was read in the record at hand so far.
    repeats: HashMap<(SmolStr, ReadQuantity), u32, FixedState>,
}

/// What all readings of a record have in common.
struct ReadingHead<'l> {
    record: &'l Record,
    cells: Common<RecordCells>,
    /// The share of a torque that its wrench may be off by.
    deviation: Option<Ratio>,
    /// It is proof of what it says, as long as nothing later took its place.
    counts: bool,
}

/// A torque as it is printed, and how far it may be off.
#[derive(Clone)]
struct SpeltTorque {
    value: SmolStr,
    off: Option<SmolStr>,
}

/// The number that was read, and how it is written.
struct ReadValue<'a> {
    value: Option<SmolStr>,
    unit: &'static str,
    written: &'a str,
    /// How far it may be off.
    uncertainty: Option<&'a str>,
    place: Place,
    /// Where a finding about it may stand, beside its own place.
    rows: &'a [Place],
}

/// What the rules say, before findings at the reading are looked at.
struct Judgement<'a> {
    /// The kind of reading that it is.
    kind: Option<ReadingKind>,
    /// What the ledger's history says; nothing where the reading counts.
    history: Option<ReadingVerdict>,
    /// Without a finding.
    otherwise: ReadingVerdict,
    /// Nothing where none judges it by itself.
    limit: Option<&'a Common<LimitCells>>,
}

impl LimitCells {
    /// In words alone.
    fn words(limit: impl Into<Limit>) -> LimitCells {
        let limit: Limit = limit.into();
        LimitCells { text: limit.text.into(), source: limit.source.into(), ..LimitCells::default() }
    }

    fn most<A: Amount>(most: A, limit: impl Into<Limit>) -> LimitCells {
        LimitCells { most: Some(most.number().into()), ..LimitCells::words(limit) }
    }
}

/// A share of a torque, rounded up; nothing beyond all reason.
fn share_of(torque: Torque, share: Ratio) -> Option<Torque> {
    const WHOLE: i128 = 1_000_000_000;
    let product = torque.0.checked_abs()?.checked_mul(i128::from(share.0))?;
    Some(Torque(product.div_euclid(WHOLE) + i128::from(product.rem_euclid(WHOLE) > 0)))
}

/// What light is held against: none, or the gap that it may show through.
fn light_limit(limits: &Rulebook) -> Option<LimitCells> {
    limits.most::<Length>(LimitName::LightGap).map(|(most, limit)| match most <= Length::ZERO {
        true => LimitCells::words(Limit { text: "none".into(), ..limit.words() }),
        false => LimitCells::words(limit),
    })
}

const UNJUDGED: Judgement = Judgement { kind: None, history: None, otherwise: ReadingVerdict::Unjudged, limit: None };

impl<'l> ReadingCollector<'l, '_> {
    fn record(&mut self, index: usize, record: &'l Record) {
        let head = &self.head(index, record);
        match &record.body {
            Body::Fasten(fasten) => {
                self.temperature(head, fasten.temperature);
                self.fasten(head, index, fasten);
            }
            Body::Inspect(inspect) => {
                self.temperature(head, inspect.temperature);
                self.inspect(head, index, inspect);
            }
            Body::Survey(survey) => {
                self.temperature(head, survey.temperature);
                self.survey(head, index, survey);
            }
            Body::Shim(shim) => self.shim(head, index, shim),
            Body::RunningForce(force) => {
                let axis = ReadingPlace::of_record(&self.ledger.machine, record).axis;
                let limit = axis.and_then(|axis| self.case.limits(axis).most::<Force>(LimitName::RunningForce));
                let limit = limit.map(|(most, limit)| common(&mut self.numbers, LimitCells::most(most, limit)));
                // It is called as its limit is.
                let what = ReadQuantity::plain(LimitName::RunningForce.entry().name);
                let otherwise = if limit.is_some() { ReadingVerdict::Conforming } else { ReadingVerdict::Unjudged };
                for row in &force.rows {
                    let place = ReadingPlace::of_record(&self.ledger.machine, record).at(row.position.value);
                    let place = self.common(place);
                    for read in &row.forces {
                        let kind = Some(ReadingKind::RunningForce);
                        let judged = Judgement { kind, history: None, otherwise, limit: limit.as_ref() };
                        let rows = [row.place, row.forces[0].place];
                        self.amount(head, &place, what, *read, &rows, judged);
                    }
                }
            }
            Body::Receive(receive) => {
                for part in &receive.parts {
                    let word =
                        |name: &Option<Spanned<Name>>| name.as_ref().map(|it| it.value.clone()).unwrap_or_default();
                    let place = self.common(ReadingPlace::of_part(word(&part.serial), word(&part.lot)));
                    if let Some(length) = part.length {
                        self.amount(head, &place, ReadQuantity::plain("length"), length, &[part.place], UNJUDGED);
                    }
                }
            }
            Body::Service(service) => {
                if let Some(travelled) = service.travelled {
                    let place = self.place_of(record);
                    self.amount(head, &place, ReadQuantity::plain("travelled"), travelled, &[], UNJUDGED);
                }
            }
            _ => {}
        }
    }

    fn head(&mut self, index: usize, record: &'l Record) -> ReadingHead<'l> {
        let stage = match &record.body {
            Body::Fasten(fasten) => fasten.stage.map_or("", |stage| stage.word()),
            Body::Inspect(inspect) => inspect.stage.map_or("", |stage| stage.word()),
            Body::Survey(survey) => survey.stage.map_or("", |stage| stage.word()),
            Body::Service(service) => service.task.map_or("", |task| task.word()),
            _ => "",
        };
        let on = record.address();
        let moment = record.written.or(record.date).map(|date| date.value);
        let alike = self.alike.entry((record.kind, stage, on, moment)).or_insert(0);
        *alike += 1;
        let moment = moment.map(|moment| moment.to_string()).unwrap_or_default();
        let kind = format!("{} {stage}", record.kind);
        let id = format!("{}|{}|{on}|{moment}|{alike}", self.cells.of.ledger, kind.trim_end());
        let read = record.date.map(|date| date.value);
        let time = read.filter(|read| read.minute.is_some()).map(|read| SmolStr::from(&read.to_string()[11..]));
        let instrument = Instrument::for_record(self.ledger, record).map(|(instrument, _)| instrument);
        let calibration = instrument.and_then(|instrument| instrument.calibration_on(read?.date));
        self.repeats.clear();
        let cells = RecordCells {
            id,
            record: record.kind,
            stage,
            day: read.map(|read| read.date.to_smolstr()).unwrap_or_default(),
            time: time.unwrap_or_default(),
            by: record.by.as_ref().map(|by| by.value.clone()).unwrap_or_default(),
            instrument: record.instrument().map(|name| name.to_smolstr()).unwrap_or_default(),
            calibration: calibration.map(|held| held.on.date.to_smolstr()).unwrap_or_default(),
        };
        ReadingHead {
            record,
            cells: common(&mut self.numbers, cells),
            deviation: match instrument {
                Some(Instrument::Wrench(wrench)) => wrench.permissible_error.map(|share| share.value),
                _ => None,
            },
            counts: record.counts() && !record.is_aligning() && self.case.counts(index),
        }
    }

    /// What a record is about.
    fn place_of(&mut self, record: &Record) -> Common<ReadingPlace> {
        self.common(ReadingPlace::of_record(&self.ledger.machine, record))
    }

    fn at_support(&mut self, id: RailId, support: usize, day: Option<Date>) -> Rc<Common<ReadingPlace>> {
        let machine = &self.ledger.machine;
        let mut new = || Rc::new(common(&mut self.numbers, ReadingPlace::of_support(machine, id, support, day)));
        if machine.rail(id).has_changed() {
            return new();
        }
        Rc::clone(self.places.entry((id, support)).or_insert_with(new))
    }

    fn common<T>(&mut self, of: T) -> Common<T> {
        common(&mut self.numbers, of)
    }

    fn temperature(&mut self, head: &ReadingHead<'l>, temperature: Option<Spanned<crate::quantity::Temperature>>) {
        if let Some(temperature) = temperature {
            let judged = Judgement { kind: Some(ReadingKind::SurveyTemperature), ..UNJUDGED };
            let place = self.place_of(head.record);
            self.amount(head, &place, ReadQuantity::plain("temperature"), temperature, &[], judged);
        }
    }

    fn shim(&mut self, head: &ReadingHead<'l>, index: usize, shim: &Shim) {
        let Some(id) = head.record.rail() else { return };
        for row in &shim.former {
            let place = self.at_former(head, id, row);
            for leaf in row.values.iter().flatten() {
                let (kind, history) = (Some(ReadingKind::Shims), Some(ReadingVerdict::Stale));
                let judged = Judgement { kind, history, ..UNJUDGED };
                self.amount(head, &place, ReadQuantity::plain("shim-leaf"), *leaf, &[row.place], judged);
            }
        }
        for row in &shim.rows {
            let place = self.at_support(id, row.support, day(head.record));
            let now = self.ledger.shims(id, row.support, None).is_some_and(|(event, _)| event.record == index);
            for leaf in &row.leaves {
                let judged = Judgement {
                    kind: Some(ReadingKind::Shims),
                    history: (!now).then_some(ReadingVerdict::Replaced),
                    ..UNJUDGED
                };
                self.amount(head, &place, ReadQuantity::plain("shim-leaf"), *leaf, &[row.place], judged);
            }
        }
    }

    fn fasten(&mut self, head: &ReadingHead<'l>, index: usize, fasten: &Fasten) {
        let (Some(id), Some(stage)) = (head.record.rail(), fasten.stage) else { return };
        let kind = Some(if *stage == Stage::Full { ReadingKind::FullTorque } else { ReadingKind::SnugTorque });
        let limit = window(self.case.ledger, self.case.limits(id.axis), id, fasten.interface, *stage);
        // Without a window nothing says that a torque conforms.
        let otherwise = if limit.is_some() { ReadingVerdict::Conforming } else { ReadingVerdict::Unjudged };
        let limit = limit.map(|(least, most, limit)| {
            let least = Some(least.number().into());
            common(&mut self.numbers, LimitCells { least, ..LimitCells::most(most, limit) })
        });
        let interface = if fasten.interface == Interface::Base { "base" } else { "rail" };
        for row in &fasten.rows {
            let held = self.held(id, row.support, fasten.interface, *stage);
            let place = self.at_support(id, row.support, day(head.record));
            let history = |now: Option<&Option<HeldTorque>>| match now {
                Some(Some(now)) if now.record == index => None,
                Some(Some(_)) => Some(ReadingVerdict::Replaced),
                Some(None) => Some(ReadingVerdict::Stale),
                // More torques than bolts: its own finding says so.
                None => Some(ReadingVerdict::Unjudged),
            };
            let judged = |history| Judgement { kind, history, otherwise, limit: limit.as_ref() };
            let read = |quantity, bolt: usize| ReadQuantity {
                quantity,
                interface,
                bolt: u32::try_from(bolt + 1).ok(),
                ..ReadQuantity::default()
            };
            match &row.what {
                TorqueReading::Read { .. } => {
                    for (i, torque) in fasten.torques_of(row).iter().enumerate() {
                        if let Some(torque) = torque {
                            let judged = judged(history(held.get(i)));
                            self.torque(head, &place, read("torque", i), *torque, torque.place, &[], judged);
                        }
                    }
                }
                TorqueReading::Clicked => {
                    for i in 0..held.len() {
                        if fasten.missed.binary_search_by_key(&(row.support, i), |missed| missed.value).is_ok() {
                            continue;
                        }
                        let judged = judged(history(held.get(i)));
                        self.clicked(head, &place, read("setting", i), row, fasten.setting, judged);
                    }
                }
            }
        }
        for row in &fasten.former {
            let place = self.at_former(head, id, row);
            for (i, torque) in row.values.iter().enumerate() {
                let Some(torque) = torque else { continue };
                let bolt = u32::try_from(i + 1).ok();
                let what = ReadQuantity { interface, bolt, ..ReadQuantity::plain("torque") };
                let judged = Judgement { kind, history: Some(ReadingVerdict::Stale), otherwise, limit: limit.as_ref() };
                self.torque(head, &place, what, *torque, torque.place, &[], judged);
            }
        }
    }

    fn at_former<A>(&mut self, head: &ReadingHead<'l>, id: RailId, row: &FormerRow<A>) -> Common<ReadingPlace> {
        let then = (&row.name, row.position);
        self.common(ReadingPlace::of_support_then(&self.ledger.machine, id, then, day(head.record)))
    }

    fn held(&mut self, id: RailId, support: usize, interface: Interface, stage: Stage) -> SharedBolts {
        let ledger = self.ledger;
        let held = self.held.entry((id, support, interface as u8, stage as u8));
        Rc::clone(held.or_insert_with(|| ledger.held(id, support, interface, stage).into_vec().into()))
    }

    fn clicked(
        &mut self,
        head: &ReadingHead<'l>,
        place: &Common<ReadingPlace>,
        what: ReadQuantity,
        row: &FastenRow,
        setting: Option<Spanned<Torque>>,
        mut judged: Judgement,
    ) {
        match setting {
            Some(setting) => self.torque(head, place, what, setting, row.place, &[setting.place], judged),
            None => {
                judged.otherwise = ReadingVerdict::Undecided;
                self.word(head, place, what, "", row.place, &[head.record.place], judged);
            }
        }
    }

    /// A torque, which its wrench may be off by a share of.
    #[expect(clippy::too_many_arguments, reason = "what was read, where it stands, and what is said of it")]
    fn torque(
        &mut self,
        head: &ReadingHead<'l>,
        place: &Common<ReadingPlace>,
        what: ReadQuantity,
        torque: Spanned<Torque>,
        at: Place,
        rows: &[Place],
        judged: Judgement,
    ) {
        let spelt = self.torques.entry((torque.value, head.deviation)).or_insert_with(|| SpeltTorque {
            value: torque.number().into(),
            off: head.deviation.and_then(|share| share_of(torque.value, share)).map(|off| off.number().into()),
        });
        let SpeltTorque { value, off } = spelt.clone();
        let value = ReadValue {
            value: Some(value),
            unit: Torque::DIMENSION.plain_unit(),
            written: self.written(torque.place),
            uncertainty: off.as_deref(),
            place: at,
            rows,
        };
        self.take(head, place, what, value, judged);
    }

    fn inspect(&mut self, head: &ReadingHead<'l>, index: usize, inspect: &Inspect) {
        let Some(Target::Joint(id, joint)) = head.record.target else { return };
        let place = self.place_of(head.record);
        let ledger = self.ledger;
        let state = self.joints.entry((id, joint)).or_insert_with(|| Rc::new(joint_state(ledger, id, joint)));
        let state = Rc::clone(state);
        // What was read while the rail was set is shown, and nothing is judged by it.
        let aligning = head.record.is_aligning();
        let judged_as = |kind: ReadingKind| (!aligning).then_some(kind);
        let otherwise = if aligning { ReadingVerdict::Unjudged } else { ReadingVerdict::Conforming };
        let undone = self.ledger.joint_undone(id, joint, index).is_some_and(|undone| undone.distance < 2);
        let history = |latest: Option<usize>| match latest {
            _ if aligning => None,
            Some(latest) if latest != index => Some(ReadingVerdict::Replaced),
            _ if undone => Some(ReadingVerdict::Stale),
            _ => None,
        };
        let limit = self.case.limits(id.axis).most::<Length>(LimitName::JointStep);
        let limit = limit.map(|(most, limit)| common(&mut self.numbers, LimitCells::most(most, limit)));
        let gauge = inspect.gauge.as_ref().and_then(|name| ledger.shop.gauge(name));
        let sure = gauge.and_then(|gauge| GaugeCertainty::new(ledger, gauge, RepeatedQuantity::Step));
        let off = sure.map(|sure| Length(sure.of_step(1).expanded()).number());
        let slanted = is_slanted(inspect);
        for row in &inspect.grooves {
            let latest = state.grooves[row.groove as usize].map(|latest| latest.record);
            let judged =
                |limit| Judgement { kind: judged_as(ReadingKind::Step), history: history(latest), otherwise, limit };
            let groove = row.groove.word();
            let read = |side| ReadQuantity { quantity: "groove", groove, side, ..ReadQuantity::default() };
            for (before, after) in &row.pairs {
                self.amount(head, &place, read("before"), *before, &[row.place], judged(None));
                self.amount(head, &place, read("after"), *after, &[row.place], judged(None));
                let difference = after.value - before.value;
                let size = MeanStep { sum_nm: difference.nm(), count: 1, slanted }.magnitude_nm();
                let step = Length(if difference < Length::ZERO { -size } else { size });
                let value = ReadValue {
                    value: Some(step.number().into()),
                    unit: Length::DIMENSION.plain_unit(),
                    written: "",
                    uncertainty: off.as_deref(),
                    place: row.place,
                    rows: &[],
                };
                let what = ReadQuantity { quantity: "step", groove, ..ReadQuantity::default() };
                self.take(head, &place, what, value, judged(limit.as_ref()));
            }
        }
        if let Some(light) = inspect.light {
            let limit = light_limit(self.case.limits(id.axis)).map(|limit| common(&mut self.numbers, limit));
            let judged = Judgement {
                kind: judged_as(ReadingKind::Light),
                history: history(state.light.map(|latest| latest.record)),
                otherwise,
                limit: limit.as_ref(),
            };
            let seen = if *light { "seen" } else { "none" };
            self.word(head, &place, ReadQuantity::plain("light"), seen, light.place, &[], judged);
        }
        if let Some(feeler) = inspect.feeler {
            let judged = Judgement { kind: judged_as(ReadingKind::Light), history: history(None), ..UNJUDGED };
            self.amount(head, &place, ReadQuantity::plain("feeler"), feeler, &[], judged);
        }
    }

    fn survey(&mut self, head: &ReadingHead<'l>, index: usize, survey: &Survey) {
        let (Some(id), Some(kind)) = (head.record.rail(), survey.kind) else { return };
        let read = match *kind {
            SurveyKind::Gap => ReadingKind::Gap,
            SurveyKind::Straightness => ReadingKind::Straightness,
            SurveyKind::Height => ReadingKind::Height,
        };
        let what = kind.word();
        let planes = CurrentSurveys::planes(self.ledger, id, *kind);
        let replaced = !planes.iter().any(|plane| plane.records(plane.now()).contains(&index));
        // Of surveys that are tied to each other, a later one may have read the same station again, or both ends of a mean.
        let mut states = planes.iter().filter_map(|plane| plane.tied(plane.latest()?));
        let tied = states.find(|state| state.records().contains(&index));
        let own = tied.and_then(|_| SurveyReadings::for_record(self.ledger, index));
        let holds = |readings: &SurveyReadings, row: &StationReading| {
            readings.at(row.position).is_some_and(|station| station.record == index)
        };
        let read_again = |row: &StationReading| {
            let both = own.as_ref().zip(tied);
            both.is_some_and(|(own, tied)| holds(own, row) && !holds(tied, row))
        };
        // What was read while the rail was set is shown, and nothing is judged by it.
        let aligning = head.record.is_aligning();
        let judged_as = |kind: ReadingKind| (!aligning).then_some(kind);
        let ledger = self.ledger;
        let history = |row: &StationReading| {
            if aligning {
                None
            } else if replaced || read_again(row) {
                Some(ReadingVerdict::Replaced)
            } else {
                ledger.station_undone(id, row.position, index).map(|_| ReadingVerdict::Stale)
            }
        };
        let off = match &survey.angles {
            Some(_) => {
                let gauge = survey.gauge.as_ref().and_then(|name| ledger.shop.gauge(name));
                let off = gauge.and_then(|gauge| proof::of_one_angle(ledger, gauge));
                off.map(|off| Angle(off.expanded()).number())
            }
            None => {
                let off = survey_doubt::of_one_station(ledger, self.case.limits(id.axis), survey);
                off.map(|off| Length(off.expanded()).number())
            }
        };
        let what = if survey.angles.is_some() { "slope" } else { what };
        let closure = match *kind {
            _ if survey.angles.is_some() => "slope-closure",
            SurveyKind::Gap => "gap-closure",
            SurveyKind::Straightness => "straightness-closure",
            SurveyKind::Height => "height-closure",
        };
        let stations = survey.stations.iter().map(|row| (row, what, read, true));
        let former = survey.former.iter().map(|row| (row, what, read, false));
        let closures = survey.closure.iter().map(|row| (row, closure, ReadingKind::Closure, true));
        let closures =
            closures.chain(survey.former_closure.iter().map(|row| (row, closure, ReadingKind::Closure, false)));
        for (row, quantity, kind, is_there) in stations.chain(former).chain(closures) {
            let place = self.common(ReadingPlace::of_station(&ledger.machine, id, row, day(head.record)));
            let lengths = row.readings.iter().map(|it| (it.number(), Length::DIMENSION, it.place));
            let angles = row.angles.iter().map(|it| (it.number(), Angle::DIMENSION, it.place));
            for (number, dimension, place_of) in lengths.chain(angles) {
                let history = if is_there { history(row) } else { Some(ReadingVerdict::Stale) };
                let judged = Judgement { kind: judged_as(kind), history, ..UNJUDGED };
                let value = ReadValue {
                    value: Some(number.into()),
                    unit: dimension.plain_unit(),
                    written: self.written(place_of),
                    uncertainty: off.as_deref(),
                    place: place_of,
                    rows: &[row.place],
                };
                self.take(head, &place, ReadQuantity::plain(quantity), value, judged);
            }
        }
    }

    /// A value as it stands in the text; a property stands there with its name.
    fn written(&self, place: Place) -> &'l str {
        let text = self.ledger.sources.text(place);
        memchr::memchr(b'=', text.as_bytes()).map_or(text, |at| &text[at + 1..])
    }

    fn amount<A: Amount>(
        &mut self,
        head: &ReadingHead,
        place: &Common<ReadingPlace>,
        what: ReadQuantity,
        given: Spanned<A>,
        rows: &[Place],
        judged: Judgement,
    ) {
        let value = ReadValue {
            value: Some(given.value.number().into()),
            unit: A::DIMENSION.plain_unit(),
            written: self.written(given.place),
            uncertainty: None,
            place: given.place,
            rows,
        };
        self.take(head, place, what, value, judged);
    }

    #[expect(clippy::too_many_arguments, reason = "what was read, where it stands, and what is said of it")]
    fn word(
        &mut self,
        head: &ReadingHead,
        place: &Common<ReadingPlace>,
        what: ReadQuantity,
        written: &str,
        at: Place,
        rows: &[Place],
        judged: Judgement,
    ) {
        let value = ReadValue { value: None, unit: "", written, uncertainty: None, place: at, rows };
        self.take(head, place, what, value, judged);
    }

    fn take(
        &mut self,
        head: &ReadingHead,
        at: &Common<ReadingPlace>,
        what: ReadQuantity,
        value: ReadValue,
        judged: Judgement,
    ) {
        let record = head.record;
        let mut places: SmallVec<[Place; 4]> = SmallVec::new();
        if !self.findings.is_empty() {
            places.push(value.place);
            places.extend_from_slice(value.rows);
        }
        let in_force = head.counts && judged.history.is_none_or(|history| history == ReadingVerdict::Unjudged);
        let verdict = if !record.counts() {
            ReadingVerdict::Void
        } else {
            let found = judged.kind.and_then(|kind| self.findings.verdict(&places, kind));
            // A break that is told stands, whatever came after.
            let stands =
                found.filter(|found| matches!(found, ReadingVerdict::Nonconforming | ReadingVerdict::Conceded));
            match stands.or(judged.history).or(found).unwrap_or(judged.otherwise) {
                ReadingVerdict::Conforming if !self.ledger.is_read(&at.of.address) => ReadingVerdict::NotJudged,
                verdict => verdict,
            }
        };
        let repeat = self.repeats.entry((at.of.address.clone(), what)).or_insert(0);
        *repeat += 1;
        let source = value.place.source;
        (self.hand_on)(&ReadingRow {
            ledger: &self.cells,
            place: at,
            record: &head.cells,
            what,
            repeat: *repeat,
            written: value.written,
            value: value.value.as_deref(),
            unit: value.unit,
            limit: judged.limit.unwrap_or(&self.no_limit),
            uncertainty: value.uncertainty,
            verdict,
            in_force,
            rules: &self.findings.rules(&places),
            file: &self.files[source.0 as usize],
            line: self.locator.lines(source).line(value.place.span.start as usize),
        });
    }
}

/// The day of which a record speaks.
fn day(record: &Record) -> Option<Date> {
    record.date.map(|date| date.date)
}
