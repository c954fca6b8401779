//! Shims planned for whole ledgers: held against trying every leaf under every support, and against the lint's word on
//! the ledger with the plan carried out. Nothing here uses the planner's arithmetic.

use std::fmt::Write as _;

use crate::calc::shims::{ShimPlanError, Stack};
use crate::facts::shim_plan::{ShimPlan, shim_plan};
use crate::facts::shim_words;
use crate::facts::shim_write::record;
use crate::facts::shims::stack;
use crate::finding::{Finding, Grade};
use crate::formats::paper::markdown::markdown;
use crate::formats::shims;
use crate::judging::foreseen;
use crate::ledger::RailId;
use crate::quantity::{Amount, Length, Moment};
use crate::rules::Case;
use crate::views::traveler::traveler;
use crate::writing::entry::outstanding;

use crate::testing::machines::Dice;
use crate::testing::{judge, today};

const RAIL: RailId = RailId { axis: 0, rail: 1 };

/// All lengths are whole parts of this many to a nanometre: means of up to three repeats, halved between supports.
const PARTS: i64 = 12;

/// One place that is read: a support, or halfway to the next one.
#[derive(Clone, Debug)]
struct Station {
    /// The support at it or just before it.
    support: usize,
    between: bool,
    /// Repeats in nm, as the survey has them.
    readings: Vec<i64>,
}

/// A rail that follows another, surveyed, with its stock of leaves.
#[derive(Clone, Debug)]
struct Shop {
    /// Thickness in nm and how many the shop has.
    kinds: Vec<(i64, Option<u32>)>,
    /// Leaves under each support by kind.
    lying: Vec<Vec<u32>>,
    stations: Vec<Station>,
    sense: &'static str,
    limit: i64,
    /// The guard band in nm that is taken off the limit.
    guard: i64,
    proof: bool,
    gauge: &'static str,
}

impl Shop {
    fn random(seed: u64) -> Shop {
        let mut dice = Dice::new(seed ^ 0x5417_0000);
        let d = &mut dice;
        let supports = d.roll(2..=4) as usize;
        let all = [20_000, 50_000, 100_000, 30_000, 200_000];
        let first = d.roll(0..=2) as usize;
        let kinds: Vec<(i64, Option<u32>)> = all[first..first + d.roll(1..=3) as usize]
            .iter()
            .map(|&thickness| (thickness, d.chance(65).then(|| d.roll(0..=4) as u32)))
            .collect();
        // What lies there was in the shop once.
        let mut left: Vec<u32> = kinds.iter().map(|kind| kind.1.unwrap_or(2)).collect();
        let shimmed = d.chance(50);
        let mut leaves = |d: &mut Dice| -> Vec<u32> {
            let of = |left: &mut u32| {
                let taken = if shimmed && d.chance(40) { d.roll(0..=i64::from(*left).min(2)) as u32 } else { 0 };
                *left -= taken;
                taken
            };
            left.iter_mut().map(of).collect()
        };
        let lying: Vec<Vec<u32>> = (0..supports).map(|_| leaves(d)).collect();
        // Few different readings, so that many stand exactly at a limit of 0.05 or at what a leaf makes.
        let grid = *d.pick(&[10_000, 10_000, 5_000, 1]);
        let reading = |d: &mut Dice| {
            let deep = -d.roll(0..=13) * 10_000;
            let fine = d.roll(-2..=2) * if grid == 1 { 1 } else { 0 };
            deep / grid * grid + fine
        };
        let repeats = d.chance(40);
        let mut stations = Vec::new();
        let halfway = d.chance(25);
        for support in 0..supports {
            for between in [false, true] {
                if between && (!halfway || support + 1 == supports || d.chance(50)) {
                    continue;
                }
                let mean = reading(d);
                let times = if repeats { d.roll(1..=3) } else { 1 };
                let readings = (0..times).map(|_| mean + if times > 1 { d.roll(0..=2) } else { 0 }).collect();
                stations.push(Station { support, between, readings });
            }
        }
        let gauge = *d.pick(&["", "DI-6", "DI-4"]);
        let proof = d.chance(40);
        let sense = *d.pick(&["widen", "narrow", "lift"]);
        let limit: i64 = *d.pick(&[50_000, 50_000, 40_000, 50_001]);
        // GUM by hand, in µm²: u² = 5²/3 + 2 · 10²/12 and of the closure (10/2)²/3, U = 11.547 µm; u² = 3²/3 + 2 · 2²/12
        // and of the closure, a tenth of the limit of 50, (5/2)²/3, U = 4.796 µm.
        let half = (limit / 10 + 1) / 2;
        let guard = match gauge {
            "DI-6" if proof => 11_548,
            "DI-4" if proof => (2.0 * (3_666_666.67 + (half * half) as f64 / 3.0).sqrt()).ceil() as i64,
            _ => 0,
        };
        Shop { kinds, lying, stations, sense, limit, guard, proof, gauge }
    }

    fn stacked(&self, leaves: &[u32]) -> i64 {
        leaves.iter().zip(&self.kinds).map(|(&n, kind)| i64::from(n) * kind.0).sum()
    }

    /// Which way a shim moves the reading.
    fn sign(&self) -> i64 {
        if self.sense == "narrow" { -1 } else { 1 }
    }

    fn survey(&self, date: &str, stage: &str, changes: &[i64]) -> String {
        let kind = if self.sense == "lift" { "height" } else { "gap" };
        let gauge = if self.gauge.is_empty() { String::new() } else { format!(" gauge={}", self.gauge) };
        let mut out = format!("survey {kind} X.b date=\"{date}\" by=inspector-1{gauge} stage={stage} {{\n");
        for station in &self.stations {
            let change = match station.between {
                false => 2 * changes[station.support],
                true => changes[station.support] + changes[station.support + 1],
            };
            assert_eq!(change % 2, 0, "leaves are whole hundredths");
            let place = match station.between {
                false => format!("S{}", station.support + 1),
                true => format!("{}", 100 + 240 * station.support + 120),
            };
            let readings = station.readings.iter().map(|reading| mm(reading + self.sign() * change / 2));
            let _ = writeln!(out, "    at {place} {}", readings.collect::<Vec<_>>().join(" "));
        }
        out + "}\n"
    }

    fn text(&self) -> String {
        let mut out = String::from("shop {\n    gauge DI-6 graduation=0.01 local-error=0.005 repeatability=0.0005\n");
        out += "    gauge DI-4 graduation=0.002 local-error=0.003 repeatability=0.0005\n    shim-stock {\n";
        for (thickness, count) in &self.kinds {
            let count = count.map_or(String::new(), |count| format!(" count={count}"));
            let _ = writeln!(out, "        leaf {}{count}", mm(*thickness));
        }
        let limit = mm(self.limit);
        let proof = if self.proof { "proof is=required reason=\"as agreed\"" } else { "" };
        let _ = write!(
            out,
            "    }}\n}}\nmachine m {{\n    rulebook {{ gap-range most={limit} reason=\"as agreed\"; height-range most={limit} reason=\"as agreed\"\n {proof} }}
    axis X {{ rail a; rail b follows=a shims={} {{ supports S first=100 pitch=240 count={} }} }}\n}}\n",
            self.sense,
            self.lying.len()
        );
        let rows: Vec<String> = self
            .lying
            .iter()
            .enumerate()
            .filter(|(_, leaves)| leaves.iter().any(|n| *n > 0))
            .map(|(support, leaves)| {
                let leaves = leaves.iter().zip(&self.kinds);
                let leaves = leaves.flat_map(|(n, kind)| std::iter::repeat_n(mm(kind.0), *n as usize));
                format!("    at S{} {}\n", support + 1, leaves.collect::<Vec<_>>().join(" "))
            })
            .collect();
        if !rows.is_empty() {
            let _ = write!(out, "shim X.b date=\"2026-04-10\" by=fitter-2 {{\n{}}}\n", rows.concat());
        }
        out + &self.survey("2026-04-16", "as-fitted", &vec![0; self.lying.len()])
    }

    /// The ledger with the plan carried out as it is told, tightened, and verified with just what its shims make.
    fn carried_out(&self, plan: &ShimPlan, stacks: &[Stack]) -> String {
        let judged = judge(&[("machine.kdl", &self.text())], &[]);
        let date = Moment::read("2026-04-17").expect("a date");
        let told = record(&judged.ledger, plan, stacks, date, Some("fitter-2")).map_or(String::new(), |it| it.text());
        let mut changes = vec![0; self.lying.len()];
        for (row, leaves) in plan.put_in(stacks) {
            let total: i64 = leaves.iter().map(|leaf| leaf.nm()).sum();
            changes[row.support] = total - self.stacked(&self.lying[row.support]);
        }
        let full = "fasten X.b date=\"2026-04-18\" by=fitter-2 stage=full setting=10.5 { clicked S1..S";
        let full = format!("{full}{} }}\n", self.lying.len());
        self.text() + &told + &full + &self.survey("2026-04-19", "verification", &changes)
    }

    /// The reading of each station in parts, counted in the direction of its shims: of supports, and of those between.
    fn values(&self, between: bool) -> Vec<(usize, i64)> {
        let mean = |station: &Station| {
            let sum: i64 = station.readings.iter().sum();
            (station.support, self.sign() * sum * (PARTS / station.readings.len() as i64))
        };
        self.stations.iter().filter(|station| station.between == between).map(mean).collect()
    }
}

fn mm(nm: i64) -> String {
    let sign = if nm < 0 { "-" } else { "" };
    let text = format!("{sign}{}.{:06}", nm.abs() / 1_000_000, nm.abs() % 1_000_000);
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}

/// Supports shimmed anew, leaves in their stacks, the thickness of all, and the range of all stations in whole nm.
type Cost = (usize, u32, i64, i64);

/// The best of all ways to give each support a stack of leaves or to leave it as it is.
fn by_trying_all(shop: &Shop) -> Option<Cost> {
    let values: Vec<i64> = shop.values(false).iter().map(|(_, value)| *value).collect();
    let (low, high) = (values.iter().min()?, values.iter().max()?);
    let trial =
        Trial { shop, room: (high - low) / PARTS + 2 * shop.limit + 200_000, between: shop.values(true), values };
    let counts: Vec<i64> = shop.kinds.iter().map(|kind| kind.1.map_or(i64::MAX, i64::from)).collect();
    let mut best = None;
    trial.go_on(&[], (i64::MAX, i64::MIN), (0, 0, 0), counts, &mut best);
    best
}

struct Trial<'s> {
    shop: &'s Shop,
    room: i64,
    values: Vec<i64>,
    between: Vec<(usize, i64)>,
}

impl Trial<'_> {
    /// Tries all that can follow what was added under the first supports.
    fn go_on(
        &self,
        added: &[i64],
        (low, high): (i64, i64),
        cost: (usize, u32, i64),
        left: Vec<i64>,
        best: &mut Option<Cost>,
    ) {
        let known = best.map(|best| ((best.0, best.1, best.2), best.3));
        let range = (high.saturating_sub(low).max(0) + PARTS - 1) / PARTS;
        if left.iter().any(|left| *left < 0) || known.is_some_and(|known| (cost, range) >= known) {
            return;
        }
        let (at, shop) = (added.len(), self.shop);
        if at == self.values.len() {
            let cost = (cost.0, cost.1, cost.2, range);
            *best = Some(best.map_or(cost, |best| best.min(cost)));
            return;
        }
        let lies = &shop.lying[at];
        let there = shop.stacked(lies);
        let mut go = |leaves: &[u32], cost: (usize, u32, i64)| {
            let more = shop.stacked(leaves) - there;
            let halfway = self.between.iter().filter(|(support, _)| support + 1 == at);
            let halfway = halfway.map(|(_, value)| value + (added[at - 1] + more) * PARTS / 2);
            let then: Vec<i64> = halfway.chain([self.values[at] + more * PARTS]).collect();
            let low = then.iter().fold(low, |low, value| low.min(*value));
            let high = then.iter().fold(high, |high, value| high.max(*value));
            if high - low <= (shop.limit - shop.guard) * PARTS {
                let left = left.iter().zip(leaves).map(|(left, n)| left - i64::from(*n)).collect();
                self.go_on(&[added, &[more]].concat(), (low, high), cost, left, best);
            }
        };
        go(lies, cost);
        let mut stacks = vec![vec![]];
        let total = |stack: &[u32]| stack.iter().zip(&shop.kinds).map(|(&n, kind)| i64::from(n) * kind.0).sum::<i64>();
        for kind in &shop.kinds {
            let most = (self.room + there) / kind.0;
            let most = kind.1.map_or(most, |count| most.min(count.into())) as u32;
            stacks = stacks
                .iter()
                .flat_map(|stack: &Vec<u32>| (0..=most).map(move |n| [&stack[..], &[n]].concat()))
                .filter(|stack| total(stack) <= self.room + there)
                .collect();
        }
        stacks.sort_by_key(|stack| (stack.iter().sum::<u32>(), total(stack)));
        for stack in stacks {
            go(&stack, (cost.0 + 1, cost.1 + stack.iter().sum::<u32>(), cost.2 + shop.stacked(&stack)));
        }
    }
}

/// The nonconformities that a verification of shims can show.
fn faults(findings: &[Finding]) -> Vec<String> {
    let about =
        ["shim-stock", "shim-total", "gap-range", "gap-range-unproven", "height-range", "height-range-unproven"];
    findings
        .iter()
        .filter(|it| it.grade == Grade::Nonconformity && about.contains(&it.rule.as_str()))
        .map(|it| format!("{} {}: {}", it.rule, it.address, it.message))
        .collect()
}

#[test]
fn plans_are_exact_at_the_limit_and_none_is_better() {
    let (mut planned, mut refused, mut bent, mut none_needed, mut at_limit, mut again, mut halfway) =
        (0, 0, 0, 0, 0, 0, 0);
    for seed in 0..300 {
        let shop = Shop::random(seed);
        let text = shop.text();
        let judged = judge(&[("machine.kdl", &text)], &[]);
        assert!(judged.ledger.text_findings.is_empty(), "seed {seed}: {:?}\n{text}", judged.ledger.text_findings);
        let plan = shim_plan(&judged.ledger, RAIL, crate::testing::today())
            .unwrap_or_else(|why| panic!("seed {seed}: {}", why.what));
        let best = by_trying_all(&shop);
        assert!(!plan.exchange, "seed {seed}: no leaf lies anywhere else");
        match (&plan.best, best) {
            (Ok(told), Some(best)) => {
                let cost = (told.shimmed, told.leaves as u32, told.total_nm, told.range_nm);
                assert!(told.proven && told.range_proven, "seed {seed}");
                assert_eq!(cost, best, "seed {seed}\n{text}");
                planned += 1;
                halfway += usize::from(!shop.values(true).is_empty());
                none_needed += usize::from(told.shimmed == 0);
                again += usize::from(plan.put_in(&told.stacks).any(|(row, _)| !row.there.is_empty()));
                let values: Vec<i64> = shop.values(false).iter().map(|(_, value)| *value).collect();
                at_limit += usize::from(
                    values
                        .iter()
                        .any(|value| values.iter().any(|other| value - other == (shop.limit - shop.guard) * PARTS)),
                );
                assert_eq!(
                    foreseen::of_shims(&judged.ledger, &plan, &told.stacks, today()),
                    [""; 0],
                    "seed {seed}\n{text}"
                );
            }
            (Err(ShimPlanError::Bent { .. }), None) => bent += 1,
            (Err(why), None) if *why != ShimPlanError::Undecided => refused += 1,
            (told, tried) => panic!("seed {seed}: told {told:?}, tried {tried:?}\n{text}"),
        }
    }
    let counts = format!(
        "{planned} planned, {refused} refused, {bent} bent, {none_needed} without shims, {at_limit} at the limit, {again} anew, {halfway} with stations between"
    );
    assert!(planned > 140 && refused > 6 && bent > 2 && none_needed > 6, "{counts}");
    assert!(at_limit > 12 && again > 12 && halfway > 12, "{counts}");
}

/// What a plan is told to be is what the lint says of the ledger once the plan is carried out and verified, stations between
/// supports included.
#[test]
fn what_is_called_kept_the_lint_calls_kept() {
    let (mut kept, mut broken) = (0, 0);
    for seed in 10_000..10_300 {
        let shop = Shop::random(seed);
        let judged = judge(&[("machine.kdl", &shop.text())], &[]);
        let plan = shim_plan(&judged.ledger, RAIL, crate::testing::today())
            .unwrap_or_else(|why| panic!("seed {seed}: {}", why.what));
        let plain = plan.plain.as_ref().map(|plain| plain.stacks.clone());
        for stacks in plan.best.as_ref().map(|best| best.stacks.clone()).into_iter().chain(plain) {
            let text = shop.carried_out(&plan, &stacks);
            let after = judge(&[("machine.kdl", &text)], &[]);
            assert!(after.ledger.text_findings.is_empty(), "seed {seed}: {:?}\n{text}", after.ledger.text_findings);
            let found = faults(&after.findings);
            let told = foreseen::of_shims(&judged.ledger, &plan, &stacks, today());
            assert_eq!(told.is_empty(), found.is_empty(), "seed {seed}: told {told:#?}, found {found:#?}\n{text}");
            if plan.best.as_ref().is_ok_and(|best| best.stacks == stacks) {
                assert_eq!(told, [""; 0], "seed {seed}: a plan is kept\n{text}");
            }
            kept += usize::from(told.is_empty());
            broken += usize::from(!told.is_empty());
        }
    }
    assert!(kept > 120 && broken > 25, "{kept} kept, {broken} broken");
}

#[test]
fn toe_in_is_told_where_the_gap_does_not_conform() {
    let told = |limits: &str, readings: &str| {
        let text = format!(
            "machine m {{ rulebook {{ {limits} }} axis X {{ rail a; rail b follows=a shims=widen {{ supports S first=100 pitch=240 count=5 }} }} }}
             survey gap X.b date=\"2026-04-16\" by=inspector-1 stage=as-fitted {{ {readings} }}"
        );
        crate::testing::found(&text).contains(&"toe-in X.b".to_string())
    };
    // The line grows by more than the readings do where the ends stand to its inside; the gap itself is at its limit.
    let conforming = "at S1 -0.005; at S2 0; at S3 -0.025; at S4 -0.05; at S5 -0.045";
    assert!(!told("", conforming), "the gap conforms");
    assert!(told("", "at S1 0; at S2 -0.02; at S3 -0.04; at S4 -0.06; at S5 -0.08"));
    assert!(!told("", "at S1 0; at S2 -0.04; at S3 -0.08"), "three stations are too few");
    assert!(told("", "at S1 0; at S2 -0.03; at S3 -0.055; at S4 -0.08"), "four are enough");
    // A limit of its own is judged by itself.
    assert!(told("toe-in most=0.02 reason=\"as agreed\"", "at S1 0; at S2 -0.01; at S3 -0.02; at S4 -0.03"));
}

/// Advice names leaves that are there: of one thickness there is one leaf, and it lies under another support.
#[test]
fn advised_leaves_are_in_stock() {
    let found = |count: u32| {
        let text = format!(
            "shop {{ shim-stock {{ leaf 0.02; leaf 0.05 count={count} }} }}
             machine m {{ axis X {{ rail a {{ supports S first=100 pitch=240 count=3 }} }} }}
             shim X.a date=\"2026-04-17\" by=fitter-2 {{ at S1 0.05; at S2 0.02 0.02 0.02 0.02 0.02 }}"
        );
        crate::testing::found(&text).iter().any(|it| it == "shim-leaves X.a.S2")
    };
    assert!(found(3), "0.05 + 0.05 would do, and the shop has two more");
    assert!(!found(2), "one is left, and no smaller stack can be made of it");
    let next = |readings: &str| {
        let text = format!(
            "shop {{ shim-stock {{ leaf 0.05 count=1 }} }}
        machine m {{ axis X {{ rail a; rail b follows=a shims=widen {{ supports S first=100 pitch=240 count=3 }} }} }}
        shim X.b date=\"2026-04-10\" by=fitter-2 {{ at S2 0.05 }}
        survey gap X.b date=\"2026-04-16\" by=inspector-1 stage=as-fitted {{ {readings} }}"
        );
        let findings = crate::testing::lint_text(&text);
        findings.into_iter().find(|it| it.rule.as_str() == "shim-missing").expect("S3 is not shimmed").next
    };
    let short = next("at S1 0; at S2 -0.02; at S3 -0.06");
    assert!(short.contains("order 1 of 0.05 mm"), "{short}");
    // S2 can do without its leaf, which then serves S3.
    assert!(next("at S1 0; at S2 0; at S3 -0.06").starts_with("shim S2 without its 0.05, S3 with 0.05;"));
}

/// A stock that cannot be planned with is told with why, and not as if there were none.
#[test]
fn a_stock_that_cannot_be_planned_with_says_why() {
    let told = |leaves: &str| {
        let text = format!(
            "shop {{ shim-stock {{ {leaves} }} }}
             machine m {{ axis X {{ rail a; rail b follows=a shims=widen {{ supports S first=100 pitch=240 count=3 }} }} }}
             shim X.b date=\"2026-04-10\" by=fitter-2 {{ at S2 0.05 }}
             survey gap X.b date=\"2026-04-16\" by=inspector-1 stage=as-fitted {{ at S1 0; at S2 -0.02; at S3 -0.06 }}"
        );
        let judged = judge(&[("machine.kdl", &text)], &[]);
        let plan = shim_plan(&judged.ledger, RAIL, today());
        let lacking = judged
            .findings
            .iter()
            .find(|it| it.rule.as_str() == "shim-leaves")
            .map(|it| it.message.replace(" (X.b.S2)", ""));
        (plan.err().map(|why| (why.what, why.next)), lacking)
    };
    let kinds = |count: u32| {
        (1..=count).map(|at| format!("leaf {}", Length::um(i64::from(at) * 10).number())).collect::<Vec<_>>()
    };
    let said =
        |what: &str, next: &str, lacking: &str| (Some((what.to_string(), next.to_string())), Some(lacking.to_string()));
    assert_eq!(told(&kinds(16).join("; ")), (None, None));
    assert_eq!(
        told(&kinds(17).join("; ")),
        said(
            "17 kinds of leaf are more than the planner takes: at most 16",
            "say `until=` of those in the shim-stock that nobody uses any more",
            "more kinds of leaf are in stock than can be planned with"
        )
    );
    // As the way out says.
    let gone = kinds(17).join("; ").replace("leaf 0.17", "leaf 0.17 until=\"2026-01-31\"");
    assert_eq!(told(&gone), (None, None));
    assert_eq!(told("leaf 0.05 count=50000"), (None, None));
    // Two rows of one thickness are counted together.
    for many in ["leaf 0.05 count=50001", "leaf 0.05 count=50000; leaf 0.05 count=1"] {
        assert_eq!(
            told(many),
            said(
                "50001 leaves of one kind are more than the planner counts: at most 50000",
                "leave its count out of the shim-stock",
                "more leaves of one kind are in stock than can be planned with"
            )
        );
    }
    assert_eq!(
        told("leaf 0.05; leaf 10.001"),
        said(
            "a leaf of 10.001 mm is no shim: at most 10 mm are planned with",
            "correct its thickness in the shim-stock",
            "a leaf in stock has a thickness that cannot be planned with"
        )
    );
    let none = told("").0.map(|(what, _)| what);
    assert_eq!(none, None, "an empty stock is one");
}

/// The lint's advice, the traveler, the record that is proposed and `shims` tell one plan.
#[test]
fn one_plan_is_told_everywhere() {
    let (mut told, mut refused, mut named) = (0, 0, 0);
    for seed in 20_000..20_120 {
        let shop = Shop::random(seed);
        let judged = judge(&[("machine.kdl", &shop.text())], &[]);
        let case = Case::new(&judged.ledger, today());
        let plan = shim_plan(&judged.ledger, RAIL, crate::testing::today())
            .unwrap_or_else(|why| panic!("seed {seed}: {}", why.what));
        let paper = markdown(&traveler(&judged, 0, today(), false));
        let advice = |name: &str| {
            let found = judged.findings.iter().find(|it| it.rule.as_str() == name);
            found.map(|found| found.next.clone())
        };
        let best = match &plan.best {
            Ok(best) => best,
            Err(why) => {
                let why = shim_words::no_plan(&judged.ledger, &plan, why);
                assert!(paper.contains(&format!("No shim list: {why}.")), "seed {seed}: {why}\n{paper}");
                if let Some(next) = advice("shim-missing") {
                    assert!(next.starts_with(&why), "seed {seed}: {next}, not {why}");
                    refused += 1;
                }
                continue;
            }
        };
        let stacks: Vec<(usize, Vec<Length>)> =
            plan.put_in(&best.stacks).map(|(row, leaves)| (row.support, leaves)).collect();
        assert_eq!(outstanding::shims(&case, RAIL), stacks, "seed {seed}");
        let list = shims::table(&judged.ledger, &plan, &best.stacks);
        for (support, leaves) in &stacks {
            let name = format!("S{}", support + 1);
            let then: Length = leaves.iter().copied().sum();
            let rows = paper.split("Leaves to add (mm)").nth(1).unwrap_or_default();
            let row = rows.lines().find(|line| line.contains(&format!("| {name} |")));
            let row = row.unwrap_or_else(|| panic!("seed {seed}: no row of {name} in {paper}"));
            assert!(row.contains(&format!("| {} |", then.number())), "seed {seed}: {row}");
            let line = list.lines().find(|line| line.trim_start().starts_with(&name)).expect("a line");
            assert!(line.contains(&stack(leaves)), "seed {seed}: {line}");
            if let Some(next) = advice("shim-missing") {
                let word = match leaves.is_empty() {
                    true => format!("{name} without its "),
                    false => format!("{name} with {}", stack(leaves)),
                };
                assert!(next.contains(&word), "seed {seed}: {next}, not {word}");
                named += 1;
            }
        }
        if stacks.is_empty() {
            assert!(paper.contains("no shim is needed") && advice("shim-missing").is_none(), "seed {seed}\n{paper}");
        }
        told += 1;
    }
    assert!(told > 60 && refused > 3 && named > 40, "{told} told, {refused} refused, {named} named by the lint");
}
