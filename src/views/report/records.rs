//! What stands on record beside readings: concessions, releases, the running force.

use super::gather::{ReportBuilder, signed, text};
use super::model::{
    ConcessionReport, ForceReading, HoldReport, JointForce, LiftReport, ReleaseReport, RunningForceReport,
    SignatureReport,
};
use super::state::State;
use crate::facts::running_force::{self, ForceAtJoint, ForceAtPosition};
use crate::finding::Finding;
use crate::finding::within;
use crate::language::rulebook::LimitName;
use crate::ledger::seal::{self, SignatureError, SoundSignature, release_of};
use crate::ledger::{Body, Keyword, Ledger, OnHold, RailId, Record, Release, Target};
use crate::quantity::Force;
use crate::rules::keeping;

/// All holds that were not withdrawn, those in force first, each group in the order of the timeline.
pub(crate) fn holds(ledger: &Ledger, findings: &[Finding]) -> Vec<HoldReport> {
    let hold = |on: &OnHold| {
        let record = &ledger.records[on.record];
        let (withdrawn, reason) = match &record.body {
            Body::Hold(hold) => (false, text(&hold.reason)),
            Body::Void(void) => (true, text(&void.reason)),
            _ => (false, None),
        };
        // That it is held is no part of how it stands.
        let address = record.address();
        let own =
            |finding: &&Finding| within(&finding.address, address) && finding.rule != keeping::hold_in_force::RULE.name;
        let lift = on.lifted.or(on.disposed).and_then(|lift| lift_report(&ledger.records[lift]));
        HoldReport {
            on: text(&record.on),
            state: State::from_findings(findings.iter().filter(own)),
            signed: signed(record),
            withdrawn,
            reason,
            in_force: on.in_force(),
            lift,
        }
    };
    let mut all: Vec<HoldReport> = ledger.holds.iter().map(hold).collect();
    all.sort_by_key(|hold| !hold.in_force);
    all
}

fn lift_report(record: &Record) -> Option<LiftReport> {
    let Body::Lift(lift) = &record.body else { return None };
    Some(LiftReport {
        signed: signed(record),
        disposition: lift.disposition.map(|word| word.word().to_string()),
        reason: text(&lift.reason),
    })
}

impl ReportBuilder<'_> {
    pub(super) fn concessions(&self) -> Vec<ConcessionReport> {
        let concession = |record: &Record| {
            let Body::Concession(concession) = &record.body else { return None };
            let covered = self.findings.iter().filter(|finding| {
                finding.conceded.as_ref().is_some_and(|conceded| conceded.place.lies_in(record.whole))
            });
            Some(ConcessionReport {
                rule: text(&concession.rule),
                on: text(&record.on),
                signed: signed(record),
                accepts: concession.accepts.as_ref().map(|accepts| match &accepts.value {
                    (number, Some(unit)) => format!("{number} {unit}"),
                    (number, None) => number.clone(),
                }),
                until: concession.until.map(|until| until.to_string()),
                reason: text(&concession.reason),
                expired: concession.until.is_some_and(|until| until.date < self.case.today),
                covers: covered.count(),
            })
        };
        self.case.in_order().filter_map(|(_, record)| concession(record)).collect()
    }

    pub(super) fn release(&self, axis: usize) -> Option<ReleaseReport> {
        let (record, release) = release_of(self.case.ledger, axis)?;
        Some(ReleaseReport {
            signed: signed(&self.case.ledger.records[record]),
            seal: text(&release.seal),
            signature: self.signature(record, release),
        })
    }

    fn signature(&self, record: usize, release: &Release) -> Option<SignatureReport> {
        let ledger = self.case.ledger;
        let checked = seal::checked(ledger, record, release)?;
        let (key, person) = match &checked {
            Ok(SoundSignature { fingerprint, .. }) | Err(SignatureError::Outdated { fingerprint, .. }) => {
                (Some(fingerprint.clone()), text(&ledger.records[record].by))
            }
            Err(SignatureError::Other { fingerprint, person, .. }) => (Some(fingerprint.clone()), Some(person.clone())),
            Err(SignatureError::Stranger { fingerprint }) => (Some(fingerprint.clone()), None),
            Err(_) => (None, None),
        };
        Some(SignatureReport {
            valid: checked.is_ok(),
            key,
            person,
            text: seal::signed_text(ledger, record).unwrap_or_default(),
            armoured: seal::armour(release.signature.iter().flat_map(|it| &it.lines).map(String::as_str)),
        })
    }

    fn force(&self, at: &ForceAtPosition) -> ForceReading {
        ForceReading {
            at: *at.row.position,
            force: at.row.told(),
            read: at.row.forces.iter().map(|force| force.value).collect(),
            date: signed(&self.case.records[at.record]).date,
        }
    }

    /// The last record of it, and the latest reading at each place: a record of fewer places leaves the others as they were.
    pub(super) fn running_force(&self, axis: usize) -> Option<RunningForceReport> {
        let runs = self.case.in_order().filter_map(|(_, record)| match &record.body {
            Body::RunningForce(run) if record.target == Some(Target::Axis(axis)) => Some((record, run)),
            _ => None,
        });
        let (record, run) = runs.last()?;
        let trend = running_force::trend(self.case.ledger, axis);
        let of_joint = |it: &ForceAtJoint| {
            let id = RailId { axis, rail: it.rail };
            JointForce {
                joint: self.case.machine.joint_address(id, it.joint),
                at: self.case.machine.rail(id).joints[it.joint].position,
                force_above_line: it.above,
            }
        };
        Some(RunningForceReport {
            signed: signed(record),
            gauge: text(&run.gauge),
            most: self.case.rulebook.most::<Force>(LimitName::RunningForce).map(|(most, _)| most),
            greatest_running_force: running_force::greatest(self.case.ledger, axis).map(|it| it.row.told()),
            expected_running_force: running_force::expected(self.case.ledger, axis),
            running_force_slope: trend.as_ref().map(|trend| trend.slope),
            at_joints: trend.iter().flat_map(|trend| &trend.at_joints).map(of_joint).collect(),
            readings: running_force::latest(self.case.ledger, axis).iter().map(|it| self.force(it)).collect(),
        })
    }
}
