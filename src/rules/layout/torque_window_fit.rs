//! The full-torque window fits the bolt and what it is screwed into.

use crate::calc::bolts::{Friction, SeatedBolt, TorqueBound, ValueRange, WindowFit, window_fit};
use crate::facts::bolt;
use crate::facts::torque_proposal::engaged_enough;
use crate::finding::{Grade, Limit, Measure, Place, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Fastener, Interface, Name, RailId, Spanned, Stage, ThreadedInto};
use crate::quantity::{Amount, Force, Ratio};
use crate::rules::fitting::{INTERFACES, bolts_of, fastener, shown, window::window};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("torque-window-fit"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "Every torque of the full-torque window is allowed for the bolt, by its thread, class, head and least friction, and by the maker of what it is screwed into, or by the thread that is engaged in it. Where nobody says what that is, it is not judged.",
    why: "A window borrowed from another bolt breaks this one, or strips the thread. An M6 8.8 button head at friction 0.12 stands 8.1 N·m, not 10.",
    limits: &[LimitName::FullTorque, LimitName::ProofLoadShare],
    holds: &[LimitName::FullTorque],
    source: "VDI 2230 with ISO 898-1, ISO 724 and the head's standard",
    wrong: r#"
shop {
    fastener b thread=M6 class="8.8" head=button {
        friction 0.12 0.14
        full least=10 most=11 reason="as on the other rails"
    }
}
machine m { axis X { rail a rail-bolt=b { segment 1200 } } }
"#,
    right: r#"
shop {
    fastener b thread=M6 class="8.8" head=button into=steel {
        friction 0.12 0.14
        full least=6 most=8 reason="button heads"
    }
}
machine m { axis X { rail a rail-bolt=b { segment 1200 } } }
"#,
    follows_from: &[Ground::Described],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some((share, _)) = case.rulebook.most::<Ratio>(LimitName::ProofLoadShare) else {
        return Verdict::NotRequired;
    };
    let rail = case.machine.rail(id);
    let mut verdict = match (&rail.rail_bolt, &rail.base_bolt) {
        (None, None) => Verdict::NotJudged("no rail bolt is described"),
        (Some(bolt), _) | (None, Some(bolt)) => Verdict::Conforms(bolt.place),
    };
    for (interface, cited) in INTERFACES.into_iter().zip([&rail.rail_bolt, &rail.base_bolt]) {
        let Some(cited) = cited else { continue };
        if let Some(lacking) = judge(case, findings, id, interface, cited, share) {
            verdict = Verdict::NotJudged(lacking);
        }
    }
    verdict
}

/// Judges the window of one fastener. What is lacking, where nobody can tell.
fn judge(
    case: &Case,
    findings: &mut Findings,
    id: RailId,
    interface: Interface,
    cited: &Spanned<Name>,
    share: Ratio,
) -> Option<&'static str> {
    let Some(fastener) = fastener(case.ledger, id, interface) else {
        return Some("its fastener is not described in the shop");
    };
    let Some((least, most, limit)) = window(case, id, interface, Stage::Full) else {
        return Some("no window of full torque is stated");
    };
    let (address, name) = (|| case.machine.rail_address(id), &fastener.name);
    let stated = fastener.most_torque.map(|most| most.value);
    let known = bolt::bolt(fastener);
    let of_bolt = match &known {
        Ok(Some((bolt, friction))) => Some(bolt::allowed(bolt, *friction, share.to_f64())),
        Ok(None) => None,
        // A stated limit stands without the tables.
        Err(_) if stated.is_some() => None,
        Err(lacking) => {
            let mut finding = findings
                .finding(
                    address(),
                    cited.place,
                    format!("what torque fastener `{}` stands cannot be told: {}", **name, lacking.what),
                )
                .here("this fastener")
                .also(lacking.place, "not known")
                .next(lacking.next.clone());
            finding.grade = Grade::Outstanding;
            findings.add(finding);
            return None;
        }
    };
    let Some(bolt) = of_bolt.or(stated) else { return Some("what its fastener stands is not described") };
    let (allowed, bound) = match window_fit(least, most, bolt, stated) {
        WindowFit::Whole => {
            let known = known.as_ref().ok().and_then(Option::as_ref);
            let window = ValueRange { least: least.to_f64(), most: most.to_f64() };
            return threaded_part(case, findings, id, fastener, (cited, interface), known, window);
        }
        WindowFit::LowerPart { most, bound } | WindowFit::Nothing { most, bound } => (most, bound),
    };
    let bound = if of_bolt.is_none() { TorqueBound::Stated } else { bound };
    let most_allowed = format!("at most {}", shown(allowed));
    let of_what_stands = match bound {
        TorqueBound::Stated => Limit {
            entry: None,
            text: most_allowed,
            source: "the maker of the threaded part, by most-torque of the fastener".into(),
            set_at: fastener.most_torque.map(|most| most.place),
        },
        TorqueBound::Bolt => {
            let text = |given: &Option<Spanned<Name>>| given.as_ref().map_or("", |given| given.as_str()).to_string();
            let friction = fastener.friction.map_or(String::new(), |(least, _)| least.value.number());
            let bolt = format!("{} {} {}", text(&fastener.thread), text(&fastener.class), text(&fastener.head));
            let source = format!("VDI 2230: {bolt} at friction {friction}, {} % of the yield point", share.percent());
            case.rulebook.computed_from(LimitName::ProofLoadShare, most_allowed, source)
        }
    };
    let next = if least <= allowed {
        format!("lower the window's upper end to {}, or choose a stronger bolt", shown(allowed))
    } else {
        format!(
            "give `{}` a window of its own below {}, as full least=… most=…, or choose a stronger bolt",
            **name,
            shown(allowed)
        )
    };
    let mut finding = findings
        .finding(
            address(),
            cited.place,
            format!(
                "the window {} of the {} goes {} beyond what `{}` stands",
                limit.text(),
                bolts_of(interface),
                shown(most - allowed),
                **name
            ),
        )
        .here(format!("stands {}", shown(allowed)))
        .also(name.place, "the fastener")
        .found(Measure::too_large(most))
        .limit(of_what_stands)
        .next(next);
    if let Some(place) = limit.words().set_at {
        finding = finding.also(place, "the window");
    }
    findings.add(finding);
    None
}

/// Whether the thread that the bolt is screwed into holds what the window asks of it, where no maker says so.
fn threaded_part(
    case: &Case,
    findings: &mut Findings,
    id: RailId,
    fastener: &Fastener,
    (cited, interface): (&Spanned<Name>, Interface),
    known: Option<&(SeatedBolt, Friction)>,
    window: ValueRange,
) -> Option<&'static str> {
    if fastener.most_torque.is_some() {
        return None;
    }
    let Some(into) = fastener.into else { return Some("what its fastener is screwed into is not described") };
    let of_part = fastener.engagement.zip(fastener.shear_strength).zip(known);
    let Some(((engaged, shear), (bolt, friction))) = of_part else {
        return match *into {
            ThreadedInto::Steel => fastener
                .engagement
                .map(|_| "its engagement is stated without the shear strength of the steel, or the bolt's own numbers"),
            weak => Some(undescribed(case, findings, id, fastener, cited, (weak, into.place))),
        };
    };
    let engaged_mm = engaged.value.to_f64();
    let holds = bolt.thread_holds_n(shear.value.to_f64(), engaged_mm);
    let pulls = bolt.preload_n(window, *friction).ok()?.most;
    let address = case.machine.rail_address(id);
    let (finding, place) = if pulls > holds {
        // Told outward: what pulls no smaller, what holds no greater than it is.
        let [pulls, holds] = [pulls.ceil(), holds.floor()].map(|newtons| Force(newtons as i128 * Force::NEWTON.0));
        let message = format!(
            "the {} pull with up to {pulls}, and the thread of `{}` in {} strips at {holds}",
            bolts_of(interface),
            *fastener.name,
            material(*into)
        );
        let next = "lower the window, engage more thread, or take the window from the maker of the threaded part";
        let limit = Limit {
            entry: None,
            text: format!("at most {holds}"),
            source: "VDI 2230-1: what the weaker of both threads holds over the engaged length".into(),
            set_at: Some(engaged.place),
        };
        (
            findings.finding(address, cited.place, message).found(Measure::too_large(pulls)).limit(limit).next(next),
            engaged.place,
        )
    } else {
        let Some(Err(needed)) = engaged_enough(fastener, bolt) else { return None };
        let message = format!(
            "the thread of `{}` in {} holds the window, and would strip before the bolt breaks: its engagement would have to be {needed} for the bolt to give way first",
            *fastener.name,
            material(*into)
        );
        let next =
            "engage more thread, or add most-torque=… to the fastener as the maker of the threaded part states it";
        let mut finding = findings.finding(address, cited.place, message).next(next);
        finding.grade = Grade::Observation;
        (finding, engaged.place)
    };
    findings.add(finding.here("this fastener").also(place, "engaged by VDI 2230-1 over this length"));
    None
}

/// Aluminium and the like strip before a steel bolt gives way, unless it is said what their thread stands.
fn undescribed(
    case: &Case,
    findings: &mut Findings,
    id: RailId,
    fastener: &Fastener,
    cited: &Spanned<Name>,
    (into, place): (ThreadedInto, Place),
) -> &'static str {
    let mut finding = findings
        .finding(
            case.machine.rail_address(id),
            cited.place,
            format!("`{}` screws into {}, and no torque is stated that its thread stands", *fastener.name, material(into)),
        )
        .here("this fastener")
        .also(place, "it may strip before the bolt gives way")
        .next("ask the maker of the threaded part, and add most-torque=… to the fastener, or engagement=… and shear-strength=…");
    finding.grade = Grade::Observation;
    findings.add(finding);
    "what the thread that it is screwed into stands is not described"
}

fn material(into: ThreadedInto) -> &'static str {
    match into {
        ThreadedInto::Steel => "steel",
        ThreadedInto::CastIron => "cast iron",
        ThreadedInto::Aluminium => "aluminium",
        ThreadedInto::Other => "something else",
    }
}
