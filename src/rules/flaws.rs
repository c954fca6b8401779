//! Why a record may not count as proof, and which do not.

use smallvec::SmallVec;

use crate::ledger::{Body, Record, StationReading};

/// Why a record does not count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::rules) enum Flaw {
    /// It does not name its instrument.
    Unnamed,
    /// Its gauge is of a kind that cannot read this, or counts in a way that says nothing here.
    Unsuited,
    /// Its instrument had no calibration that held on its day.
    Uncalibrated,
    /// A torque outside the range of its wrench.
    BeyondWrench,
    /// A reading that its gauge cannot show.
    BeyondGauge,
    /// The marks of its gauge are too far apart for the limit.
    Coarse,
    /// It stands in another ledger of the shop too.
    Copied,
}

/// The records that do not count, in their order in the ledger, each with its reasons.
pub(in crate::rules) struct Evidence {
    pub flawed: Vec<(usize, SmallVec<[Flaw; 2]>)>,
}

impl Evidence {
    /// Whether a record does not count for that reason.
    pub(crate) fn has(&self, record: usize, flaw: Flaw) -> bool {
        let found = self.flawed.binary_search_by_key(&record, |of| of.0);
        found.is_ok_and(|at| self.flawed[at].1.contains(&flaw))
    }

    /// Whether a record counts.
    pub(crate) fn counts(&self, record: usize) -> bool {
        self.flawed.is_empty() || self.flawed.binary_search_by_key(&record, |of| of.0).is_err()
    }
}

/// Whether a record says what was done or read: what another one may rest on.
pub(crate) fn is_evidence(record: &Record) -> bool {
    let light = matches!(&record.body, Body::Inspect(inspect) if inspect.light.is_some() && !record.is_aligning());
    needs_instrument(record) || light || matches!(&record.body, Body::Shim(shim) if !shim.rows.is_empty())
}

/// Whether a record has something in it that an instrument must vouch for. Light is looked for without one.
pub(in crate::rules) fn needs_instrument(record: &Record) -> bool {
    match &record.body {
        _ if record.is_aligning() => false,
        Body::Fasten(fasten) => !fasten.rows.is_empty(),
        Body::Inspect(inspect) => !inspect.grooves.is_empty(),
        Body::Survey(survey) => survey.stations.iter().any(StationReading::is_read),
        Body::RunningForce(run) => !run.rows.is_empty(),
        _ => false,
    }
}
