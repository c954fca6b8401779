//! A limit that was tried out, as a paper.

use std::collections::BTreeSet;

use crate::finding::counted;
use crate::views::paper::{Paper, TableCell};
use crate::views::report::{AxisTried, LimitTrial, Meets};
use crate::world::shown_path;

/// So many places of an axis are named on paper; JSON holds all.
const MOST_NAMED: usize = 3;

/// A trial as a paper.
pub(crate) fn paper(trial: &LimitTrial) -> Paper {
    let mut paper = Paper::new(format!("What would not meet {} {}", trial.entry, trial.tried));
    let body = &mut paper.body;
    body.facts(vec![
        ("Tried", format!("{}: {}", trial.entry, trial.tried).into()),
        ("What", trial.what.into()),
        ("Judged by the day", trial.judged_on.as_str().into()),
    ]);
    body.say(summary(trial));
    for meets in [Meets::No, Meets::ByConcession, Meets::NotRead, Meets::NotJudged] {
        let rows = trial.axes_tried.iter().filter(|it| it.meets == meets).map(row);
        let title = match meets {
            Meets::No => "These would not meet it",
            Meets::ByConcession => "These would by a concession alone",
            Meets::NotRead => "Of these not all is read, or by an instrument that cannot tell",
            _ => "Of these nobody can tell",
        };
        body.table(title, &["Ledger", "Axis", "Released", "Judged by today", "What"], rows.collect());
    }
    let apart = trial.axes_tried.iter().filter_map(|it| {
        let apart = it.apart.as_deref()?;
        Some(vec![shown_path(&it.path).into(), TableCell::given(it.axis.clone()), apart.into()])
    });
    body.table("Not held against it", &["Ledger", "Axis", "Why"], apart.collect());
    paper
}

/// How many machines would not meet it, and how many are released.
fn summary(trial: &LimitTrial) -> String {
    let machines = |is: &dyn Fn(&AxisTried) -> bool| {
        trial.axes_tried.iter().filter(|it| is(it)).map(|it| it.path.as_str()).collect::<BTreeSet<_>>()
    };
    let all = machines(&|_| true);
    let missing = machines(&|it| it.meets == Meets::No);
    let released = machines(&|it| it.meets == Meets::No && it.is_released);
    let conceded = machines(&|it| it.meets == Meets::ByConcession);
    let unknown = machines(&|it| matches!(it.meets, Meets::NotRead | Meets::NotJudged));
    let unknown = unknown.difference(&missing).count();
    let mut text = format!(
        "{} of {} would not meet it, {} with a released axis that would not.",
        missing.len(),
        counted(all.len(), "machine", "machines"),
        released.len()
    );
    let conceded = conceded.difference(&missing).count();
    if conceded > 0 {
        text += &format!(" {} by a concession alone.", counted(conceded, "more meets it", "more meet it"));
    }
    if unknown > 0 {
        text += &format!(" Of {unknown} more nobody can tell.");
    }
    let judged = machines(&|it| it.meets != Meets::NothingLimited);
    let apart = all.difference(&judged).count();
    if apart > 0 {
        text += &format!(
            " In {} no rule judges anything by it alone: of that nothing is said to meet it.",
            counted(apart, "machine", "machines")
        );
    }
    text
}

fn row(tried: &AxisTried) -> Vec<TableCell> {
    let mut what: Vec<String> =
        tried.misses.iter().take(MOST_NAMED).map(|miss| format!("{}: {}", miss.address, miss.message)).collect();
    let more = tried.misses.len() - what.len();
    what.extend((more > 0).then(|| format!("and {more} more")));
    vec![
        shown_path(&tried.path).into(),
        TableCell::given(tried.axis.clone()),
        if tried.is_released { "yes" } else { "no" }.into(),
        tried.today.as_str().into(),
        TableCell::given((!what.is_empty()).then(|| what.join("; "))),
    ]
}
