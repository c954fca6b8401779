//! Rail and beam grow alike enough over the temperatures the axis is built for.

use crate::facts::expansion::{beam, coefficient, micro, of_rail, worst};
use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::RailId;
use crate::quantity::{Length, Temperature};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("expansion"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "From the temperature it is fitted at to the coldest and the warmest, a rail and its beam part by no more than the rulebook allows, were both free to slide.",
    why: "Bolted together they cannot part: the difference becomes force in the bolts, bows the beam and opens joints in the cold.",
    limits: &[LimitName::Expansion],
    holds: &[LimitName::Expansion],
    source: "ISO 1 for the reference temperature; steel 11.5e-6/K and EN AW-6060 23.4e-6/K where nothing else is stated",
    wrong: r#"
machine m {
    rulebook { expansion most=0.5 reason="bow of the beam" }
    axis X {
        temperature least=10 most=30
        beam front material=aluminium { piece 6000 }
        rail a beam=front { segment 3000; segment 3000 }
    }
}
"#,
    right: r#"
machine m {
    rulebook { expansion most=0.5 reason="bow of the beam" }
    axis X {
        temperature least=10 most=30
        beam front material=steel { piece 6000 }
        rail a beam=front { segment 3000; segment 3000 }
    }
}
"#,
    follows_from: &[Ground::Described],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::Expansion) else {
        return Verdict::NotRequired;
    };
    let (axis, rail) = (&case.machine.axes[id.axis], case.machine.rail(id));
    let Some(span) = &axis.temperature else { return Verdict::NotJudged("no temperatures of the axis are described") };
    let Some(beam) = beam(axis, rail) else { return Verdict::NotJudged("no beam under it is described") };
    let address = || case.machine.rail_address(id);
    let Some(of_beam) = coefficient(beam) else {
        let mut finding = findings
            .finding(address(), beam.place, format!("nothing says how beam `{}` expands", *beam.name))
            .here("no thermal expansion")
            .limit(limit)
            .next("add material=steel or aluminium, or expansion=(um/m/K)…");
        finding.grade = Grade::Outstanding;
        findings.add(finding);
        return Verdict::Outstanding;
    };
    if rail.segments.is_empty() {
        return Verdict::Awaits("no segments are described");
    }
    let of_rail = of_rail(case, rail);
    let Some((parted, at)) = worst(rail.to() - rail.from, of_rail, of_beam, span) else {
        return Verdict::NotJudged("how far rail and beam part cannot be worked out");
    };
    if parted <= most {
        return Verdict::Conforms(beam.place);
    }
    let fitted = span.fitted.map_or(Temperature::degrees(20), |fitted| fitted.value);
    findings.add(
        findings
            .finding(
                address(),
                rail.place,
                format!("rail and beam part by {parted} from {fitted} to {at}, {} too much", parted - most),
            )
            .here(format!("{} long, {} um/m/K", rail.to() - rail.from, micro(of_rail)))
            .also(beam.place, format!("{} um/m/K", micro(of_beam)))
            .also(span.place, "the temperatures")
            .found(Measure::too_large(parted))
            .limit(limit)
            .next(
                "choose a beam that expands like the rail, fit nearer to the working temperature, or let one end slide",
            ),
    );
    Verdict::Broken
}
