//! How a rail is laid and its bolts tightened: in which order, in which holes, to which torque.

use std::collections::BTreeSet;

use super::TravelerBuilder;
use crate::facts::torque_sides::{in_words as order_in_words, sides};
use crate::facts::torque_window::{WindowSource, window};
use crate::ledger::{Body, Interface, Keyword, Rail, RailId, Stage};
use crate::quantity::{Amount, Torque};
use crate::views::paper::{CheckItem, Content, Table, TableCell};

impl TravelerBuilder<'_> {
    pub(super) fn parts(&self) -> Content {
        let mut body = Content::default();
        body.heading(2, "Parts");
        let mut table =
            Table::new(&["Segment", "From", "To", "Length", "Serial", "Lot", "Marks near / far", "In place"]);
        for id in self.rails() {
            let rail = self.case.machine.rail(id);
            for (at, segment) in rail.segments.iter().enumerate() {
                let text =
                    |it: &Option<crate::ledger::Spanned<crate::ledger::Name>>| it.as_ref().map(|it| it.to_string());
                let marks = match (text(&segment.near_mark), text(&segment.far_mark)) {
                    (None, None) => TableCell::Blank,
                    (near, far) => {
                        TableCell::Text(format!("{} / {}", near.unwrap_or("none".into()), far.unwrap_or("none".into())))
                    }
                };
                table.rows.push(vec![
                    TableCell::Text(self.case.machine.segment_address(id, at)),
                    TableCell::Number(segment.from.number()),
                    TableCell::Number(segment.to.number()),
                    TableCell::Number(segment.length.number()),
                    TableCell::text_or_blank(text(&segment.serial)),
                    TableCell::text_or_blank(text(&segment.lot)),
                    marks,
                    TableCell::Tick(false),
                ]);
            }
        }
        body.say("Compare serial, lot and match marks with the part in hand; write in what is blank. Equal marks meet in a joint. Lengths and positions in mm.");
        body.whole_table(table);
        body
    }

    pub(super) fn fitting(&self, id: RailId) -> Option<Content> {
        let rail = self.case.machine.rail(id);
        let order = order(rail);
        let open: Vec<usize> = order.iter().copied().filter(|support| !self.tight(id, *support)).collect();
        if self.remaining && open.is_empty() {
            return None;
        }
        let address = self.case.machine.rail_address(id);
        let mut body = Content::default();
        body.heading(2, format!("Fit rail {address}"));
        // A rail that is snug somewhere lies already.
        if self.case.history(id).supports.all().is_empty() {
            body.checklist(laying(rail));
        }
        if let (Some(first), Some(last)) = (rail.joints.first(), rail.joints.last()) {
            let joints = if rail.joints.len() == 1 {
                first.name.to_string()
            } else {
                format!("{} to {}", first.name, last.name)
            };
            body.hold_point(format!(
                "No light through {joints} once the rail is snug, before any bolt gets its full torque."
            ));
        }
        for interface in [Interface::Rail, Interface::Base] {
            if interface == Interface::Base && !self.has_base_bolts(id) {
                continue;
            }
            let bolts = if interface == Interface::Rail { "Rail bolts" } else { "Base bolts (support to beam)" };
            let window = |stage| window(self.case.ledger, self.case.limits(id.axis), id, interface, stage);
            let (snug, full) = (in_words(window(Stage::Snug)), in_words(window(Stage::Full)));
            body.say(format!(
                "{bolts}: snug to {snug}, then full torque to {full}. Both {}, in the order of the rows. Bolts are counted along increasing position.",
                order_in_words(rail)
            ));
            let rows: &[usize] = if self.remaining { &open } else { &order };
            body.whole_table(self.tightened(id, rows, interface));
            body.whole_table(self.torques(id, rail, rows, interface));
        }
        Some(body)
    }

    /// Who tightened these supports and with what, a row a record, and a row to fill in for each stage that is open.
    fn tightened(&self, id: RailId, supports: &[usize], interface: Interface) -> Table {
        let mut table = Table::new(&["Stage", "Wrench", "Setting (N·m)", "By", "Date and time"]);
        for stage in [Stage::Snug, Stage::Full] {
            let held = supports.iter().flat_map(|support| self.case.held(id, *support, interface, stage));
            let records: BTreeSet<usize> = held.flatten().map(|held| held.record).collect();
            for record in records.into_iter().map(|record| &self.case.records[record]) {
                let Body::Fasten(fasten) = &record.body else { continue };
                table.rows.push(vec![
                    stage.word().into(),
                    TableCell::given(fasten.wrench.as_ref().map(|name| name.to_string())),
                    TableCell::number(fasten.setting.map(|setting| setting.number())),
                    TableCell::given(record.by.as_ref().map(|name| name.to_string())),
                    TableCell::given(record.date.map(|date| date.to_string())),
                ]);
            }
            let is_done = |support: &usize| {
                let snug = || self.case.held(id, *support, interface, Stage::Snug).iter().all(Option::is_some);
                self.tight_at(id, *support, interface) || stage == Stage::Snug && snug()
            };
            if !supports.iter().all(is_done) {
                let mut row = vec![stage.word().into()];
                row.extend([const { TableCell::Blank }; 4]);
                table.rows.push(row);
            }
        }
        table
    }

    fn torques(&self, id: RailId, rail: &Rail, rows: &[usize], interface: Interface) -> Table {
        let count = |support: usize| rail.supports[support].bolt_count(interface).unwrap_or(2);
        let most = rows.iter().map(|support| count(*support)).max().unwrap_or(0);
        let mut head: Vec<String> = ["Support", "At (mm)", "Holes", "Snug"].map(String::from).to_vec();
        head.extend((1..=most).map(|bolt| format!("Bolt {bolt}")));
        let mut table = Table { head, ..Table::default() };
        for &support in rows {
            let it = &rail.supports[support];
            let full = self.case.full_torque_now(id, support, interface);
            let snug = self.case.held(id, support, interface, Stage::Snug).iter().all(Option::is_some)
                || full.iter().all(Option::is_some);
            let holes = if interface == Interface::Rail { holes(rail, support) } else { String::new() };
            let mut row = vec![
                TableCell::text(it.name.as_str()),
                TableCell::Number(it.at.number()),
                TableCell::Text(holes),
                TableCell::Tick(snug),
            ];
            for bolt in 0..most {
                row.push(match full.get(bolt).or(full.first().filter(|_| it.bolt_count(interface).is_none())) {
                    _ if bolt >= count(support) => TableCell::Nothing,
                    Some(Some(held)) => TableCell::Number(held.torque.map_or("clicked".into(), Amount::number)),
                    _ => TableCell::Blank,
                });
            }
            table.rows.push(row);
        }
        table
    }
}

/// How the rail comes to lie on its supports.
fn laying(rail: &Rail) -> Vec<CheckItem> {
    let mut steps = vec![CheckItem::open(
        "Stone and clean the seats, the rail's underside, both datum faces and every rail end. No burr, no dirt, no preservative in a joint.",
    )];
    let supports: Vec<&str> =
        rail.supports.iter().filter(|support| support.joint.is_some()).map(|support| support.name.as_str()).collect();
    if !supports.is_empty() {
        steps.push(CheckItem::open(format!(
            "Set the joint supports {} under their joints with their bolts loose.",
            supports.join(", ")
        )));
    }
    let order: Vec<String> = (0..rail.segments.len()).map(|at| format!("seg{}", at + 1)).collect();
    steps.push(CheckItem::open(format!(
        "Lay {} by increasing position, equal match marks facing each other. Put every bolt in by hand.",
        order.join(", ")
    )));
    steps.push(CheckItem::open(match rail.datum {
        Some(side) => format!("Push the rail to its datum face on the {} side.", side.word()),
        None => {
            "Push the rail to its datum face. On which side it lies is not described: ask, and state datum=.".into()
        }
    }));
    if !rail.joints.is_empty() {
        steps.push(CheckItem::open("Push the rail ends together at each joint and keep them together while snugging."));
    }
    steps
}

/// The supports in the order in which they are tightened: joint by joint, its own first, then outward on the near side,
/// then on the far side; or along the rail, where that is stated.
pub(crate) fn order(rail: &Rail) -> Vec<usize> {
    if rail.tightened_along() {
        return (0..rail.supports.len()).collect();
    }
    let mut order: Vec<usize> = Vec::new();
    for both in sides(rail) {
        for member in both.iter().flatten() {
            if !order.contains(&member.support) {
                order.push(member.support);
            }
        }
    }
    // Without a joint nothing says where to begin.
    order.extend((0..rail.supports.len()).filter(|_| rail.joints.is_empty()));
    order
}

/// The holes of a support's bolts: `seg1 40, seg2 1`.
pub(crate) fn holes(rail: &Rail, support: usize) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mut last = None;
    for bolt in rail.supports[support].bolts.iter().flatten() {
        let Some((segment, hole)) = bolt.hole else { continue };
        if last == Some(segment)
            && let Some(part) = parts.last_mut()
        {
            part.push_str(&format!(", {}", hole + 1));
        } else {
            parts.push(format!("seg{}: {}", segment + 1, hole + 1));
        }
        last = Some(segment);
    }
    parts.join("; ")
}

fn in_words(window: Option<(Torque, Torque, WindowSource)>) -> String {
    match window {
        Some((_, _, stated)) => {
            let limit = stated.words();
            format!("{} ({})", limit.text, limit.source)
        }
        None => "the torque the maker states".to_string(),
    }
}
