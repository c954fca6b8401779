//! A limit tried out over ledgers: which axes would not meet it, as they were read. Released ones are held against it too,
//! whatever their seals hold; nothing is written.

use schemars::JsonSchema;
use serde::Serialize;

use crate::finding::{Finding, Grade, within};
use crate::judging::lint::Judged;
use crate::language::rulebook::{LimitChange, LimitEntry, LimitName, LimitType, Rulebook};
use crate::ledger::Ledger;
use crate::ledger::seal::{limits_applying, release_of, sealed_limits};
use crate::quantity::Amount;
use crate::rules::{About, Case, Coverage, HoldingRules, all, anew, rule};
use crate::world::Day;

/// The shape of the JSON, counted up when it changes.
pub(crate) const FORMAT: &str = "wayledger-trial-1";

/// What trying a limit gave.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct LimitTrial {
    #[schemars(extend("const" = FORMAT))]
    format: &'static str,
    /// The day it was judged by.
    pub judged_on: String,
    /// The limit's name.
    pub entry: &'static str,
    /// As it is tried: `at most 0.015 mm`.
    #[serde(rename = "limit_tried")]
    pub tried: String,
    /// What is limited.
    pub what: &'static str,
    pub(crate) axes_tried: Vec<AxisTried>,
    #[serde(skip)]
    change: LimitChange,
}

/// One axis, or what belongs to none.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct AxisTried {
    pub path: String,
    /// Null for what lies on no axis, as an instrument.
    pub axis: Option<String>,
    pub is_released: bool,
    pub meets: Meets,
    /// The limit it is judged by today.
    #[serde(rename = "limit_text")]
    pub today: String,
    /// What would not meet it, and what its instrument could not tell.
    pub misses: Vec<Miss>,
    /// Why something on it is not held against the limit: a fastener has a window of its own.
    pub apart: Option<String>,
}

/// How an axis stands to a limit that is tried, the worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Meets {
    No,
    /// By a concession alone.
    ByConcession,
    /// Something was not read, or does not count.
    NotRead,
    NotJudged,
    Yes,
    /// There is nothing that it limits.
    NothingLimited,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct Miss {
    pub address: String,
    pub message: String,
    /// A concession accepts it.
    pub is_conceded: bool,
}

impl LimitTrial {
    /// A limit to be tried on a day.
    pub(crate) fn new(change: LimitChange, today: jiff::civil::Date) -> LimitTrial {
        let mut book = Rulebook::default();
        book.apply(change.clone());
        LimitTrial {
            format: FORMAT,
            judged_on: today.to_string(),
            entry: change.entry.name,
            tried: book.printed(change.entry),
            what: change.entry.what,
            axes_tried: Vec::new(),
            change,
        }
    }

    /// What it gives for one ledger, in the order of its axes.
    pub(crate) fn of(&self, judged: Judged, day: Day) -> Vec<AxisTried> {
        let entry = self.change.entry;
        let mut ledger = judged.ledger;
        let axes = 0..ledger.machine.axes.len();
        // Where no seal holds another limit, the lint judged by those of today.
        let sealed = axes.clone().any(|axis| sealed_limits(&ledger, axis).is_some());
        let before = if sealed { anew(&Case::new(&ledger, day)).0 } else { judged.findings };
        let today: Vec<String> = axes.clone().map(|axis| limits_applying(&ledger, axis).printed(entry)).collect();
        let of_ledger = ledger.rulebook.printed(entry);
        ledger.rulebook.apply(self.change.clone());
        let (found, coverage) = anew(&Case::new(&ledger, day));
        let holding = HoldingRules::of(entry, &ledger.rulebook, all());
        let missed: Vec<&Finding> = found.iter().filter(|it| misses(it, entry, &holding, &before)).collect();
        let path = || judged.path.0.clone();
        let row = |axis: Option<usize>, misses: Vec<&Finding>| AxisTried {
            path: path(),
            axis: axis.map(|axis| ledger.machine.axes[axis].name.to_string()),
            is_released: axis.is_some_and(|axis| release_of(&ledger, axis).is_some()),
            meets: match () {
                () if misses.iter().any(|it| it.conceded.is_none() && is_fact(it, &holding)) => Meets::No,
                () if misses.iter().any(|it| it.conceded.is_some()) => Meets::ByConcession,
                () if !misses.is_empty() => Meets::NotRead,
                () if ledger.not_judged.is_some() => Meets::NotJudged,
                () => open(&coverage, &holding, axis),
            },
            today: axis.map_or_else(|| of_ledger.clone(), |axis| today[axis].clone()),
            misses: misses
                .into_iter()
                .map(|it| Miss {
                    address: it.address.clone(),
                    message: it.message.clone(),
                    is_conceded: it.conceded.is_some(),
                })
                .collect(),
            apart: axis.and_then(|axis| own_window(&ledger, axis, entry)),
        };
        let on = |finding: &Finding, axis: usize| within(&finding.address, &ledger.machine.axes[axis].name);
        let mut rows: Vec<AxisTried> = axes
            .clone()
            .map(|axis| row(Some(axis), missed.iter().copied().filter(|it| on(it, axis)).collect()))
            .collect();
        let elsewhere: Vec<&Finding> =
            missed.iter().copied().filter(|it| !axes.clone().any(|axis| on(it, axis))).collect();
        if !elsewhere.is_empty() || rows.is_empty() {
            rows.push(row(None, elsewhere));
        }
        rows
    }
}

/// Whether a finding is made by the limit that is tried: it names it, or comes of its rules and was not there before.
fn misses(finding: &Finding, entry: &LimitEntry, holding: &HoldingRules, before: &[Finding]) -> bool {
    let names = finding.limit.as_ref().is_some_and(|limit| limit.entry == Some(entry.name));
    let of_its_rules = || rule(finding.rule).is_some_and(|rule| rule.limits.contains(&entry.limit));
    let same = |of: &Finding| (of.rule, &of.address, of.found) == (finding.rule, &finding.address, finding.found);
    // Where only rules of how it was read hold it, what no longer counts misses it.
    let of_taking = rule(finding.rule).is_some_and(|rule| rule.about == About::Taking);
    let uncounted = || names && of_taking && !holding.of_facts;
    (finding.grade == Grade::Nonconformity || finding.grade == Grade::Outstanding && uncounted())
        && (names && !matches!(entry.holds, LimitType::Choice(_)) || of_its_rules() && !before.iter().any(same))
}

/// Whether a finding says that the limit is not met, and not that what was read with cannot tell: where there is a rule that
/// holds what is read against the limit, only such a one does.
fn is_fact(finding: &Finding, holding: &HoldingRules) -> bool {
    !holding.of_facts || rule(finding.rule).is_some_and(|rule| rule.about == About::Facts)
}

/// What the rules that hold something of an axis against the limit say.
fn open(coverage: &Coverage, holding: &HoldingRules, axis: Option<usize>) -> Meets {
    let said = holding.judged(coverage, axis).map(|row| match row {
        row if row.outstanding > 0 => Meets::NotRead,
        row if !row.not_judged.is_empty() => Meets::NotJudged,
        row if row.conforms > 0 => Meets::Yes,
        _ => Meets::NothingLimited,
    });
    said.min().unwrap_or(Meets::NothingLimited)
}

/// The fasteners of an axis that have a window of their own, where it is the general one that is tried.
fn own_window(ledger: &Ledger, axis: usize, entry: &LimitEntry) -> Option<String> {
    let stage = match entry.limit {
        LimitName::FullTorque => "full",
        LimitName::SnugTorque => "snug",
        _ => return None,
    };
    let rails = &ledger.machine.axes[axis].rails;
    let names = rails.iter().flat_map(|rail| [&rail.rail_bolt, &rail.base_bolt]).flatten();
    let mut own: Vec<String> = Vec::new();
    for fastener in names.filter_map(|name| ledger.shop.fastener(name)) {
        let Some(window) = (if stage == "full" { &fastener.full } else { &fastener.snug }) else { continue };
        let told = format!("{}: {} to {}", *fastener.name, window.least.number(), window.most);
        // Rails share their fasteners.
        if !own.contains(&told) {
            own.push(told);
        }
    }
    let of = if own.len() == 1 { "its fastener's own" } else { "its fasteners' own" };
    let windows = if own.len() == 1 { "window" } else { "windows" };
    (!own.is_empty()).then(|| format!("judged by {of} {stage} {windows}, {}", own.join("; ")))
}
