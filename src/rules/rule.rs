//! What a rule is: its page, what others may know of it, and its checks, one for each kind of subject it judges.

use super::{Case, Coverage, Findings, Verdict};
use crate::finding::{Cure, Finding, Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Instrument, RailId};

/// One rule. What most rules share comes from [`Rule::PLAIN`].
#[derive(Debug)]
pub struct Rule {
    /// Its name.
    pub name: RuleName,
    /// What it belongs to.
    pub group: RuleGroup,
    /// How much its findings weigh.
    pub grade: Grade,
    /// How what it finds is put right.
    pub cure: Cure,
    /// What is checked, in one sentence.
    pub what: &'static str,
    /// Why it matters.
    pub why: &'static str,
    /// The rulebook entries it judges by.
    pub limits: &'static [LimitName],
    /// Those of them that everything it says conforms is held against, as it was described, done or read. The others come
    /// into what some subjects are judged by, or into how far ahead something is told.
    pub holds: &'static [LimitName],
    /// Where the rule itself comes from.
    pub source: &'static str,
    /// Of a rule that holds a ledger against an earlier state: that state, from which both examples come.
    pub before: &'static str,
    /// A ledger fragment that the rule finds fault with.
    pub wrong: &'static str,
    /// The same, put right.
    pub right: &'static str,
    /// The readings that it judges one by one.
    pub judges: &'static [ReadingKind],
    /// Its finding is as much about the further places it names as about the first.
    pub about_each_place: bool,
    /// What its findings are about.
    pub about: About,
    /// The kinds of record whose absence alone could make it find fault.
    pub reasons_from: &'static [&'static str],
    /// What its findings follow from, beside the place that they stand at and the limit that they name.
    pub follows_from: &'static [Ground],
    /// The work that it asks to be done, or done again.
    pub asks_for: Option<RequiredWork>,
    /// What it finds is accepted by a concession though evidence is missing: who accepts it vouches for what is in doubt.
    pub conceded_though_missing: bool,
    /// It judges how the record itself is kept, or how much it holds: no concession makes that good.
    pub never_conceded: bool,
    /// What it finds fails, though it stood at the revision that ledgers are held against.
    pub never_stands: bool,
    /// One for each kind of subject that it judges; none where it is found while the text is read, or between two states.
    pub checks: &'static [Check],
}

impl Rule {
    /// What a rule is unless it says otherwise.
    pub const PLAIN: Rule = Rule {
        name: RuleName::NONE,
        group: RuleGroup::Text,
        grade: Grade::Nonconformity,
        cure: Cure::Writing,
        what: "",
        why: "",
        limits: &[],
        holds: &[],
        source: "",
        before: "",
        wrong: "",
        right: "",
        judges: &[],
        about_each_place: false,
        about: About::Facts,
        reasons_from: &[],
        follows_from: &[],
        asks_for: None,
        conceded_though_missing: false,
        never_conceded: false,
        never_stands: false,
        checks: &[],
    };
}

/// A kind of fact that a finding may follow from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    /// What is described of the part at its address: a segment, a support; of a joint the segment that begins there.
    Part,
    /// The segments whose lengths say where the part at its address lies, or the segment that it shows.
    Lengths,
    /// How far apart the holes of the rail at its address are.
    HolePitch,
    /// The same, of a finding that counts bolts.
    CountedHoles,
    /// What else it shows of the description of shop or machine.
    Described,
    /// The gauge or wrench of the records that it shows.
    Instrument,
    /// The leaves in stock.
    ShimStock,
    /// The other records that it shows: what undid it, what went before, what it is compared with.
    Records,
}

/// What the findings of a rule are about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// What is described, done or read.
    Facts,
    /// How a reading was taken.
    Taking,
    /// How sure a reading is.
    Certainty,
}

/// A kind of reading that rules judge one by one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadingKind {
    FullTorque,
    SnugTorque,
    Shims,
    RunningForce,
    SurveyTemperature,
    Step,
    Light,
    Gap,
    Straightness,
    Height,
    Closure,
}

/// Work that a rule asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RequiredWork {
    Inspection,
    Survey,
}

/// What a rule judges, one subject at a time. The judge goes through the subjects that there are.
#[derive(Clone, Copy, Debug)]
pub enum Check {
    /// The ledger as a whole.
    Machine(fn(&Case, &mut Findings) -> Verdict),
    Axes(fn(&Case, usize, &mut Findings) -> Verdict),
    /// Two rails of one axis.
    Pairs(fn(&Case, [RailId; 2], &mut Findings) -> Verdict),
    Rails(fn(&Case, RailId, &mut Findings) -> Verdict),
    Segments(fn(&Case, RailId, usize, &mut Findings) -> Verdict),
    Joints(fn(&Case, RailId, usize, &mut Findings) -> Verdict),
    Supports(fn(&Case, RailId, usize, &mut Findings) -> Verdict),
    /// The records that count, by their number, in the order of the timeline.
    Records(fn(&Case, usize, &mut Findings) -> Verdict),
    /// The gauges and wrenches of the shop.
    Instruments(fn(&Case, Instrument, &mut Findings) -> Verdict),
    /// The ledger as a whole, over what the other rules found, once concessions are taken into account.
    Afterwards(fn(&Case, &mut Findings) -> Verdict),
    /// The same, for who must ask the judge about other rules.
    Again(fn(&Case, &mut Findings, &Judge) -> Verdict),
}

/// What the judge hands to a check that looks at other rules: a rule stands below the list of all rules, and below the judge.
#[derive(Clone, Copy)]
pub struct Judge {
    /// All rules, group by group.
    pub(super) rules: &'static [&'static [&'static Rule]],
    /// What they find over a ledger, concessions taken into account.
    pub(super) found: fn(&Case) -> Vec<Finding>,
    /// The same by the limits of today, whatever a release holds, and how many subjects each rule judges so.
    pub(super) anew: fn(&Case) -> (Vec<Finding>, Coverage),
}

impl Judge {
    /// All rules, in the order of the catalogue.
    pub(super) fn rules(&self) -> impl Iterator<Item = &'static Rule> {
        self.rules.iter().copied().flatten().copied()
    }

    /// The rule of that name.
    pub(super) fn rule(&self, name: &str) -> Option<&'static Rule> {
        self.rules().find(|rule| rule.name.as_str() == name)
    }
}

/// What a rule is about; the catalogue's chapters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum RuleGroup {
    /// What stands in the text.
    Text,
    /// How the machine is described.
    Layout,
    /// Bolts, instruments and parts.
    Fitting,
    /// Joints, grooves and forces.
    Inspection,
    /// Surveys and shims.
    Gap,
    /// Records, releases and concessions.
    Keeping,
    /// What became of what others have.
    History,
}

impl RuleGroup {
    /// In the order of the catalogue.
    pub const ALL: [RuleGroup; 7] = [
        RuleGroup::Text,
        RuleGroup::Layout,
        RuleGroup::Fitting,
        RuleGroup::Inspection,
        RuleGroup::Gap,
        RuleGroup::Keeping,
        RuleGroup::History,
    ];

    /// Its heading in the catalogue.
    pub fn title(self) -> &'static str {
        match self {
            RuleGroup::Text => "Text",
            RuleGroup::Layout => "Layout",
            RuleGroup::Fitting => "Fitting",
            RuleGroup::Inspection => "Inspection",
            RuleGroup::Gap => "Gap and shims",
            RuleGroup::Keeping => "Keeping",
            RuleGroup::History => "History",
        }
    }
}
