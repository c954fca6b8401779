//! A limit that shop or machine stated is of the size that limits have.

use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::language::rulebook::{ENTRIES, LimitChange, LimitEntry, LimitName, LimitType, Looser, Rulebook};
use crate::ledger::seal::release_of;
use crate::quantity::{Amount, Dimension, Force, Length, Ratio, TemperatureDifference, Torque};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("limit-loosened"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "No limit that shop or machine states is wider than its default by more than a factor, which a rulebook may change with a reason. An upper limit is held against the default one, a lower one likewise; the guard band, which lets more pass the smaller it is, the other way round, and a band of 0 against nothing; of a limit that has both, as a torque window, their quotient. Straightness, height, toe-in and the local limits, which have no default, are held against that of the gap. What has nothing to be held against is not judged, nor are the limits of today where every axis is released and judged by those of its seal. Against a revision (`lint --since`) each limit that was made wider since is told as an observation, by however little, and so is each that a machine, its design or a nearer shop file makes wider than a file above it states.",
    why: "A limit meant in micrometres and written in millimetres lets everything pass, and nothing else would say a word.",
    limits: &[
        LimitName::LimitLoosening,
        LimitName::GapRange,
        LimitName::Straightness,
        LimitName::HeightRange,
        LimitName::GapLocal,
        LimitName::StraightnessLocal,
        LimitName::HeightLocal,
        LimitName::ToeIn,
    ],
    source: "judgement",
    wrong: r#"
machine m {
    rulebook { joint-step most=20 reason="agreed with the customer" }
    axis X { rail a { segment 1200; segment 1200 } }
}
"#,
    right: r#"
machine m {
    rulebook { joint-step most=(um)20 reason="agreed with the customer" }
    axis X { rail a { segment 1200; segment 1200 } }
}
"#,
    never_conceded: true,
    checks: &[Check::Machine(check)],
    ..Rule::PLAIN
};

/// How many times wider than its default a limit may be; the default for how far that itself may be changed.
fn factor(book: &Rulebook, entry: &LimitEntry) -> Option<(Ratio, Limit)> {
    let own = Rulebook::default();
    let book = if entry.limit == LimitName::LimitLoosening { &own } else { book };
    let (most, limit) = book.most::<Ratio>(LimitName::LimitLoosening)?;
    Some((most, limit.words()))
}

fn check(case: &Case, findings: &mut Findings) -> Verdict {
    let book = &case.ledger.rulebook;
    let mut axes = 0..case.machine.axes.len();
    if !case.anew && !axes.is_empty() && axes.all(|axis| release_of(case.ledger, axis).is_some()) {
        return Verdict::NotRequired;
    }
    wider_than_above(book, findings);
    let of_limits = case.ledger.overridden.iter().filter(|finding| finding.rule == RuleName::NONE);
    of_limits.for_each(|finding| findings.add(Finding { rule: RULE.name, ..finding.clone() }));
    let mut verdict = Verdict::NotRequired;
    for entry in ENTRIES.iter().filter(|entry| !entry.is_of_today()) {
        let Some(change) = book.change(entry.limit) else { continue };
        let Some((most, limit)) = factor(book, entry) else { continue };
        match wider(book, entry) {
            None => verdict = verdict.and(Verdict::NotJudged("a limit has nothing to be held against")),
            Some(wider) if wider <= most => verdict = verdict.and(Verdict::Conforms(change.place)),
            Some(wider) => {
                report(case, findings, change, wider, limit);
                verdict = Verdict::Broken;
            }
        }
    }
    verdict
}

/// The limits that machine or design make wider than what stands above them; what shop files do among each other is told
/// with those files.
fn wider_than_above(book: &Rulebook, findings: &mut Findings) {
    // Each is held against the nearest above that is narrower: a machine's against its design's and the shop's, a design's
    // against the shop's.
    let tiers = |first| std::iter::successors(Some(first), |change: &&LimitChange| change.farther.as_deref());
    for change in book.changes().flat_map(tiers).filter(|change| change.by != "shop") {
        let book = |change: &LimitChange| {
            let mut book = Rulebook::default();
            book.apply_all(change);
            book
        };
        let with = book(change);
        let narrower = tiers(change).skip(1).map(|above| (above, book(above)));
        if let Some((above, without)) = narrower.into_iter().find(|(_, without)| with.is_wider(without, change.entry)) {
            let message = format!(
                "{} is {} here, and the {} wants {}",
                change.entry.name,
                with.printed(change.entry),
                above.by,
                without.printed(change.entry)
            );
            let mut finding = findings
                .finding("", change.place, message)
                .here("lets more pass")
                .also(above.place, "wanted there")
                .next("look whether who set the limit there agrees");
            finding.grade = Grade::Observation;
            findings.add(finding);
        }
    }
}

/// How many times wider a limit is than the default; nothing where there is none to hold it against.
fn wider(book: &Rulebook, entry: &LimitEntry) -> Option<Ratio> {
    match entry.holds {
        LimitType::Amount(Dimension::Length) => of::<Length>(book, entry),
        LimitType::Amount(Dimension::Torque) => of::<Torque>(book, entry),
        LimitType::Amount(Dimension::Force) => of::<Force>(book, entry),
        LimitType::Amount(Dimension::Ratio) | LimitType::Count => of::<Ratio>(book, entry),
        LimitType::Amount(Dimension::TemperatureDifference) => of::<TemperatureDifference>(book, entry),
        // A span of temperatures has no quotient: what is warm and what is cold counts from a zero that means nothing.
        LimitType::Amount(_) | LimitType::Choice(_) => None,
    }
}

fn of<A: Amount + Into<crate::finding::MeasuredValue> + Counted>(book: &Rulebook, entry: &LimitEntry) -> Option<Ratio> {
    let (own, name) = (Rulebook::default(), entry.limit);
    let like = match name {
        LimitName::Straightness
        | LimitName::HeightRange
        | LimitName::GapLocal
        | LimitName::StraightnessLocal
        | LimitName::HeightLocal
        | LimitName::ToeIn => LimitName::GapRange,
        name => name,
    };
    let upper = || Some((book.most::<A>(name)?.0, own.most::<A>(like)?.0));
    let lower = || Some((book.least::<A>(name)?.0, own.least::<A>(like)?.0));
    let widened = match (lower(), upper()) {
        // The quotient of the two ends, held against that of the default.
        (Some((least, of_least)), Some((most, of_most))) => {
            let (stated, own) = (quotient(most, least)?, quotient(of_most, of_least)?);
            let times = i128::from(stated.0) * i128::from(Ratio::ONE.0) / i128::from(own.0.max(1));
            Ratio(i64::try_from(times).unwrap_or(i64::MAX))
        }
        (Some((least, of_least)), None) => quotient(of_least, least)?,
        // Nothing at all is agreed upon and no slip of the pen.
        (None, Some((most, of_most))) if entry.looser == Looser::FurtherIn => {
            quotient(of_most, most).filter(|_| most.counted() != 0)?
        }
        (None, Some((most, of_most))) => quotient(most, of_most)?,
        (None, None) => return None,
    };
    Some(widened)
}

/// Two amounts of one kind by each other; the largest ratio there is where the second is nothing. Rounded down.
fn quotient<A: Counted>(a: A, b: A) -> Option<Ratio> {
    let (a, b) = (a.counted(), b.counted());
    if a < 0 || b < 0 || a == 0 && b == 0 {
        return None;
    }
    let exact = if b == 0 { i128::MAX } else { a.checked_mul(i128::from(Ratio::ONE.0)).map_or(i128::MAX, |a| a / b) };
    Some(Ratio(i64::try_from(exact).unwrap_or(i64::MAX / Ratio::ONE.0 * Ratio::ONE.0)))
}

/// An amount as the whole number that it is kept as.
trait Counted: Copy {
    fn counted(self) -> i128;
}

macro_rules! counted {
    ($($name:ident)*) => { $(impl Counted for $name { fn counted(self) -> i128 { i128::from(self.0) } })* };
}

counted!(Length Torque Force Ratio TemperatureDifference);

fn report(case: &Case, findings: &mut Findings, change: &LimitChange, wider: Ratio, limit: Limit) {
    let entry = change.entry;
    let own = Rulebook::default();
    let default = own.printed(entry);
    let stated = case.ledger.rulebook.printed(entry);
    let times = wider.0 / Ratio::ONE.0;
    let next = match entry.holds {
        LimitType::Amount(Dimension::Length) => {
            format!(
                "if micrometres were meant, write them: most=(um)…; otherwise state {} with its reason",
                limit_word()
            )
        }
        _ => format!("correct the limit; if it is meant so, state {} with its reason", limit_word()),
    };
    findings.add(
        findings
            .finding(
                "",
                change.place,
                format!("{} is {stated}: about {times} times as wide as the default ({default})", entry.name),
            )
            .here(format!("set by the {}", change.by))
            .found(Measure::too_large(wider))
            .limit(limit)
            .next(next),
    );
}

fn limit_word() -> &'static str {
    LimitName::LimitLoosening.word()
}
