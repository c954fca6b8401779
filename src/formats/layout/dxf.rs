//! A plan as a drawing file: DXF of release 12 in plain text, which every drawing program reads. Lengths are millimetres;
//! x runs along the axis, and the rails lie beside each other across it.

use std::fmt::Write as _;

use super::holes::{Spot, SpotKind, spots};
use crate::calc::layout::plan::PlannedLayout;
use crate::facts::layout_plan::LayoutPlan;
use crate::ledger::Ledger;
use crate::quantity::{Amount, Length};

/// Between rails whose place across the carriage is not described.
const APART: i64 = 200_000_000;

/// Layers with their colour numbers.
const LAYERS: [(&str, u8); 6] = [("RAIL", 7), ("JOINT", 1), ("HOLE", 3), ("SUPPORT", 5), ("SEAM", 6), ("TEXT", 8)];

/// The first lines of every drawing this tool writes.
pub(crate) const HEAD: &str = "999\nwayledger layout, mm\n";

/// The whole drawing.
pub(crate) fn drawing(ledger: &Ledger, plan: &LayoutPlan, planned: &PlannedLayout) -> String {
    let mut page = DxfText::new();
    for (rail, of) in planned.rails.iter().enumerate() {
        let (pitch, id) = (plan.task.profile_of(rail).pitch, plan.rail(rail));
        let y = across(ledger, plan, rail);
        // Nobody states how wide a profile is: the outline is a symbol, a third of the hole pitch wide.
        let half = pitch / 6;
        for segment in &of.segments {
            page.rectangle("RAIL", (segment.start, y - half), (segment.start + segment.length, y + half));
        }
        for spot in spots(ledger, plan, planned, rail) {
            place(&mut page, &spot, y, half);
        }
        page.text(&ledger.machine.rail_address(id), (plan.task.from, y + 5 * half), half);
    }
    page.finish()
}

fn place(page: &mut DxfText, spot: &Spot, y: i64, half: i64) {
    let at = spot.at.nm();
    match spot.what {
        SpotKind::Hole => page.circle("HOLE", (at, y), half / 3),
        SpotKind::Joint => {
            page.line("JOINT", (at, y - 2 * half), (at, y + 2 * half));
            page.text(&spot.name, (at, y + 2 * half + half / 2), half);
        }
        SpotKind::Seam => page.line("SEAM", (at, y - 3 * half), (at, y + 3 * half)),
        SpotKind::Support | SpotKind::JointSupport => {
            let reach = spot.covers.map_or(0, |covers| covers.nm() / 2);
            page.rectangle("SUPPORT", (at - reach, y - half - half / 2), (at + reach, y + half + half / 2));
            page.text(&spot.name, (at, y - 3 * half), half);
        }
    }
}

/// Where a rail lies across the axis.
fn across(ledger: &Ledger, plan: &LayoutPlan, rail: usize) -> i64 {
    let axis = &ledger.machine.axes[plan.axis];
    let described = |rail: usize| {
        let carriage = axis.carriage.as_ref()?;
        carriage.rails_at.iter().find(|at| at.rail == Some(rail)).map(|at| at.y.nm())
    };
    let places: Option<Vec<i64>> = (0..axis.rails.len()).map(described).collect();
    // To the right along the axis is downwards on the page.
    places.map_or(-(rail as i64) * APART, |places| -places[rail])
}

struct DxfText {
    text: String,
}

impl DxfText {
    fn new() -> DxfText {
        let mut text = format!("{HEAD}0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n0\nENDSEC\n");
        let _ = write!(text, "0\nSECTION\n2\nTABLES\n0\nTABLE\n2\nLAYER\n70\n{}\n", LAYERS.len());
        for (name, colour) in LAYERS {
            let _ = write!(text, "0\nLAYER\n2\n{name}\n70\n0\n62\n{colour}\n6\nCONTINUOUS\n");
        }
        text.push_str("0\nENDTAB\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n");
        DxfText { text }
    }

    fn begin(&mut self, kind: &str, layer: &str) {
        let _ = write!(self.text, "0\n{kind}\n8\n{layer}\n");
    }

    fn point(&mut self, code: u8, (x, y): (i64, i64)) {
        let (x, y) = (Length(x).number(), Length(y).number());
        let _ = write!(self.text, "{code}\n{x}\n{}\n{y}\n{}\n0\n", code + 10, code + 20);
    }

    fn line(&mut self, layer: &str, from: (i64, i64), to: (i64, i64)) {
        self.begin("LINE", layer);
        self.point(10, from);
        self.point(11, to);
    }

    fn rectangle(&mut self, layer: &str, (left, low): (i64, i64), (right, high): (i64, i64)) {
        let corners = [(left, low), (right, low), (right, high), (left, high)];
        for side in 0..4 {
            self.line(layer, corners[side], corners[(side + 1) % 4]);
        }
    }

    fn circle(&mut self, layer: &str, centre: (i64, i64), radius: i64) {
        self.begin("CIRCLE", layer);
        self.point(10, centre);
        let _ = write!(self.text, "40\n{}\n", Length(radius).number());
    }

    fn text(&mut self, text: &str, at: (i64, i64), high: i64) {
        self.begin("TEXT", "TEXT");
        self.point(10, at);
        // Release 12 knows no letters beyond ASCII, and a line break would end the value.
        let plain: String = text.chars().map(|c| if c == ' ' || c.is_ascii_graphic() { c } else { '?' }).collect();
        let _ = write!(self.text, "40\n{}\n1\n{plain}\n", Length(high).number());
    }

    fn finish(mut self) -> String {
        self.text.push_str("0\nENDSEC\n0\nEOF\n");
        self.text
    }
}
