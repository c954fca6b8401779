//! Where on the machine a reading was taken: which part, and which rail segment lies there.

use jiff::civil::Date;
use smol_str::{SmolStr, ToSmolStr, format_smolstr};

use crate::ledger::{Machine, Name, Rail, RailId, Record, Spanned, StationReading, Target};
use crate::quantity::{Amount, Length};

/// A place of the machine, or a part on its own.
#[derive(Clone, Debug, Default)]
pub(crate) struct ReadingPlace {
    /// As an address of the ledger.
    pub address: SmolStr,
    /// The axis by its number.
    pub axis: Option<usize>,
    pub axis_name: Name,
    pub rail_name: Name,
    pub joint: Name,
    pub support: Name,
    pub position_mm: Option<SmolStr>,
    /// Of the segment that lies there.
    pub serial: SmolStr,
    pub lot: SmolStr,
}

impl ReadingPlace {
    /// A part that lies on no machine yet.
    pub(super) fn of_part(serial: Name, lot: Name) -> ReadingPlace {
        ReadingPlace { address: serial.clone(), serial, lot, ..ReadingPlace::default() }
    }

    /// What a record is about.
    pub(super) fn of_record(machine: &Machine, record: &Record) -> ReadingPlace {
        let day = record.date.map(|date| date.date);
        let address = record.on.as_ref().map(|on| on.to_smolstr()).unwrap_or_default();
        let at = |mut place: ReadingPlace| {
            place.address = address.clone();
            place
        };
        match record.target {
            Some(Target::Joint(id, joint)) => {
                let rail = machine.rail(id);
                let of = &rail.joints[joint];
                let mut place = at(Self::of_rail(machine, id)).on(rail, of.position, day);
                place.joint = of.name.clone();
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
        let of = &machine.rail(id).supports[support];
        Self::of_support_then(machine, id, (&of.name, of.at), day)
    }

    /// A station of a survey: at a support, or between two.
    pub(super) fn of_station(machine: &Machine, id: RailId, row: &StationReading, day: Option<Date>) -> ReadingPlace {
        if let Some(joint) = row.joint_named() {
            let mut place = Self::of_rail(machine, id).on(machine.rail(id), row.position, day);
            place.address = format_smolstr!("{}.{}.{}", place.axis_name, place.rail_name, row.name);
            place.position_mm = Some(row.told_at().number().into());
            place.joint = joint.into();
            return place;
        }
        // What has no support is called by its position; a support that went still has its name.
        if row.support.is_some() || row.name.as_str() != row.position.to_string() {
            return Self::of_support_then(machine, id, (&row.name, row.position), day);
        }
        let mut place = Self::of_rail(machine, id).on(machine.rail(id), row.position, day);
        place.address = format_smolstr!("{}.{}@{}", place.axis_name, place.rail_name, row.position.number());
        place
    }

    /// A support where it stood on a day.
    pub(super) fn of_support_then(
        machine: &Machine,
        id: RailId,
        (name, position): (&Name, Length),
        day: Option<Date>,
    ) -> ReadingPlace {
        let mut place = Self::of_rail(machine, id).on(machine.rail(id), position, day);
        place.address = format_smolstr!("{}.{}.{name}", place.axis_name, place.rail_name);
        place.support = name.clone();
        place
    }

    /// The same at a place along its axis.
    pub(super) fn at(mut self, position: Length) -> ReadingPlace {
        self.address = format_smolstr!("{}@{}", self.address, position.number());
        self.position_mm = Some(position.number().into());
        self
    }

    fn of_axis(machine: &Machine, axis: usize) -> ReadingPlace {
        let axis_name = (*machine.axes[axis].name).clone();
        ReadingPlace { axis: Some(axis), axis_name, ..ReadingPlace::default() }
    }

    fn of_rail(machine: &Machine, id: RailId) -> ReadingPlace {
        ReadingPlace { rail_name: (*machine.rail(id).name).clone(), ..Self::of_axis(machine, id.axis) }
    }

    /// At a place of a rail, with the segments that met or lay there on a day.
    fn on(mut self, rail: &Rail, position: Length, day: Option<Date>) -> ReadingPlace {
        self.position_mm = Some(position.number().into());
        let there = |all: &mut SmolStr, part: &Option<Spanned<Name>>| match part {
            Some(part) if part.is_empty() => {}
            Some(part) if all.is_empty() => *all = part.value.clone(),
            Some(part) => *all = format_smolstr!("{all} {}", part.value),
            None => {}
        };
        for segment in rail.segments_on(day).into_iter().filter(|it| it.from <= position && position <= it.to) {
            there(&mut self.serial, &segment.serial);
            there(&mut self.lot, &segment.lot);
        }
        self
    }
}
