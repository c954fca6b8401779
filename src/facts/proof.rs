//! How sure readings are, and the guard band that follows: shared by all rules that ask for proof.
//!
//! What a gauge may be off by enters once for a difference, the graduation once a reading, the scatter once a reading, or
//! once a mean of repeats, and never less than the graduation alone makes. Repeats narrow the scatter and nothing else.

use crate::calc::angles::rise;
use crate::calc::exact::Ratio as Whole;
use crate::calc::uncertainty::{GuardBand, Uncertainty, Variance, dial_indicator_errors};
use crate::language::rulebook::{AS_PROOF, LimitName, Rulebook};
use crate::ledger::{Gauge, Ledger, RepeatedQuantity, Survey, SurveyKind};
use crate::quantity::{Amount, Angle, Length, Ratio};

/// What may have to be proven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ProvenQuantity {
    Step,
    Gap,
    Straightness,
    Height,
    RunningForce,
    Torque,
}

impl From<SurveyKind> for ProvenQuantity {
    fn from(kind: SurveyKind) -> Self {
        match kind {
            SurveyKind::Gap => ProvenQuantity::Gap,
            SurveyKind::Straightness => ProvenQuantity::Straightness,
            SurveyKind::Height => ProvenQuantity::Height,
        }
    }
}

impl ProvenQuantity {
    const ALL: [ProvenQuantity; 6] = [
        ProvenQuantity::Step,
        ProvenQuantity::Gap,
        ProvenQuantity::Straightness,
        ProvenQuantity::Height,
        ProvenQuantity::RunningForce,
        ProvenQuantity::Torque,
    ];

    const fn limit(self) -> LimitName {
        match self {
            ProvenQuantity::Step => LimitName::ProofOfStep,
            ProvenQuantity::Gap => LimitName::ProofOfGap,
            ProvenQuantity::Straightness => LimitName::ProofOfStraightness,
            ProvenQuantity::Height => LimitName::ProofOfHeight,
            ProvenQuantity::RunningForce => LimitName::ProofOfRunningForce,
            ProvenQuantity::Torque => LimitName::ProofOfTorque,
        }
    }
}

/// Whether a value must be proven inside its limit.
pub(crate) fn required(rulebook: &Rulebook, quantity: ProvenQuantity) -> bool {
    match rulebook.choice(quantity.limit()) {
        AS_PROOF => rulebook.choice(LimitName::Proof) == "required",
        own => own == "required",
    }
}

/// Whether one of some limits asks that a value be proven inside its limit.
pub(crate) fn required_by(rulebook: &Rulebook, limits: &[LimitName]) -> bool {
    ProvenQuantity::ALL.into_iter().any(|it| limits.contains(&it.limit()) && required(rulebook, it))
}

/// Where the scatter of a gauge is known from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum ScatterSource {
    /// The shop states it.
    Stated,
    /// Its repeats in the ledger, with so many degrees of freedom.
    Repeats(u32),
    /// Its repeats scatter more than twice as much as is stated.
    RepeatsBeyondStated(u32),
    /// The standard of its kind allows no more than its graduation covers.
    Standard,
    /// Nowhere: no more is taken than its graduation makes.
    Unknown,
}

fn repeats_words(degrees: u32) -> String {
    let s = if degrees == 1 { "" } else { "s" };
    format!("its repeats in the ledger ({degrees} degree{s} of freedom)")
}

/// How far what a gauge reads scatters.
#[derive(Clone, Copy, Debug)]
struct Scatter {
    /// The variance of one reading; of one step where steps are read.
    of_one: Variance,
    source: ScatterSource,
}

impl Scatter {
    /// As it is stated, or as its repeats in the ledger show it.
    fn new(ledger: &Ledger, gauge: &Gauge, quantity: RepeatedQuantity, stated: Option<Variance>) -> Scatter {
        let repeats = ledger.repeats(&gauge.name.value, quantity);
        let pooled = repeats.map(|of| (Variance::of_repeats(of.squares, of.degrees), of.degrees));
        let (of_one, source) = match (stated, pooled) {
            // Twice the deviation is four times the variance. With one degree of freedom 4.6 % of sound gauges go beyond it.
            (Some(stated), Some((pooled, degrees))) if pooled > stated.times(Whole::whole(4)) => {
                (pooled, ScatterSource::RepeatsBeyondStated(degrees))
            }
            (Some(stated), _) => (stated, ScatterSource::Stated),
            (None, Some((pooled, degrees))) => (pooled, ScatterSource::Repeats(degrees)),
            (None, None) => (Variance::default(), ScatterSource::Unknown),
        };
        Scatter { of_one, source }
    }

    /// Of one that reads angles, in picoradians.
    fn of_angles(ledger: &Ledger, gauge: &Gauge) -> Scatter {
        let stated = gauge.angles.repeatability.map(|stated| Variance::of_deviation(stated.picoradians()));
        Scatter::new(ledger, gauge, RepeatedQuantity::Angle, stated)
    }

    /// The part that the mean of so many readings has of its own: never less than its marks alone make.
    fn of_mean(self, count: usize, marks: Variance) -> Uncertainty {
        let mean = self.of_one.of_mean(count);
        match self.source {
            _ if mean <= marks => Uncertainty::known(marks),
            ScatterSource::Repeats(degrees) | ScatterSource::RepeatsBeyondStated(degrees) => {
                Uncertainty::estimated(mean, degrees)
            }
            _ => Uncertainty::known(mean),
        }
    }

    /// Where it is known from.
    fn words(self) -> String {
        match self.source {
            ScatterSource::Stated => "its stated repeatability".to_string(),
            ScatterSource::Repeats(degrees) => repeats_words(degrees),
            ScatterSource::RepeatsBeyondStated(degrees) => {
                format!("{}, which scatter more than twice as much as is stated", repeats_words(degrees))
            }
            ScatterSource::Standard => "the graduation, which covers the repeatability of JIS B 7503".to_string(),
            ScatterSource::Unknown => "the graduation, for want of a repeatability".to_string(),
        }
    }
}

/// What is known of a gauge that reads forces, in micronewtons.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ForceCertainty {
    error: i64,
    graduation: i64,
    scatter: Scatter,
}

impl ForceCertainty {
    /// Nothing where the gauge's graduation or error is not stated.
    pub(crate) fn new(ledger: &Ledger, gauge: &Gauge) -> Option<ForceCertainty> {
        let (error, graduation) = (gauge.forces.permissible_error?, gauge.forces.graduation?);
        let stated = gauge.forces.repeatability.map(|stated| Variance::of_deviation(stated.micronewtons()));
        let scatter = Scatter::new(ledger, gauge, RepeatedQuantity::Force, stated);
        Some(ForceCertainty { error: error.micronewtons(), graduation: graduation.micronewtons(), scatter })
    }

    /// Whether it is known how far its readings scatter.
    pub(crate) fn is_known(&self) -> bool {
        self.scatter.source != ScatterSource::Unknown
    }

    /// Where that is known from.
    pub(crate) fn scatter_words(&self) -> String {
        self.scatter.words()
    }

    /// The mean of so many readings.
    pub(crate) fn of_mean(&self, count: usize) -> Uncertainty {
        let own = self.scatter.of_mean(count, Variance::resolution(self.graduation));
        Uncertainty::known(Variance::permissible_error(self.error)).and_alike(own)
    }
}

/// What is known of a gauge that reads lengths of one quantity.
#[derive(Clone, Copy, Debug)]
pub(crate) struct GaugeCertainty {
    /// What it may be off by over a short travel, and which error that is in words.
    pub error: Length,
    pub error_is: &'static str,
    pub graduation: Length,
    scatter: Scatter,
    steps: bool,
    /// What it reads are angles, and these are how far a step rises by them.
    summed: bool,
}

/// How sure one angle is, in picoradians; nothing where its gauge's graduation or error is not stated.
pub(crate) fn of_one_angle(ledger: &Ledger, gauge: &Gauge) -> Option<Uncertainty> {
    let (graduation, error) = (gauge.angles.graduation?, gauge.angles.permissible_error?);
    let own = Scatter::of_angles(ledger, gauge).of_mean(1, Variance::resolution(graduation.picoradians()));
    Some(Uncertainty::known(Variance::permissible_error(error.picoradians())).and_alike(own))
}

/// How far a step rises that leans so: up to the next nanometre.
pub(crate) fn rise_of(angle: Angle, base: Length) -> Length {
    let rise = rise(Whole::whole(angle.picoradians().into()), base.nm());
    Length(rise.and_then(|rise| i64::try_from(rise.ceil()).ok()).unwrap_or(i64::MAX))
}

impl GaugeCertainty {
    /// Nothing where the gauge's graduation or error is not stated.
    pub(crate) fn new(ledger: &Ledger, gauge: &Gauge, quantity: RepeatedQuantity) -> Option<GaugeCertainty> {
        let graduation = gauge.graduation?.value;
        let (error, error_is) = short_travel_error(gauge)?;
        let steps = quantity == RepeatedQuantity::Step;
        // A step is read twice.
        let of_reading = |variance: Variance| if steps { variance.and(variance) } else { variance };
        let stated = gauge.repeatability.map(|stated| of_reading(Variance::of_deviation(stated.nm())));
        let mut scatter = Scatter::new(ledger, gauge, quantity, stated);
        if scatter.source == ScatterSource::Unknown && standard(gauge).is_some() {
            scatter.source = ScatterSource::Standard;
        }
        Some(GaugeCertainty { error, error_is, graduation, scatter, steps, summed: false })
    }

    /// In what a survey reads. Of one that adds up angles: in how far each of its steps rises.
    pub(crate) fn for_survey(ledger: &Ledger, gauge: &Gauge, survey: &Survey) -> Option<GaugeCertainty> {
        let Some(steps) = &survey.angles else {
            let kind = survey.kind.map_or(SurveyKind::Gap, |kind| kind.value);
            return GaugeCertainty::new(ledger, gauge, kind.into());
        };
        let base = *steps.base;
        let (graduation, error) = (gauge.angles.graduation?, gauge.angles.permissible_error?);
        let scatter = Scatter::of_angles(ledger, gauge);
        // Of picoradians in nanometres.
        let of_one = scatter.of_one.weighed(base.nm() as f64 / 1e12);
        Some(GaugeCertainty {
            error: rise_of(*error, base),
            error_is: "permissible error over a step",
            graduation: rise_of(*graduation, base),
            scatter: Scatter { of_one, ..scatter },
            steps: false,
            summed: true,
        })
    }

    /// Whether it is known how far its readings scatter.
    pub(crate) fn is_known(&self) -> bool {
        self.scatter.source != ScatterSource::Unknown
    }

    /// How far one reading scatters; one step where it reads steps. Nothing where no more is known than its graduation.
    pub(crate) const fn scatter(&self) -> Variance {
        self.scatter.of_one
    }

    /// Where that is known from.
    pub(crate) fn scatter_words(&self) -> String {
        self.scatter.words()
    }

    /// The part that the mean of so many readings, or steps, has of its own.
    pub(crate) fn of_mean(&self, count: usize) -> Uncertainty {
        let marks = Variance::resolution(self.graduation.nm());
        let floor = if self.steps { marks.and(marks) } else { marks };
        self.scatter.of_mean(count, floor)
    }

    /// What it may be off by, the same in all its readings.
    pub(crate) fn off(&self) -> Variance {
        Variance::permissible_error(self.error.nm())
    }

    /// The mean of so many steps.
    pub(crate) fn of_step(&self, count: usize) -> Uncertainty {
        Uncertainty::known(self.off()).and_alike(self.of_mean(count))
    }

    /// The difference of two stations, each the mean of so many readings.
    pub(crate) fn of_difference(&self, first: usize, second: usize) -> Uncertainty {
        Uncertainty::known(self.off()).and_alike(self.of_mean(first)).and_alike(self.of_mean(second))
    }

    /// What an uncertainty of it rests on, in words.
    pub(crate) fn basis(&self, of: Uncertainty) -> String {
        self.resting(of, "once")
    }

    /// The same of the width of a minimum zone.
    pub(crate) fn basis_of_zone(&self, of: Uncertainty) -> String {
        self.resting(of, "at each of the three places")
    }

    fn resting(&self, of: Uncertainty, often: &str) -> String {
        // It may be wrong alike in all steps between two places, and scatters in each by itself.
        let often = if self.summed { "in every step, as in the middle of them," } else { often };
        let scatter = self.scatter_words();
        let (k, twice) = (factor(of), if self.steps { " twice" } else { "" });
        let (error, what, graduation) = (self.error, self.error_is, self.graduation);
        match self.scatter.source {
            ScatterSource::Standard | ScatterSource::Unknown => {
                format!("U = {k}u from the {what} {error} {often} and {scatter}, {graduation}{twice}")
            }
            _ => format!(
                "U = {k}u from the {what} {error} {often} and {scatter}, at least the graduation {graduation}{twice}"
            ),
        }
    }
}

/// k as people write it: `2`, `4.527`.
pub(crate) fn factor(of: Uncertainty) -> String {
    Ratio(i64::from(of.coverage_thousandths()) * 1_000_000).number()
}

/// The errors by its standard of a dial indicator that states none.
fn standard(gauge: &Gauge) -> Option<Length> {
    let dial = gauge.kind.as_ref().is_some_and(|kind| **kind == "dial-indicator");
    let hundredths = gauge.graduation.is_some_and(|graduation| *graduation == Length::um(10));
    let errors = dial_indicator_errors(gauge.range?.nm()).filter(|_| dial && hundredths)?;
    Some(Length(errors.local_nm))
}

/// The permissible error of a gauge over a short travel, and which error that is in words: its own, else that of a usual
/// 0.01 mm dial indicator, else the one over its whole range, which is never too small.
pub(crate) fn short_travel_error(gauge: &Gauge) -> Option<(Length, &'static str)> {
    let stated = gauge.local_error.map(|error| (error.value, "local error"));
    let standard = || Some((standard(gauge)?, "local error of a dial indicator by JIS B 7503"));
    let whole = gauge
        .permissible_error
        .map(|error| (error.value, "permissible error over the whole range, for want of a local one,"));
    stated.or_else(standard).or(whole)
}

/// How much of the expanded uncertainty the guard band takes.
fn share_of_band(rulebook: &Rulebook) -> Ratio {
    rulebook.most::<Ratio>(LimitName::GuardBand).map_or(Ratio::ONE, |(share, _)| share.max(Ratio::ZERO))
}

/// The guard band in force for an uncertainty, in the same unit.
pub(crate) fn band(rulebook: &Rulebook, uncertainty: Uncertainty) -> GuardBand {
    let (share, one) = (i128::from(share_of_band(rulebook).0), i128::from(Ratio::ONE.0));
    // Rounded up: a guard band is never narrower than it should be.
    let width = (i128::from(uncertainty.expanded()) * share + one - 1) / one;
    GuardBand::stated(i64::try_from(width).unwrap_or(i64::MAX))
}

/// The guard band in force for an uncertainty in nm, and what it rests on in words.
pub(crate) fn guard(rulebook: &Rulebook, uncertainty: Uncertainty) -> (GuardBand, String) {
    let expanded = uncertainty.expanded();
    let basis = match share_of_band(rulebook) {
        Ratio::ONE => format!("w = U = {}", micrometres(expanded)),
        share => format!("w = {} of U = {}", share.number(), micrometres(expanded)),
    };
    (band(rulebook, uncertainty), basis)
}

/// A width as people compare it: `0.0047 mm`, rounded up to a tenth of a micrometre.
pub(crate) fn micrometres(nm: i64) -> Length {
    Length(nm.saturating_add(99) / 100 * 100)
}
