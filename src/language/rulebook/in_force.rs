//! The limits in force for one machine: defaults, the shop's changes over them, the machine's over those.

use std::sync::LazyLock;

use super::entries::{AS_PROOF, ENTRIES, LimitEntry, LimitName, LimitType, Looser};
use crate::finding::{Limit, MeasuredValue, Place};
use crate::quantity::{
    Acceleration, Amount, Angle, Dimension, Force, Length, Mass, PerKelvin, Ratio, SecondMoment, Stiffness, Stress,
    Temperature, TemperatureDifference, Torque, Travel,
};
use crate::text::Plain;

/// A number as spelt, with its unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SpeltNumber {
    pub raw: String,
    pub unit: Option<String>,
}

/// One entry as a shop or machine changed it.
#[derive(Clone, Debug)]
pub struct LimitChange {
    pub entry: &'static LimitEntry,
    pub least: Option<SpeltNumber>,
    pub most: Option<SpeltNumber>,
    /// The length that a local limit holds over.
    pub over: Option<SpeltNumber>,
    pub choice: Option<String>,
    pub reason: String,
    pub place: Place,
    /// `shop` or `machine`; `seal` where a release holds the limit as it stood.
    pub by: &'static str,
    /// What a file farther out says of the entry: what this one leaves out is taken from there.
    pub farther: Option<Box<LimitChange>>,
}

impl LimitChange {
    /// It stands for the whole entry: a part it does not give has no limit, whatever the default is.
    fn whole(&self) -> bool {
        self.by == SEAL
    }

    /// The nearest change that says something, from this one outward.
    fn saying(&self, says: impl Fn(&LimitChange) -> bool) -> Option<&LimitChange> {
        let mut at = Some(self);
        while let Some(change) = at {
            if says(change) {
                return Some(change);
            }
            at = change.farther.as_deref();
        }
        None
    }

    fn saying_least(&self) -> Option<&LimitChange> {
        self.saying(|change| change.least.is_some())
    }

    fn saying_most(&self) -> Option<&LimitChange> {
        self.saying(|change| change.most.is_some())
    }
}

/// Who set the limits that a released axis is judged by.
pub(crate) const SEAL: &str = "seal";

/// One limit in force. It is put into words where a finding needs them, not where a rule only compares.
#[derive(Clone, Copy, Debug)]
pub struct InForce<'r> {
    entry: &'static LimitEntry,
    change: Option<&'r LimitChange>,
    /// The upper end of a window comes from another change, or from none as the default.
    upper: Option<Option<&'r LimitChange>>,
    bounds: Bounds,
    over: Option<Length>,
}

#[derive(Clone, Copy, Debug)]
enum Bounds {
    Most(MeasuredValue),
    Least(MeasuredValue),
    Both(MeasuredValue, MeasuredValue),
}

impl InForce<'_> {
    /// As printed: `at most 0.02 mm`.
    pub fn text(&self) -> String {
        match self.bounds {
            Bounds::Most(most) => match self.over {
                Some(over) => format!("at most {most} over {over}"),
                None => format!("at most {most}"),
            },
            Bounds::Least(least) => format!("at least {least}"),
            Bounds::Both(least, most) => format!("{} to {most}", least.number()),
        }
    }

    /// The length that it holds over, where it is a local one.
    pub fn over(&self) -> Option<Length> {
        self.over
    }

    /// Where it comes from.
    pub fn source(&self) -> String {
        let lower = source(self.entry, self.change);
        match (self.upper, self.bounds) {
            (Some(upper), Bounds::Both(least, most)) => {
                let upper = source(self.entry, upper);
                format!("{}: {lower}; {}: {upper}", least.number(), most.number())
            }
            _ => lower,
        }
    }

    /// All that a finding says of it.
    pub fn words(&self) -> Limit {
        let set_at = self.change.or(self.upper.flatten());
        Limit { source: self.source(), ..limit(self.entry, self.text(), set_at) }
    }
}

impl From<InForce<'_>> for Limit {
    fn from(limit: InForce<'_>) -> Limit {
        limit.words()
    }
}

/// What is in force.
#[derive(Clone, Debug, Default)]
pub struct Rulebook {
    changes: Vec<LimitChange>,
}

impl Rulebook {
    /// Takes changes in the order of their weight: a later one of the same entry wins, part by part.
    pub fn apply(&mut self, mut change: LimitChange) {
        let old = self.changes.iter().position(|old| old.entry.limit == change.entry.limit);
        let old = old.map(|at| self.changes.remove(at));
        match old {
            // Said twice in one file, which is told: one tier for all of it, however often it is said.
            _ if change.whole() => {}
            Some(old) if old.by == change.by && old.place.source == change.place.source => {
                change.least = change.least.or(old.least);
                change.most = change.most.or(old.most);
                change.over = change.over.or(old.over);
                change.choice = change.choice.or(old.choice);
                change.farther = old.farther;
            }
            old => change.farther = old.map(Box::new),
        }
        self.changes.push(change);
    }

    /// Takes a change over with all that it was made upon.
    pub fn apply_all(&mut self, change: &LimitChange) {
        let mut all = vec![change];
        while let Some(farther) = all.last().and_then(|change| change.farther.as_deref()) {
            all.push(farther);
        }
        all.into_iter().rev().for_each(|change| self.apply(LimitChange { farther: None, ..change.clone() }));
    }

    /// All that was changed.
    pub fn changes(&self) -> impl Iterator<Item = &LimitChange> {
        self.changes.iter()
    }

    /// The change of an entry, where there is one.
    pub fn change(&self, name: LimitName) -> Option<&LimitChange> {
        self.changes.iter().find(|change| change.entry.limit == name)
    }

    /// Whether somebody stated an entry. A seal holds every entry: one that it holds as the default is was not stated.
    pub fn is_stated(&self, name: LimitName) -> bool {
        self.change(name).is_some_and(|change| !change.whole() || !self.same_limit(&Rulebook::default(), name.entry()))
    }

    /// The upper limit of an entry, with all that a finding says of it.
    pub fn most<A: Amount + Into<MeasuredValue>>(&self, name: LimitName) -> Option<(A, InForce<'_>)> {
        let entry = name.entry();
        let change = self.change(name);
        let said = change.and_then(LimitChange::saying_most);
        let value: A = match said.and_then(|said| said.most.as_ref()) {
            Some(spelt) => read(spelt),
            None if change.is_some_and(LimitChange::whole) => None,
            None => default(entry, entry.most, 1),
        }?;
        let bounds = Bounds::Most(value.into());
        Some((value, InForce { entry, change: said, upper: None, bounds, over: self.over(entry) }))
    }

    /// The lower limit of an entry, with all that a finding says of it.
    pub fn least<A: Amount + Into<MeasuredValue>>(&self, name: LimitName) -> Option<(A, InForce<'_>)> {
        let entry = name.entry();
        let change = self.change(name);
        let said = change.and_then(LimitChange::saying_least);
        let value: A = match said.and_then(|said| said.least.as_ref()) {
            Some(spelt) => read(spelt),
            None if change.is_some_and(LimitChange::whole) => None,
            None => default(entry, entry.least, 0),
        }?;
        let bounds = Bounds::Least(value.into());
        Some((value, InForce { entry, change: said, upper: None, bounds, over: None }))
    }

    /// The length that a local limit holds over.
    fn over(&self, entry: &LimitEntry) -> Option<Length> {
        let change = self.change(entry.limit).filter(|_| entry.is_local())?;
        change.saying(|change| change.over.is_some())?.over.as_ref().and_then(read)
    }

    /// Both limits of an entry as one: `10 to 11 N·m`.
    pub fn window<A: Amount + Into<MeasuredValue>>(&self, name: LimitName) -> Option<(A, A, InForce<'_>)> {
        let (least, lower) = self.least::<A>(name)?;
        let (most, upper) = self.most::<A>(name)?;
        // What one file says of both ends is said once.
        let place = |change: Option<&LimitChange>| change.map(|change| change.place);
        let other = (place(lower.change) != place(upper.change)).then_some(upper.change);
        Some((least, most, InForce { upper: other, bounds: Bounds::Both(least.into(), most.into()), ..lower }))
    }

    /// The upper limit of a counted entry.
    pub fn most_count(&self, name: LimitName) -> Option<(i64, InForce<'_>)> {
        self.most::<Ratio>(name).map(|(ratio, limit)| (ratio.0 / 1_000_000_000, limit))
    }

    /// The lower limit of a counted entry.
    pub fn least_count(&self, name: LimitName) -> Option<(i64, InForce<'_>)> {
        self.least::<Ratio>(name).map(|(ratio, limit)| (ratio.0 / 1_000_000_000, limit))
    }

    /// The word in force for an entry that is a choice.
    pub fn choice(&self, name: LimitName) -> &str {
        let entry = name.entry();
        let LimitType::Choice(words) = entry.holds else { return "" };
        let said = self.change(name).and_then(|change| change.saying(|change| change.choice.is_some()));
        match said.and_then(|said| said.choice.as_ref()) {
            Some(word) if words.contains(&word.as_str()) => word,
            _ => words[0],
        }
    }

    /// The lower limit of an entry as a number in the plain unit.
    pub fn plain_least(&self, entry: &LimitEntry) -> Option<String> {
        let change = self.change(entry.limit);
        match change.and_then(LimitChange::saying_least).and_then(|said| said.least.as_ref()) {
            Some(spelt) => plain(entry, spelt),
            None if change.is_some_and(LimitChange::whole) => None,
            None => entry.least.map(str::to_string),
        }
    }

    /// The upper limit of an entry as a number in the plain unit.
    pub fn plain_most(&self, entry: &LimitEntry) -> Option<String> {
        let change = self.change(entry.limit);
        match change.and_then(LimitChange::saying_most).and_then(|said| said.most.as_ref()) {
            Some(spelt) => plain(entry, spelt),
            None if change.is_some_and(LimitChange::whole) => None,
            None => entry.most.map(str::to_string),
        }
    }

    /// The length that a local limit holds over, as a number in the plain unit.
    pub fn plain_over(&self, entry: &LimitEntry) -> Option<String> {
        self.over(entry).map(Amount::number)
    }

    /// Whether another rulebook has the same limit, wherever it comes from.
    pub fn same_limit(&self, other: &Rulebook, entry: &LimitEntry) -> bool {
        self.plain_least(entry) == other.plain_least(entry)
            && self.plain_most(entry) == other.plain_most(entry)
            && self.over(entry) == other.over(entry)
            && self.choice(entry.limit) == other.choice(entry.limit)
    }

    /// Whether an entry lets more pass than in another rulebook: an end that lies further that way or is gone, or a word that
    /// is less strict.
    pub fn is_wider(&self, other: &Rulebook, entry: &LimitEntry) -> bool {
        let of = match entry.holds {
            LimitType::Choice(_) => return self.has_laxer_word(other, entry),
            LimitType::Count => Rulebook::is_wider_of::<Ratio>,
            LimitType::Amount(dimension) => match dimension {
                Dimension::Length => Rulebook::is_wider_of::<Length>,
                Dimension::Travel => Rulebook::is_wider_of::<Travel>,
                Dimension::Torque => Rulebook::is_wider_of::<Torque>,
                Dimension::Force => Rulebook::is_wider_of::<Force>,
                Dimension::Mass => Rulebook::is_wider_of::<Mass>,
                Dimension::Temperature => Rulebook::is_wider_of::<Temperature>,
                Dimension::TemperatureDifference => Rulebook::is_wider_of::<TemperatureDifference>,
                Dimension::Acceleration => Rulebook::is_wider_of::<Acceleration>,
                Dimension::Stiffness => Rulebook::is_wider_of::<Stiffness>,
                Dimension::SecondMoment => Rulebook::is_wider_of::<SecondMoment>,
                Dimension::PerKelvin => Rulebook::is_wider_of::<PerKelvin>,
                Dimension::Stress => Rulebook::is_wider_of::<Stress>,
                Dimension::Ratio => Rulebook::is_wider_of::<Ratio>,
                Dimension::Angle => Rulebook::is_wider_of::<Angle>,
            },
        };
        of(self, other, entry)
    }

    /// Whether its ends stand the wrong way round, so that nothing lies between them.
    pub fn is_crossed(&self, entry: &LimitEntry) -> bool {
        let of = match entry.holds {
            LimitType::Choice(_) => return false,
            LimitType::Count => Rulebook::is_crossed_of::<Ratio>,
            LimitType::Amount(dimension) => match dimension {
                Dimension::Length => Rulebook::is_crossed_of::<Length>,
                Dimension::Travel => Rulebook::is_crossed_of::<Travel>,
                Dimension::Torque => Rulebook::is_crossed_of::<Torque>,
                Dimension::Force => Rulebook::is_crossed_of::<Force>,
                Dimension::Mass => Rulebook::is_crossed_of::<Mass>,
                Dimension::Temperature => Rulebook::is_crossed_of::<Temperature>,
                Dimension::TemperatureDifference => Rulebook::is_crossed_of::<TemperatureDifference>,
                Dimension::Acceleration => Rulebook::is_crossed_of::<Acceleration>,
                Dimension::Stiffness => Rulebook::is_crossed_of::<Stiffness>,
                Dimension::SecondMoment => Rulebook::is_crossed_of::<SecondMoment>,
                Dimension::PerKelvin => Rulebook::is_crossed_of::<PerKelvin>,
                Dimension::Stress => Rulebook::is_crossed_of::<Stress>,
                Dimension::Ratio => Rulebook::is_crossed_of::<Ratio>,
                Dimension::Angle => Rulebook::is_crossed_of::<Angle>,
            },
        };
        of(self, entry)
    }

    fn is_crossed_of<A: Amount + Into<MeasuredValue>>(&self, entry: &LimitEntry) -> bool {
        let (least, most) = (self.least::<A>(entry.limit), self.most::<A>(entry.limit));
        least.zip(most).is_some_and(|((least, _), (most, _))| least > most)
    }

    fn has_laxer_word(&self, other: &Rulebook, entry: &LimitEntry) -> bool {
        let Looser::Word(strictest_first) = entry.looser else { return false };
        let (is, was) = (self.choice(entry.limit), other.choice(entry.limit));
        let laxity = |book: &Rulebook, word: &str| {
            let word = if word == AS_PROOF { book.choice(LimitName::Proof) } else { word };
            strictest_first.iter().position(|it| *it == word)
        };
        // What is left to `proof` before and after is told with `proof`.
        is != was && laxity(self, is) > laxity(other, was)
    }

    fn is_wider_of<A: Amount + Into<MeasuredValue>>(&self, other: &Rulebook, entry: &LimitEntry) -> bool {
        let name = entry.limit;
        let least = |book: &Rulebook| book.least::<A>(name).map(|(least, _)| least);
        let most = |book: &Rulebook| book.most::<A>(name).map(|(most, _)| most);
        let inward = entry.looser == Looser::FurtherIn;
        let below = |is: A, was: A| if inward { is > was } else { is < was };
        let lower = least(other).is_some_and(|was| least(self).is_none_or(|is| below(is, was)));
        // Within a shorter stretch less is seen.
        let shorter = other.over(entry).is_some_and(|was| self.over(entry).is_none_or(|is| is < was));
        shorter || lower || most(other).is_some_and(|was| most(self).is_none_or(|is| below(was, is)))
    }

    /// An entry's limit as printed: `at most 0.02 mm`, `10 to 11 N·m`, a word, or `none`.
    pub fn printed(&self, entry: &LimitEntry) -> String {
        let of = match entry.holds {
            LimitType::Choice(_) => return self.choice(entry.limit).to_string(),
            LimitType::Count => Rulebook::text_of::<Ratio>,
            LimitType::Amount(dimension) => match dimension {
                Dimension::Length => Rulebook::text_of::<Length>,
                Dimension::Travel => Rulebook::text_of::<Travel>,
                Dimension::Torque => Rulebook::text_of::<Torque>,
                Dimension::Force => Rulebook::text_of::<Force>,
                Dimension::Mass => Rulebook::text_of::<Mass>,
                Dimension::Temperature => Rulebook::text_of::<Temperature>,
                Dimension::TemperatureDifference => Rulebook::text_of::<TemperatureDifference>,
                Dimension::Acceleration => Rulebook::text_of::<Acceleration>,
                Dimension::Stiffness => Rulebook::text_of::<Stiffness>,
                Dimension::SecondMoment => Rulebook::text_of::<SecondMoment>,
                Dimension::PerKelvin => Rulebook::text_of::<PerKelvin>,
                Dimension::Stress => Rulebook::text_of::<Stress>,
                Dimension::Ratio => Rulebook::text_of::<Ratio>,
                Dimension::Angle => Rulebook::text_of::<Angle>,
            },
        };
        of(self, entry.limit).unwrap_or_else(|| "none".into())
    }

    fn text_of<A: Amount + Into<MeasuredValue>>(&self, name: LimitName) -> Option<String> {
        let window = self.window::<A>(name).map(|(_, _, limit)| limit);
        let limit = window
            .or_else(|| self.most::<A>(name).map(|(_, limit)| limit))
            .or_else(|| self.least::<A>(name).map(|(_, limit)| limit))?;
        Some(limit.text())
    }

    /// Where an entry's limit comes from.
    pub fn source(&self, entry: &LimitEntry) -> String {
        let change = self.change(entry.limit);
        let ends = change.map(|change| (change.saying_least(), change.saying_most()));
        let (least, most) = (self.plain_least(entry), self.plain_most(entry));
        match (ends, least.zip(most)) {
            (Some((lower, upper)), Some((least, most))) if lower.map(|it| it.place) != upper.map(|it| it.place) => {
                format!("{least}: {}; {most}: {}", source(entry, lower), source(entry, upper))
            }
            _ => source(entry, change),
        }
    }

    /// A lower limit that a rule computes where the rulebook states none.
    pub fn computed_least(&self, name: LimitName, least: impl Into<MeasuredValue>) -> InForce<'_> {
        let bounds = Bounds::Least(least.into());
        InForce { entry: name.entry(), change: self.sealed(name), upper: None, bounds, over: None }
    }

    /// What a finding says of an entry's source, for limits that a rule puts into words of its own.
    pub fn computed(&self, name: LimitName, text: String) -> Limit {
        limit(name.entry(), text, self.sealed(name))
    }

    /// The same with a source of the rule's own; where a seal holds another limit than today's, both are said behind it.
    pub fn computed_from(&self, name: LimitName, text: String, source: String) -> Limit {
        let source = self.sealed(name).map_or(source.clone(), |sealed| format!("{source}; {}", sealed.reason));
        Limit { source, ..self.computed(name, text) }
    }

    /// What a seal holds of an entry, where that is another limit than today's.
    pub fn sealed(&self, name: LimitName) -> Option<&LimitChange> {
        self.change(name).filter(|change| change.whole())
    }
}

/// The default lower or upper limit of an entry, which is spelt so.
fn default<A: Amount>(entry: &LimitEntry, spelt: Option<&str>, end: usize) -> Option<A> {
    // Rules ask for them over and over: each is read from its spelling once.
    static PLAIN: LazyLock<Vec<[Option<Plain>; 2]>> = LazyLock::new(|| {
        ENTRIES.iter().map(|entry| [entry.least, entry.most].map(|spelt| Plain::read(spelt?))).collect()
    });
    let spelt = spelt?;
    PLAIN[entry.limit as usize][end].and_then(A::plain).or_else(|| A::read(spelt, None).ok())
}

fn read<A: Amount>(spelt: &SpeltNumber) -> Option<A> {
    A::read(&spelt.raw, spelt.unit.as_deref()).ok()
}

/// Whether a number can be read as a value of an entry.
pub(super) fn is_readable(entry: &LimitEntry, spelt: &SpeltNumber) -> bool {
    plain(entry, spelt).is_some()
}

/// A number as spelt, in the plain unit of its entry.
fn plain(entry: &LimitEntry, spelt: &SpeltNumber) -> Option<String> {
    fn number<A: Amount>(spelt: &SpeltNumber) -> Option<String> {
        read::<A>(spelt).map(Amount::number)
    }
    match entry.holds {
        LimitType::Amount(Dimension::Length) => number::<Length>(spelt),
        LimitType::Amount(Dimension::Travel) => number::<Travel>(spelt),
        LimitType::Amount(Dimension::Torque) => number::<Torque>(spelt),
        LimitType::Amount(Dimension::Force) => number::<Force>(spelt),
        LimitType::Amount(Dimension::Mass) => number::<Mass>(spelt),
        LimitType::Amount(Dimension::Temperature) => number::<Temperature>(spelt),
        LimitType::Amount(Dimension::TemperatureDifference) => number::<TemperatureDifference>(spelt),
        LimitType::Amount(Dimension::Acceleration) => number::<Acceleration>(spelt),
        LimitType::Amount(Dimension::Stiffness) => number::<Stiffness>(spelt),
        LimitType::Amount(Dimension::SecondMoment) => number::<SecondMoment>(spelt),
        LimitType::Amount(Dimension::PerKelvin) => number::<PerKelvin>(spelt),
        LimitType::Amount(Dimension::Stress) => number::<Stress>(spelt),
        LimitType::Amount(Dimension::Angle) => number::<Angle>(spelt),
        LimitType::Amount(Dimension::Ratio) | LimitType::Count => number::<Ratio>(spelt),
        LimitType::Choice(_) => None,
    }
}

fn source(entry: &LimitEntry, change: Option<&LimitChange>) -> String {
    match change {
        Some(change) if change.whole() => change.reason.clone(),
        Some(change) => format!("set by the {}: {}", change.by, change.reason),
        None => entry.source.to_string(),
    }
}

fn limit(entry: &'static LimitEntry, text: String, change: Option<&LimitChange>) -> Limit {
    Limit { entry: Some(entry.name), text, source: source(entry, change), set_at: change.map(|change| change.place) }
}
