//! A report in short, as the terminal shows it: the state first.

use super::words::{counts, gap_in_words, lifted, signed};
use crate::finding::counted;
use crate::quantity::Amount;
use crate::views::paper::{ListItem, Paper};
use crate::views::report::{AxisReport, DueState, JointReport, RailReport, Report, TorquesReport};
use crate::world::shown_path;

/// The whole report in some lines.
pub fn summary(report: &Report) -> Paper {
    let mut paper =
        Paper::new(format!("{} ({}), judged by {}", report.called(), shown_path(&report.path), report.judged_on));
    let mut lines = vec![top(format!("{}; findings: {}", report.state.word(), counts(&report.counts)))];
    lines.extend(report.design.as_ref().map(|design| {
        let departs = match design.deviations.len() {
            0 => String::new(),
            count => format!(", with {}", counted(count, "deviation", "deviations")),
        };
        top(format!("built to {}{departs}", design.called()))
    }));
    for axis in &report.axes {
        self::axis(&mut lines, axis);
    }
    for it in report.holds.iter().filter(|it| it.in_force) {
        let what = if it.withdrawn { "release withdrawn" } else { "on hold" };
        let reason = it.reason.as_ref().map_or(String::new(), |reason| format!(": {reason}"));
        lines.push(top(format!(
            "{} {what} since {}, {} now{reason}{}",
            it.on.as_deref().unwrap_or(""),
            signed(&it.signed).trim_start_matches("on "),
            it.state.word(),
            it.lift.as_ref().map_or(String::new(), |lift| format!("; {}", lifted(lift)))
        )));
    }
    let doubtful = report.instruments.iter().filter(|it| !it.known || !it.uncalibrated_uses.is_empty());
    for it in doubtful {
        let what = if it.known {
            format!("was not calibrated when it was used on {}", it.uncalibrated_uses.join(", "))
        } else {
            "is not described in the shop file".into()
        };
        lines.push(top(format!("{} {} {what}", it.what, it.name)));
    }
    for limit in report.limits.iter().filter(|limit| limit.axis.is_some()) {
        lines.push(top(format!("limit {}: {} ({})", limit.entry, limit.limit, limit.source)));
    }
    let changed = report.limits.iter().filter(|limit| limit.changed && limit.axis.is_none()).count();
    lines.push(top(format!(
        "limits changed by shop, machine or fastener: {changed}; concessions: {}",
        report.concessions.len()
    )));
    paper.body.list(lines);
    paper
}

fn top(text: String) -> ListItem {
    ListItem::new(0, text)
}

fn axis(lines: &mut Vec<ListItem>, axis: &AxisReport) {
    let released = match &axis.release {
        None => "not released".to_string(),
        Some(release) => format!("released {}", signed(&release.signed)),
    };
    lines.push(top(format!("axis {}: {}, {released}", axis.name, axis.state.word())));
    for rail in &axis.rails {
        self::rail(lines, rail);
    }
    if let Some(life) = &axis.life {
        // What the rails as measured make of it counts only where they were measured.
        let measured = !life.motion.is_empty() && life.held_against_nothing.is_none();
        let lives = life.blocks.iter().map(|block| block.life_as_measured.filter(|_| measured).or(block.life_nominal));
        let shortest = lives.flatten().min();
        let on = if measured { "on the rails as measured" } else { "on rails that lie where they should" };
        let required = life.required.map_or(String::new(), |required| format!(", required {required}"));
        match (&life.lacking, shortest) {
            (Some(lacking), _) => lines.push(ListItem::new(1, format!("life: not computed: {lacking}"))),
            (None, Some(life)) => {
                lines.push(ListItem::new(1, format!("life: shortest {life}, {on}{required}")));
            }
            (None, None) => {}
        }
    }
    for due in axis.dues.iter().filter(|due| due.standing != DueState::Later) {
        let day = due.due.as_ref().map_or(String::new(), |day| format!(" {day}"));
        lines.push(ListItem::new(1, format!("{}: {}{day}", due.task, due.standing.word())));
    }
}

fn rail(lines: &mut Vec<ListItem>, rail: &RailReport) {
    lines.push(ListItem::new(
        1,
        format!(
            "rail {}: {}, {}, {}, {}",
            rail.name,
            rail.state.word(),
            counted(rail.segments.len(), "segment", "segments"),
            counted(rail.joints.len(), "joint", "joints"),
            counted(rail.supports.len(), "support", "supports")
        ),
    ));
    for joint in &rail.joints {
        lines.push(ListItem::new(2, self::joint(joint)));
    }
    for torques in rail.torques.iter().filter(|torques| !torques.supports.is_empty()) {
        lines.push(ListItem::new(2, self::torques(torques)));
    }
    if let Some(gap) = &rail.gap {
        lines.push(ListItem::new(2, gap_in_words(rail, gap)));
    }
    if !rail.shims.is_empty() {
        let leaves: usize = rail.shims.iter().map(|shimmed| shimmed.leaves.len()).sum();
        let (leaves, supports) = (counted(leaves, "leaf", "leaves"), counted(rail.shims.len(), "support", "supports"));
        lines.push(ListItem::new(2, format!("shims: {leaves} under {supports}")));
    }
}

fn joint(joint: &JointReport) -> String {
    let steps = joint.steps.iter().map(|step| {
        let number = step.step.map_or("–".to_string(), Amount::number);
        format!("{} {number}{}", step.groove, if step.over { " over" } else { "" })
    });
    let most = joint.most_step.map_or(String::new(), |most| format!("; at most {most}"));
    let light = if joint.light == Some(true) { "; light seen" } else { "" };
    let stale = if joint.stale.is_some() { "; to be inspected again" } else { "" };
    let steps = steps.collect::<Vec<_>>().join(", ");
    format!("{} at {}: {}, {steps}{most}{light}{stale}", joint.name, joint.at, joint.state.word())
}

fn torques(torques: &TorquesReport) -> String {
    let bolts = || torques.supports.iter().flat_map(|support| &support.bolts);
    let held = bolts().filter(|bolt| bolt.held).count();
    let read = || bolts().filter_map(|bolt| bolt.torque);
    let range = read().min().zip(read().max()).map_or(String::new(), |(least, most)| {
        format!(", {} to {}", least.number(), crate::facts::torque_window::shown(most))
    });
    let window = torques
        .least
        .zip(torques.most)
        .map_or(String::new(), |(least, most)| format!("; window {} to {most}", least.number()));
    format!("{} bolts with full torque: {held} of {}{range}{window}", torques.interface, bolts().count())
}
