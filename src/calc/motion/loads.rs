//! What acts on a carriage: weights, inertia, forces of the process, and the drive that holds it along the axis.
//!
//! Newton's laws. A mass m at its centre is pulled by m·g against `up`, and by −m·a along the axis while it is accelerated.
//! The drive pulls along the axis in its line of action with what makes the sum along the axis nought. Friction is left out.

use super::frame::{Arrow, BodyPoint, Five, work};

/// The acceleration of free fall in m/s² (the standard value of the third CGPM).
pub(crate) const FREE_FALL: f64 = 9.806_65;

/// A mass that rides on the carriage, or the carriage itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CarriedMass {
    /// In kg.
    pub mass: f64,
    /// Its centre.
    pub centre: BodyPoint,
}

/// A force in N and where it acts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ActingForce {
    pub force: Arrow,
    pub at: BodyPoint,
}

/// What acts at one time.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct ActingLoads {
    pub masses: Vec<CarriedMass>,
    pub forces: Vec<ActingForce>,
    /// Away from the earth, in the carriage's axes; its length does not matter. Without length there is no weight.
    pub up: Arrow,
    /// Along the axis, in m/s².
    pub acceleration: f64,
    /// A place on the drive's line of action; its x does not matter.
    pub drive: BodyPoint,
}

impl ActingLoads {
    /// What all of it does along each of the five.
    pub(crate) fn acts(&self) -> Five {
        let Arrow { x, y, z } = self.up;
        let length = x.hypot(y).hypot(z);
        let down = if length > 0.0 { -FREE_FALL / length } else { 0.0 };
        let mut sum = [0.0; 5];
        let mut along = 0.0;
        let mut add = |force: Arrow, at: BodyPoint| {
            along += force.x;
            sum.iter_mut().zip(work(force, at)).for_each(|(sum, part)| *sum += part);
        };
        for CarriedMass { mass, centre } in &self.masses {
            let weight = mass * down;
            add(Arrow { x: weight * x - mass * self.acceleration, y: weight * y, z: weight * z }, *centre);
        }
        for ActingForce { force, at } in &self.forces {
            add(*force, *at);
        }
        let hold = work(Arrow { x: -along, y: 0.0, z: 0.0 }, self.drive);
        std::array::from_fn(|n| sum[n] + hold[n])
    }
}

/// What acts over a share of the travelled distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ActingCase {
    /// 1 is the whole distance.
    pub share: f64,
    pub acts: Five,
}
