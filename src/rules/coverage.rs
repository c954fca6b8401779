//! What the rules judged and what they did not: for each rule and axis, how many subjects have which verdict.

use std::collections::BTreeMap;

use super::{Case, RequiredWork, Rule, RuleGroup, Subject, Verdict};
use crate::finding::{Conceded, Finding, Grade, Label, Place, RuleName, within};
use crate::ledger::not_applicable_line;

/// What the rules of a ledger said of their subjects.
#[derive(Clone, Debug, Default)]
pub struct Coverage {
    /// Each rule by its number in the catalogue, with an axis; in the order in which they were asked.
    rows: Vec<((usize, Option<usize>), RuleCoverage)>,
    /// Every fact that a verdict rests on is kept; the lint only counts.
    records_facts: bool,
}

/// What one rule said of the subjects on one axis, or of what belongs to no axis.
#[derive(Clone, Debug)]
pub(crate) struct RuleCoverage {
    pub rule: &'static Rule,
    pub conforms: usize,
    pub broken: usize,
    pub outstanding: usize,
    pub not_required: usize,
    /// What one of the outstanding ones waits for.
    awaits: Option<&'static str>,
    /// Each subject that is not judged, and what is lacking.
    pub not_judged: Vec<(Subject, &'static str)>,
    /// The facts that its conforming verdicts rest on, where they are kept.
    pub rests: Vec<Place>,
}

/// A rule by its name: who knows all rules stands above.
pub(super) type RuleOf = fn(RuleName) -> Option<&'static Rule>;

/// So many subjects that are not judged are named.
const MOST_NAMED: usize = 3;

impl Coverage {
    /// One that also keeps what verdicts rest on.
    pub(super) fn with_facts() -> Coverage {
        Coverage { records_facts: true, ..Coverage::default() }
    }

    /// Makes room for so many rows.
    pub(super) fn reserve(&mut self, rows: usize) {
        self.rows.reserve(rows);
    }

    /// To count what a rule says; rules are numbered as in the catalogue.
    pub(super) fn tally(&mut self, number: usize, rule: &'static Rule) -> VerdictCounter<'_> {
        VerdictCounter { coverage: self, number, rule, axis: None, row: usize::MAX }
    }

    /// The row of a rule and axis. A rule is asked about one subject after the other, so that its rows lie at the end.
    fn row(&mut self, key: (usize, Option<usize>), rule: &'static Rule) -> usize {
        let own = self.rows.iter().rev().take_while(|((number, _), _)| *number == key.0);
        let at = own.zip(1..).find(|((of, _), _)| *of == key).map(|(_, back)| self.rows.len() - back);
        at.unwrap_or_else(|| {
            self.rows.push((key, RuleCoverage::new(rule)));
            self.rows.len() - 1
        })
    }

    /// Puts what was said of an axis by the limits of its seal in the place of what is said by those of today.
    pub(super) fn replace_axis(&mut self, axis: usize, of: Coverage) {
        self.rows.retain(|((_, own), _)| *own != Some(axis));
        self.rows.extend(of.rows.into_iter().filter(|((_, own), _)| *own == Some(axis)));
    }

    /// Each rule with the axis it is about.
    pub(crate) fn rows(&self) -> impl Iterator<Item = (Option<usize>, &RuleCoverage)> {
        self.rows.iter().map(|((_, axis), row)| (*axis, row))
    }

    /// What nobody can tell, one finding a rule and axis; what is declared not applicable is marked so.
    pub(super) fn not_judged(&self, case: &Case) -> Vec<Finding> {
        let told = self.rows().filter(|(_, row)| is_expected(row.rule) && !row.not_judged.is_empty());
        told.filter_map(|(axis, row)| row.told(case, axis)).collect()
    }

    /// What waits for evidence that no finding asks for: nothing passes because every rule left it to another.
    pub(super) fn unasked(&self, case: &Case, findings: &[Finding], rule_of: RuleOf) -> Vec<Finding> {
        let mut unasked = Vec::new();
        for (axis, row) in self.rows().filter(|(_, row)| is_expected(row.rule)) {
            let (Some(axis), Some(awaits)) = (axis, row.awaits) else { continue };
            let name = &case.machine.axes[axis].name;
            // What is broken and conceded asks for no other evidence than rules of its own kind go by.
            let of_its_kind = |finding: &Finding| rule_of(finding.rule).is_some_and(|of| of.group == row.rule.group);
            let asks = |finding: &Finding| match finding.grade {
                Grade::Nonconformity => finding.conceded.is_none() || of_its_kind(finding),
                Grade::Outstanding => true,
                Grade::NotJudged | Grade::Observation => false,
            };
            let asked = |finding: &Finding| {
                asks(finding)
                    && (finding.address.is_empty() || within(&finding.address, name))
                    && !is_of_other_work(row.rule, finding, rule_of)
            };
            if !findings.iter().chain(&case.text_findings).any(asked) {
                let message = format!("{} waits for evidence: {awaits}", row.rule.name);
                unasked.push(
                    Finding::new(row.rule.name, Grade::Outstanding, name.to_string(), name.place, message)
                        .here("this axis")
                        .next("read it and record it"),
                );
            }
        }
        unasked
    }
}

/// Whether a finding asks for an inspection where a survey is awaited, so that it leaves what is awaited open.
fn is_of_other_work(awaiting: &Rule, finding: &Finding, rule_of: RuleOf) -> bool {
    let asked = || rule_of(finding.rule).and_then(|rule| rule.asks_for);
    awaiting.reasons_from.contains(&"survey") && asked() == Some(RequiredWork::Inspection)
}

/// Counts what a rule says of one subject after the other. Its row is looked up where they begin to lie on another axis.
pub(super) struct VerdictCounter<'c> {
    coverage: &'c mut Coverage,
    number: usize,
    rule: &'static Rule,
    axis: Option<usize>,
    /// That of the axis; beyond all rows as long as nothing was said.
    row: usize,
}

impl VerdictCounter<'_> {
    /// Takes what the rule says of a subject, with the axis that it lies on.
    // The compiler would rather call it, with more work for the call than for the count.
    #[inline(always)]
    pub(super) fn take(&mut self, axis: Option<usize>, subject: Subject, verdict: Verdict) {
        if axis != self.axis || self.row == usize::MAX {
            self.turn_to(axis);
        }
        let row = &mut self.coverage.rows[self.row].1;
        match verdict {
            Verdict::Conforms(place) => {
                row.conforms += 1;
                if self.coverage.records_facts {
                    row.rests.push(place);
                }
            }
            Verdict::Broken => row.broken += 1,
            Verdict::Outstanding => row.outstanding += 1,
            Verdict::Awaits(what) => {
                row.outstanding += 1;
                row.awaits = row.awaits.or(Some(what));
            }
            Verdict::NotRequired => row.not_required += 1,
            Verdict::NotJudged(lacking) => row.not_judged.push((subject, lacking)),
        }
    }

    /// The next subjects lie on this axis.
    #[inline(never)]
    fn turn_to(&mut self, axis: Option<usize>) {
        (self.axis, self.row) = (axis, self.coverage.row((self.number, axis), self.rule));
    }
}

/// Whether a rule is expected to judge: those about the text are asked while it is read, those about its history between two
/// states, and those about the keeping of records have a subject only where there is a record.
pub(crate) fn is_expected(rule: &Rule) -> bool {
    !matches!(rule.group, RuleGroup::Text | RuleGroup::Keeping | RuleGroup::History)
}

impl RuleCoverage {
    fn new(rule: &'static Rule) -> RuleCoverage {
        RuleCoverage {
            rule,
            conforms: 0,
            broken: 0,
            outstanding: 0,
            not_required: 0,
            awaits: None,
            not_judged: Vec::new(),
            rests: Vec::new(),
        }
    }

    /// How many subjects the rule said something of.
    pub(crate) fn subjects(&self) -> usize {
        self.conforms + self.broken + self.outstanding + self.not_required + self.not_judged.len()
    }

    fn told(&self, case: &Case, axis: Option<usize>) -> Option<Finding> {
        let rule = self.rule.name;
        let of = axis.map(|axis| &case.machine.axes[axis]);
        let name = of.map_or("", |axis| axis.name.as_str());
        let of_subject = |subject| case.declared_not_applicable(rule, &address(case, subject));
        let (answered, left): (Vec<_>, Vec<_>) =
            self.not_judged.iter().partition(|(subject, _)| of_subject(*subject).is_some());
        let declared = answered.first().and_then(|(subject, _)| of_subject(*subject));
        let mut reasons: BTreeMap<&str, Vec<Subject>> = BTreeMap::new();
        for (subject, lacking) in if left.is_empty() { &answered } else { &left } {
            reasons.entry(lacking).or_default().push(*subject);
        }
        let all = self.not_judged.len() == self.subjects();
        let words = reasons.iter().map(|(lacking, subjects)| match all && reasons.len() == 1 {
            true => (*lacking).to_string(),
            false => format!("{lacking} ({})", listed(case, subjects)),
        });
        let message = words.collect::<Vec<String>>().join("; ");
        let place = of.map(|axis| axis.name.place).or_else(|| place(case, self.not_judged.first()?.0))?;
        let mut finding = Finding::new(rule, Grade::NotJudged, name, place, message).next(match name {
            "" => "describe it".to_string(),
            _ => format!(
                "describe it, or say in machine.kdl why it does not apply: {}",
                not_applicable_line(rule.as_str(), name)
            ),
        });
        if !left.is_empty() {
            finding
                .also
                .extend(declared.map(|declared| Label { place: declared.place, text: "declared for a part".into() }));
        } else {
            finding.conceded = declared.map(|declared| Conceded {
                place: declared.place,
                by: declared.by.as_ref().map_or(String::new(), |by| by.to_string()),
                reason: declared.reason.as_ref().map_or(String::new(), |reason| reason.to_string()),
                until: None,
            });
        }
        Some(finding)
    }
}

/// The first few subjects by name, and how many more there are.
fn listed(case: &Case, subjects: &[Subject]) -> String {
    let names: Vec<String> = subjects.iter().take(MOST_NAMED).map(|subject| address(case, *subject)).collect();
    let more = subjects.len().saturating_sub(MOST_NAMED);
    if more == 0 { names.join(", ") } else { format!("{} and {more} more", names.join(", ")) }
}

/// What a subject is called.
fn address(case: &Case, subject: Subject) -> String {
    let machine = &case.machine;
    match subject {
        Subject::Machine => String::new(),
        Subject::Axis(axis) => machine.axes[axis].name.to_string(),
        Subject::Pair([_, second]) => machine.rail_address(second),
        Subject::Rail(id) => machine.rail_address(id),
        Subject::Segment(id, index) => machine.segment_address(id, index),
        Subject::Joint(id, index) => machine.joint_address(id, index),
        Subject::Support(id, index) => machine.support_address(id, index),
        Subject::Record(index) => case.ledger.records[index].on.as_ref().map_or(String::new(), |on| on.to_string()),
        Subject::Instrument(number) => {
            case.shop.instruments().nth(number).map_or(String::new(), |it| it.name().to_string())
        }
    }
}

/// Where a subject that lies on no axis stands.
fn place(case: &Case, subject: Subject) -> Option<Place> {
    match subject {
        Subject::Instrument(number) => case.shop.instruments().nth(number).map(|it| it.place()),
        Subject::Record(index) => Some(case.ledger.records[index].place),
        _ => case.machine.name.as_ref().map(|name| name.place),
    }
}
