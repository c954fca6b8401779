//! The traveler: the document that goes with the job on one axis, gathered from the description and from what is
//! recorded so far. Nothing here judges anew: what is done and what is open comes from the findings.

mod checking;
mod fitting;
mod holds;
mod instruments;
mod shimming;

pub(crate) use fitting::{holes, order};
pub(crate) use holds::hold_sheets;

use jiff::civil::Date;

use crate::finding::{Finding, Grade};
use crate::judging::lint::Judged;
use crate::ledger::{Interface, RailId, Stage};
use crate::quantity::Amount;
use crate::rules::Case;
use crate::rules::{self, ReadingKind, Rule};
use crate::views::paper::{CheckItem, Content, ListItem, Paper, TableCell};
use crate::views::remarks::remarks;
use crate::views::report::State;

/// Gathers the traveler of one axis on a day; with `remaining` only what is still to be done.
pub fn traveler(judged: &Judged, axis: usize, today: Date, remaining: bool) -> Paper {
    let case = Case::of_axis(&judged.ledger, today, axis);
    let gather = TravelerBuilder { case, findings: &judged.findings, axis, remaining };
    let machine = &judged.ledger.machine;
    let it = &machine.axes[axis];
    let name = machine.name.as_ref().map_or(String::new(), |name| name.to_string());
    let title = machine.title.as_ref().map_or(name.clone(), |title| title.to_string());
    let mut facts: Vec<(&'static str, TableCell)> = vec![("Machine", name.into()), ("Axis", it.name.as_str().into())];
    if let Some(run) = it.run {
        facts.push(("Run", format!("{} to {}", run.from.number(), run.to).into()));
    }
    facts.push(("State of", today.to_string().into()));
    facts.push(("Shows", if remaining { "what is still to be done" } else { "the whole job" }.into()));
    facts.extend(["Job number", "Fitter", "Inspector"].map(|name| (name, TableCell::Blank)));
    let state = Some(State::at(&judged.ledger, &judged.findings, it.name.as_str()));
    let mut paper = Paper { is_form: true, state, ..Paper::new(format!("Traveler: {title}, axis {}", *it.name)) };
    paper.body.facts(facts);
    paper.body.cautions();
    let mut parts: Vec<Content> = gather.on_hold().into_iter().collect();
    if !remaining {
        parts.push(gather.parts());
    }
    parts.push(gather.instruments());
    parts.extend(gather.rails().filter_map(|id| gather.fitting(id)));
    parts.extend(gather.rails().filter_map(|id| gather.inspection(id)));
    parts.extend(gather.rails().flat_map(|id| gather.surveys(id)));
    parts.extend(gather.rails().filter_map(|id| gather.shimming(id)));
    parts.extend(gather.force());
    parts.extend(gather.remarks());
    parts.push(gather.release());
    paper.body.0.extend(parts.into_iter().flat_map(|part| part.0));
    paper
}

/// What the parts of a traveler are gathered from.
struct TravelerBuilder<'l> {
    case: Case<'l>,
    findings: &'l [Finding],
    axis: usize,
    remaining: bool,
}

impl TravelerBuilder<'_> {
    fn rails(&self) -> impl Iterator<Item = RailId> + use<> {
        let axis = self.axis;
        (0..self.case.machine.axes[axis].rails.len()).map(move |rail| RailId { axis, rail })
    }

    /// What was written in the records of the axis; nothing where nobody wrote anything.
    fn remarks(&self) -> Option<Content> {
        let all = remarks(self.case.ledger, Some(&self.case.machine.axes[self.axis].name));
        if all.is_empty() {
            return None;
        }
        let mut body = Content::default();
        body.heading(2, "Notes and reasons so far");
        body.list(all.iter().map(|remark| ListItem::new(0, remark.line())).collect());
        Some(body)
    }

    fn has_base_bolts(&self, id: RailId) -> bool {
        self.case.machine.rail(id).supports.iter().any(|support| support.base_bolts.is_some())
    }

    /// Why an address is still open by some rules: the message of the first finding that no concession covers.
    fn open_at(&self, address: &str, asked: impl Fn(&Rule) -> bool) -> Option<String> {
        let open = |it: &&Finding| {
            it.address == address
                && it.conceded.is_none()
                && it.grade != Grade::Observation
                && rules::rule(it.rule).is_some_and(&asked)
        };
        self.findings.iter().find(open).map(|it| it.message.clone())
    }

    /// Every bolt of a support has its full torque, and none is off its window.
    fn tight(&self, id: RailId, support: usize) -> bool {
        let base = self.case.machine.rail(id).supports[support].base_bolts.is_some();
        self.tight_at(id, support, Interface::Rail) && (!base || self.tight_at(id, support, Interface::Base))
    }

    /// The same of the bolts of one interface.
    fn tight_at(&self, id: RailId, support: usize, interface: Interface) -> bool {
        let held = self.case.held(id, support, interface, Stage::Full).iter().all(Option::is_some);
        let address = self.case.machine.support_address(id, support);
        held && self.open_at(&address, |rule| rule.judges.contains(&ReadingKind::FullTorque)).is_none()
    }

    /// What stands between the axis and its release.
    fn release(&self) -> Content {
        let name = self.case.machine.axes[self.axis].name.value.as_str();
        let mut body = Content::default();
        body.heading(2, format!("Release of axis {name}"));
        let here = |it: &&Finding| {
            it.conceded.is_none()
                && it.grade != Grade::Observation
                && (it.address.is_empty()
                    || it.address == name
                    || it.address.strip_prefix(name).is_some_and(|rest| rest.starts_with('.')))
        };
        let open: Vec<&Finding> = self.findings.iter().filter(here).collect();
        if open.is_empty() {
            body.say("Nothing stands against the release by the rules of the ledger.");
        } else {
            body.say("By the ledger, this stands against the release:");
            let line = |it: &&Finding| {
                let about = if it.address.is_empty() { String::new() } else { format!("{}: ", it.address) };
                CheckItem::open(format!("{about}{} ({}, {})", it.message, it.rule, it.grade.name()))
            };
            body.checklist(open.iter().map(line).collect());
        }
        body.hold_point(
            "Released by somebody who neither fitted nor inspected. `wayledger lint` shows nothing broken and nothing outstanding.",
        );
        body
    }
}
