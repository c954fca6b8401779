//! A fleet at a glance: groove steps against their limit, and what is due by month, with what one instrument needs counted once.

use jiff::Span;
use jiff::civil::Date;

use super::bars::{self, CountBar};
use crate::views::paper::Figure;
use crate::views::report::Fleet;

/// How many groove steps lie in which share of their limit.
pub(crate) fn steps(fleet: &Fleet) -> Option<Figure> {
    let name = |above: u8, up_to: Option<u8>| match up_to {
        Some(up_to) => format!("{above} to {up_to} %"),
        None => format!("over {above} %"),
    };
    let bars: Vec<CountBar> = fleet
        .steps
        .iter()
        .map(|share| CountBar {
            name: name(share.above, share.up_to),
            count: share.count,
            wrong: share.up_to.is_none(),
        })
        .collect();
    let over = bars.iter().filter(|bar| bar.wrong).map(|bar| bar.count).sum::<usize>();
    let all = bars.iter().map(|bar| bar.count).sum::<usize>();
    let text = format!(
        "Groove steps as they stand now by their share of the machine's own limit: {over} of {all} are over it."
    );
    let limit = fleet.steps.iter().position(|share| share.up_to.is_none());
    bars::picture("Groove steps against their limit", &text, &bars, limit.map(|at| (at, "the limit")))
}

/// So many months have a bar of their own.
const MONTHS: i32 = 12;

/// What is overdue, and how much falls due in which month.
pub(crate) fn dues(fleet: &Fleet) -> Option<Figure> {
    let first = fleet.judged_on.parse::<Date>().ok()?.first_of_month();
    let months = &fleet.attention.months;
    let mut bars = vec![CountBar { name: "overdue".into(), count: fleet.attention.overdue, wrong: true }];
    let mut month = String::new();
    for ahead in 0..MONTHS {
        month = first.saturating_add(Span::new().months(ahead)).strftime("%Y-%m").to_string();
        bars.push(CountBar { count: months.get(&month).copied().unwrap_or(0), name: month.clone(), wrong: false });
    }
    let later = months.iter().filter(|(name, _)| **name > month).map(|(_, count)| count).sum();
    bars.push(CountBar { name: "later".into(), count: later, wrong: false });
    let told: Vec<String> =
        bars.iter().filter(|bar| bar.count > 0).map(|bar| format!("{} {}", bar.name, bar.count)).collect();
    let text = format!("How much is overdue, and how much falls due in which month: {}.", told.join(", "));
    bars::picture("What is due by month", &text, &bars, None)
}
