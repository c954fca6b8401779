//! The text of a new ledger, with a word for a newcomer on every line that needs one.

use super::wanted::Wanted;
use crate::calc::layout::plan::RailPlan;
use crate::language::edition;
use crate::ledger::{NodeDraft, SpeltValue};
use crate::quantity::Length;
use crate::writing::tidy::{self, TidyError};

/// `machine.kdl`. Without a plan the rails have no segments yet.
pub(crate) fn machine(wanted: &Wanted, plan: Option<&[RailPlan]>) -> Result<String, TidyError> {
    let mut out = format!(
        "{}\n\n\
         // What this machine is. Plain numbers are mm; joints and bolts are derived from this and never typed.\n\
         // `wayledger lint` says what is outstanding, `wayledger traveler` prints the papers for the job.\n",
        NodeDraft::new(edition::WORD).value(SpeltValue::typed(edition::KNOWN[0])).line()
    );
    out += &opened(&NodeDraft::new("machine").value(&wanted.name));
    out += &format!("{}\n\n", NodeDraft::new("title").value(&wanted.title).line());
    out += &format!(
        "// Addresses begin with the axis: {0}.{1} is a rail, {0}.{1}.J1 its first joint.\n",
        wanted.axis, wanted.rails[0].name
    );
    out += &opened(&NodeDraft::new("axis").value(&wanted.axis));
    let run = NodeDraft::new("run").property("from", Length::ZERO).property("to", wanted.length);
    out += &format!("{} // every rail covers this stretch\n", run.line());
    if let Some((from, to)) = wanted.stroke() {
        let stroke = NodeDraft::new("stroke").property("from", from).property("to", to);
        out += &format!("{} // travel of the carriage's middle\n", stroke.line());
    }
    out += "\n// Every rail stands on a beam; where two pieces of a beam meet is a seam.\n";
    for rail in &wanted.rails {
        let pieces = rail.pieces.iter().map(|piece| NodeDraft::new("piece").value(*piece));
        let beam = pieces.fold(NodeDraft::new("beam").value(&beam(&rail.name)), NodeDraft::row);
        out += &format!("{}\n", beam.line());
    }
    for (at, rail) in wanted.rails.iter().enumerate() {
        out += &format!("\n{}", self::rail(wanted, at, &rail.name, plan.and_then(|plan| plan.get(at))));
    }
    if let Some(carriage) = &wanted.carriage {
        out += "\n// at: middle of a block from the carriage's middle; length: its effective length\n";
        let blocks = wanted.rails.iter().flat_map(|rail| {
            let block = |at: &Length| NodeDraft::new("block").value(&rail.name).property("at", *at);
            carriage.blocks.iter().map(move |at| block(at).property("length", carriage.block_length))
        });
        out += &blocks.fold(NodeDraft::new("carriage").property("length", carriage.length), NodeDraft::row).text();
    }
    out += "}\n}\n";
    tidy::text(&out)
}

/// The first line of a node whose block is still to come.
fn opened(node: &NodeDraft) -> String {
    format!("{} {{\n", node.head())
}

fn rail(wanted: &Wanted, at: usize, name: &str, plan: Option<&RailPlan>) -> String {
    let reference = &wanted.rails[0].name;
    let mut out = String::new();
    let mut rail = NodeDraft::new("rail").value(name).property("beam", &beam(name));
    rail.set("profile", &wanted.profile.name);
    if at == 0 {
        out += "// The reference rail: fitted and surveyed first. datum: the side of its datum face.\n";
        rail.set("datum", "left");
    } else {
        out += &format!(
            "// Fitted and shimmed to {reference}. shims: what a shim under it does to the gap; check it at the machine.\n"
        );
        rail = rail.property("datum", "right").property("follows", reference).property("shims", "widen");
    }
    out += &opened(&rail);
    match plan {
        Some(plan) => {
            out += "// by the planner; when the bars are there, add to each: serial=K-118 lot=\"7731\"\n";
            for segment in &plan.segments {
                out += &format!("{}\n", NodeDraft::new("segment").value(Length(segment.length)).line());
            }
        }
        None => out += "// one line a bar, in order along the axis: segment 2400 serial=K-118 lot=\"7731\"\n",
    }
    let supports = wanted.supports;
    if supports.count > 0 {
        let number = |at: i64| (at - supports.first.nm()) / supports.pitch.nm() + 1;
        let omitted: Vec<String> =
            plan.iter().flat_map(|plan| &plan.dropped).map(|dropped| format!("S{}", number(dropped.at))).collect();
        let mut row = NodeDraft::new("supports").value("S").property("first", supports.first);
        row = row.property("pitch", supports.pitch).property("count", SpeltValue::count(supports.count));
        row.set("length", supports.covers);
        if !omitted.is_empty() {
            row.push(NodeDraft::new("omit").values(&omitted));
        }
        out += &format!("{}\n", row.line());
    }
    match plan {
        Some(plan) => {
            for (number, joint) in plan.joints.iter().enumerate() {
                let support = NodeDraft::new("joint-support").value(&format!("J{}", number + 1));
                let support = support.property("at", Length(joint.support.unwrap_or(joint.at)));
                out += &format!("{}\n", support.property("length", supports.joint_covers).line());
            }
        }
        None => {
            out +=
                "// `wayledger layout` plans the joints, the supports under them, and which S they take the place of\n"
        }
    }
    out += "}\n";
    out
}

/// `shop.kdl`, where no shop file describes the profile yet.
pub(crate) fn shop(wanted: &Wanted) -> Result<Option<String>, TidyError> {
    let profile = &wanted.profile;
    if profile.known {
        return Ok(None);
    }
    let mut sold = NodeDraft::new("profile").value(&profile.name).property("hole-pitch", profile.hole_pitch);
    sold = sold.property("end-distance", profile.end_distance).property("bolt-edge", profile.bolt_edge);
    sold.push(NodeDraft::new("stock").values(profile.stock.iter().map(|(bar, _)| *bar)));
    tidy::text(&format!(
        "// What all machines of a shop share. It may lie in a folder above, so that all ledgers below it use it.\n\
         shop {{\n\
         // hole-pitch, end-distance: the holes of a bar; stock: the lengths it can be had in\n\
         {}\n\
         // Name each gauge and wrench once; records cite the name. Take the slashes away and put in your own:\n\
         // gauge DI-4 kind=dial-indicator graduation=0.002 range=0.8 plus=outward {{\n\
         //     calibrated \"2026-01-12\" due=\"2027-01-12\" certificate=\"C-2211\"\n\
         // }}\n\
         // wrench TW-2 kind=indicating least=4 most=20 graduation=0.1 {{ calibrated \"2026-02-02\" due=\"2027-02-02\" }}\n\
         // shim-stock {{ leaf 0.02; leaf 0.05; leaf 0.10 }}\n\
         }}\n",
        sold.text(),
    ))
    .map(Some)
}

fn beam(rail: &str) -> String {
    format!("under-{rail}")
}
