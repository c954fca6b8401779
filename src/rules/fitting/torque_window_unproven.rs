//! Where the shop asks for it by name: a torque lies in its window by the wrench's own deviation.
//!
//! A window is for indicated torque, and the scatter of the tool belongs to the tightening factor. Who wants it proven all
//! the same takes the wrench's permissible deviation itself off both ends: a torque T of a wrench that may be off by e lies
//! in the window for sure where T (1 − e) and T (1 + e) do.

use super::window::window;
use super::{INTERFACES, bolts_of, shown};
use crate::facts::proof::ProvenQuantity;
use crate::facts::torque_window::WindowSource;
use crate::finding::{Finding, Grade, Limit, Measure, Place, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Fasten, HeldTorque, Interface, RailId, Stage};
use crate::quantity::{Ratio, Torque};
use crate::rules::quotient::WHOLE;
use crate::rules::unproven::ProofError;
use crate::rules::{About, Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("torque-window-unproven"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "Where `proof-of-torque` is required, the full torque that each bolt holds lies in its window by at least the permissible deviation of the wrench. One that may lie over the window stands until the bolt is loosened, or found turned: a lower one that is proven takes nothing off. `proof` alone does not ask for it.",
    why: "A window is stated for what the wrench shows, and the tightening factor of the bolt allows for what it is off by. A customer may ask for more.",
    limits: &[LimitName::FullTorque, LimitName::ProofOfTorque],
    source: "ISO 6789-1 for the permissible deviation; VDI 2230 for the tightening factor that covers it otherwise",
    wrong: r#"
shop {
    wrench TW-2 kind=indicating least=4 most=20 permissible-error=(%)4
    fastener b thread=M6 class="10.9" head=socket-cap into=steel { friction 0.12 0.14 }
}
machine m {
    rulebook { proof-of-torque is=required reason="customer" }
    axis X { rail a rail-bolt=b { segment 1200; support S1 at=240 } }
}
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-2 stage=full { at S1 10.6 10.5 }
"#,
    right: r#"
shop {
    wrench TW-2 kind=indicating least=4 most=20 permissible-error=(%)4
    fastener b thread=M6 class="10.9" head=socket-cap into=steel { friction 0.12 0.14 }
}
machine m {
    rulebook { proof-of-torque is=required reason="customer" }
    axis X { rail a rail-bolt=b { segment 1200; support S1 at=240 } }
}
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-2 stage=full { at S1 10.5 10.5 }
"#,
    judges: &[ReadingKind::FullTorque],
    about: About::Certainty,
    about_each_place: true,
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

/// A torque that is in its window and not proven to be.
struct Open {
    support: usize,
    bolt: usize,
    torque: Torque,
    place: Place,
    share: Ratio,
}

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    if !case.must_prove(ProvenQuantity::Torque) {
        return Verdict::NotRequired;
    }
    let (mut verdict, mut open, mut silent) = (Verdict::NotRequired, Vec::new(), None);
    for interface in INTERFACES {
        let Some((least, most, source)) = window(case, id, interface, Stage::Full) else { continue };
        for support in 0..case.machine.rail(id).supports.len() {
            let may_be_over = |held: &HeldTorque| {
                let Some((fasten, torque)) = tightened_to(case, held) else { return false };
                deviation(case, fasten).is_ok_and(|share| torque <= most && !sure(torque, share, Torque(0), most))
            };
            let bolts = case.held_back(id, support, interface, Stage::Full, may_be_over);
            for (bolt, all) in bolts.iter().enumerate() {
                let mut own: Option<Open> = None;
                for held in all {
                    let Some((fasten, torque)) = tightened_to(case, held) else { continue };
                    if torque < least || torque > most {
                        continue;
                    }
                    match deviation(case, fasten) {
                        Ok(share) if sure(torque, share, least, most) => {
                            verdict = verdict.and(match case.counts(held.record) {
                                true => Verdict::Conforms(held.place),
                                false => Verdict::Awaits("a record of these torques does not count"),
                            });
                        }
                        Ok(share) if own.as_ref().is_none_or(|own| torque > own.torque) => {
                            own = Some(Open { support, bolt, torque, place: held.place, share });
                        }
                        Ok(_) => {}
                        Err(untold) => silent = silent.or(Some((held.record, untold))),
                    }
                }
                open.extend(own);
            }
        }
        if let Some((record, untold)) = silent.take() {
            findings.add(cannot_tell(case, findings, id, interface, record, untold).limit(source));
        }
        if let Some(finding) = unproven(case, findings, id, interface, &open, (least, most, source)) {
            findings.add(finding);
        }
        open.clear();
    }
    match verdict {
        Verdict::NotRequired => Verdict::Awaits("no bolt holds a torque that is proven to be in its window"),
        _ => verdict,
    }
}

/// What a bolt was tightened to, read or as the wrench was set, with its record.
fn tightened_to<'l>(case: &Case<'l>, held: &HeldTorque) -> Option<(&'l Fasten, Torque)> {
    let Body::Fasten(fasten) = &case.ledger.records[held.record].body else { return None };
    Some((fasten, held.torque.or(fasten.setting.map(|setting| setting.value))?))
}

/// What the wrench of a fastening may be off by, as a share of the torque.
fn deviation<'l>(case: &Case<'l>, fasten: &'l Fasten) -> Result<Ratio, ProofError<'l>> {
    let named = fasten.wrench.as_ref().ok_or(ProofError::Unnamed)?;
    let wrench = case.ledger.shop.wrench(named).ok_or(ProofError::Errors(named))?;
    wrench.permissible_error.map(|share| share.value).ok_or(ProofError::Errors(named))
}

/// Whether a torque lies in its window whatever the wrench is off by within its deviation. Exact.
fn sure(torque: Torque, share: Ratio, least: Torque, most: Torque) -> bool {
    let share = i128::from(share.0).clamp(0, WHOLE);
    let [low, high] = [WHOLE - share, WHOLE + share].map(|factor| torque.0.checked_mul(factor));
    let [least, most] = [least, most].map(|end| end.0.checked_mul(WHOLE));
    // Beyond all reason nothing is sure.
    let within = |low: Option<i128>, high: Option<i128>| Some(low? <= high?);
    within(least, low) == Some(true) && within(high, most) == Some(true)
}

fn cannot_tell(
    case: &Case,
    findings: &Findings,
    id: RailId,
    interface: Interface,
    record: usize,
    untold: ProofError,
) -> Finding {
    let address = case.machine.rail_address(id);
    let bolts = bolts_of(interface);
    let (at, which) = match untold {
        ProofError::Unnamed => (case.records[record].place, "a wrench that is not named".to_string()),
        ProofError::Errors(name) | ProofError::Repeatability(name) => {
            (name.place, format!("{}, whose permissible deviation is not stated", name.value))
        }
    };
    let message = format!("whether the torques of the {bolts} are proven cannot be told: tightened with {which}");
    let mut finding = findings
        .finding(address, at, message)
        .here("tightened with it")
        .next("name the wrench, and give it permissible-error in the shop file");
    finding.grade = Grade::Outstanding;
    finding
}

fn unproven(
    case: &Case,
    findings: &Findings,
    id: RailId,
    interface: Interface,
    open: &[Open],
    (least, most, source): (Torque, Torque, WindowSource),
) -> Option<Finding> {
    let middle = least.0.saturating_add(most.0);
    // The first of those farthest from the middle of the window.
    let worst =
        open.iter().rev().max_by_key(|it| it.torque.0.saturating_mul(2).saturating_sub(middle).saturating_abs())?;
    let support = &case.machine.rail(id).supports[worst.support].name;
    let percent = format!("{} %", worst.share.percent());
    let more = match open.len() {
        1 => String::new(),
        2 => ", nor is 1 other".to_string(),
        n => format!(", nor are {} others", n - 1),
    };
    let high = worst.torque.0.saturating_mul(2) > middle;
    // In thousandths of a newton metre, rounded inward.
    let end = |torque: Torque, share: i64| torque.0 as f64 / 1e15 / (1.0 + share as f64 / 1e9);
    let (from, to) = (end(least, -worst.share.0).ceil() / 1e3, end(most, worst.share.0).floor() / 1e3);
    let inside = match from <= to {
        true => format!("{from:.3} to {to:.3} N·m proven with ±{percent}"),
        false => format!("nothing proven with ±{percent}"),
    };
    let message = format!(
        "bolt {} of the {} at {support} holds {}: in its window, and not proven to be{more}",
        worst.bolt + 1,
        bolts_of(interface),
        shown(worst.torque)
    );
    let mut finding = findings
        .finding(case.machine.rail_address(id), worst.place, message)
        .here(format!("± {percent} of it"))
        .found(if high { Measure::too_large(worst.torque) } else { Measure::too_small(worst.torque) })
        .limit(Limit { text: format!("{}; {inside}", source.text()), ..source.words() })
        .next(match high {
            true => {
                "loosen it, snug it and tighten it to the middle of the window, or with a wrench of smaller deviation"
            }
            false => "tighten it on to the middle of the window, or with a wrench of smaller deviation",
        });
    for other in open.iter().filter(|other| other.place != worst.place) {
        finding = finding.also(other.place, format!("bolt {}: {}", other.bolt + 1, shown(other.torque)));
    }
    Some(finding)
}
