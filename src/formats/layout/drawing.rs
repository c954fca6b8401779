//! The rails of a plan drawn to scale in plain characters.

use std::fmt::Write as _;

use crate::calc::layout::plan::PlannedLayout;
use crate::facts::layout_plan::LayoutPlan;
use crate::formats::clean;
use crate::ledger::Ledger;
use crate::quantity::{Amount, Length};

/// Every rail with its joints, the supports under it and the seams of its beam.
pub(crate) fn drawing(ledger: &Ledger, plan: &LayoutPlan, planned: &PlannedLayout, width: usize) -> String {
    let axis = &ledger.machine.axes[plan.axis];
    let label = axis.rails.iter().map(|rail| clean(&rail.name).chars().count()).max().unwrap_or(0).clamp(5, 24);
    let wide = width.saturating_sub(label + 4).max(20);
    let (from, to) = (plan.task.from, plan.task.to);
    let column = |at: i64| {
        let share = i128::from(at - from) * (wide as i128 - 1) * 2 + i128::from(to - from);
        (share / (2 * i128::from(to - from))).clamp(0, wide as i128 - 1) as usize
    };
    let mut out = String::new();
    let mut line = |name: &str, row: Vec<u8>| {
        let text = format!("{:<label$}  {}", clean(name), String::from_utf8_lossy(&row));
        let _ = writeln!(out, "{}", text.trim_end());
    };
    let mut scale = vec![b' '; wide];
    let end = Length(to).number();
    write_at(&mut scale, 0, &Length(from).number());
    write_at(&mut scale, wide.saturating_sub(end.len()), &end);
    line("mm", scale);
    for (rail, of) in planned.rails.iter().enumerate() {
        let it = &axis.rails[rail];
        let mut names = vec![b' '; wide];
        let mut body = vec![b'='; wide];
        (body[0], body[wide - 1]) = (b'[', b']');
        for (number, joint) in of.joints.iter().enumerate() {
            let name = format!("J{}", number + 1);
            write_at(&mut names, column(joint.at).saturating_sub(name.len() / 2), &name);
            body[column(joint.at)] = b'|';
        }
        line("", names);
        line(&it.name, body);
        let mut under = vec![b' '; wide];
        of.dropped.iter().for_each(|support| under[column(support.at)] = b'x');
        of.supports.iter().for_each(|support| under[column(support.at)] = b'.');
        of.joints.iter().filter_map(|joint| joint.support).for_each(|at| under[column(at)] = b'#');
        if under.iter().any(|c| *c != b' ') {
            line("", under);
        }
        if let Some(beam) = it.beam.as_ref().and_then(|name| axis.beams.iter().find(|beam| *beam.name == **name)) {
            let inside = |at: i64| (from..=to).contains(&at);
            let mut beam_row = vec![b'-'; wide];
            let seams = beam.seams.iter().map(|seam| seam.position.nm());
            seams.filter(|at| inside(*at)).for_each(|at| beam_row[column(at)] = b'^');
            line("", beam_row);
        }
    }
    out
}

/// What the characters mean.
pub(crate) const KEY: &str = "[ ] rail ends   | joint   . support   # joint support   x left out   --^-- beam and seam";

/// Writes a word over a row; what would stand over is cut.
fn write_at(row: &mut [u8], at: usize, word: &str) {
    for (cell, byte) in row.iter_mut().skip(at).zip(word.bytes()) {
        *cell = byte;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_never_leaves_its_row() {
        let mut row = *b"....";
        write_at(&mut row, 2, "J12");
        assert_eq!(&row, b"..J1");
        write_at(&mut row, 9, "J3");
        assert_eq!(&row, b"..J1");
    }
}
