//! Rail and beam grow alike enough over the temperatures the axis is built for.

use crate::facts::expansion::{beam, coefficient, micro, of_rail, worst};
use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::quantity::{Length, Temperature};
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("expansion"),
    group: Group::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "From the temperature it is fitted at to the coldest and the warmest, a rail and its beam part by no more than the rulebook allows, were both free to slide.",
    why: "Bolted together they cannot part: the difference becomes force in the bolts, bows the beam and opens joints in the cold.",
    limits: &[LimitName::Expansion],
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
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::Expansion) else { return };
    for (id, axis, rail) in case.rails() {
        let (Some(span), Some(beam)) = (&axis.temperature, beam(axis, rail)) else { continue };
        let address = case.machine.rail_address(id);
        let Some(of_beam) = coefficient(beam) else {
            let mut finding = findings
                .finding(address, beam.place, format!("nothing says how beam `{}` expands", *beam.name))
                .here("no thermal expansion")
                .limit(limit)
                .next("add material=steel or aluminium, or expansion=(um/m/K)…");
            finding.grade = Grade::Outstanding;
            findings.add(finding);
            continue;
        };
        let of_rail = of_rail(case, rail);
        let Some((parted, at)) = worst(rail.to() - rail.from, of_rail, of_beam, span) else { continue };
        if parted <= most {
            continue;
        }
        let fitted = span.fitted.map_or(Temperature::degrees(20), |fitted| fitted.value);
        findings.add(
            findings
                .finding(
                    address,
                    rail.place,
                    format!("rail and beam part by {parted} from {fitted} to {at}, {} too much", parted - most),
                )
                .here(format!("{} long, {} um/m/K", rail.to() - rail.from, micro(of_rail)))
                .also(beam.place, format!("{} um/m/K", micro(of_beam)))
                .also(span.place, "the temperatures")
                .found(Measure::too_large(parted))
                .limit(limit)
                .next("choose a beam that expands like the rail, fit nearer to the working temperature, or let one end slide"),
        );
    }
}
