//! Addresses people can say aloud: `X`, `X.port`, `X.port.J1`, `X.port.S4`, `X.port.seg2`.

use super::machine::{Machine, RailId};

/// What an address means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Target {
    Axis(usize),
    Rail(RailId),
    Segment(RailId, usize),
    Joint(RailId, usize),
    Support(RailId, usize),
}

/// How far an address could be followed.
#[derive(Debug, PartialEq, Eq)]
pub enum Lost<'m> {
    Axis { name: String, known: Vec<&'m str> },
    Rail { name: String, known: Vec<&'m str> },
    Part { name: String, known: Vec<&'m str> },
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
    pub fn find<'m>(machine: &'m Machine, address: &str) -> Result<Target, Lost<'m>> {
        let (name, rest) = first_part(address);
        let Some(axis) = machine.axis(name) else {
            let known = machine.axes.iter().map(|axis| axis.name.as_str()).collect();
            return Err(Lost::Axis { name: name.into(), known });
        };
        let Some((name, rest)) = rest.map(first_part) else { return Ok(Target::Axis(axis)) };
        let of = &machine.axes[axis];
        let Some(rail) = of.rails.iter().position(|rail| *rail.name == name) else {
            let known = of.rails.iter().map(|rail| rail.name.as_str()).collect();
            return Err(Lost::Rail { name: name.into(), known });
        };
        let id = RailId { axis, rail };
        let Some((name, rest)) = rest.map(first_part) else { return Ok(Target::Rail(id)) };
        if rest.is_some() {
            return Err(Lost::TooLong);
        }
        let rail = &of.rails[rail];
        let number = |prefix| name.strip_prefix(prefix).and_then(|n: &str| n.parse::<usize>().ok()).filter(|n| *n > 0);
        if let Some(joint) = number("J").filter(|n| *n <= rail.joints.len() && name == rail.joints[n - 1].name) {
            return Ok(Target::Joint(id, joint - 1));
        }
        if let Some(support) = rail.support(name) {
            return Ok(Target::Support(id, support));
        }
        if let Some(segment) = number("seg").filter(|n| *n <= rail.segments.len()) {
            return Ok(Target::Segment(id, segment - 1));
        }
        let joints = rail.joints.iter().map(|joint| joint.name.as_str());
        let supports = rail.supports.iter().map(|support| support.name.as_str());
        Err(Lost::Part { name: name.into(), known: joints.chain(supports).collect() })
    }

    pub fn axis(self) -> usize {
        match self {
            Target::Axis(axis) => axis,
            Target::Rail(id) | Target::Segment(id, _) | Target::Joint(id, _) | Target::Support(id, _) => id.axis,
        }
    }

    pub fn rail(self) -> Option<RailId> {
        match self {
            Target::Axis(_) => None,
            Target::Rail(id) | Target::Segment(id, _) | Target::Joint(id, _) | Target::Support(id, _) => Some(id),
        }
    }
}
