//! The elastic carriage against handbooks, closed forms and an independent solution.

// Rows and columns are counted as on paper.
#![allow(clippy::needless_range_loop, reason = "rows and columns of a matrix are counted as in the textbook")]

mod beam;
mod carriage;
mod independent;
mod loads;
mod run;
mod spline;
mod wear;

/// Random numbers that are the same on every machine (Knuth's linear congruence).
struct Dice(u64);

impl Dice {
    fn between(&mut self, from: f64, to: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        from + (to - from) * (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn count(&mut self, from: usize, to: usize) -> usize {
        self.between(from as f64, to as f64 + 1.0).floor() as usize
    }
}

#[track_caller]
fn near(found: f64, expected: f64, share: f64) {
    let off = (found - expected).abs();
    assert!(off <= share * expected.abs().max(1e-12), "{found} and not {expected}");
}
