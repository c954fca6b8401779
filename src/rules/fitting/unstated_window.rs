//! Bolts for which no torque window is stated, and for which the default of another bolt does not hold.

use super::bolts_of;
use crate::facts::torque_proposal::propose;
use crate::facts::torque_window::{DEFAULT_FOR, entry, shown};
use crate::finding::{Grade, Limit};
use crate::ledger::{Fastener, Interface, Keyword, RailId, Stage};
use crate::quantity::{Amount, Torque};
use crate::rules::{Case, Findings};

/// Asks for the window of a stage, with one proposed where it can be computed.
pub(super) fn ask_for_window(
    case: &Case,
    findings: &mut Findings,
    id: RailId,
    interface: Interface,
    stage: Stage,
    fastener: &Fastener,
) {
    let rail = case.machine.rail(id);
    let cited = match interface {
        Interface::Rail => &rail.rail_bolt,
        Interface::Base => &rail.base_bolt,
    };
    let Some(cited) = cited else { return };
    let (word, name) = (stage.word(), &fastener.name);
    let limits = case.limits(id.axis);
    let default = limits.window::<Torque>(entry(stage)).map(|(.., limit)| limit.words());
    let mut finding = findings
        .finding(
            case.machine.rail_address(id),
            cited.place,
            format!(
                "no {word}-torque window is stated for the {}, `{}`, {}",
                bolts_of(interface),
                **name,
                what(fastener)
            ),
        )
        .here("this fastener")
        .also(name.place, "the fastener")
        .next(next(case, stage, fastener, id));
    if let Some(default) = default {
        finding = finding.limit(Limit { text: format!("{}, for {DEFAULT_FOR} alone", default.text), ..default });
    }
    finding.grade = Grade::Outstanding;
    findings.add(finding);
}

/// What is known of it: `M8 12.9 into steel`.
fn what(fastener: &Fastener) -> String {
    let text = |it: &Option<crate::ledger::Spanned<crate::ledger::Name>>| it.as_ref().map(|it| it.trim().to_string());
    let into = fastener.into.map(|into| format!("into {}", into.word()));
    let known: Vec<String> = [text(&fastener.thread), text(&fastener.class), into].into_iter().flatten().collect();
    known.join(" ")
}

fn next(case: &Case, stage: Stage, fastener: &Fastener, id: RailId) -> String {
    let word = stage.word();
    let state = format!("state that of the maker with the fastener, as {word} least=… most=… reason=\"…\"");
    match (stage, &fastener.full) {
        (Stage::Full, _) => match propose(case.ledger, case.limits(id.axis), fastener) {
            Ok(proposed) => format!(
                "{state}; where the maker gives none, {word} least={} most={} ({})",
                proposed.least.number(),
                proposed.most.number(),
                proposed.how
            ),
            Err(lacking) => format!("{state}; {lacking}"),
        },
        (Stage::Snug, Some(full)) => {
            let part = |of: Torque, tenths: i128| Torque(of.0 / 10 * tenths);
            format!(
                "{state}; the default is a tenth to a fifth of its full torque, here {} to {}, by no source",
                shown(part(full.least, 1)),
                shown(part(full.least, 2))
            )
        }
        (Stage::Snug, None) => format!("{state}; the default is a tenth to a fifth of its full torque, by no source"),
    }
}
