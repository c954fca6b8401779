//! The parts in the machine belong together, and are those that came in.

use crate::finding::{Grade, RuleName};
use crate::ledger::{Body, Name, RailId, ReceivedPart, Spanned};
use crate::rules::facts::Parts;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("parts-mixed"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "Ends that meet carry the same match mark. No serial number stands in two places, nor in two machines of a shop that are judged together, and each segment agrees with the part that came in under its number: accepted, same lot, marks and profile. Two lots that meet without marks are an observation until the joint is inspected.",
    why: "Matched ends were ground together. Swapped, each is in order and the joint is not; no alignment cures a profile that is larger.",
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200 far-mark=A1; segment 1200 near-mark=A2 } } }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200 far-mark=A1; segment 1200 near-mark=A1 } } }
"#,
    reasons_from: &["receive"],
    follows_from: &[Ground::Described, Ground::Records],
    checks: &[Check::Joints(meeting), Check::Segments(part)],
    ..Rule::PLAIN
};

/// What is known of every serial number.
pub(in crate::rules) fn parts<'l>(case: &Case<'l>) -> Parts<'l> {
    let mut parts = Parts::new();
    for (_, record) in case.in_order() {
        let Body::Receive(receive) = &record.body else { continue };
        for part in &receive.parts {
            let Some(serial) = &part.serial else { continue };
            parts.entry(serial.as_str()).or_default().received = Some(part);
        }
    }
    for (id, _, rail) in case.rails() {
        for (index, segment) in rail.segments.iter().enumerate() {
            let Some(serial) = &segment.serial else { continue };
            parts.entry(serial.as_str()).or_default().fitted.get_or_insert((id, index));
        }
    }
    parts
}

/// A segment and the part under its serial number.
fn part(case: &Case, id: RailId, index: usize, findings: &mut Findings) -> Verdict {
    let Some(serial) = &case.machine.rail(id).segments[index].serial else {
        return Verdict::NotJudged("no serial number is described");
    };
    if let Some(folder) = case.elsewhere.serials.get(&serial.value) {
        findings.add(
            findings
                .finding(
                    case.machine.segment_address(id, index),
                    serial.place,
                    format!("serial number {} is in the machine of the ledger {folder} too", **serial),
                )
                .here("here")
                .next("read both numbers off the rails and correct one; a rail that moved is taken out of the machine it left")
                .cured(Cure::Writing),
        );
        return Verdict::Broken;
    }
    let Some(part) = case.parts().get(serial.as_str()) else { return Verdict::NotJudged("nothing is known of it") };
    if let Some((other, at)) = part.fitted.filter(|first| *first != (id, index)) {
        findings.add(
            findings
                .finding(
                    case.machine.segment_address(id, index),
                    serial.place,
                    format!("serial number {} is in two places", **serial),
                )
                .here("here")
                .also(
                    case.machine.rail(other).segments[at].serial.as_ref().map_or(serial.place, |first| first.place),
                    format!("and in {}", case.machine.segment_address(other, at)),
                )
                .next("read both numbers off the rails and correct one"),
        );
        return Verdict::Broken;
    }
    let Some(received) = part.received else {
        // Where goods that came in are not recorded at all, nothing is compared with them.
        let any = case.ledger.records.iter().any(|it| it.counts() && matches!(it.body, Body::Receive(_)));
        return if any { Verdict::NotJudged("no part came in under its serial number") } else { Verdict::NotRequired };
    };
    against(case, findings, (id, index), received);
    Verdict::Conforms(serial.place)
}

/// Marks and lots of the two ends at a joint.
fn meeting(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    let it = &rail.joints[joint];
    let (near, far) = (&rail.segments[it.before], &rail.segments[it.before + 1]);
    let address = || case.machine.joint_address(id, joint);
    if let (Some(a), Some(b)) = (&near.far_mark, &far.near_mark) {
        if a.value == b.value {
            return Verdict::Conforms(b.place);
        }
        findings.add(
            findings
                .finding(address(), b.place, format!("match marks {} and {} meet in {}", **a, **b, it.name))
                .here(format!("near end of segment {}", it.before + 2))
                .also(a.place, format!("far end of segment {}", it.before + 1))
                .next("put the ends with the same mark together, or correct the marks"),
        );
        return Verdict::Broken;
    }
    let (Some(a), Some(b)) = (&near.lot, &far.lot) else {
        return Verdict::NotJudged("neither match marks nor lots of its two ends are described");
    };
    if a.value == b.value {
        return Verdict::Conforms(b.place);
    }
    // Four grooves that were read at the joint say more than two numbers on the rails.
    let state = case.joint_state(id, joint);
    if let (Some(last), true) = (state.last, state.grooves.iter().all(Option::is_some)) {
        return Verdict::Conforms(case.records[last].place);
    }
    let mut finding = findings
        .finding(address(), b.place, format!("lots {} and {} meet in {} without match marks", **a, **b, it.name))
        .here(format!("segment {}", it.before + 2))
        .also(a.place, format!("segment {}", it.before + 1))
        .next("measure both profiles before they are fitted, or swap segments so that a lot stays together");
    finding.grade = Grade::Observation;
    findings.add(finding);
    Verdict::Awaits("its four grooves are not read, and its two ends have no match marks")
}

/// A segment against the part that came in under its number.
fn against(case: &Case, findings: &mut Findings, (id, index): (RailId, usize), part: &ReceivedPart) {
    let segment = &case.machine.rail(id).segments[index];
    let address = || case.machine.segment_address(id, index);
    let serial = segment.serial.as_ref().map_or("", |serial| serial.as_str());
    if part.rejected {
        let at = segment.serial.as_ref().map_or(segment.place, |serial| serial.place);
        findings.add(
            findings
                .finding(address(), at, format!("part {serial} was rejected when it came in, and is in the machine"))
                .here("fitted here")
                .also(part.place, "rejected here")
                .next("take it out; or, if it was accepted after all, record that"),
        );
        return;
    }
    let profile = case.machine.rail(id).profile.as_ref();
    let pairs = [
        ("lot", segment.lot.as_ref(), part.lot.as_ref()),
        ("mark of the near end", segment.near_mark.as_ref(), part.near_mark.as_ref()),
        ("mark of the far end", segment.far_mark.as_ref(), part.far_mark.as_ref()),
        ("profile", profile, part.profile.as_ref()),
    ];
    for (what, described, came) in pairs {
        let (Some(described), Some(came)) = (described, came) else { continue };
        if described.value != came.value {
            differs(findings, address(), serial, what, described, came);
        }
    }
}

fn differs(
    findings: &mut Findings,
    address: String,
    serial: &str,
    what: &str,
    described: &Spanned<Name>,
    came: &Spanned<Name>,
) {
    findings.add(
        findings
            .finding(
                address,
                described.place,
                format!("the {what} of {serial} is {} here, and {} as it came in", **described, **came),
            )
            .here("as described")
            .also(came.place, "as it came in")
            .next("read it off the rail, and correct whichever is wrong"),
    );
}
