//! A fleet of three yards whose truth is known before it is written down: what its owner must be able to ask is asked of the
//! program, and answered exactly as the plan of the fleet says. Nothing of the library is used to work out an answer.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::Path as RealPath;

use jiff::ToSpan as _;
use jiff::civil::{Date, date};
use serde_json::Value;
use wayledger::amounts::Moment;
use wayledger::files::Path;
use wayledger::model::{Ledger, TextFile};
use wayledger::records::{Sealing, release};

use crate::common::machines::Dice;
use crate::common::program::run;

const TODAY: Date = date(2026, 11, 1);
const LEDGERS: i64 = 150;

/// One machine as it is planned.
struct Unit {
    yard: usize,
    name: String,
    revision: u32,
    deviates: bool,
    lot: &'static str,
    wrench: &'static str,
    gauge: &'static str,
    /// The step that is read at its joint, in thousandths of a millimetre.
    step: i64,
    /// How many leaves of 0.05 mm lie under it.
    leaves: usize,
    released: Option<Date>,
    concession_until: Option<Date>,
    held: bool,
}

const YARDS: [&str; 3] = ["yard-a", "yard-b", "yard-c"];
/// By yard, in thousandths: what was in force when axes were released, and what is today.
const RELEASED_BY: [i64; 3] = [20, 30, 20];
const TODAY_BY: [i64; 3] = [18, 30, 18];
/// By how much DI-1 was found to be off, in thousandths; a step is a difference of two readings.
const ERROR: i64 = 1;

impl Unit {
    fn planned(number: i64, dice: &mut Dice) -> Unit {
        let yard = dice.roll(0..=2) as usize;
        let step = *dice.pick(&[4, 8, 12, 14, 16, 19, 24]);
        let is_broken = step > RELEASED_BY[yard];
        let released = (!is_broken && dice.chance(70)).then(|| date(2026, 4, 20) + dice.roll(0..=150).days());
        let until =
            (step > TODAY_BY[yard] && released.is_none() && dice.chance(50)).then(|| TODAY + dice.roll(1..=150).days());
        Unit {
            yard,
            name: format!("unit-{number:03}"),
            revision: if dice.chance(40) { 2 } else { 1 },
            deviates: dice.chance(20),
            lot: if dice.chance(30) { "7731" } else { "7740" },
            wrench: if dice.chance(50) { "TW-2" } else { "TW-3" },
            gauge: if dice.chance(50) { "DI-1" } else { "DI-2" },
            step,
            leaves: dice.roll(0..=2) as usize,
            released,
            concession_until: until,
            held: released.is_none() && dice.chance(15),
        }
    }

    fn folder(&self) -> String {
        format!("{}/{}", YARDS[self.yard], self.name)
    }

    /// The limit that its joint is judged by, in thousandths.
    fn limit(&self) -> i64 {
        if self.released.is_some() { RELEASED_BY[self.yard] } else { TODAY_BY[self.yard] }
    }

    /// Whether the error of its gauge could turn its verdict against a limit.
    fn is_in_doubt(&self, limit: i64) -> bool {
        self.gauge == "DI-1" && self.step > limit - 2 * ERROR && self.step <= limit + 2 * ERROR
    }

    fn service_due(&self) -> Option<Date> {
        Some(self.released? + 6.months())
    }

    fn machine(&self) -> String {
        let Unit { name, revision, lot, .. } = self;
        let mut text = format!("machine {name} {{\n    built-to slip revision={revision}\n");
        for segment in 1..=2 {
            let _ = writeln!(text, "    part X.a.seg{segment} serial={name}-{segment} lot=\"{lot}\"");
        }
        if self.deviates {
            text += "    deviation X.a.S2 at=485 date=\"2026-03-01\" by=engineer-1 reason=\"a rib in the way\"\n";
        }
        text + "}\n"
    }

    fn records(&self) -> String {
        let Unit { wrench, gauge, step, .. } = self;
        let supports = if self.revision == 2 { "J1 S4 S3 S2 S1 E1 S6..S9" } else { "J1 S4 S3 S2 S1 S6..S9" };
        let number: i64 = self.name["unit-".len()..].parse().expect("a number");
        // No two machines have a record that says the same.
        let (day, minute) = (1 + number / 60, number % 60);
        let mut text = String::new();
        if self.leaves > 0 {
            let _ = writeln!(
                text,
                "shim X.a date=\"2026-03-0{day}T06:{minute:02}\" by=fitter-2 {{ at S3{} }}",
                " 0.05".repeat(self.leaves)
            );
        }
        for (stage, wrench, setting) in [("snug", "TW-1", "1.5"), ("full", *wrench, "10.5")] {
            let hour = if stage == "snug" { "08" } else { "10" };
            let _ = writeln!(
                text,
                "fasten X.a date=\"2026-04-0{day}T{hour}:{minute:02}\" by=fitter-2 wrench={wrench} stage={stage} setting={setting} {{ clicked {supports} }}"
            );
        }
        // Nor do two read alike.
        let small = |at: i64| format!("0.{:03} -> 0.{:03}", number % 25 + at, number % 25 + at + (number / 25) % 3);
        let start = number % 40;
        let _ = writeln!(
            text,
            "inspect X.a.J1 date=\"2026-04-05T09:00\" by=inspector-1 gauge={gauge} {{ light none; carrier reach=40 travel=15; UL 0.{start:03} -> 0.{:03}; UR {}; LL {}; LR {} }}",
            start + step,
            small(1),
            small(40),
            small(80)
        );
        if let Some(until) = self.concession_until {
            let _ = writeln!(
                text,
                "concession joint-step X.a.J1 date=\"2026-04-06\" by=engineer-1 accepts=0.024 until=\"{until}\" reason=\"slow axis\""
            );
        }
        if self.held {
            text += "hold X.a.J1 date=\"2026-04-07\" by=engineer-1 reason=\"a mark on the groove\"\n";
        }
        text
    }

    /// As it was released, under the shop files of that day.
    fn release(&self, shops: [&str; 2]) -> Option<String> {
        let day = self.released?;
        let file = |name: &str, text: &str| TextFile::read(Path(name.into()), text.as_bytes().to_vec());
        let files = vec![file("m/machine.kdl", &self.machine()), file("m/records.kdl", &self.records())];
        let above = [file("yard/shop.kdl", shops[0]), file("shop.kdl", shops[1]), file("design.kdl", DESIGNS)];
        let ledger = Ledger::new(Path("m".into()), files, &above);
        let moment = Moment::read(&day.to_string()).expect("a date");
        Some(release(&ledger, 0, &Sealing::new(moment, "engineer-9")).text())
    }
}

const DESIGNS: &str = "design slip revision=1 {
    axis X {
        run to=2400
        service-interval re-inspect months=6
        rail a profile=R20 datum=left {
            segment 1200
            segment 1200
            supports S first=240 pitch=240 count=9 length=80 { omit S5 }
            joint-support J1 at=1200 length=200
        }
    }
}
design slip revision=2 {
    axis X {
        run to=2400
        service-interval re-inspect months=6
        rail a profile=R20 datum=left {
            segment 1200
            segment 1200
            supports S first=240 pitch=240 count=9 length=80 { omit S5 }
            support E1 at=60 length=80
            joint-support J1 at=1200 length=200
        }
    }
}
";

fn company(leaves: usize, bars: usize, more: &str) -> String {
    format!(
        "shop Company {{
    gauge DI-1 kind=dial-indicator graduation=0.001 range=0.8 plus=outward {{
        calibrated \"2026-01-12\" due=\"2027-01-12\" certificate=C-1
        calibrated \"2026-09-01\" due=\"2027-09-01\" certificate=C-9 as-found=outside result=adjusted error=0.001
    }}
    gauge DI-2 kind=dial-indicator graduation=0.001 range=0.8 plus=outward {{
        calibrated \"2025-11-20\" due=\"2026-11-20\" certificate=C-2
    }}
    wrench TW-1 kind=setting least=0.5 most=5 {{ calibrated \"2026-02-02\" due=\"2027-02-02\" certificate=W-1 }}
    wrench TW-2 kind=setting least=4 most=20 {{ calibrated \"2026-02-02\" due=\"2027-02-02\" certificate=W-2 }}
    wrench TW-3 kind=setting least=4 most=20 {{ calibrated \"2026-02-02\" due=\"2027-02-02\" certificate=W-3 }}
    shim-stock {{ leaf 0.05 count={leaves}; leaf 0.1 count=7 }}
    profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 contact=outward {{ stock 1200 count={bars} }}
{more}}}
"
    )
}

/// The shop files of the yards: one lets more pass, one says otherwise how far a gauge reads, one says nothing of its own.
const YARD_SHOPS: [&str; 3] = [
    "shop A { }\n",
    "shop B { rulebook { joint-step most=0.03 reason=\"slow saws\" } }\n",
    "shop C { gauge DI-2 range=0.5 { calibrated \"2025-11-20\" due=\"2026-11-20\" certificate=C-2 } }\n",
];

struct Planned {
    units: Vec<Unit>,
    folder: tempfile::TempDir,
    leaves: usize,
    bars: usize,
}

impl Planned {
    fn new(seed: u64) -> Planned {
        let mut dice = Dice::new(seed);
        let mut units: Vec<Unit> = (0..LEDGERS).map(|number| Unit::planned(number, &mut dice)).collect();
        units.sort_by_key(Unit::folder);
        let used: usize = units.iter().map(|unit| unit.leaves).sum();
        let planned = Planned {
            leaves: used - 5,
            bars: 2 * units.len() + 3,
            units,
            folder: tempfile::tempdir().expect("a folder"),
        };
        let then = company(planned.leaves, planned.bars, "");
        let now = company(
            planned.leaves,
            planned.bars,
            "    rulebook { joint-step most=0.018 reason=\"noise at full speed\" }\n",
        );
        planned.write("shop.kdl", &now);
        planned.write("design.kdl", DESIGNS);
        for (yard, shop) in YARDS.iter().zip(YARD_SHOPS) {
            planned.write(&format!("{yard}/shop.kdl"), shop);
        }
        for unit in &planned.units {
            planned.write(&format!("{}/machine.kdl", unit.folder()), &unit.machine());
            planned.write(&format!("{}/records.kdl", unit.folder()), &unit.records());
            if let Some(text) = unit.release([YARD_SHOPS[unit.yard], &then]) {
                planned.write(&format!("{}/release.kdl", unit.folder()), &text);
            }
        }
        planned
    }

    fn root(&self) -> &RealPath {
        self.folder.path()
    }

    fn write(&self, name: &str, text: &str) {
        let path = self.root().join(name);
        fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        fs::write(path, text).expect("written");
    }

    fn json(&self, arguments: &[&str]) -> Value {
        let day = TODAY.to_string();
        let all = [arguments, &["--today", &day, "--format", "json"]].concat();
        let (out, complaints, code) = run(self.root(), &all);
        assert!(code.is_some_and(|code| code < 2), "{arguments:?}: {complaints}");
        serde_json::from_str(&out).expect("it is JSON")
    }

    /// The folders of the units that are so.
    fn those(&self, are: impl Fn(&Unit) -> bool) -> BTreeSet<String> {
        self.units.iter().filter(|unit| are(unit)).map(Unit::folder).collect()
    }
}

fn text(value: &Value, key: &str) -> String {
    value[key].as_str().unwrap_or_else(|| panic!("no {key} in {value}")).to_owned()
}

fn list<'v>(value: &'v Value, key: &str) -> impl Iterator<Item = &'v Value> {
    value[key].as_array().unwrap_or_else(|| panic!("no list {key}")).iter()
}

/// The folders in which a rule finds something of a grade.
fn found(lint: &Value, rule: &str, grade: &str) -> BTreeSet<String> {
    let of = |ledger: &&Value| {
        list(ledger, "findings").any(|it| it["rule"] == rule && it["grade"] == grade && it["conceded"].is_null())
    };
    list(lint, "ledgers").filter(of).map(|ledger| text(ledger, "path")).collect()
}

fn check_lint(fleet: &Planned) {
    let lint = fleet.json(&["lint"]);
    // Axes that were released by a limit that is narrower today, and would not meet it.
    let tightened =
        fleet.those(|unit| unit.released.is_some() && unit.step <= unit.limit() && unit.step > TODAY_BY[unit.yard]);
    assert!(tightened.len() > 3, "{tightened:?}");
    assert_eq!(found(&lint, "limit-tightened", "observation"), tightened);
    // What the drifting gauge read is in doubt where its error could turn the verdict, and nowhere else.
    let in_doubt = |unit: &Unit| unit.is_in_doubt(unit.limit());
    let told: BTreeSet<String> = list(&lint, "ledgers")
        .filter(|ledger| {
            list(ledger, "findings").any(|it| {
                it["rule"] == "gauge-calibration" && text(it, "message").contains("whose result its error could turn")
            })
        })
        .map(|ledger| text(ledger, "path"))
        .collect();
    assert!(fleet.units.iter().filter(|unit| in_doubt(unit)).count() > 3);
    assert_eq!(told, fleet.those(in_doubt));
    // A broken step that nobody accepted, by the limit that the axis is judged by.
    let broken = fleet.those(|unit| unit.step > unit.limit() && unit.concession_until.is_none());
    assert_eq!(found(&lint, "joint-step", "nonconformity"), broken);
    // More leaves than there were: told where they ran out, in the order of the folders.
    let mut lying = 0;
    let mut beyond = BTreeSet::new();
    for unit in &fleet.units {
        lying += unit.leaves;
        if unit.leaves > 0 && lying > fleet.leaves {
            beyond.insert(unit.folder());
        }
    }
    assert!(!beyond.is_empty());
    assert_eq!(found(&lint, "shim-stock", "nonconformity"), beyond);
    // What a yard loosens or hides is told once, with its file.
    let shops: Vec<String> = list(&lint, "ledgers")
        .flat_map(|one| list(one, "findings"))
        .filter(|it| text(&it["at"], "file").ends_with("shop.kdl"))
        .map(|it| format!("{} {}: {}", text(&it["at"], "file"), text(it, "rule"), text(it, "message")))
        .collect();
    assert_eq!(
        shops,
        [
            "yard-b/shop.kdl limit-loosened: joint-step is at most 0.03 mm below this folder, and the file above wants at most 0.018 mm",
            "yard-c/shop.kdl duplicate-name: the gauge `DI-2` says otherwise here than in the file above: range",
        ]
    );
}

fn check_report(fleet: &Planned) {
    let report = fleet.json(&["report", "--within", "90d"]);
    let soon = |day: Date, days: i32| day >= TODAY && TODAY.until(day).expect("near").get_days() <= days;
    let services = || fleet.units.iter().filter_map(Unit::service_due);
    // A concession counts as long as it accepts something: what is broken by the limits of today.
    let ends = || fleet.units.iter().filter_map(|unit| unit.concession_until);
    let held = fleet.units.iter().filter(|unit| unit.held).count();
    let overdue = services().filter(|day| *day < TODAY).count();
    // DI-2 is one, however many machines name it; DI-1 and the wrenches are due later.
    let within = |days| services().chain(ends()).filter(|day| soon(*day, days)).count() + 1;
    let attention = &report["attention"];
    let number = |key: &str| attention[key].as_u64().unwrap_or_else(|| panic!("{key} in {attention}")) as usize;
    assert_eq!(number("deadlines_overdue"), overdue);
    assert_eq!(number("holds_in_force"), held);
    assert_eq!(number("due_within_30_days"), within(30));
    assert_eq!(number("due_within_90_days"), within(90));
    assert_eq!(number("concessions_ending_within_90_days"), ends().filter(|day| soon(*day, 90)).count());
    let gauges: Vec<&Value> = list(&report, "dues").filter(|due| due["of"] == "DI-2").collect();
    assert_eq!(gauges.len(), 1);
    let users = fleet.those(|unit| unit.gauge == "DI-2");
    let named: BTreeSet<String> = list(gauges[0], "needed_by").map(|it| it.as_str().expect("a name").into()).collect();
    assert_eq!(named, users);
    // By yard and design, with the limit that is another one there.
    let rows: Vec<(String, String, u64, u64, Vec<String>)> = list(&report, "shops")
        .map(|row| {
            let number = |key: &str| row[key].as_u64().expect("a number");
            let limits = list(row, "limits_here").map(|it| format!("{} {}", text(it, "entry"), text(it, "limit_text")));
            let (shop, design) = (text(row, "shop_folder"), text(row, "design_and_revision"));
            (shop, design, number("machines_in_all"), number("machines_released"), limits.collect())
        })
        .collect();
    let mut expected = Vec::new();
    for (yard, name) in YARDS.iter().enumerate() {
        for revision in 1..=2 {
            let of = || fleet.units.iter().filter(|unit| unit.yard == yard && unit.revision == revision);
            let released = of().filter(|unit| unit.released.is_some()).count();
            let limit = format!("joint-step at most {} mm", if yard == 1 { "0.03" } else { "0.018" });
            let design = format!("slip, revision {revision}");
            expected.push((name.to_string(), design, of().count() as u64, released as u64, vec![limit]));
        }
    }
    assert_eq!(rows, expected);
    for (at, row) in list(&report, "revisions").enumerate() {
        let of = || fleet.units.iter().filter(|unit| unit.revision == at as u32 + 1);
        assert_eq!(text(row, "design_and_revision"), format!("slip, revision {}", at + 1));
        assert_eq!(row["machines_in_all"].as_u64(), Some(of().count() as u64));
        assert_eq!(row["machines_with_deviations"].as_u64(), Some(of().filter(|unit| unit.deviates).count() as u64));
    }
    // Stock over all ledgers.
    let stock: BTreeMap<String, [i64; 3]> = list(&report, "stock")
        .map(|line| {
            assert_eq!(text(line, "stated_in"), "shop.kdl");
            let number = |key: &str| line[key].as_i64().expect("a number");
            (text(line, "item"), [number("pieces_received"), number("pieces_used"), number("pieces_left")])
        })
        .collect();
    let (leaves, bars, units) = (fleet.leaves as i64, fleet.bars as i64, fleet.units.len() as i64);
    let expected = [
        ("leaf 0.05 mm".to_string(), [leaves, leaves + 5, -5]),
        ("leaf 0.1 mm".to_string(), [7, 0, 7]),
        ("bar 1200 mm of R20".to_string(), [bars, 2 * units, 3]),
    ];
    assert_eq!(stock, BTreeMap::from(expected));
}

fn check_trial(fleet: &Planned) {
    let trial = fleet.json(&["report", "--try", "joint-step=0.015"]);
    let are = |word: &str| -> BTreeSet<String> {
        list(&trial, "axes_tried").filter(|it| it["meets"] == word).map(|it| text(it, "path")).collect()
    };
    let misses = |unit: &Unit| unit.step > 15;
    // A concession accepts 0.024, whatever the limit is.
    assert_eq!(are("no"), fleet.those(|unit| misses(unit) && unit.concession_until.is_none()));
    assert_eq!(are("by-concession"), fleet.those(|unit| misses(unit) && unit.concession_until.is_some()));
    assert_eq!(are("not-read"), fleet.those(|unit| !misses(unit) && unit.is_in_doubt(15)));
    assert_eq!(are("yes"), fleet.those(|unit| !misses(unit) && !unit.is_in_doubt(15)));
    let released: BTreeSet<String> = list(&trial, "axes_tried")
        .filter(|it| it["is_released"] == true && it["meets"] == "no")
        .map(|it| text(it, "path"))
        .collect();
    assert_eq!(released, fleet.those(|unit| unit.released.is_some() && misses(unit)));
    assert!(released.len() > 10, "{}", released.len());
}

fn check_trace(fleet: &Planned) {
    let wrench = fleet.json(&["trace", "TW-2"]);
    let resting: BTreeSet<String> = list(&wrench, "machines")
        .filter(|machine| list(machine, "resting_axes").next().is_some())
        .map(|it| text(it, "path"))
        .collect();
    assert_eq!(resting, fleet.those(|unit| unit.wrench == "TW-2" && unit.released.is_some()));
    let lot = fleet.json(&["trace", "7731"]);
    let parts: BTreeSet<String> = list(&lot, "machines").map(|it| text(it, "path")).collect();
    assert_eq!(parts, fleet.those(|unit| unit.lot == "7731"));
}

fn check_in_force(fleet: &Planned) {
    let (out, complaints, code) = run(fleet.root(), &["rules", "--in-force", "."]);
    assert_eq!((code, complaints.as_str()), (Some(0), ""), "{out}");
    let row = |limit: &str| {
        let line = out.lines().find(|line| line.trim_start().starts_with("joint-step") && line.contains(limit));
        line.unwrap_or_else(|| panic!("no {limit}: {out}")).to_owned()
    };
    // The number before the first ledger that is named.
    let count = |line: &str| {
        let words: Vec<&str> = line.split_whitespace().collect();
        let first = words.iter().position(|word| word.contains("/unit-"))?;
        words[first - 1].parse::<usize>().ok()
    };
    let open = |yard: usize| fleet.units.iter().filter(|unit| unit.yard == yard && unit.released.is_none()).count();
    let sealed = fleet.units.iter().filter(|unit| unit.yard != 1 && unit.released.is_some()).count();
    let of_b = fleet.units.iter().filter(|unit| unit.yard == 1).count();
    assert_eq!(count(&row("at most 0.018 mm")), Some(open(0) + open(2)), "{out}");
    assert!(row("at most 0.018 mm").contains("noise at full speed"));
    assert_eq!(count(&row("at most 0.03 mm")), Some(of_b), "{out}");
    assert_eq!(count(&row("at most 0.02 mm")), Some(sealed), "{out}");
    assert!(out.lines().all(|line| !line.contains("gap-range")), "nobody changed it: {out}");
}

/// Folders that were copied whole are told, each of them and no other.
fn check_copies(fleet: &Planned) {
    let mut copies = BTreeSet::new();
    for unit in fleet.units.iter().step_by(40) {
        let copy = format!("{}/z-{}", YARDS[unit.yard], unit.name);
        for name in ["machine.kdl", "records.kdl", "release.kdl"] {
            if let Ok(text) = fs::read_to_string(fleet.root().join(unit.folder()).join(name)) {
                fleet.write(&format!("{copy}/{name}"), &text);
            }
        }
        copies.insert(copy);
    }
    let lint = fleet.json(&["lint"]);
    assert_eq!(found(&lint, "readings-copied", "nonconformity"), copies);
}

#[test]
fn what_the_owner_of_a_fleet_asks_is_answered_as_the_truth_says() {
    for seed in [17, 2_026] {
        let fleet = Planned::new(seed);
        check_lint(&fleet);
        check_report(&fleet);
        check_trial(&fleet);
        check_trace(&fleet);
        check_in_force(&fleet);
        if seed == 17 {
            check_copies(&fleet);
        }
    }
}
