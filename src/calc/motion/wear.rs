//! The load that wears a block, from what it passes on, its preload and how much the rail is too large for it.

use super::super::life::{Rating, Rolling};
use super::frame::{Five, LEFT, PITCH, ROLL, UP, YAW};

/// How a block takes loads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct WearingBlock {
    pub rolling: Rolling,
    /// Nothing where none is stated: then there is no life.
    pub rating: Option<Rating>,
    /// The force in N with which opposite rows are pressed against each other; nought where there is none.
    pub preload: f64,
    /// Dynamic rating over its moment rating in roll, pitch and yaw, in 1/mm; nought where no moment rating is stated.
    pub dynamic_levers: [f64; 3],
    /// The same of the static ratings.
    pub static_levers: [f64; 3],
    /// Upright stiffness in N/mm, by which rails that are too large press it.
    pub stiffness: f64,
}

impl WearingBlock {
    /// Its load without preload: |F_v| + |F_l| + Σ lever·|M|. Practice of makers for blocks with four rows at 45° that carry
    /// alike in all four directions.
    pub(crate) fn combined(passed: &Five, levers: &[f64; 3]) -> f64 {
        passed[LEFT].abs()
            + passed[UP].abs()
            + levers[0] * passed[ROLL].abs()
            + levers[1] * passed[PITCH].abs()
            + levers[2] * passed[YAW].abs()
    }

    /// How that load changes with each of the five.
    pub(crate) fn combined_by(passed: &Five, levers: &[f64; 3]) -> Five {
        let way = |value: f64| if value == 0.0 { 0.0 } else { value.signum() };
        [
            way(passed[LEFT]),
            way(passed[UP]),
            levers[0] * way(passed[ROLL]),
            levers[1] * way(passed[PITCH]),
            levers[2] * way(passed[YAW]),
        ]
    }

    /// The preload on a rail whose profile is larger by `larger` mm at every groove: a row takes half of the block's upright
    /// stiffness and a row load counts √2 times, so that k·larger/√2 is added. Our own model.
    pub(crate) fn preload_on(&self, larger: f64) -> f64 {
        self.preload + self.stiffness * larger * std::f64::consts::FRAC_1_SQRT_2
    }

    /// What a rail twisted by `twisted` mm at its grooves adds to the load: k·|twisted|/√2, since it presses two of four rows.
    /// Our own model.
    pub(crate) fn twist_load(&self, twisted: f64) -> f64 {
        self.stiffness * twisted.abs() * std::f64::consts::FRAC_1_SQRT_2
    }

    /// The load above which the rows on the other side carry nothing any more: 2^t times the preload, 2.83 with balls.
    pub(crate) fn lifts_at(&self, preload: f64) -> f64 {
        preload * self.rolling.pressed(2.0)
    }

    /// The equivalent load P = F_pr (1 + F/(2^t F_pr))^t below lift-off, and F above. Practice of makers, not in ISO 14728-1;
    /// within 2.5 % of two exact Hertz springs.
    pub(crate) fn equivalent(&self, load: f64, preload: f64) -> f64 {
        let lifts = self.lifts_at(preload);
        if load >= lifts { load } else { preload * self.rolling.pressed(1.0 + load / lifts) }
    }

    /// How the equivalent load changes with the load.
    pub(crate) fn equivalent_by(&self, load: f64, preload: f64) -> f64 {
        let lifts = self.lifts_at(preload);
        let exponent = self.rolling.contact();
        if load >= lifts { 1.0 } else { preload * exponent / lifts * (1.0 + load / lifts).powf(exponent - 1.0) }
    }
}
