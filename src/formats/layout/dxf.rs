//! A plan as a drawing file: DXF of release 12 in plain text, which every drawing program reads. Lengths are millimetres at
//! full size. Each rail is a view of its own, x along the axis as in the ledger; the views stand below each other.

use std::fmt::Write as _;

use super::holes::{Spot, SpotKind, spots};
use crate::calc::layout::plan::{PlannedLayout, PlannedSegment};
use crate::facts::layout_plan::LayoutPlan;
use crate::formats::paper::MADE_BY;
use crate::ledger::{Ledger, Profile};
use crate::quantity::{Amount, Length};

/// One layer a kind, so that each can be switched off with its labels; with colour numbers.
const LAYERS: [(&str, u8); 8] = [
    ("RAIL", 7),
    ("JOINT", 1),
    ("HOLE", 3),
    ("SUPPORT", 150),
    ("JOINT-SUPPORT", 140),
    ("SEAM", 6),
    ("DIMENSION", 8),
    ("TITLE", 7),
];

/// The first lines of every drawing this tool writes.
pub(crate) const HEAD: &str = "999\nwayledger layout, mm\n";

/// Letters of a drawing that is printed as wide as a sheet of A3 are then about 3 mm high.
const LETTERS_ALONG: i64 = 130;

/// About how wide a letter is, as a share of its height.
const LETTER_WIDTH: (i64, i64) = (9, 10);

/// The whole drawing; `shows` says which bytes of the ledger it was made from.
pub(crate) fn drawing(ledger: &Ledger, plan: &LayoutPlan, planned: &PlannedLayout, shows: &str) -> String {
    let high = ((plan.task.to - plan.task.from) / LETTERS_ALONG).max(1);
    let mut page = DxfText::default();
    let mut free = 0;
    for rail in 0..planned.rails.len() {
        let view = RailView::new(ledger, plan, planned, rail, high, free);
        view.draw(&mut page, ledger, plan, &planned.rails[rail].segments);
        free = view.bottom();
    }
    title(&mut page, &title_lines(ledger, plan, shows), (plan.task.from, free), high);
    page.finish()
}

/// One rail as it is drawn.
struct RailView {
    rail: usize,
    spots: Vec<Spot>,
    /// The middle of the rail on the sheet.
    y: i64,
    /// Half the width that the rail is drawn with: nobody states how wide a profile is.
    half: i64,
    /// How high letters are, and those of the supports' names, which stand close.
    high: i64,
    names: i64,
    /// The length of the longest of those names.
    longest: i64,
    hole: Option<i64>,
}

impl RailView {
    fn new(ledger: &Ledger, plan: &LayoutPlan, planned: &PlannedLayout, rail: usize, high: i64, top: i64) -> RailView {
        let spots = spots(ledger, plan, planned, rail);
        let hole = profile(ledger, plan, rail).and_then(|of| of.hole_diameter).map(|hole| hole.nm());
        let half = (plan.task.profile_of(rail).pitch / 6).max(hole.unwrap_or(0));
        let supports: Vec<&Spot> = spots.iter().filter(|spot| spot.what == SpotKind::Support).collect();
        let apart = supports.windows(2).map(|two| two[1].at.nm() - two[0].at.nm()).filter(|apart| *apart > 0).min();
        let names = apart.map_or(high, |apart| high.min(apart * 7 / 10)).max(1);
        let longest = supports.iter().map(|spot| wide(&spot.name, names)).max().unwrap_or(0);
        let y = top - half - 11 * high;
        RailView { rail, spots, y, half, high, names, longest, hole }
    }

    /// Where the next view may begin.
    fn bottom(&self) -> i64 {
        self.under() - self.longest - 4 * self.high
    }

    /// Below what is drawn of the rail.
    fn under(&self) -> i64 {
        self.y - self.half * 3 / 2 - self.high / 2
    }

    fn draw(&self, page: &mut DxfText, ledger: &Ledger, plan: &LayoutPlan, segments: &[PlannedSegment]) {
        let (from, to) = (plan.task.from, plan.task.to);
        let address = ledger.machine.rail_address(plan.rail(self.rail));
        let across = ledger.machine.axes[plan.axis].carriage.as_ref();
        let across = across.and_then(|carriage| carriage.rails_at.iter().find(|at| at.rail == Some(self.rail)));
        let across = across.map_or(String::new(), |at| format!(", at y = {} across the carriage", at.y.number()));
        page.text("RAIL", &(address + &across), (from, self.y + self.half + 9 * self.high), self.high * 3 / 2);
        for segment in segments {
            let end = segment.start + segment.length;
            page.rectangle("RAIL", (segment.start, self.y - self.half), (end, self.y + self.half));
        }
        self.spots.iter().for_each(|spot| self.place(page, spot));
        let chain = self.y + self.half + 4 * self.high;
        for (number, segment) in segments.iter().enumerate() {
            let text = format!("seg{}  {}", number + 1, Length(segment.length).number());
            self.dimension(page, (segment.start, segment.start + segment.length), chain, &text);
        }
        self.dimension(page, (from, to), chain + 3 * self.high, &Length(to - from).number());
    }

    fn place(&self, page: &mut DxfText, spot: &Spot) {
        let (at, y, half) = (spot.at.nm(), self.y, self.half);
        match spot.what {
            SpotKind::Hole => match self.hole {
                Some(diameter) => page.circle("HOLE", (at, y), diameter / 2),
                // A circle would be read as a size.
                None => {
                    page.line("HOLE", (at - half / 2, y), (at + half / 2, y));
                    page.line("HOLE", (at, y - half / 2), (at, y + half / 2));
                }
            },
            SpotKind::Joint => {
                page.line("JOINT", (at, y - 2 * half), (at, y + half + self.high));
                let label = format!("{}  at {}", spot.name, spot.at.number());
                // Beside the line that leads to the dimension.
                page.text("JOINT", &label, (at + self.high / 2, y + half + self.high * 3 / 2), self.high);
            }
            SpotKind::Seam => {
                let low = self.under() - self.longest - 2 * self.high;
                page.line("SEAM", (at, low), (at, y + half * 3 / 2));
                let label = format!("seam of {}  at {}", spot.name, spot.at.number());
                page.text("SEAM", &label, (at + self.high / 2, low), self.high);
            }
            SpotKind::Support | SpotKind::JointSupport => {
                let is_support = spot.what == SpotKind::Support;
                let layer = if is_support { "SUPPORT" } else { "JOINT-SUPPORT" };
                let reach = spot.covers.map_or(0, |covers| covers.nm() / 2);
                page.rectangle(layer, (at - reach, y - half * 3 / 2), (at + reach, y + half * 3 / 2));
                // The support under a joint has the joint's name, which stands there already.
                if is_support {
                    // Beside the middle, where a seam may run.
                    page.hanging(layer, &spot.name, (at - self.names * 7 / 10, self.under()), self.names);
                }
            }
        }
    }

    /// A length with its two ends: lines out from the rail, a line between, strokes across its ends.
    fn dimension(&self, page: &mut DxfText, (from, to): (i64, i64), y: i64, text: &str) {
        let stroke = self.high / 3;
        for end in [from, to] {
            page.line("DIMENSION", (end, self.y + self.half + self.high / 3), (end, y + self.high / 2));
            page.line("DIMENSION", (end - stroke, y - stroke), (end + stroke, y + stroke));
        }
        page.line("DIMENSION", (from, y), (to, y));
        // A short piece has small letters, so that they stay over it.
        let letters = i64::try_from(text.len()).unwrap_or(1).max(1);
        let high = self.high.min((to - from) * LETTER_WIDTH.1 / (letters * LETTER_WIDTH.0)).max(1);
        page.centred("DIMENSION", text, (from + (to - from) / 2, y + self.high / 2), high);
    }
}

fn profile<'l>(ledger: &'l Ledger, plan: &LayoutPlan, rail: usize) -> Option<&'l Profile> {
    ledger.shop.profile(ledger.machine.rail(plan.rail(rail)).profile.as_ref()?)
}

/// About how long a text is.
fn wide(text: &str, high: i64) -> i64 {
    i64::try_from(text.chars().count()).unwrap_or(0) * high * LETTER_WIDTH.0 / LETTER_WIDTH.1
}

/// What stands in the title block.
fn title_lines(ledger: &Ledger, plan: &LayoutPlan, shows: &str) -> Vec<String> {
    let machine = &ledger.machine;
    let name = machine.name.as_ref().map_or("without a name", |name| name.as_str());
    let called = machine.title.as_ref().map_or(String::new(), |title| format!(", {}", **title));
    let (from, to) = (Length(plan.task.from), Length(plan.task.to));
    let mut lines = vec![
        format!("Machine {name}{called}"),
        format!("Layout of axis {}, {} to {} mm", *machine.axes[plan.axis].name, from.number(), to.number()),
        format!("Shows {shows}"),
        MADE_BY.to_string(),
        "Lengths in mm, full size along the rail; its width and that of its supports are symbols".into(),
    ];
    let mut profiles: Vec<(&str, Option<Length>)> = Vec::new();
    for rail in 0..plan.task.rails.len() {
        let of = profile(ledger, plan, rail).map(|of| (of.name.as_str(), of.hole_diameter.map(|hole| *hole)));
        if let Some(of) = of.filter(|of| !profiles.contains(of)) {
            profiles.push(of);
        }
    }
    lines.extend(profiles.into_iter().map(|(name, hole)| match hole {
        Some(hole) => format!("Profile {name}: holes of {hole}"),
        None => format!("Profile {name}: holes are marked by crosses, for hole-diameter is not stated"),
    }));
    lines.push("A plan is no order: have the maker of the rails confirm lengths, end distances and cut ends".into());
    lines
}

/// The title block, its upper left corner at a place.
fn title(page: &mut DxfText, lines: &[String], (left, top): (i64, i64), high: i64) {
    let row = 2 * high;
    let width = lines.iter().map(|line| wide(line, high)).max().unwrap_or(0) + 2 * high;
    let rows = i64::try_from(lines.len()).unwrap_or(0);
    page.rectangle("TITLE", (left, top - rows * row), (left + width, top));
    let mut y = top;
    for line in lines {
        page.text("TITLE", line, (left + high, y - row + high / 2), high);
        y -= row;
        page.line("TITLE", (left, y), (left + width, y));
    }
}

/// Entities, and how far they reach.
#[derive(Default)]
struct DxfText {
    text: String,
    reach: Option<((i64, i64), (i64, i64))>,
}

impl DxfText {
    fn begin(&mut self, kind: &str, layer: &str) {
        let _ = write!(self.text, "0\n{kind}\n8\n{layer}\n");
    }

    fn point(&mut self, code: u8, at: (i64, i64)) {
        let ((left, low), (right, high)) = self.reach.unwrap_or((at, at));
        self.reach = Some(((left.min(at.0), low.min(at.1)), (right.max(at.0), high.max(at.1))));
        write_point(&mut self.text, code, at);
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

    /// A text from its lower left corner on.
    fn text(&mut self, layer: &str, text: &str, at: (i64, i64), high: i64) {
        self.begin("TEXT", layer);
        self.point(10, at);
        // Release 12 knows no letters beyond ASCII, and a line break would end the value.
        let plain: String = text.chars().map(|c| if c == ' ' || c.is_ascii_graphic() { c } else { '?' }).collect();
        let _ = write!(self.text, "40\n{}\n1\n{plain}\n", Length(high).number());
    }

    /// A text over the middle of its foot.
    fn centred(&mut self, layer: &str, text: &str, at: (i64, i64), high: i64) {
        self.text(layer, text, at, high);
        self.text.push_str("72\n1\n");
        self.point(11, at);
    }

    /// A text turned to read upwards, its end at a place.
    fn hanging(&mut self, layer: &str, text: &str, at: (i64, i64), high: i64) {
        self.text(layer, text, at, high);
        self.text.push_str("50\n90\n72\n2\n73\n2\n");
        self.point(11, at);
    }

    fn finish(self) -> String {
        let mut text = format!("{HEAD}0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n");
        // 4 is millimetres, and 1 the metric system.
        text.push_str("9\n$INSUNITS\n70\n4\n9\n$MEASUREMENT\n70\n1\n");
        let ((left, low), (right, high)) = self.reach.unwrap_or_default();
        for (name, corner) in [("$EXTMIN", (left, low)), ("$EXTMAX", (right, high))] {
            let _ = write!(text, "9\n{name}\n");
            write_point(&mut text, 10, corner);
        }
        text.push_str("0\nENDSEC\n0\nSECTION\n2\nTABLES\n");
        text.push_str("0\nTABLE\n2\nLTYPE\n70\n1\n0\nLTYPE\n2\nCONTINUOUS\n70\n0\n3\nSolid line\n72\n65\n73\n0\n40\n0\n0\nENDTAB\n");
        let _ = write!(text, "0\nTABLE\n2\nLAYER\n70\n{}\n", LAYERS.len());
        for (name, colour) in LAYERS {
            let _ = write!(text, "0\nLAYER\n2\n{name}\n70\n0\n62\n{colour}\n6\nCONTINUOUS\n");
        }
        text.push_str("0\nENDTAB\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n");
        text + &self.text + "0\nENDSEC\n0\nEOF\n"
    }
}

fn write_point(out: &mut String, code: u8, (x, y): (i64, i64)) {
    let (x, y) = (Length(x).number(), Length(y).number());
    let _ = write!(out, "{code}\n{x}\n{}\n{y}\n{}\n0\n", code + 10, code + 20);
}
