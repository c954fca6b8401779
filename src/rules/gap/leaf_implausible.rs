//! The leaves in stock are such as there are, and each thickness is listed once.

use std::collections::BTreeMap;

use crate::finding::{Grade, Measure, Place, RuleName};
use crate::language::rulebook::LimitName;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("leaf-implausible"),
    group: RuleGroup::Gap,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "Each leaf of the shop's stock has a thickness that foil is made in, and no thickness is listed twice.",
    why: "Shims are planned from this list. A thickness that slipped is planned with and cannot be found, and a count that stands there twice promises leaves that are not there.",
    limits: &[LimitName::LeafThickness],
    source: "common practice, no source",
    wrong: r#"
shop { shim-stock { leaf 0.002; leaf 0.05 } }
machine m { axis X { rail a } }
"#,
    right: r#"
shop { shim-stock { leaf 0.02; leaf 0.05 } }
machine m { axis X { rail a } }
"#,
    checks: &[Check::Machine(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) -> Verdict {
    let Some(stock) = &case.shop.shim_stock else { return Verdict::NotRequired };
    let least = case.rulebook.least::<Length>(LimitName::LeafThickness);
    let most = case.rulebook.most::<Length>(LimitName::LeafThickness);
    let mut listed: BTreeMap<Length, Place> = BTreeMap::new();
    for leaf in &stock.leaves {
        let thickness = leaf.thickness;
        let beyond = match (least, most) {
            (Some((least, limit)), _) if *thickness < least => Some((Measure::too_small(*thickness), limit)),
            (_, Some((most, limit))) if *thickness > most => Some((Measure::too_large(*thickness), limit)),
            _ => None,
        };
        if let Some((found, limit)) = beyond {
            findings.add(
                findings
                    .finding("", thickness.place, format!("there is no foil of {}", *thickness))
                    .here("in stock")
                    .found(found)
                    .limit(limit)
                    .next("measure the leaf and correct its thickness or its unit"),
            );
        }
        if let Some(before) = listed.insert(*thickness, thickness.place) {
            findings.add(
                findings
                    .finding("", thickness.place, format!("leaves of {} are listed twice", *thickness))
                    .here("again")
                    .also(before, "before")
                    .next("keep one line, with the count of both where both are there"),
            );
        }
    }
    stock.leaves.last().map_or(Verdict::NotRequired, |leaf| Verdict::Conforms(leaf.thickness.place))
}
