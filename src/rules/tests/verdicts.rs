//! What every rule says of every subject: nothing is passed over, nothing is called conforming without a fact that was
//! read, and the verdicts agree with the findings.
//!
//! Nothing here is from outside: the subjects are counted on the description itself, and the findings of the lint are held
//! against the verdicts.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path as Folder;

use crate::finding::{Finding, Grade};
use crate::judging::lint::{judge_ledger, read_file, read_shops};
use crate::language::rulebook::{ENTRIES, LimitName};
use crate::ledger::seal::sealed_limits;
use crate::ledger::{Ledger, TextFile};
use crate::rules::judge::verdicts;
use crate::rules::{self, Case, Check, Rule, RuleGroup, Subject, Verdict};
use crate::world::ledgers::{FoundLedger, find_all};
use crate::world::{Disk, Path};

use crate::testing::today;

/// The ledgers of a folder of examples, read anew, with all of their files or with those that a test keeps.
fn ledgers(folder: &str, keep: impl Fn(&Path) -> bool) -> Vec<Ledger> {
    let top = Folder::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers");
    let disk = Disk::at(&top).expect("the examples are there");
    let found = find_all(&disk, &[Path(folder.into())]).expect("the examples can be listed").found;
    let shops = read_shops(&disk, &found);
    let read = |it: &FoundLedger| {
        let files: Vec<TextFile> =
            it.files.iter().filter(|path| keep(path)).map(|path| read_file(&disk, path)).collect();
        let shops: Vec<TextFile> = it.shops.iter().map(|path| shops[path].clone()).collect();
        Ledger::new(it.folder.clone(), files, &shops)
    };
    let all: Vec<Ledger> = found.iter().map(read).collect();
    assert!(!all.is_empty(), "{folder} holds ledgers");
    all
}

/// Two axes, and two of a kind of everything else: the examples describe one axis each.
const TWO_AXES: &str = r#"
shop { profile R20 hole-pitch=60 end-distance=30; gauge DI-4; gauge DI-5; wrench TW-2 }
machine m {
    axis X {
        rail a profile=R20 { segment 1200; segment 1200; segment 600; supports S first=240 pitch=240 count=4 }
        rail b { segment 1200; segment 1200 }
        rail c { segment 600 }
    }
    axis Y { rail a { segment 600; supports S first=120 pitch=240 count=2 }; rail b }
}
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none }
inspect X.b.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none }
void inspect X.b.J1 of="2026-04-15" date="2026-04-16" by=inspector-2 reason="the wrong joint"
fasten Y.a date="2026-04-15" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S1 S2 }
"#;

/// The ledger of one text.
fn of_text(text: &str) -> Ledger {
    let file = TextFile::read(Path("m/machine.kdl".into()), text.as_bytes().to_vec());
    Ledger::new(Path("m".into()), vec![file], &[])
}

/// The example ledgers, the examples of every rule's page, and one of two axes.
fn every_example() -> Vec<Ledger> {
    let mut all: Vec<Ledger> =
        ["boatyard", "faults"].into_iter().flat_map(|folder| ledgers(folder, |_| true)).collect();
    all.extend(rules::all().flat_map(|rule| [rule.wrong, rule.right]).map(of_text));
    all.push(of_text(TWO_AXES));
    all
}

/// The kinds of subject, as a test counts them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Machine,
    Axis,
    Pair,
    Rail,
    Segment,
    Joint,
    Support,
    Record,
    Instrument,
}

fn kind(subject: Subject) -> Kind {
    match subject {
        Subject::Machine => Kind::Machine,
        Subject::Axis(_) => Kind::Axis,
        Subject::Pair(_) => Kind::Pair,
        Subject::Rail(_) => Kind::Rail,
        Subject::Segment(..) => Kind::Segment,
        Subject::Joint(..) => Kind::Joint,
        Subject::Support(..) => Kind::Support,
        Subject::Record(_) => Kind::Record,
        Subject::Instrument(_) => Kind::Instrument,
    }
}

/// The kind of subject that a check is about.
fn kind_of(check: &Check) -> Kind {
    match check {
        Check::Machine(_) | Check::Afterwards(_) | Check::Again(_) => Kind::Machine,
        Check::Axes(_) => Kind::Axis,
        Check::Pairs(_) => Kind::Pair,
        Check::Rails(_) => Kind::Rail,
        Check::Segments(_) => Kind::Segment,
        Check::Joints(_) => Kind::Joint,
        Check::Supports(_) => Kind::Support,
        Check::Records(_) => Kind::Record,
        Check::Instruments(_) => Kind::Instrument,
    }
}

/// How many subjects of a kind there are: counted from the description as it is written, not as the judge goes through it.
fn count(ledger: &Ledger, kind: Kind) -> usize {
    let axes = || ledger.machine.axes.iter();
    let rails = || axes().flat_map(|axis| &axis.rails);
    match kind {
        Kind::Machine => 1,
        Kind::Axis => axes().count(),
        Kind::Pair => axes().map(|axis| axis.rails.len() * axis.rails.len().saturating_sub(1) / 2).sum(),
        Kind::Rail => rails().count(),
        Kind::Segment => rails().map(|rail| rail.segments.len()).sum(),
        // Between any two segments that follow each other.
        Kind::Joint => rails().map(|rail| rail.segments.len().saturating_sub(1)).sum(),
        Kind::Support => rails().map(|rail| rail.supports.len()).sum(),
        Kind::Record => ledger.records.iter().filter(|record| record.counts()).count(),
        Kind::Instrument => ledger.shop.gauges.len() + ledger.shop.wrenches.len(),
    }
}

#[test]
fn every_rule_says_one_thing_of_each_subject_that_there_is() {
    let (mut asked, mut most) = (BTreeSet::new(), BTreeMap::new());
    for ledger in every_example() {
        let mut told: BTreeMap<&str, Vec<Subject>> = BTreeMap::new();
        for (rule, subject, _) in verdicts(&Case::new(&ledger, today())) {
            told.entry(rule.as_str()).or_default().push(subject);
        }
        for rule in rules::all() {
            let said = told.remove(rule.name.as_str()).unwrap_or_default();
            let kinds: BTreeSet<Kind> = rule.checks.iter().map(kind_of).collect();
            assert_eq!(kinds.len(), rule.checks.len(), "{} has two checks of one kind of subject", rule.name);
            for of in &kinds {
                let subjects: Vec<Subject> = said.iter().copied().filter(|subject| kind(*subject) == *of).collect();
                let different: BTreeSet<Subject> = subjects.iter().copied().collect();
                let there = count(&ledger, *of);
                assert_eq!(subjects.len(), there, "{}: {} of each {of:?}", ledger.folder, rule.name);
                assert_eq!(different.len(), there, "{}: {} of each {of:?} once", ledger.folder, rule.name);
                most.entry(*of).and_modify(|most: &mut usize| *most = there.max(*most)).or_insert(there);
            }
            assert!(said.iter().all(|subject| kinds.contains(&kind(*subject))), "{}: {}", ledger.folder, rule.name);
            asked.insert(rule.name.as_str());
        }
        told.retain(|name, _| rules::named(name).is_some());
        assert!(told.is_empty(), "{}: verdicts of rules that nobody asked: {told:?}", ledger.folder);
    }
    // Of each kind that a rule asks about there is more than one somewhere, so that one a ledger would not do.
    for (kind, most) in most.into_iter().filter(|(kind, _)| *kind != Kind::Machine) {
        assert!(most > 1, "{kind:?}: {most}");
    }
    // Found while the text is read, or between two states.
    let without_checks = |rule: &&Rule| rule.checks.is_empty();
    let has_none = |rule: &Rule| matches!(rule.group, RuleGroup::Text | RuleGroup::History);
    assert!(rules::all().filter(without_checks).all(has_none));
    assert!(asked.len() > 20, "{asked:?}");
}

/// Rules about work and readings that judge the description or the shop file alone, so that they can say *conforms*
/// without a record.
const ON_THE_DESCRIPTION: &[(&str, &str)] = &[
    ("parts-mixed", "the match marks and the lots of the two ends at a joint stand in the description"),
    ("place-off-axis", "supports stand in the description"),
    ("instrument-implausible", "instruments stand in the shop file"),
    ("fastener-implausible", "fasteners stand in the shop file"),
    ("fastener-unfinished", "fasteners stand in the shop file"),
    ("leaf-implausible", "the stock stands in the shop file"),
    ("end-unmarked", "marks and lots stand in the description"),
];

#[test]
fn without_records_nothing_is_said_to_conform_by_work_or_readings() {
    let conforming = |ledger: &Ledger| -> BTreeSet<&str> {
        let all = verdicts(&Case::new(ledger, today())).into_iter();
        let about_work = |name| {
            let group = rules::rule(name).map(|rule| rule.group);
            matches!(group, Some(RuleGroup::Fitting | RuleGroup::Inspection | RuleGroup::Gap))
        };
        all.filter(|(name, _, said)| about_work(*name) && matches!(said, Verdict::Conforms(_)))
            .map(|(name, ..)| name.as_str())
            .collect()
    };
    let (mut with, mut without) = (BTreeSet::new(), BTreeSet::new());
    for (whole, bare) in
        ledgers("boatyard", |_| true).iter().zip(&ledgers("boatyard", |path| path.0.ends_with("/machine.kdl")))
    {
        assert!(
            !whole.records.is_empty() && bare.records.is_empty(),
            "{}: records are files of their own",
            whole.folder
        );
        assert!(!bare.machine.axes.is_empty(), "{}: the description stays", bare.folder);
        with.extend(conforming(whole));
        without.extend(conforming(bare));
    }
    let excepted: BTreeSet<&str> = ON_THE_DESCRIPTION.iter().map(|(name, _)| *name).collect();
    let by_nothing: Vec<&&str> = without.difference(&excepted).collect();
    assert!(by_nothing.is_empty(), "said to conform without a record: {by_nothing:?}");
    let needless: Vec<&&str> = excepted.difference(&without).collect();
    assert!(needless.is_empty(), "excepted for nothing: {needless:?}");
    // With the records some do conform.
    assert!(with.difference(&without).count() > 0, "{with:?}");
}

#[test]
fn what_conforms_shows_a_text_that_was_read() {
    let mut shown = 0;
    for ledger in every_example() {
        for (rule, subject, said) in verdicts(&Case::new(&ledger, today())) {
            let Verdict::Conforms(place) = said else { continue };
            let there = ledger.sources.iter().any(|(id, _)| id == place.source);
            assert!(there, "{}: {rule} of {subject:?} shows a file that is none of the ledger's", ledger.folder);
            let text = ledger.sources.text(place);
            assert!(!text.trim().is_empty(), "{}: {rule} of {subject:?} shows nothing: {place:?}", ledger.folder);
            shown += 1;
        }
    }
    assert!(shown > 1000, "{shown}");
}

/// Whether the lint judges a ledger by the very limits that the verdicts rest on, and as a whole.
fn is_comparable(ledger: &Ledger) -> bool {
    let sealed = (0..ledger.machine.axes.len()).any(|axis| sealed_limits(ledger, axis).is_some());
    let sound = ledger.text_findings.is_empty() && ledger.lost.is_empty() && !ledger.half_described;
    !sealed && sound && ledger.not_judged.is_none()
}

#[test]
fn verdicts_agree_with_the_findings() {
    let mut compared = 0;
    for ledger in every_example().into_iter().filter(is_comparable) {
        let folder = ledger.folder.clone();
        let said = verdicts(&Case::new(&ledger, today()));
        let findings = judge_ledger(ledger, today()).findings;
        let graded = |grade: Grade| -> BTreeSet<&str> {
            let of = |finding: &&Finding| finding.grade == grade && rules::rule(finding.rule).is_some();
            findings.iter().filter(of).map(|finding| finding.rule.as_str()).collect()
        };
        let verdict = |wanted: Verdict| -> BTreeSet<&str> {
            said.iter().filter(|(_, _, it)| *it == wanted).map(|(rule, ..)| rule.as_str()).collect()
        };
        let (broken, outstanding) = (verdict(Verdict::Broken), verdict(Verdict::Outstanding));
        let told = graded(Grade::Nonconformity);
        // What else the values of a mistaken unit break is broken, and not told beside it.
        let followed: BTreeSet<&str> = match told.contains("unit-mistaken") {
            true => broken.intersection(&told).copied().collect(),
            false => broken.clone(),
        };
        assert_eq!(followed, told, "{folder}: broken");
        // Where a subject is broken and something of it outstanding too, it is called broken.
        let open = graded(Grade::Outstanding);
        assert!(outstanding.is_subset(&open), "{folder}: outstanding {outstanding:?}, found {open:?}");
        let lost: Vec<&&str> =
            open.iter().filter(|rule| !outstanding.contains(*rule) && !broken.contains(*rule)).collect();
        assert!(lost.is_empty(), "{folder}: found to be outstanding, and no verdict says so: {lost:?}");
        compared += broken.len() + outstanding.len();
    }
    assert!(compared > 20, "{compared}");
}

#[test]
fn an_adjustment_that_does_not_say_how_it_was_found_leaves_it_open() {
    let of = |calibration: &str| {
        let text = format!(
            "shop {{ gauge G {{ calibrated \"2026-01-12\" due=\"2027-01-12\"; {calibration} }} }}
machine m {{ axis X {{ rail a {{ segment 1200; segment 1200 }} }} }}
inspect X.a.J1 date=\"2026-04-15\" by=i gauge=G {{ light none; UL 0 -> 0 }}"
        );
        let said = verdicts(&Case::new(&of_text(&text), today()));
        let of_gauge = |(rule, subject, _): &&(crate::finding::RuleName, Subject, Verdict)| {
            rule.as_str() == "gauge-calibration" && *subject == Subject::Instrument(0)
        };
        said.iter().find(of_gauge).expect("the gauge is judged").2
    };
    let open = of("calibrated \"2026-09-01\" result=adjusted");
    assert!(matches!(open, Verdict::NotJudged(why) if why.contains("adjusted")), "{open:?}");
    for (calibration, expected) in [
        ("calibrated \"2026-09-01\" result=adjusted as-found=within", true),
        ("calibrated \"2026-09-01\" result=passed", true),
        // Before the reading it says nothing of it.
        ("calibrated \"2026-03-01\" result=adjusted", true),
        ("calibrated \"2026-09-01\" result=adjusted as-found=outside", false),
    ] {
        assert_eq!(matches!(of(calibration), Verdict::Conforms(_)), expected, "{calibration}");
        assert_eq!(of(calibration) == Verdict::Outstanding, !expected, "{calibration}");
    }
}

/// Limits that no rule judges by itself, each with the reason.
const NO_RULE: &[(LimitName, &str)] = &[];

/// The limits of a rule whose name does not stand in its check, since it asks for them in another way.
const ASKED_ELSEWHERE: &[(&str, LimitName, &str)] = &[
    ("joint-stagger", LimitName::Stagger, "`facts::stagger` works it out where none is stated"),
    ("torque-window", LimitName::FullTorque, "`facts::torque_window` takes the fastener's own window first"),
    ("snug-window", LimitName::SnugTorque, "`facts::torque_window` takes the fastener's own window first"),
    ("unit-mistaken", LimitName::FullTorque, "`facts::torque_window` takes the fastener's own window first"),
    ("torque-window-fit", LimitName::FullTorque, "`facts::torque_window` takes the fastener's own window first"),
    ("gap-range-unproven", LimitName::ProofOfGap, "`rules::unproven` asks whether proof is required"),
    ("gap-range-unproven", LimitName::Proof, "`rules::unproven` asks whether proof is required"),
    ("gap-range-unproven", LimitName::GuardBand, "`facts::proof` makes the guard band of it"),
    ("joint-step-unproven", LimitName::ProofOfStep, "`rules::unproven` asks whether proof is required"),
    ("joint-step-unproven", LimitName::Proof, "`rules::unproven` asks whether proof is required"),
    ("straightness-range-unproven", LimitName::ProofOfStraightness, "`rules::unproven` asks whether proof is required"),
    ("straightness-range-unproven", LimitName::Proof, "`rules::unproven` asks whether proof is required"),
    ("straightness-range-unproven", LimitName::GuardBand, "`facts::proof` makes the guard band of it"),
    ("height-range-unproven", LimitName::ProofOfHeight, "`rules::unproven` asks whether proof is required"),
    ("height-range-unproven", LimitName::Proof, "`rules::unproven` asks whether proof is required"),
    ("height-range-unproven", LimitName::GuardBand, "`facts::proof` makes the guard band of it"),
    ("gap-local-unproven", LimitName::GapLocal, "`facts::survey_limits` names the two of a kind"),
    ("gap-local-unproven", LimitName::ProofOfGap, "`rules::unproven` asks whether proof is required"),
    ("gap-local-unproven", LimitName::Proof, "`rules::unproven` asks whether proof is required"),
    ("gap-local-unproven", LimitName::GuardBand, "`facts::proof` makes the guard band of it"),
    ("straightness-local-unproven", LimitName::StraightnessLocal, "`facts::survey_limits` names the two of a kind"),
    ("straightness-local-unproven", LimitName::ProofOfStraightness, "`rules::unproven` asks whether proof is required"),
    ("straightness-local-unproven", LimitName::Proof, "`rules::unproven` asks whether proof is required"),
    ("straightness-local-unproven", LimitName::GuardBand, "`facts::proof` makes the guard band of it"),
    ("height-local-unproven", LimitName::HeightLocal, "`facts::survey_limits` names the two of a kind"),
    ("height-local-unproven", LimitName::ProofOfHeight, "`rules::unproven` asks whether proof is required"),
    ("height-local-unproven", LimitName::Proof, "`rules::unproven` asks whether proof is required"),
    ("height-local-unproven", LimitName::GuardBand, "`facts::proof` makes the guard band of it"),
    ("running-force-unproven", LimitName::ProofOfRunningForce, "`rules::unproven` asks whether proof is required"),
    ("running-force-unproven", LimitName::Proof, "`rules::unproven` asks whether proof is required"),
    ("running-force-unproven", LimitName::GuardBand, "`facts::proof` makes the guard band of it"),
    ("torque-window-unproven", LimitName::ProofOfTorque, "`rules::unproven` asks whether proof is required"),
    ("torque-window-unproven", LimitName::FullTorque, "`facts::torque_window` takes the fastener's own window first"),
    ("survey-closure", LimitName::GapRange, "`facts::survey_doubt` takes a tenth of it"),
    ("survey-closure", LimitName::Straightness, "`facts::survey_doubt` takes a tenth of it"),
    ("survey-closure", LimitName::HeightRange, "`facts::survey_doubt` takes a tenth of it"),
    ("survey-closure", LimitName::GapLocal, "`facts::survey_doubt` takes a tenth of it"),
    ("survey-closure", LimitName::StraightnessLocal, "`facts::survey_doubt` takes a tenth of it"),
    ("survey-closure", LimitName::HeightLocal, "`facts::survey_doubt` takes a tenth of it"),
    ("gauge-graduation", LimitName::GapRange, "`facts::survey_limits` takes the narrowest of them"),
    ("gauge-graduation", LimitName::Straightness, "`facts::survey_limits` takes the narrowest of them"),
    ("gauge-graduation", LimitName::HeightRange, "`facts::survey_limits` takes the narrowest of them"),
    ("gauge-graduation", LimitName::GapLocal, "`facts::survey_limits` takes the narrowest of them"),
    ("gauge-graduation", LimitName::StraightnessLocal, "`facts::survey_limits` takes the narrowest of them"),
    ("gauge-graduation", LimitName::HeightLocal, "`facts::survey_limits` takes the narrowest of them"),
    ("unit-mistaken", LimitName::Straightness, "`facts::survey_limits` names the two of a kind"),
    ("unit-mistaken", LimitName::HeightRange, "`facts::survey_limits` names the two of a kind"),
    ("unit-mistaken", LimitName::GapLocal, "`facts::survey_limits` names the two of a kind"),
    ("unit-mistaken", LimitName::StraightnessLocal, "`facts::survey_limits` names the two of a kind"),
    ("unit-mistaken", LimitName::HeightLocal, "`facts::survey_limits` names the two of a kind"),
    ("limit-unread", LimitName::Straightness, "`facts::survey_limits` takes the first that is stated"),
    ("limit-unread", LimitName::HeightRange, "`facts::survey_limits` takes the first that is stated"),
    ("limit-unread", LimitName::StraightnessLocal, "`facts::survey_limits` takes the first that is stated"),
    ("limit-unread", LimitName::HeightLocal, "`facts::survey_limits` takes the first that is stated"),
    ("gap-zero", LimitName::GapRange, "`facts::survey::Seat` says by which limit a rail is shimmed"),
    ("shim-missing", LimitName::HeightRange, "`facts::survey::Seat` says by which limit a rail is shimmed"),
    ("shim-total", LimitName::GapRange, "`facts::survey::Seat` says by which limit a rail is shimmed"),
    ("shim-total", LimitName::HeightRange, "`facts::survey::Seat` says by which limit a rail is shimmed"),
];

#[test]
fn every_limit_is_judged_by_a_rule() {
    let judged: BTreeSet<LimitName> = rules::all().flat_map(|rule| rule.limits).copied().collect();
    for entry in ENTRIES {
        let excepted = NO_RULE.iter().any(|(limit, _)| *limit == entry.limit);
        assert!(
            judged.contains(&entry.limit) != excepted,
            "{}: judged by no rule, or excepted for nothing",
            entry.name
        );
    }
}

#[test]
fn every_rule_uses_the_limits_that_its_page_names() {
    let text = |rule: &Rule| {
        let group = format!("{:?}", rule.group).to_lowercase();
        let file = format!("src/rules/{group}/{}.rs", rule.name.as_str().replace('-', "_"));
        std::fs::read_to_string(Folder::new(env!("CARGO_MANIFEST_DIR")).join(&file))
            .unwrap_or_else(|_| panic!("{file}"))
    };
    for rule in rules::all() {
        let text = text(rule);
        // The page names each once; the check stands below it.
        let check = text.split_once("..Rule::PLAIN").map_or("", |(_, check)| check);
        assert!(!check.is_empty(), "{}: the page ends with Rule::PLAIN", rule.name);
        let used = |limit: &LimitName| {
            let name = format!("LimitName::{limit:?}");
            check.match_indices(&name).any(|(at, _)| {
                !check[at + name.len()..].starts_with(|next: char| next.is_ascii_alphanumeric() || next == '_')
            })
        };
        for limit in rule.limits {
            let elsewhere = |(name, of, _): &(&str, LimitName, &str)| *name == rule.name.as_str() && of == limit;
            let excepted = ASKED_ELSEWHERE.iter().any(elsewhere);
            assert!(used(limit) || excepted, "{}: {limit} is not used", rule.name);
            assert!(!(used(limit) && excepted), "{}: {limit} is excepted for nothing", rule.name);
        }
        // Whatever else it asks for is on its page too.
        for entry in ENTRIES.iter().filter(|entry| used(&entry.limit)) {
            assert!(
                rule.limits.contains(&entry.limit),
                "{} uses {} and its page does not say so",
                rule.name,
                entry.name
            );
        }
    }
}
