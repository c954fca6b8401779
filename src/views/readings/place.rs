//! Where on the machine a reading was taken: which part, and which rail segment lies there.

use jiff::civil::Date;

use crate::ledger::{Machine, Name, Rail, RailId, Record, Spanned, StationReading, Target};
use crate::quantity::{Amount, Length};

/// A place of the machine, or a part on its own.
#[derive(Clone, Debug, Default)]
pub(super) struct ReadingPlace {
    /// As an address of the ledger.
    pub address: String,
    /// The axis by its number.
    pub axis: Option<usize>,
    pub axis_name: String,
    pub rail_name: String,
    pub joint: String,
    pub support: String,
    pub position: Option<Length>,
    /// Of the segment that lies there.
    pub serial: String,
    pub lot: String,
}

impl ReadingPlace {
    /// A part that lies on no machine yet.
    pub(super) fn of_part(serial: String, lot: String) -> ReadingPlace {
        ReadingPlace { address: serial.clone(), serial, lot, ..ReadingPlace::default() }
    }

    /// What a record is about.
    pub(super) fn of_record(machine: &Machine, record: &Record) -> ReadingPlace {
        let day = record.date.map(|date| date.date);
        let address = record.on.as_ref().map(|on| on.to_string()).unwrap_or_default();
        let at = |mut place: ReadingPlace| {
            place.address = address.clone();
            place
        };
        match record.target {
            Some(Target::Joint(id, joint)) => {
                let rail = machine.rail(id);
                let of = &rail.joints[joint];
                let mut place = at(Self::of_rail(machine, id)).on(rail, of.position, day);
                place.joint = of.name.to_string();
                place
            }
            Some(Target::Support(id, support)) => at(Self::of_support(machine, id, support, day)),
            Some(Target::Rail(id) | Target::Segment(id, _)) => at(Self::of_rail(machine, id)),
            Some(Target::Axis(axis)) => at(Self::of_axis(machine, axis)),
            None => at(ReadingPlace::default()),
        }
    }

    /// A support of a rail.
    pub(super) fn of_support(machine: &Machine, id: RailId, support: usize, day: Option<Date>) -> ReadingPlace {
        let rail = machine.rail(id);
        let of = &rail.supports[support];
        let mut place = Self::of_rail(machine, id).on(rail, of.at, day);
        place.address = machine.support_address(id, support);
        place.support = of.name.to_string();
        place
    }

    /// A station of a survey: at a support, or between two.
    pub(super) fn of_station(machine: &Machine, id: RailId, row: &StationReading, day: Option<Date>) -> ReadingPlace {
        let rail = machine.rail_address(id);
        let mut place = Self::of_rail(machine, id).on(machine.rail(id), row.position, day);
        // What has no support is called by its position; a support that went still has its name.
        if row.support.is_some() || row.name.as_str() != row.position.to_string() {
            place.address = format!("{rail}.{}", row.name);
            place.support = row.name.to_string();
        } else {
            place.address = format!("{rail}@{}", row.position.number());
        }
        place
    }

    /// The same at a place along its axis.
    pub(super) fn at(mut self, position: Length) -> ReadingPlace {
        self.address = format!("{}@{}", self.address, position.number());
        self.position = Some(position);
        self
    }

    fn of_axis(machine: &Machine, axis: usize) -> ReadingPlace {
        let axis_name = machine.axes[axis].name.to_string();
        ReadingPlace { axis: Some(axis), axis_name, ..ReadingPlace::default() }
    }

    fn of_rail(machine: &Machine, id: RailId) -> ReadingPlace {
        ReadingPlace { rail_name: machine.rail(id).name.to_string(), ..Self::of_axis(machine, id.axis) }
    }

    /// At a place of a rail, with the segments that met or lay there on a day.
    fn on(mut self, rail: &Rail, position: Length, day: Option<Date>) -> ReadingPlace {
        self.position = Some(position);
        let mut there = |part: String, of: fn(&mut ReadingPlace) -> &mut String| {
            let all = of(&mut self);
            if !part.is_empty() {
                let space = if all.is_empty() { "" } else { " " };
                *all += &format!("{space}{part}");
            }
        };
        for segment in rail.segments_on(day).into_iter().filter(|it| it.from <= position && position <= it.to) {
            let word = |name: &Option<Spanned<Name>>| name.as_ref().map(|name| name.to_string()).unwrap_or_default();
            there(word(&segment.serial), |place| &mut place.serial);
            there(word(&segment.lot), |place| &mut place.lot);
        }
        self
    }
}
