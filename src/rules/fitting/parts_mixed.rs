//! The parts in the machine belong together, and are those that came in.

use std::collections::BTreeMap;

use crate::finding::{Grade, Measure, Place, RuleName};
use crate::language::rulebook::{InForce, LimitName};
use crate::ledger::{Body, Given, Name, RailId, ReceivedPart};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("parts-mixed"),
    group: Group::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "Ends that meet carry the same match mark. No serial number stands in two places, and each segment agrees with the part that came in under its number: accepted, same lot, marks, profile and length. Two lots that meet without marks are an observation until the joint is inspected.",
    why: "Matched ends were ground together. Swapped, each is in order and the joint is not; no alignment cures a profile that is larger.",
    limits: &[LimitName::ReceivedLength],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200 far-mark=A1; segment 1200 near-mark=A2 } } }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200 far-mark=A1; segment 1200 near-mark=A1 } } }
"#,
    reasons_from: &["receive"],
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

/// What is known of a serial number.
#[derive(Default)]
struct Part<'l> {
    /// The latest word on what came in under it.
    received: Option<&'l ReceivedPart>,
    /// Where it is fitted.
    fitted: Option<(Place, RailId, usize)>,
}

fn check(case: &Case, findings: &mut Findings) {
    for (id, _, rail) in case.rails() {
        for joint in 0..rail.joints.len() {
            meeting(case, findings, id, joint);
        }
    }
    let most = case.rulebook.most::<Length>(LimitName::ReceivedLength);
    let mut parts: BTreeMap<&str, Part> = BTreeMap::new();
    for (_, record) in case.in_order() {
        if let Body::Receive(receive) = &record.body {
            for part in &receive.parts {
                let Some(serial) = &part.serial else { continue };
                parts.entry(serial.as_str()).or_default().received = Some(part);
            }
        }
    }
    for (id, _, rail) in case.rails() {
        for (index, segment) in rail.segments.iter().enumerate() {
            let Some(serial) = &segment.serial else { continue };
            let part = parts.entry(serial.as_str()).or_default();
            if let Some((first, other, at)) = &part.fitted {
                findings.add(
                    findings
                        .finding(
                            case.machine.segment_address(id, index),
                            serial.place,
                            format!("serial number {} is in two places", **serial),
                        )
                        .here("here")
                        .also(*first, format!("and in {}", case.machine.segment_address(*other, *at)))
                        .next("read both numbers off the rails and correct one"),
                );
                continue;
            }
            part.fitted = Some((serial.place, id, index));
            if let Some(received) = part.received {
                against(case, findings, (id, index), received, most);
            }
        }
    }
}

/// Marks and lots of the two ends at a joint.
fn meeting(case: &Case, findings: &mut Findings, id: RailId, joint: usize) {
    let rail = case.machine.rail(id);
    let it = &rail.joints[joint];
    let (near, far) = (&rail.segments[it.before], &rail.segments[it.before + 1]);
    let address = || case.machine.joint_address(id, joint);
    if let (Some(a), Some(b)) = (&near.far_mark, &far.near_mark) {
        if a.value != b.value {
            findings.add(
                findings
                    .finding(address(), b.place, format!("match marks {} and {} meet in {}", **a, **b, it.name))
                    .here(format!("near end of segment {}", it.before + 2))
                    .also(a.place, format!("far end of segment {}", it.before + 1))
                    .next("put the ends with the same mark together, or correct the marks"),
            );
        }
        return;
    }
    let (Some(a), Some(b)) = (&near.lot, &far.lot) else { return };
    // Four grooves that were read at the joint say more than two numbers on the rails.
    if a.value == b.value || case.joint_state(id, joint).grooves.iter().all(Option::is_some) {
        return;
    }
    let mut finding = findings
        .finding(address(), b.place, format!("lots {} and {} meet in {} without match marks", **a, **b, it.name))
        .here(format!("segment {}", it.before + 2))
        .also(a.place, format!("segment {}", it.before + 1))
        .next("measure both profiles before they are fitted, or swap segments so that a lot stays together");
    finding.grade = Grade::Observation;
    findings.add(finding);
}

/// A segment against the part that came in under its number.
fn against(
    case: &Case,
    findings: &mut Findings,
    (id, index): (RailId, usize),
    part: &ReceivedPart,
    most: Option<(Length, InForce)>,
) {
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
    length(case, findings, (id, index), part, most);
}

fn differs(
    findings: &mut Findings,
    address: String,
    serial: &str,
    what: &str,
    described: &Given<Name>,
    came: &Given<Name>,
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

/// A longer bar may have been cut to the segment; a shorter one cannot have become it.
fn length(
    case: &Case,
    findings: &mut Findings,
    (id, index): (RailId, usize),
    part: &ReceivedPart,
    most: Option<(Length, InForce)>,
) {
    let segment = &case.machine.rail(id).segments[index];
    let (Some(came), Some((most, limit))) = (part.length, most) else { return };
    let profile = case.machine.rail(id).profile.as_ref().and_then(|name| case.shop.profile(name));
    let cut = profile.is_some_and(|profile| profile.cutting_allowed) && *came > *segment.length;
    let off = (*came - *segment.length).abs();
    if off <= most || cut {
        return;
    }
    findings.add(
        findings
            .finding(
                case.machine.segment_address(id, index),
                segment.length.place,
                format!("the segment is {} here, and {} as it came in", *segment.length, *came),
            )
            .here("as described")
            .also(came.place, "as it came in")
            .found(Measure::too_large(off))
            .limit(limit)
            .next("measure it again, and correct whichever is wrong"),
    );
}
