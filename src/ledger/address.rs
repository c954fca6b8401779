//! Addresses people can say aloud: `X`, `X.port`, `X.port.J1`, `X.port.S4`, `X.port.seg2`.

use super::machine::{Machine, Rail, RailId};

/// What an address means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Target {
    /// An axis, by its place in the machine.
    Axis(usize),
    /// A rail.
    Rail(RailId),
    /// A segment, by its place on the rail.
    Segment(RailId, usize),
    /// A joint, by its place on the rail.
    Joint(RailId, usize),
    /// A support, by its place on the rail.
    Support(RailId, usize),
}

/// Why an address leads nowhere: how far it could be followed.
#[derive(Debug, PartialEq, Eq)]
pub enum AddressError<'a> {
    /// No axis of that name.
    Axis(&'a str),
    /// No rail of that name on this axis.
    Rail(usize, &'a str),
    /// Nothing of that name on this rail.
    Part(RailId, &'a str),
    /// Something stands behind the name of a part, which has no parts.
    TooLong,
}

/// What stands before the first dot, and what behind it.
fn first_part(address: &str) -> (&str, Option<&str>) {
    match address.bytes().position(|byte| byte == b'.') {
        Some(dot) => (&address[..dot], Some(&address[dot + 1..])),
        None => (address, None),
    }
}

impl Target {
    /// What a written address means in a machine.
    pub fn find<'a>(machine: &Machine, address: &'a str) -> Result<Target, AddressError<'a>> {
        let (name, rest) = first_part(address);
        let Some(axis) = machine.axis(name) else { return Err(AddressError::Axis(name)) };
        let Some((name, rest)) = rest.map(first_part) else { return Ok(Target::Axis(axis)) };
        let of = &machine.axes[axis];
        let Some(rail) = of.rails.iter().position(|rail| *rail.name == name) else {
            return Err(AddressError::Rail(axis, name));
        };
        let id = RailId { axis, rail };
        let Some((name, rest)) = rest.map(first_part) else { return Ok(Target::Rail(id)) };
        if rest.is_some() {
            return Err(AddressError::TooLong);
        }
        of.rails[rail].part(id, name).ok_or(AddressError::Part(id, name))
    }

    /// The place of the axis that it is or lies on.
    pub fn axis(self) -> usize {
        match self {
            Target::Axis(axis) => axis,
            Target::Rail(id) | Target::Segment(id, _) | Target::Joint(id, _) | Target::Support(id, _) => id.axis,
        }
    }

    /// The rail that it is or lies on.
    pub fn rail(self) -> Option<RailId> {
        match self {
            Target::Axis(_) => None,
            Target::Rail(id) | Target::Segment(id, _) | Target::Joint(id, _) | Target::Support(id, _) => Some(id),
        }
    }
}

impl Rail {
    /// The joint, support or segment of that name, on the rail of that place.
    pub(super) fn part(&self, id: RailId, name: &str) -> Option<Target> {
        let rail = self;
        // As it is written, and no other way: `seg02` is none.
        let number = |prefix| {
            let digits = name.strip_prefix(prefix).filter(|digits| !digits.starts_with(['0', '+']))?;
            digits.parse::<usize>().ok()
        };
        if let Some(joint) = number("J").filter(|n| *n <= rail.joints.len() && name == rail.joints[n - 1].name) {
            return Some(Target::Joint(id, joint - 1));
        }
        if let Some(support) = rail.support(name) {
            return Some(Target::Support(id, support));
        }
        let segment = number("seg").filter(|n| *n <= rail.segments.len())?;
        Some(Target::Segment(id, segment - 1))
    }
}
