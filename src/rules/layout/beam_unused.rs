//! The pieces of a beam lie under rails.

use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Axis, Beam};
use crate::quantity::Length;
use crate::rules::quotient::Quotient;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("beam-unused"),
    group: RuleGroup::Layout,
    grade: Grade::Observation,
    cure: Cure::UntilBuilt,
    what: "Each piece of a beam lies under the rails that stand on it, for a good part of its length.",
    why: "A piece that carries nothing was written twice, or its length slipped by a digit; then the seams behind it lie elsewhere, and a joint may stand on one.",
    limits: &[LimitName::BeamShare],
    source: "geometry",
    wrong: r#"
machine m { axis X { beam bed { piece 1200; piece 12000 }; rail a beam=bed { segment 1200; segment 1200 } } }
"#,
    right: r#"
machine m { axis X { beam bed { piece 1200; piece 1200 }; rail a beam=bed { segment 1200; segment 1200 } } }
"#,
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let of = &case.machine.axes[axis];
    let mut verdict = Verdict::NotRequired;
    for beam in &of.beams {
        let Some((from, to)) = carried(of, beam) else { continue };
        let mut at = beam.from;
        for (number, piece) in beam.pieces.iter().enumerate() {
            let (near, far) = (at, at + **piece);
            at = far;
            verdict = Verdict::Conforms(piece.place);
            let under = far.min(to) - near.max(from);
            let share = Quotient { of: under.nm().max(0).into(), per: piece.nm().into() };
            let Some((found, limit)) = share.beyond(case.rulebook, LimitName::BeamShare) else { continue };
            let under = under.max(Length::ZERO);
            findings.add(
                findings
                    .finding(
                        of.name.to_string(),
                        piece.place,
                        format!(
                            "of piece {} of beam `{}`, {} long, {under} lies under rails",
                            number + 1,
                            *beam.name,
                            **piece
                        ),
                    )
                    .here(format!("from {near} to {far}"))
                    .also(beam.place, format!("its rails stand from {from} to {to}"))
                    .found(found)
                    .limit(limit)
                    .next("correct the lengths of the pieces, or take the one away that was written twice"),
            );
        }
    }
    verdict
}

/// From where to where rails stand on a beam; nothing where none does.
fn carried(axis: &Axis, beam: &Beam) -> Option<(Length, Length)> {
    let on = axis.rails.iter().filter(|rail| rail.beam.as_ref().is_some_and(|name| **name == *beam.name));
    let lying = on.filter(|rail| !rail.segments.is_empty());
    lying.fold(None, |known: Option<(Length, Length)>, rail| {
        let (from, to) = known.unwrap_or((rail.from, rail.to()));
        Some((from.min(rail.from), to.max(rail.to())))
    })
}
