//! From rows to the text of one record, with every row that does not belong in it reported.

use std::collections::BTreeMap;

use super::Misfit;
use super::mapping::{Becomes, Mapping};
use super::rows::{ImportRow, Number};
use crate::ledger::{NodeDraft, Rail, SpeltValue};
use crate::quantity::{Amount, Angle, Length, Moment, Torque};
use crate::writing::tidy;

/// What the file itself does not say.
#[derive(Clone, Debug)]
pub struct RecordHead {
    /// The rail, or the joint: `X.port`, `X.port.J1`.
    pub on: String,
    /// The joint's name, for an inspection.
    pub joint: Option<String>,
    /// When it was read.
    pub date: Moment,
    /// Who read it.
    pub by: String,
    /// Of a fastening or a survey.
    pub stage: Option<String>,
    /// Of a survey: `gap`, `straightness`, `height`.
    pub survey: Option<String>,
    /// In degrees Celsius, or with its unit.
    pub temperature: Option<String>,
}

/// One record, and what did not fit into it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Built {
    /// The record in its layout; empty where no row fits.
    pub text: String,
    /// How many rows of the file are in it.
    pub taken: usize,
    /// Rows that make no part of the record.
    pub misfits: Vec<Misfit>,
}

/// Builds the record. Every row is taken or becomes a misfit.
pub fn build(rows: &[ImportRow], mapping: &Mapping, head: &RecordHead, rail: &Rail) -> Result<Built, String> {
    let mut builder = RecordBuilder { mapping, head, rail, built: Built::default(), record: head_line(mapping, head) };
    let rows: Vec<&ImportRow> = rows.iter().filter(|row| builder.belongs(row)).collect();
    match mapping.becomes {
        Becomes::Fasten => builder.fasten(&rows),
        Becomes::Survey => builder.survey(&rows),
        Becomes::Inspect => builder.inspect(&rows),
    }
    let mut built = builder.built;
    built.misfits.sort();
    if built.taken > 0 {
        built.text = tidy::text(&builder.record.text()).map_err(|why| why.to_string())?;
    }
    Ok(built)
}

fn head_line(mapping: &Mapping, head: &RecordHead) -> NodeDraft {
    let (record, instrument) = match mapping.becomes {
        Becomes::Fasten => (NodeDraft::new("fasten"), "wrench"),
        Becomes::Survey => (NodeDraft::new("survey").value(head.survey.as_deref().unwrap_or("gap")), "gauge"),
        Becomes::Inspect => (NodeDraft::new("inspect"), "gauge"),
    };
    let mut record = record.value(&head.on).signed(head.date, &head.by);
    if let Some(name) = &mapping.instrument {
        record.set(instrument, name.as_str());
    }
    if let Some(stage) = &head.stage {
        record.set("stage", stage);
    }
    if let Some(temperature) = &head.temperature {
        record.set("temperature", SpeltValue::typed(temperature));
    }
    record
}

struct RecordBuilder<'b> {
    mapping: &'b Mapping,
    head: &'b RecordHead,
    rail: &'b Rail,
    built: Built,
    record: NodeDraft,
}

impl RecordBuilder<'_> {
    fn misfit(&mut self, row: &ImportRow, why: String) {
        self.built.misfits.push(Misfit { line: row.line, why });
    }

    /// Whether a row is of this day, person, gauge and joint.
    fn belongs(&mut self, row: &ImportRow) -> bool {
        let why = if row.date.is_some_and(|date| date != self.head.date.date) {
            row.date.map(|date| format!("it was read on {date}, and the record is of {}", self.head.date.date))
        } else if let Some(person) = row.person.as_ref().filter(|person| **person != self.head.by) {
            Some(format!("it was read by `{person}`, and the record is by `{}`", self.head.by))
        } else if let (Some(gauge), Some(own)) = (&row.gauge, &self.mapping.instrument)
            && gauge != own
        {
            Some(format!("it was read with `{gauge}`, and the mapping is for `{own}`"))
        } else if let (Some(joint), Some(own)) = (&row.joint, &self.head.joint)
            && joint != own
        {
            Some(format!("it is of joint {joint}, and the record is of {own}"))
        } else {
            None
        };
        match why {
            Some(why) => {
                self.misfit(row, why);
                false
            }
            None => true,
        }
    }

    /// The number with its unit, where it can be read as what it should be.
    fn amount<A: Amount>(&mut self, row: &ImportRow, number: Option<&Number>) -> Option<SpeltValue> {
        let number = number?;
        match A::read(&number.raw, number.unit.as_deref()) {
            Ok(_) => Some(SpeltValue::typed_in(number.unit.as_deref(), &number.raw)),
            Err(why) => {
                self.misfit(row, format!("`{}` {why}", number.raw));
                None
            }
        }
    }

    /// The support of a row, where the rail has it.
    fn support<'r>(&mut self, row: &'r ImportRow) -> Option<&'r str> {
        let name = row.place.as_deref()?;
        if self.rail.support(name).is_none() {
            self.misfit(row, format!("rail `{}` has no support `{name}`", *self.rail.name));
            return None;
        }
        Some(name)
    }

    fn fasten(&mut self, rows: &[&ImportRow]) {
        // Supports in the order in which they first come: that is the order they were tightened in.
        let mut order: Vec<&str> = Vec::new();
        let mut bolts: BTreeMap<&str, Vec<Option<(SpeltValue, u64)>>> = BTreeMap::new();
        for row in rows {
            let Some(name) = self.support(row) else { continue };
            let Some(torque) = self.amount::<Torque>(row, row.reading.as_ref()) else { continue };
            let held = bolts.entry(name).or_insert_with(|| {
                order.push(name);
                Vec::new()
            });
            let bolt = row.bolt.unwrap_or(held.len() + 1) - 1;
            let most =
                self.rail.support(name).and_then(|at| self.rail.supports[at].bolts.as_ref()).map(|bolts| bolts.len());
            if let Some(most) = most.filter(|most| bolt >= *most) {
                self.misfit(row, format!("it is bolt {} of {name}, which has {most}", bolt + 1));
                continue;
            }
            if held.len() <= bolt {
                held.resize(bolt + 1, None);
            }
            if let Some((_, line)) = &held[bolt] {
                let why = format!("bolt {} of {name} comes again: line {line} has it already", bolt + 1);
                self.misfit(row, why);
                continue;
            }
            held[bolt] = Some((torque, row.line));
            self.built.taken += 1;
        }
        for name in order {
            if bolts[name].iter().any(Option::is_some) {
                let torques = bolts[name]
                    .iter()
                    .map(|torque| torque.as_ref().map_or_else(SpeltValue::blank, |(torque, _)| torque.clone()));
                self.record.push(NodeDraft::new("at").value(name).values(torques));
            }
        }
    }

    /// What is read at a station: a length, or the angle of the step that ends there, whose unit the mapping must say.
    fn station_reading(&mut self, row: &ImportRow) -> Option<SpeltValue> {
        if self.mapping.base.is_none() {
            return self.amount::<Length>(row, row.reading.as_ref());
        }
        if row.reading.as_ref().is_some_and(|number| number.unit.is_none()) {
            self.misfit(row, "an angle needs its unit: state it at the column, as unit=um.m-1".to_string());
            return None;
        }
        self.amount::<Angle>(row, row.reading.as_ref())
    }

    fn survey(&mut self, rows: &[&ImportRow]) {
        let mut order: Vec<&str> = Vec::new();
        let mut readings: BTreeMap<&str, (Vec<SpeltValue>, u64)> = BTreeMap::new();
        let mut closure = None;
        for (i, row) in rows.iter().enumerate() {
            let Some(name) = row.place.as_deref() else { continue };
            let position = Length::read(name, None).is_ok();
            let is_end = || self.rail.joint_ends().any(|end| end == name);
            if !position && !is_end() && self.support(row).is_none() {
                continue;
            }
            let Some(reading) = self.station_reading(row) else { continue };
            let last = i + 1 == rows.len() && order.len() > 1;
            if last && self.mapping.closure && order.first() == Some(&name) {
                closure = Some(NodeDraft::new("closure").value(station(name, position)).value(reading));
                self.built.taken += 1;
                continue;
            }
            match readings.get_mut(name) {
                Some((known, _)) if self.mapping.repeats => known.push(reading),
                Some((_, line)) => {
                    let why = format!("station {name} comes again: line {line} has it already");
                    self.misfit(row, why);
                    continue;
                }
                None => {
                    order.push(name);
                    readings.insert(name, (vec![reading], row.line));
                }
            }
            self.built.taken += 1;
        }
        if let Some(base) = &self.mapping.base {
            let at = |name: &&str| match Length::read(name, None) {
                Ok(position) => Some(position),
                Err(_) => self.rail.support(name).map(|at| self.rail.supports[at].at),
            };
            if let Some(first) = order.iter().filter_map(at).min() {
                let steps = NodeDraft::new("angles").property("from", SpeltValue::from(first - base.value));
                let length = SpeltValue::typed_in(base.unit.as_deref(), &base.raw);
                self.record.push(steps.property("base", length));
            }
        }
        for name in order {
            let position = Length::read(name, None).is_ok();
            let row = NodeDraft::new("at").value(station(name, position));
            self.record.push(row.values(readings[name].0.iter().cloned()));
        }
        closure.into_iter().for_each(|closure| self.record.push(closure));
    }

    fn inspect(&mut self, rows: &[&ImportRow]) {
        let mut grooves: BTreeMap<&str, (Vec<SpeltValue>, u64)> = BTreeMap::new();
        for row in rows {
            let groove = row.groove.as_deref().unwrap_or("");
            if !matches!(groove, "UL" | "UR" | "LL" | "LR") {
                self.misfit(row, format!("`{groove}` is no groove: UL, UR, LL or LR"));
                continue;
            }
            let Some(before) = self.amount::<Length>(row, row.before.as_ref()) else { continue };
            let Some(after) = self.amount::<Length>(row, row.after.as_ref()) else { continue };
            let pair = [before, SpeltValue::from("->"), after];
            match grooves.get_mut(groove) {
                Some((known, _)) if self.mapping.repeats => known.extend(pair),
                Some((_, line)) => {
                    let why = format!("groove {groove} comes again: line {line} has it already");
                    self.misfit(row, why);
                    continue;
                }
                None => drop(grooves.insert(groove, (pair.to_vec(), row.line))),
            }
            self.built.taken += 1;
        }
        for groove in ["UL", "UR", "LL", "LR"] {
            if let Some((pairs, _)) = grooves.get(groove) {
                self.record.push(NodeDraft::new(groove).values(pairs.iter().cloned()));
            }
        }
    }
}

/// A station as KDL: a position is a number, anything else a name.
fn station(name: &str, position: bool) -> SpeltValue {
    if position { SpeltValue::typed(name) } else { SpeltValue::from(name) }
}
