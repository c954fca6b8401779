//! Pairs of records of one day in two files, or of one minute and subject in one, that would say something else together the
//! other way round.
//!
//! Two records can only do so where they touch the same thing: a support, a joint, the surveys of a rail, a part that came
//! in, an axis. What a rule asks by itself, in its own words, is left to it: that full torque came after snugging, and that
//! it went outward from the joint.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::ledger::{
    Body, Fasten, FastenRow, Groove, Inspect, Interface, RailId, Stage, SurveyKind, Target, TorqueReading,
};
use crate::rules::Case;
use crate::rules::gap::reference;

/// What a record touches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum TouchedSubject<'l> {
    Support(RailId, usize),
    /// Any support of a rail: what a survey rests on.
    Rail(RailId),
    Joint(RailId, usize),
    Surveys(RailId, SurveyKind),
    Force(usize),
    Released(usize),
    Serviced(usize),
    Serial(&'l str),
    /// What a hold is put on, as written.
    OnHold(&'l str),
}

/// What it does there: the row of a record that has rows.
#[derive(Clone, Copy, Debug)]
enum RowWork {
    Tightens(usize),
    Slackens(Option<Interface>),
    Shims(usize),
    /// It found a bolt of the support loose.
    Turns,
    /// It was read while the supports stood as they did.
    Reads,
    /// It is the word on its subject until another one comes.
    States(usize),
}

/// A record that touches something.
#[derive(Clone, Copy, Debug)]
struct Touch {
    record: usize,
    does: RowWork,
}

/// More records that touch one thing on one day are compared with their neighbours only.
const FEW: usize = 40;

/// The pairs of which nothing says which came first, the one that stands first in the timeline first.
pub(super) fn pairs(case: &Case) -> BTreeSet<(usize, usize)> {
    let mut pairs = BTreeSet::new();
    if !case.order_is_certain() {
        let unsure = |a, b| !case.timeline.certain(&case.records, a, b);
        add(case, of_doubtful_days(case), unsure, &mut pairs);
    }
    add(case, of_one_minute(case), |a, b| is_of_one_minute(case, a, b), &mut pairs);
    pairs
}

/// Whether two records say the same of kind, subject and minute in one file: no order can be meant, as nobody does one thing
/// twice in a minute.
fn is_of_one_minute(case: &Case, a: usize, b: usize) -> bool {
    let (a, b) = (&case.records[a], &case.records[b]);
    let date = a.date.filter(|date| date.minute.is_some());
    date.is_some_and(|date| b.date.is_some_and(|of| *of == *date))
        && a.kind == b.kind
        && a.place.source == b.place.source
        && a.on.as_ref().map(|on| on.as_str()) == b.on.as_ref().map(|on| on.as_str())
}

/// The records of minutes that have more than one.
fn of_one_minute<'c>(case: &'c Case) -> impl Iterator<Item = (usize, Date)> + 'c {
    let date = |index: usize| case.records[index].date.filter(|date| date.minute.is_some()).map(|date| date.value);
    let order = &case.timeline.order;
    let alike = move |at: usize, other: Option<usize>| {
        let other = other.and_then(|other| order.get(other));
        other.is_some_and(|other| date(order[at]).is_some() && date(order[at]) == date(*other))
    };
    let many = (0..order.len()).filter(move |at| alike(*at, at.checked_sub(1)) || alike(*at, Some(at + 1)));
    many.filter_map(|at| Some((order[at], case.records[order[at]].date?.date)))
}

/// Adds those pairs of some records that would say something else together the other way round.
fn add(
    case: &Case,
    records: impl Iterator<Item = (usize, Date)>,
    is_unsure: impl Fn(usize, usize) -> bool,
    pairs: &mut BTreeSet<(usize, usize)>,
) {
    let mut touched: BTreeMap<(Date, TouchedSubject), Vec<Touch>> = BTreeMap::new();
    for (index, day) in records {
        touches(case, index, |subject, does| {
            touched.entry((day, subject)).or_default().push(Touch { record: index, does });
        });
    }
    for ((_, subject), all) in &touched {
        for (at, first) in all.iter().enumerate() {
            let reach = if all.len() > FEW { 1 } else { all.len() };
            for second in all[at + 1..].iter().take(reach) {
                let unsure = first.record != second.record
                    && !pairs.contains(&(first.record, second.record))
                    && is_unsure(first.record, second.record);
                if unsure && matters(case, *subject, first, second) {
                    pairs.insert((first.record, second.record));
                }
            }
        }
    }
}

/// The records of days on which some stand in no certain order, in the order of the timeline.
fn of_doubtful_days<'c>(case: &'c Case) -> impl Iterator<Item = (usize, Date)> + 'c {
    let day = |index: usize| Some((index, case.records[index].date?.date));
    let order: Vec<(usize, Date)> = case.in_order().filter_map(|(index, _)| day(index)).collect();
    let mut doubtful: BTreeSet<Date> = BTreeSet::new();
    for of_day in order.chunk_by(|(_, a), (_, b)| a == b) {
        // A record with no certain place among its neighbours makes the whole day worth a look.
        let file = |index: usize| case.records[case.records[index].stands_for.unwrap_or(index)].place.source;
        if of_day.windows(2).any(|pair| file(pair[0].0) != file(pair[1].0)) {
            doubtful.insert(of_day[0].1);
        }
    }
    order.into_iter().filter(move |(_, day)| doubtful.contains(day))
}

/// All that a record touches.
fn touches<'l>(case: &Case<'l>, index: usize, mut touch: impl FnMut(TouchedSubject<'l>, RowWork)) {
    let ledger = case.ledger;
    let record = &ledger.records[index];
    let axis = match record.target {
        Some(Target::Axis(axis)) => Some(axis),
        _ => None,
    };
    match (&record.body, record.rail()) {
        (Body::Fasten(fasten), Some(id)) => {
            for turned in &fasten.turned {
                touch(TouchedSubject::Support(id, turned.0), RowWork::Turns);
                touch(TouchedSubject::Rail(id), RowWork::Turns);
            }
            for (row, done) in fasten.rows.iter().enumerate() {
                touch(TouchedSubject::Support(id, done.support), RowWork::Tightens(row));
                touch(TouchedSubject::Rail(id), RowWork::Tightens(row));
            }
        }
        (Body::Loosen(loosen), Some(id)) => {
            for support in &loosen.supports {
                touch(TouchedSubject::Support(id, support.value), RowWork::Slackens(loosen.interface));
            }
            touch(TouchedSubject::Rail(id), RowWork::Slackens(loosen.interface));
        }
        (Body::Shim(shim), Some(id)) => {
            for (row, done) in shim.rows.iter().enumerate() {
                touch(TouchedSubject::Support(id, done.support), RowWork::Shims(row));
            }
            touch(TouchedSubject::Rail(id), RowWork::Slackens(None));
        }
        (Body::Inspect(_) | Body::Survey(_), _) if record.is_aligning() => {}
        (Body::Inspect(_), _) => {
            let Some(Target::Joint(id, joint)) = record.target else { return };
            touch(TouchedSubject::Joint(id, joint), RowWork::States(0));
            // What a later inspection replaced rests on nothing any more.
            if case.joint_state(id, joint).records().contains(&index) {
                for support in ledger.beside_joint(id, joint) {
                    touch(TouchedSubject::Support(id, support), RowWork::Reads);
                }
            }
        }
        (Body::Survey(survey), Some(id)) => {
            let Some(kind) = survey.kind else { return };
            touch(TouchedSubject::Surveys(id, *kind), RowWork::States(0));
            touch(TouchedSubject::Rail(id), RowWork::Reads);
            if let Some(other) = reference(case, id).filter(|_| *kind != SurveyKind::Straightness) {
                touch(TouchedSubject::Rail(other), RowWork::Reads);
            }
        }
        (Body::Receive(receive), _) => {
            for (part, it) in receive.parts.iter().enumerate() {
                if let Some(serial) = &it.serial {
                    touch(TouchedSubject::Serial(serial), RowWork::States(part));
                }
            }
        }
        (Body::RunningForce(_), _) => {
            axis.into_iter().for_each(|axis| touch(TouchedSubject::Force(axis), RowWork::States(0)))
        }
        (Body::Release(_), _) => axis.into_iter().for_each(|axis| {
            touch(TouchedSubject::Released(axis), RowWork::States(0));
            touch(TouchedSubject::Serviced(axis), RowWork::States(0));
        }),
        (Body::Service(_), _) => {
            axis.into_iter().for_each(|axis| touch(TouchedSubject::Serviced(axis), RowWork::States(0)))
        }
        (Body::Hold(_) | Body::Lift(_), _) => {
            record.on.iter().for_each(|on| touch(TouchedSubject::OnHold(on.as_str()), RowWork::States(0)));
        }
        // A void and a concession say by name what they mean, an attached file stands for itself; the others are about
        // nothing that is described.
        (Body::Void(_) | Body::Concession(_) | Body::Attach(_), _)
        | (Body::Fasten(_) | Body::Loosen(_) | Body::Shim(_), None)
        | (Body::Survey(_), _) => {}
    }
}

/// Whether the order of two records that touch the same thing makes a difference.
fn matters(case: &Case, subject: TouchedSubject, a: &Touch, b: &Touch) -> bool {
    use RowWork::{Reads, Shims, Slackens, States, Tightens, Turns};
    let torque = |touch: &Touch, row| fastening(case, touch.record, row);
    match (a.does, b.does) {
        // On a whole rail only what was read is held against what was done.
        (Reads, Reads) => false,
        (Reads, Slackens(_) | Shims(_) | Turns) | (Slackens(_) | Shims(_) | Turns, Reads) => true,
        (Reads, Tightens(row)) => {
            torque(b, row).is_some_and(|(fasten, row)| first_full(case, subject, b.record, fasten, row))
        }
        (Tightens(row), Reads) => {
            torque(a, row).is_some_and(|(fasten, row)| first_full(case, subject, a.record, fasten, row))
        }
        _ if matches!(subject, TouchedSubject::Rail(_)) => false,
        // That it had come loose stays true, whatever was done to it that day.
        (Turns, _) | (_, Turns) => false,
        (Tightens(one), Tightens(other)) => match (torque(a, one), torque(b, other)) {
            (Some(one), Some(other)) => differ(one, other),
            _ => false,
        },
        (Tightens(row), Slackens(which)) => torque(a, row).is_some_and(|it| slackened(case, a.record, it, which)),
        (Slackens(which), Tightens(row)) => torque(b, row).is_some_and(|it| slackened(case, b.record, it, which)),
        (Tightens(row), Shims(_)) => torque(a, row).is_some_and(|it| slackened(case, a.record, it, None)),
        (Shims(_), Tightens(row)) => torque(b, row).is_some_and(|it| slackened(case, b.record, it, None)),
        (Slackens(_), Shims(_)) | (Shims(_), Slackens(_)) => true,
        (Slackens(_), Slackens(_)) => false,
        (Shims(one), Shims(other)) => leaves(case, a.record, one) != leaves(case, b.record, other),
        (States(one), States(other)) => say_otherwise(case, (a.record, one), (b.record, other)),
        (States(_), _) | (_, States(_)) => false,
    }
}

fn fastening<'c>(case: &'c Case, record: usize, row: usize) -> Option<(&'c Fasten, &'c FastenRow)> {
    let Body::Fasten(fasten) = &case.records[record].body else { return None };
    Some((fasten, fasten.rows.get(row)?))
}

/// Whether it matters that bolts were slackened before or after a row tightened them: not where they got full torque on a
/// later day, before anything was read there.
fn slackened(case: &Case, record: usize, (fasten, row): (&Fasten, &FastenRow), which: Option<Interface>) -> bool {
    if which.is_some_and(|which| which != fasten.interface) {
        return false;
    }
    let Some(id) = case.records[record].rail().filter(|_| fasten.stage.is_some_and(|stage| *stage == Stage::Full))
    else {
        return true;
    };
    let day = |index: usize| case.records[index].date.map(|date| date.date);
    let later = |event: &&crate::ledger::Event| day(event.record) > day(record);
    let Some(next) = case.history(id).supports[row.support].iter().find(later) else { return true };
    let full = next.what == crate::ledger::EventKind::Full && next.interface == Some(fasten.interface);
    let read_between = || {
        let between =
            case.in_order().filter(|(index, _)| case.after(*index, record) && case.after(next.record, *index));
        let mut on_axis = between.filter(|(_, it)| it.target.is_some_and(|target| target.axis() == id.axis));
        on_axis.any(|(_, it)| matches!(it.body, Body::Inspect(_) | Body::Survey(_)))
    };
    !full || read_between()
}

/// Whether a row may have given a support the full torque that it did not have the day before.
fn first_full(case: &Case, subject: TouchedSubject, record: usize, fasten: &Fasten, row: &FastenRow) -> bool {
    let (TouchedSubject::Support(id, _) | TouchedSubject::Rail(id)) = subject else { return false };
    if fasten.stage.is_none_or(|stage| *stage != Stage::Full) || case.records[record].rail() != Some(id) {
        return false;
    }
    let day = |index: usize| case.records[index].date.map(|date| date.date);
    let earlier = case.history(id).supports[row.support].iter().take_while(|event| day(event.record) < day(record));
    let last = earlier.filter(|event| event.interface.is_none_or(|of| of == fasten.interface)).last();
    last.is_none_or(|event| event.what != crate::ledger::EventKind::Full)
}

/// Whether two rows at one support leave other torques behind in another order.
fn differ((a, of_a): (&Fasten, &FastenRow), (b, of_b): (&Fasten, &FastenRow)) -> bool {
    let stage = |fasten: &Fasten| fasten.stage.map(|stage| *stage);
    if a.interface != b.interface || stage(a) != stage(b) {
        return false;
    }
    let name = |fasten: &Fasten| fasten.wrench.as_ref().map(|name| name.value.clone());
    let torques = |fasten: &Fasten, row: &FastenRow| -> Vec<_> {
        fasten.torques_of(row).iter().map(|torque| torque.map(|torque| torque.value)).collect()
    };
    let missed = |fasten: &Fasten, row: &FastenRow| -> Vec<usize> {
        fasten.missed.iter().filter(|missed| missed.value.0 == row.support).map(|missed| missed.value.1).collect()
    };
    let setting = |fasten: &Fasten, row: &FastenRow| {
        (row.what == TorqueReading::Clicked).then(|| fasten.setting.map(|setting| setting.value))
    };
    name(a) != name(b)
        || torques(a, of_a) != torques(b, of_b)
        || missed(a, of_a) != missed(b, of_b)
        || setting(a, of_a) != setting(b, of_b)
}

fn leaves(case: &Case, record: usize, row: usize) -> Vec<crate::quantity::Length> {
    let Body::Shim(shim) = &case.records[record].body else { return Vec::new() };
    let mut leaves: Vec<_> =
        shim.rows.get(row).into_iter().flat_map(|row| &row.leaves).map(|leaf| leaf.value).collect();
    leaves.sort_unstable();
    leaves
}

/// Whether the later of two records about one thing has another word than the earlier one.
fn say_otherwise(case: &Case, (a, at): (usize, usize), (b, of): (usize, usize)) -> bool {
    match (&case.records[a].body, &case.records[b].body) {
        (Body::Inspect(a), Body::Inspect(b)) => share(a, b),
        (Body::Receive(a), Body::Receive(b)) => {
            let said = |part: &crate::ledger::ReceivedPart| {
                let text = [&part.lot, &part.near_mark, &part.far_mark, &part.profile];
                let text = text.map(|text| text.as_ref().map(|text| text.value.clone()));
                (text, part.length.map(|length| length.value), part.rejected)
            };
            a.parts.get(at).map(said) != b.parts.get(of).map(said)
        }
        (Body::Service(a), Body::Service(b)) => {
            let (task, travelled) = (
                |it: &crate::ledger::Service| it.task.map(|task| *task),
                |it: &crate::ledger::Service| it.travelled.map(|way| *way),
            );
            let both = travelled(a).is_some() && travelled(b).is_some();
            (task(a) == task(b) || both) && travelled(a) != travelled(b)
        }
        // What is done in service is counted from the release.
        (Body::Service(_), Body::Release(_)) | (Body::Release(_), Body::Service(_)) => true,
        (Body::Hold(_), Body::Lift(_)) | (Body::Lift(_), Body::Hold(_)) => true,
        (Body::Survey(_), Body::Survey(_))
        | (Body::RunningForce(_), Body::RunningForce(_))
        | (Body::Release(_), Body::Release(_)) => true,
        _ => false,
    }
}

/// Whether two inspections of a joint read the same groove, or both looked at the light.
fn share(a: &Inspect, b: &Inspect) -> bool {
    let reads = |inspect: &Inspect, groove: Groove| inspect.grooves.iter().any(|it| it.groove == groove);
    a.light.is_some() && b.light.is_some() || Groove::ALL.into_iter().any(|groove| reads(a, groove) && reads(b, groove))
}
