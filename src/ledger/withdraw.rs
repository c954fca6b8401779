//! Which records count no more: those that a void withdraws, and those that a correction replaces.
//!
//! A void says what it withdraws by kind, subject and moment, and by stage or place where that could be several. Whom it
//! names hangs on the text alone; whether it does anything hangs on whether it was itself withdrawn. So no order of files
//! or records matters, and the void of a void puts the record back.
//!
//! A correction names the moment of the record that it replaces and stands in its place: at that moment, in that file's
//! order. A void never means a correction, so that a record can be withdrawn and written anew under its true date.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::faults::Faults;
use super::record::{Body, Record, Void};
use super::spanned::{Keyword, Spanned};
use crate::finding::names;
use crate::finding::{Finding, Grade, SourceId, Sources};
use crate::language::schema::Refers;
use crate::quantity::Moment;

/// What records are known by: the word, what they are about as written, and the day.
type RecordKey<'r> = (&'r str, Option<&'r str>, Date);

/// The records of each key, corrections left out.
type OfDay<'r> = BTreeMap<RecordKey<'r>, Vec<usize>>;

/// What a record is about, as written.
fn subject(record: &Record) -> Option<&str> {
    record.on.as_ref().map(|on| on.as_str())
}

fn about(record: &Record) -> String {
    subject(record).unwrap_or_default().to_string()
}

/// Marks what voids and corrections withdraw, and puts corrections where they belong.
pub(super) fn withdraw(records: &mut [Record], sources: &Sources, faults: &mut Faults) {
    let voids: Vec<usize> = (0..records.len()).filter(|index| matches!(records[*index].body, Body::Void(_))).collect();
    let corrections: Vec<usize> = (0..records.len()).filter(|index| records[*index].replaces.is_some()).collect();
    if voids.is_empty() && corrections.is_empty() {
        return;
    }
    let mut of_day: OfDay = BTreeMap::new();
    for (index, record) in records.iter().enumerate().filter(|(_, record)| record.replaces.is_none()) {
        if let Some(date) = record.date {
            of_day.entry((record.kind, subject(record), date.date)).or_default().push(index);
        }
    }
    let meant: Vec<(usize, usize)> = voids
        .iter()
        .filter_map(|void| Some((*void, meant_by_void(records, &of_day, *void, sources, faults)?)))
        .collect();
    let named: BTreeSet<usize> = meant.iter().map(|(_, of)| *of).collect();
    let replaced: Vec<(usize, usize)> = corrections
        .iter()
        .filter_map(|index| Some((*index, meant_by_correction(records, &of_day, *index, &named, faults)?)))
        .collect();
    let latest = latest(records, &replaced);
    let in_effect = in_effect(records, &meant, &replaced, &latest, faults);
    carry_out(records, &meant, &in_effect, &replaced, &latest);
}

/// The one record that a void means.
fn meant_by_void(
    records: &[Record],
    of_day: &OfDay,
    void: usize,
    sources: &Sources,
    faults: &mut Faults,
) -> Option<usize> {
    let record = &records[void];
    let Body::Void(of) = &record.body else { return None };
    let (kind, moment) = (of.kind.as_ref()?, of.of?);
    let same_day = of_day.get(&(kind.as_str(), subject(record), moment.date)).map_or(&[][..], |all| all);
    let fits =
        |other: &usize| *other != void && is_of(&records[*other], *moment) && of.tells(&records[*other], sources);
    let mut all: Vec<usize> = same_day.iter().copied().filter(fits).collect();
    if let Some(nth) = of.nth {
        let one_file = all.windows(2).all(|pair| source(records, pair[0]) == source(records, pair[1]));
        if one_file {
            all = all.get(*nth as usize - 1).copied().into_iter().collect();
        }
    }
    if all.len() > 1 {
        // What certainly came after the void is not what it means.
        let earlier: Vec<usize> = all.iter().copied().filter(|other| !came_after(record, &records[*other])).collect();
        if !earlier.is_empty() {
            all = earlier;
        }
    }
    match all[..] {
        [one] => Some(one),
        [] => {
            no_record(records, void, kind.as_str(), *moment, faults);
            None
        }
        _ => {
            let told_apart = told_apart(records, &all, sources);
            several(records, void, &all, "void", format!("say which: {told_apart}"), faults);
            None
        }
    }
}

/// The one record that a correction replaces.
fn meant_by_correction(
    records: &[Record],
    of_day: &OfDay,
    index: usize,
    named: &BTreeSet<usize>,
    faults: &mut Faults,
) -> Option<usize> {
    let record = &records[index];
    let moment = record.replaces?;
    let same_day = of_day.get(&(record.kind, subject(record), moment.date)).map_or(&[][..], |all| all);
    let mut all: Vec<usize> = same_day.iter().copied().filter(|other| is_of(&records[*other], *moment)).collect();
    let narrow = |all: &mut Vec<usize>, keep: &dyn Fn(usize) -> bool| {
        if all.len() > 1 {
            let kept: Vec<usize> = all.iter().copied().filter(|other| keep(*other)).collect();
            if !kept.is_empty() {
                *all = kept;
            }
        }
    };
    narrow(&mut all, &|other| records[other].told_by() == record.told_by());
    // What was withdrawn first is what is written anew.
    narrow(&mut all, &|other| named.contains(&other));
    let original = match all[..] {
        [one] => one,
        [] => {
            no_record(records, index, record.kind, *moment, faults);
            return None;
        }
        _ => {
            let next = "give the moment with its time, or withdraw the wrong one by `void` first: the correction then takes its place";
            several(records, index, &all, "replaces", next.into(), faults);
            return None;
        }
    };
    if let (Some(own), Some(was)) = (record.date, records[original].date)
        && before(*own, *was)
    {
        let message = format!("this correction of {} is dated before what it corrects, {}", *own, *was);
        faults.found.push(
            Finding::new(names::WRONG_VALUE, Grade::Nonconformity, about(record), own.place, message)
                .here("too early")
                .also(was.place, "what it corrects")
                .next("date it when it was written; where the date itself was wrong, withdraw the record by `void` and write it anew"),
        );
    }
    Some(original)
}

/// The latest correction of each record that has some.
fn latest(records: &[Record], replaced: &[(usize, usize)]) -> BTreeMap<usize, usize> {
    let mut latest: BTreeMap<usize, usize> = BTreeMap::new();
    let written = |index: usize| (records[index].written.map(|date| *date), index);
    for (correction, of) in replaced {
        let last = latest.entry(*of).or_insert(*correction);
        if written(*correction) > written(*last) {
            *last = *correction;
        }
    }
    latest
}

/// Whether each of the voids that mean a record does something, in the order of `meant`: nothing where voids withdraw each
/// other, so that none of them says anything.
fn in_effect(
    records: &[Record],
    meant: &[(usize, usize)],
    replaced: &[(usize, usize)],
    latest: &BTreeMap<usize, usize>,
    faults: &mut Faults,
) -> Vec<Option<bool>> {
    let place: BTreeMap<usize, usize> = meant.iter().enumerate().map(|(at, (void, _))| (*void, at)).collect();
    // For each void, how many voids of it are not decided yet, and what it withdraws that is itself a void.
    let mut open = vec![0; meant.len()];
    let of: Vec<Option<usize>> = meant.iter().map(|(_, of)| place.get(of).copied()).collect();
    of.iter().flatten().for_each(|at| open[*at] += 1);
    let outdated = replaced.iter().filter(|(correction, of)| latest.get(of) != Some(correction));
    let outdated: BTreeSet<usize> = outdated.map(|(correction, _)| *correction).collect();
    let corrected = |void: &usize| latest.contains_key(void) || outdated.contains(void);
    let mut stands: Vec<bool> = meant.iter().map(|(void, _)| !corrected(void)).collect();
    let mut ready: Vec<usize> = (0..meant.len()).filter(|at| open[*at] == 0).collect();
    let mut decided = vec![false; meant.len()];
    while let Some(at) = ready.pop() {
        decided[at] = true;
        if let Some(target) = of[at] {
            stands[target] &= !stands[at];
            open[target] -= 1;
            if open[target] == 0 {
                ready.push(target);
            }
        }
    }
    for ((void, target), _) in meant.iter().zip(&decided).filter(|(_, decided)| !**decided) {
        let (record, message) = (&records[*void], "voids withdraw each other: which of them counts?");
        faults.found.push(
            Finding::new(names::UNKNOWN_REFERENCE, Grade::Nonconformity, about(record), record.place, message)
                .here("this one")
                .also(records[*target].place, "what it withdraws")
                .next("correct the date that one of them names"),
        );
    }
    stands.into_iter().zip(decided).map(|(stands, decided)| decided.then_some(stands)).collect()
}

fn carry_out(
    records: &mut [Record],
    meant: &[(usize, usize)],
    in_effect: &[Option<bool>],
    replaced: &[(usize, usize)],
    latest: &BTreeMap<usize, usize>,
) {
    for ((void, target), stands) in meant.iter().zip(in_effect) {
        let Some(stands) = stands else { continue };
        if *stands && records[*target].void.is_none() {
            records[*target].void = Some(*void);
        }
        if let Body::Void(of) = &mut records[*void].body {
            of.withdraws = Some(*target);
        }
    }
    for (correction, of) in replaced {
        let last = latest[of];
        records[*of].void.get_or_insert(last);
        let place = records[*correction].date.map_or(records[*correction].place, |date| date.place);
        let date = records[*of].date.map(|date| Spanned { value: date.value, place });
        let record = &mut records[*correction];
        record.stands_for = Some(*of);
        record.date = date;
        if *correction != last {
            record.void = Some(last);
        }
    }
}

fn source(records: &[Record], index: usize) -> SourceId {
    records[index].place.source
}

fn is_of(record: &Record, moment: Moment) -> bool {
    record.date.is_some_and(|date| date.is_meant_by(moment))
}

/// Whether a moment is certainly before another.
fn before(a: Moment, b: Moment) -> bool {
    a.date < b.date || a.date == b.date && a.minute.zip(b.minute).is_some_and(|(a, b)| a < b)
}

/// Whether a record certainly came after another: later by the clock, or below it in its file.
fn came_after(first: &Record, other: &Record) -> bool {
    let below = first.place.source == other.place.source && first.place.span.start < other.place.span.start;
    below || first.date.zip(other.date).is_some_and(|(first, other)| before(*first, *other))
}

impl Record {
    /// What of its subject it is about, where several of one moment may differ in that: property and word.
    pub(crate) fn told_by(&self) -> Vec<(&'static str, String)> {
        let mut all = Vec::new();
        match &self.body {
            Body::Fasten(fasten) => {
                all.extend(fasten.stage.map(|stage| ("stage", stage.word().to_string())));
                all.push(("interface", fasten.interface.word().to_string()));
            }
            Body::Inspect(inspect) => all.extend(inspect.stage.map(|stage| ("stage", stage.word().to_string()))),
            Body::Survey(survey) => {
                all.extend(survey.kind.map(|kind| ("survey", kind.word().to_string())));
                all.extend(survey.stage.map(|stage| ("stage", stage.word().to_string())));
            }
            Body::Loosen(loosen) => {
                all.push(("interface", loosen.interface.map_or("both", |interface| interface.word()).to_string()));
            }
            Body::Concession(concession) => all.extend(concession.rule.as_ref().map(|rule| ("rule", rule.to_string()))),
            Body::Service(service) => all.extend(service.task.map(|task| ("task", task.word().to_string()))),
            _ => {}
        }
        all
    }
}

impl Void {
    /// Whether what it says beside kind, subject and moment is so of a record.
    fn tells(&self, record: &Record, sources: &Sources) -> bool {
        let told = [
            ("stage", &self.stage),
            ("interface", &self.interface),
            ("survey", &self.survey),
            ("rule", &self.rule),
            ("task", &self.task),
        ];
        let is = |name: &str, word: &str| record.told_by().iter().any(|(of, is)| *of == name && is == word);
        told.into_iter().all(|(name, word)| word.as_ref().is_none_or(|word| is(name, word)))
            && self.file.as_ref().is_none_or(|file| lies_in(record, file, sources))
    }
}

/// Whether a record stands in a file of that name: the path from the ledger's folder, or the end of it.
fn lies_in(record: &Record, file: &str, sources: &Sources) -> bool {
    let path = &sources.get(record.place.source).path.0;
    path.strip_suffix(file).is_some_and(|above| above.is_empty() || above.ends_with('/'))
}

const MOST_TOLD: usize = 4;

/// The properties that tell some records of one moment apart, as they are written.
fn told_apart(records: &[Record], all: &[usize], sources: &Sources) -> String {
    // Of very many the first say how it is done.
    let all = &all[..all.len().min(MOST_TOLD)];
    let alike = |value: &dyn Fn(usize) -> Option<String>| {
        let words: Vec<Option<String>> = all.iter().map(|index| value(*index)).collect();
        let mut sorted = words.clone();
        sorted.sort();
        sorted.dedup();
        (sorted.len() == words.len() && words.iter().all(Option::is_some))
            .then(|| words.into_iter().flatten().collect())
    };
    let or = |words: Vec<String>| words.join(" or ");
    let time = |index: usize| {
        let date = records[index].date?;
        date.minute.map(|_| format!("of=\"{}\"", *date))
    };
    if let Some(words) = alike(&time) {
        return or(words);
    }
    for name in ["survey", "stage", "interface", "rule", "task"] {
        let word = |index: usize| {
            let part = records[index].told_by();
            part.iter().find(|(of, _)| *of == name).map(|(_, word)| format!("{name}={}", crate::text::quote(word)))
        };
        if let Some(words) = alike(&word) {
            return or(words);
        }
    }
    let file = |index: usize| {
        let path = &sources.get(source(records, index)).path;
        Some(format!("in={}", crate::text::quoted(path.name())))
    };
    let mut counts: BTreeMap<SourceId, usize> = BTreeMap::new();
    let nth = all.iter().map(|index| {
        let count = counts.entry(source(records, *index)).or_default();
        *count += 1;
        *count
    });
    let nth: Vec<usize> = nth.collect();
    if counts.len() == 1 {
        return or(nth.iter().map(|nth| format!("nth={nth}")).collect());
    }
    if let Some(words) = alike(&file) {
        return or(words);
    }
    or(all.iter().zip(nth).map(|(index, nth)| format!("{} nth={nth}", file(*index).unwrap_or_default())).collect())
}

fn no_record(records: &[Record], index: usize, kind: &str, moment: Moment, faults: &mut Faults) {
    let record = &records[index];
    let name = Spanned { value: format!("{kind} {} of {moment}", about(record)), place: record.place };
    let alike = |other: &&Record| other.kind == kind && subject(other) == subject(record) && other.replaces.is_none();
    let known = if faults.may_compare() { records } else { &[] };
    let dates = known.iter().filter(alike).filter_map(|record| record.date.map(|date| date.to_string()));
    let dates: Vec<String> = dates.collect();
    let dates = || dates.iter().map(String::as_str).collect();
    faults.unknown_among(Refers::Record, name.word(), dates, about(record));
}

fn several(records: &[Record], index: usize, all: &[usize], word: &str, next: String, faults: &mut Faults) {
    let record = &records[index];
    let message = format!("`{word}` could mean {} records of that day", all.len());
    let finding = Finding::new(names::UNKNOWN_REFERENCE, Grade::Nonconformity, about(record), record.place, message)
        .here("means more than one")
        .also(records[all[0]].place, "this one")
        .also(records[all[1]].place, "or this one")
        .next(next);
    faults.found.push(finding);
}
