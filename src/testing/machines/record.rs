//! Records everything that was done to a planned machine, day by day, so that nothing is outstanding or wrong.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::describe::{lot, marks, serial};
use super::{Dice, Kind, Plan, Rail, Seat};

/// One record with its day, its minute of the day and the rail it is about.
struct Entry {
    day: &'static str,
    minute: i64,
    rail: String,
    by: &'static str,
    text: String,
}

struct Book<'p> {
    plan: &'p Plan,
    entries: Vec<Entry>,
    day: &'static str,
    minute: i64,
    by: &'static str,
}

/// The files of records, by name.
pub(crate) fn files(plan: &Plan, dice: &mut Dice) -> Vec<(String, String)> {
    let mut book = Book { plan, entries: Vec::new(), day: "", minute: 0, by: "" };
    book.begin("2026-03-30", "inspector-1");
    book.received();
    book.begin("2026-04-14", "fitter-2");
    for rail in &plan.rails {
        book.fasten_all(rail, dice);
    }
    book.begin("2026-04-15", "inspector-1");
    for rail in &plan.rails {
        for joint in 0..rail.segments.len() - 1 {
            book.inspect(rail, joint, dice);
        }
    }
    if dice.chance(60) {
        book.straightness(&plan.rails[0], dice);
    }
    let followers: Vec<&Rail> = plan.rails.iter().filter(|rail| rail.seat != Seat::Reference).collect();
    let gaps: Vec<Vec<i64>> = followers.iter().map(|rail| gap(rail, dice)).collect();
    book.begin("2026-04-16", "inspector-1");
    for (rail, gap) in followers.iter().zip(&gaps) {
        book.survey(rail, "as-fitted", gap);
    }
    book.begin("2026-04-17", "fitter-2");
    for (rail, gap) in followers.iter().zip(&gaps) {
        book.shim(rail, gap);
    }
    book.begin("2026-04-18", "inspector-1");
    for (rail, gap) in followers.iter().zip(&gaps) {
        let shimmed = gap.iter().any(|narrow| !leaves(*narrow).is_empty());
        if shimmed {
            let after: Vec<i64> = gap.iter().map(|narrow| narrow - total(*narrow)).collect();
            let noise = |narrow: i64, dice: &mut Dice| if dice.chance(30) && narrow < 2 { narrow + 1 } else { narrow };
            let after: Vec<i64> = after.into_iter().map(|narrow| noise(narrow, dice)).collect();
            book.survey(rail, "verification", &after);
        }
        for joint in 0..rail.segments.len() - 1 {
            let own = rail.supports.iter().position(|support| support.kind == Kind::Joint(joint)).unwrap_or(0);
            let near = own.saturating_sub(2)..(own + 3).min(gap.len());
            if gap[near].iter().any(|narrow| !leaves(*narrow).is_empty()) {
                book.inspect(rail, joint, dice);
            }
        }
    }
    book.files(dice.roll(0..=2))
}

/// How far each support is from the target of the rail, in hundredths: a wandering line that touches 0. Shims that
/// lift do nothing to the gap, so there it is even from the start.
fn gap(rail: &Rail, dice: &mut Dice) -> Vec<i64> {
    let most = match (rail.seat, dice.chance(25)) {
        (Seat::Lift, _) | (_, true) => 2,
        _ => 9,
    };
    let mut at = dice.roll(0..=most);
    let mut gap: Vec<i64> = Vec::new();
    for _ in &rail.supports {
        gap.push(at);
        at = (at + dice.roll(-2..=2)).clamp(0, most);
    }
    let least = gap.iter().min().copied().unwrap_or(0);
    gap.iter().map(|narrow| narrow - least).collect()
}

/// The leaves for a place that is so many hundredths from the target.
fn leaves(narrow: i64) -> &'static [&'static str] {
    match narrow {
        ..=2 => &[],
        3 | 4 => &["0.03"],
        5 | 6 => &["0.05"],
        7 => &["0.05", "0.02"],
        _ => &["0.05", "0.03"],
    }
}

fn total(narrow: i64) -> i64 {
    match narrow {
        ..=2 => 0,
        3 | 4 => 3,
        5 | 6 => 5,
        7 => 7,
        _ => 8,
    }
}

fn hundredths(n: i64) -> String {
    let sign = if n < 0 { "-" } else { "" };
    format!("{sign}{}.{:02}", n.abs() / 100, n.abs() % 100)
}

fn thousandths(n: i64) -> String {
    let sign = if n < 0 { "-" } else { "" };
    format!("{sign}{}.{:03}", n.abs() / 1000, n.abs() % 1000)
}

/// Indexes of supports from each joint outward, nearest joint first of all; without joints, along the rail.
fn outward(rail: &Rail) -> Vec<usize> {
    let own: Vec<usize> =
        (0..rail.supports.len()).filter(|i| matches!(rail.supports[*i].kind, Kind::Joint(_))).collect();
    let mut order = Vec::new();
    let nearest = |at: i64| own.iter().copied().min_by_key(|joint| (rail.supports[*joint].at - at).abs());
    for joint in &own {
        let mine = |i: &usize| !own.contains(i) && nearest(rail.supports[*i].at) == Some(*joint);
        order.push(*joint);
        order.extend((0..*joint).rev().filter(mine));
        order.extend((joint + 1..rail.supports.len()).filter(mine));
    }
    if own.is_empty() { (0..rail.supports.len()).collect() } else { order }
}

/// Supports as names and ranges, in the order given.
fn ranges(rail: &Rail, order: &[usize]) -> String {
    let mut words = Vec::new();
    let mut at = 0;
    while at < order.len() {
        let run = |step: i64| {
            let mut end = at;
            while end + 1 < order.len() && order[end + 1] as i64 - order[end] as i64 == step {
                end += 1;
            }
            end
        };
        let end = run(1).max(run(-1));
        let name = |i: usize| &rail.supports[order[i]].name;
        words.push(if end == at { name(at).clone() } else { format!("{}..{}", name(at), name(end)) });
        at = end + 1;
    }
    words.join(" ")
}

impl Book<'_> {
    fn begin(&mut self, day: &'static str, by: &'static str) {
        (self.day, self.by, self.minute) = (day, by, 6 * 60);
    }

    /// Writes a record down: its head without date and person, and its rows.
    fn write(&mut self, rail: &Rail, head: &str, more: &str, rows: &[String]) {
        let (day, time) = (self.day, format!("{:02}:{:02}", self.minute / 60, self.minute % 60));
        let mut text = format!("{head} date=\"{day}T{time}\" by={}{more} {{\n", self.by);
        for row in rows {
            let _ = writeln!(text, "    {row}");
        }
        text.push_str("}\n");
        let rail = rail.name.clone();
        self.entries.push(Entry { day, minute: self.minute, rail, by: self.by, text });
        self.minute += 10;
    }

    fn received(&mut self) {
        let plan = self.plan;
        for (index, rail) in plan.rails.iter().enumerate() {
            let parts = rail.segments.iter().enumerate().map(|(segment, length)| {
                let (near, far) = marks(index, rail.segments.len(), segment);
                let near = near.map_or(String::new(), |mark| format!(" near-mark={mark}"));
                let far = far.map_or(String::new(), |mark| format!(" far-mark={mark}"));
                let (serial, lot) = (serial(index, segment), lot(index));
                format!("part serial={serial} lot=\"{lot}\"{near}{far} profile=R20 length={length}")
            });
            self.write(rail, "receive", " delivery=\"D-5521\"", &parts.collect::<Vec<_>>());
        }
    }

    fn fasten_all(&mut self, rail: &Rail, dice: &mut Dice) {
        let order = outward(rail);
        if let Some(bolts) = self.plan.base_bolts {
            self.base(rail, &order, bolts, dice);
        }
        self.snug(rail, &order);
        self.full(rail, &order, dice.chance(75), dice);
    }

    fn base(&mut self, rail: &Rail, order: &[usize], bolts: i64, dice: &mut Dice) {
        let rows = order.iter().map(|i| {
            let torques: Vec<String> = (0..bolts).map(|_| format!("21.{}", dice.roll(0..=4))).collect();
            format!("at {} {}", rail.supports[*i].name, torques.join(" "))
        });
        let rows: Vec<String> = rows.collect();
        self.write(rail, &format!("fasten X.{}", rail.name), " wrench=TW-2 stage=full interface=base", &rows);
    }

    fn snug(&mut self, rail: &Rail, order: &[usize]) {
        let rows = [format!("clicked {}", ranges(rail, order))];
        self.write(rail, &format!("fasten X.{}", rail.name), " wrench=TW-1 stage=snug setting=1.5", &rows);
    }

    fn full(&mut self, rail: &Rail, order: &[usize], read: bool, dice: &mut Dice) {
        let head = format!("fasten X.{}", rail.name);
        if !read {
            let rows = [format!("clicked {}", ranges(rail, order))];
            self.write(rail, &head, " wrench=TW-3 stage=full setting=10.5", &rows);
            return;
        }
        let mut row = |i: &usize| {
            let support = &rail.supports[*i];
            let torques: Vec<String> = (0..support.bolts()).map(|_| format!("10.{}", dice.roll(4..=6))).collect();
            format!("at {} {}", support.name, torques.join(" "))
        };
        let rows: Vec<String> = order.iter().map(&mut row).collect();
        self.write(rail, &head, " wrench=TW-2 stage=full", &rows);
    }

    fn inspect(&mut self, rail: &Rail, joint: usize, dice: &mut Dice) {
        let mut rows = vec!["carrier reach=40 travel=15".to_string(), "light none".to_string()];
        for groove in ["UL", "UR", "LL", "LR"] {
            let before = 2 * dice.roll(-15..=15);
            let after = before + 2 * dice.roll(-3..=3);
            rows.push(format!("{groove} {} -> {}", thousandths(before), thousandths(after)));
        }
        let head = format!("inspect X.{}.J{}", rail.name, joint + 1);
        self.write(rail, &head, " gauge=DI-4 temperature=20.5", &rows);
    }

    fn straightness(&mut self, rail: &Rail, dice: &mut Dice) {
        let mut rows: Vec<String> = Vec::new();
        for support in &rail.supports {
            rows.push(format!("at {} {}", support.name, thousandths(dice.roll(-4..=4))));
        }
        let first = rows[0].replacen("at", "closure", 1);
        rows.push(first);
        let head = format!("survey straightness X.{}", rail.name);
        self.write(rail, &head, " gauge=LA-1 temperature=20.5 stage=as-fitted", &rows);
    }

    fn survey(&mut self, rail: &Rail, stage: &str, gap: &[i64]) {
        // Where shims narrow the gap, the target is the narrowest place and the others are wider.
        let sign = if rail.seat == Seat::Narrow { 1 } else { -1 };
        let reading = |narrow: &i64| hundredths(sign * narrow);
        let stations = rail.supports.iter().zip(gap);
        let mut rows: Vec<String> =
            stations.map(|(support, narrow)| format!("at {} {}", support.name, reading(narrow))).collect();
        rows.push(format!("closure {} {}", rail.supports[0].name, reading(&gap[0])));
        let more = format!(" gauge=DI-6 temperature=21 stage={stage}");
        self.write(rail, &format!("survey gap X.{}", rail.name), &more, &rows);
    }

    /// Shims go in, and what they loosened is tightened again.
    fn shim(&mut self, rail: &Rail, gap: &[i64]) {
        let order: Vec<usize> = (0..gap.len()).filter(|i| !leaves(gap[*i]).is_empty()).collect();
        if order.is_empty() {
            return;
        }
        let rows = order.iter().map(|i| format!("at {} {}", rail.supports[*i].name, leaves(gap[*i]).join(" ")));
        self.write(rail, &format!("shim X.{}", rail.name), "", &rows.collect::<Vec<_>>());
        let mut dice = Dice::new(order.len() as u64);
        if let Some(bolts) = self.plan.base_bolts {
            self.base(rail, &order, bolts, &mut dice);
        }
        self.snug(rail, &order);
        self.full(rail, &order, true, &mut dice);
    }

    /// One file a day and person, one a day and rail, or one for everything.
    fn files(self, style: i64) -> Vec<(String, String)> {
        let mut files: BTreeMap<String, Vec<&Entry>> = BTreeMap::new();
        for entry in &self.entries {
            let name = match style {
                0 => format!("{}-{}.kdl", entry.day, entry.by),
                1 => format!("{}/{}.kdl", entry.rail, entry.day),
                _ => "records.kdl".to_string(),
            };
            files.entry(name).or_default().push(entry);
        }
        let text = |entries: Vec<&Entry>| {
            debug_assert!(entries.is_sorted_by_key(|entry| (entry.day, entry.minute)));
            entries.iter().map(|entry| entry.text.as_str()).collect::<Vec<_>>().join("\n")
        };
        files.into_iter().map(|(name, entries)| (name, text(entries))).collect()
    }
}
