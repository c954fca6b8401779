//! The text of a new ledger, with a word for a newcomer on every line that needs one.

use super::Wanted;
use crate::calc::layout::plan::RailPlan;
use crate::quantity::{Amount, Length};
use crate::text::{quote, quoted};

/// `machine.kdl`. Without a plan the rails have no segments yet.
pub fn machine(wanted: &Wanted, plan: Option<&[RailPlan]>) -> String {
    let mut out = String::from(
        "// What this machine is. Plain numbers are mm; joints and bolts are derived from this and never typed.\n\
         // `wayledger lint` says what is outstanding, `wayledger traveler` prints the papers for the job.\n",
    );
    out += &format!("machine {} {{\n", quote(&wanted.name));
    out += &format!("    title {}\n\n", quoted(&wanted.title));
    out += &format!(
        "    // Addresses begin with the axis: {0}.{1} is a rail, {0}.{1}.J1 its first joint.\n",
        wanted.axis, wanted.rails[0].name
    );
    out += &format!("    axis {} {{\n", quote(&wanted.axis));
    out += &format!("        run from=0 to={} // every rail covers this stretch\n", mm(wanted.length));
    if let Some((from, to)) = wanted.stroke() {
        out += &format!("        stroke from={} to={} // travel of the carriage's middle\n", mm(from), mm(to));
    }
    out += "\n        // Every rail stands on a beam; where two pieces of a beam meet is a seam.\n";
    for rail in &wanted.rails {
        let pieces: Vec<String> = rail.pieces.iter().map(|piece| format!("piece {}", mm(*piece))).collect();
        out += &format!("        beam {} {{ {} }}\n", beam(&rail.name), pieces.join("; "));
    }
    for (at, rail) in wanted.rails.iter().enumerate() {
        out += &format!("\n{}", self::rail(wanted, at, &rail.name, plan.and_then(|plan| plan.get(at))));
    }
    if let Some(carriage) = &wanted.carriage {
        out += "\n        // at: middle of a block from the carriage's middle; length: its effective length\n";
        out += &format!("        carriage length={} {{\n", mm(carriage.length));
        for rail in &wanted.rails {
            for block in &carriage.blocks {
                out += &format!(
                    "            block {} at={} length={}\n",
                    quote(&rail.name),
                    mm(*block),
                    mm(carriage.block_length)
                );
            }
        }
        out += "        }\n";
    }
    out += "    }\n}\n";
    out
}

fn rail(wanted: &Wanted, at: usize, name: &str, plan: Option<&RailPlan>) -> String {
    let reference = &wanted.rails[0].name;
    let mut out = String::new();
    let follows = if at == 0 {
        out += "        // The reference rail: fitted and surveyed first. datum: the side of its datum face.\n";
        String::new()
    } else {
        out += &format!(
            "        // Fitted and shimmed to {reference}. shims: what a shim under it does to the gap; check it at the machine.\n"
        );
        format!(" follows={} shims=widen", quote(reference))
    };
    let datum = if at == 0 { "left" } else { "right" };
    out += &format!(
        "        rail {} beam={} profile={} datum={datum}{follows} {{\n",
        quote(name),
        beam(name),
        quote(&wanted.profile.name)
    );
    match plan {
        Some(plan) => {
            out += "            // by the planner; when the bars are there, add to each: serial=K-118 lot=\"7731\"\n";
            for segment in &plan.segments {
                out += &format!("            segment {}\n", nm(segment.length));
            }
        }
        None => {
            out += "            // one line a bar, in order along the axis: segment 2400 serial=K-118 lot=\"7731\"\n"
        }
    }
    let supports = wanted.supports;
    if supports.count > 0 {
        let omitted: Vec<String> = plan
            .iter()
            .flat_map(|plan| &plan.dropped)
            .map(|dropped| format!("S{}", (dropped.at - supports.first.nm()) / supports.pitch.nm() + 1))
            .collect();
        let omit = if omitted.is_empty() { String::new() } else { format!(" {{ omit {} }}", omitted.join(" ")) };
        out += &format!(
            "            supports S first={} pitch={} count={} covers={}{omit}\n",
            mm(supports.first),
            mm(supports.pitch),
            supports.count,
            mm(supports.covers)
        );
    }
    match plan {
        Some(plan) => {
            for (number, joint) in plan.joints.iter().enumerate() {
                let at = joint.support.unwrap_or(joint.at);
                out += &format!(
                    "            joint-support J{} at={} covers={}\n",
                    number + 1,
                    nm(at),
                    mm(supports.joint_covers)
                );
            }
        }
        None => {
            out += &format!(
                "            // one under every joint: joint-support J1 at=2400 covers={}; omit the S it stands on\n",
                mm(supports.joint_covers)
            );
        }
    }
    out += "        }\n";
    out
}

/// `shop.kdl`, where no shop file describes the profile yet.
pub fn shop(wanted: &Wanted) -> Option<String> {
    let profile = &wanted.profile;
    if profile.known {
        return None;
    }
    let stock: Vec<String> = profile.stock.iter().map(|(bar, _)| mm(*bar)).collect();
    Some(format!(
        "// What all machines of a shop share. It may lie in a folder above, so that all ledgers below it use it.\n\
         shop {{\n\
         \x20   // hole-pitch, end-distance: the holes of a bar; stock: the lengths it can be had in\n\
         \x20   profile {} hole-pitch={} end-distance={} bolt-edge={} {{\n\
         \x20       stock {}\n\
         \x20   }}\n\n\
         \x20   // Name each gauge and wrench once; records cite the name. Take the slashes away and put in your own:\n\
         \x20   // gauge DI-4 kind=dial-indicator graduation=0.002 range=0.8 plus=outward {{\n\
         \x20   //     calibrated \"2026-01-12\" due=\"2027-01-12\" certificate=\"C-2211\"\n\
         \x20   // }}\n\
         \x20   // wrench TW-2 kind=reading least=4 most=20 graduation=0.1 {{ calibrated \"2026-02-02\" due=\"2027-02-02\" }}\n\
         \x20   // shim-stock {{ leaf 0.02; leaf 0.05; leaf 0.10 }}\n\
         }}\n",
        quote(&profile.name),
        mm(profile.hole_pitch),
        mm(profile.end_distance),
        mm(profile.bolt_edge),
        stock.join(" "),
    ))
}

fn beam(rail: &str) -> String {
    quote(&format!("under-{rail}"))
}

fn mm(length: Length) -> String {
    length.number()
}

fn nm(nm: i64) -> String {
    Length(nm).number()
}
