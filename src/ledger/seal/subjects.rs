//! What a record touches: the supports it tightened, slackened or shimmed, or that what it read rests on; the joint, the
//! survey or the part that it is the word on. Two records that touch nothing in common may stand in any order.

use crate::ledger::{Body, Ledger, RailId, SurveyKind, Target};

/// What a record touches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum ChainSubject<'l> {
    Support(RailId, usize),
    /// The bolts of a rail, which are tightened outward from each joint.
    Bolts(RailId),
    Joint(RailId, usize),
    Surveys(RailId, SurveyKind),
    /// The running force of an axis.
    Force(usize),
    /// What was done in service, and how far the carriage had travelled.
    Service(usize),
    Serial(&'l str),
    /// What was conceded: the rule and the address.
    Conceded(&'l str, &'l str),
}

/// How a record touches it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum ChainLink {
    /// It changes what is there, or is the word on it until another comes.
    Changes,
    /// It rests on what is there.
    Rests,
}

/// Everything that a record touches.
pub(super) fn touched<'l>(ledger: &'l Ledger, index: usize, mut touch: impl FnMut(ChainSubject<'l>, ChainLink)) {
    use ChainSubject::{Bolts, Conceded, Force, Joint, Serial, Service, Support, Surveys};
    let record = &ledger.records[index];
    let mut changes = |subject| touch(subject, ChainLink::Changes);
    match (&record.body, record.target) {
        (Body::Fasten(fasten), Some(Target::Rail(id))) => {
            changes(Bolts(id));
            fasten.rows.iter().for_each(|row| changes(Support(id, row.support)));
            fasten.missed.iter().chain(&fasten.turned).for_each(|bolt| changes(Support(id, bolt.0)));
        }
        (Body::Loosen(loosen), target) => {
            let id = target.and_then(Target::rail);
            id.into_iter().for_each(|id| changes(Bolts(id)));
            loosen.supports.iter().for_each(|at| id.into_iter().for_each(|id| changes(Support(id, at.value))));
        }
        (Body::Shim(shim), target) => {
            let id = target.and_then(Target::rail);
            shim.rows.iter().for_each(|row| id.into_iter().for_each(|id| changes(Support(id, row.support))));
        }
        (Body::Inspect(_), Some(Target::Joint(id, joint))) => {
            changes(Joint(id, joint));
            ledger.beside_joint(id, joint).for_each(|support| touch(Support(id, support), ChainLink::Rests));
        }
        (Body::Survey(survey), Some(Target::Rail(id))) => {
            let kind = survey.kind.map_or(SurveyKind::Straightness, |kind| *kind);
            changes(Surveys(id, kind));
            let axis = &ledger.machine.axes[id.axis];
            let follows = ledger.machine.rail(id).follows.as_ref();
            let other = follows.and_then(|name| axis.rails.iter().position(|rail| *rail.name == name.as_str()));
            let other = other.filter(|_| kind != SurveyKind::Straightness);
            for rail in [Some(id.rail), other].into_iter().flatten() {
                let id = RailId { axis: id.axis, rail };
                let begins = survey.angles.iter().map(|steps| &steps.from);
                for station in survey.stations.iter().chain(&survey.closure).chain(begins) {
                    ledger.adjoining(id, station.position).for_each(|it| touch(Support(id, it), ChainLink::Rests));
                }
            }
        }
        (Body::RunningForce(_), Some(Target::Axis(axis))) => {
            changes(Force(axis));
            of_axis(ledger, axis, |subject| touch(subject, ChainLink::Rests));
        }
        (Body::Service(_), Some(Target::Axis(axis))) => {
            changes(Service(axis));
            of_axis(ledger, axis, |subject| touch(subject, ChainLink::Rests));
        }
        (Body::Receive(receive), _) => {
            receive.parts.iter().filter_map(|part| part.serial.as_ref()).for_each(|serial| changes(Serial(serial)));
        }
        (Body::Concession(concession), _) => {
            if let (Some(rule), Some(on)) = (&concession.rule, &record.on) {
                changes(Conceded(rule, on));
            }
        }
        _ => {}
    }
}

fn of_axis<'l>(ledger: &Ledger, axis: usize, mut touch: impl FnMut(ChainSubject<'l>)) {
    for (rail, it) in ledger.machine.axes[axis].rails.iter().enumerate() {
        let id = RailId { axis, rail };
        (0..it.supports.len()).for_each(|support| touch(ChainSubject::Support(id, support)));
        (0..it.joints.len()).for_each(|joint| touch(ChainSubject::Joint(id, joint)));
    }
}
