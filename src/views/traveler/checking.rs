//! The joints to be inspected and the stations to be surveyed.

use super::TravelerBuilder;
use crate::facts::running_force::{self, ForceAtPosition};
use crate::facts::steps::{joint_state, mean_step};
use crate::facts::survey::{Seat, SurveyReadings, length, subject, survey_at, target_words};
use crate::facts::survey_limits::{is_limited, local_limit, range_limit};
use crate::facts::survey_state::CurrentSurveys;
use crate::language::rulebook::LimitName;
use crate::ledger::{
    Body, Groove, Inspect, Keyword, RailId, Record, RunningForce, Spanned, Survey, SurveyKind, SurveyStage,
};
use crate::quantity::{Amount, Force, Length};
use crate::rules::{ReadingKind, RequiredWork, Rule};
use crate::views::paper::{Content, Element, Figure, Table, TableCell};

impl TravelerBuilder<'_> {
    /// The joints of a rail; with `again`, those only whose old readings no longer count.
    pub(super) fn inspection(&self, id: RailId) -> Option<Content> {
        let rail = self.case.machine.rail(id);
        let mut body = Content::default();
        body.heading(2, format!("Inspect the joints of {}", self.case.machine.rail_address(id)));
        body.say("Hold the carrying block wholly on one rail for both readings. Its stylus reaches past the joint and past the chamfers of the rail ends; the block itself never rides over the joint, for then it hides the step. Move it by less than the stylus reaches ahead of it.");
        body.say("Read each groove just before and just past the joint, along increasing position. Step = after minus before. Write down what the gauge shows, zero too; leave a blank where nothing was read.");
        let joints: Vec<Content> = (0..rail.joints.len()).filter_map(|joint| self.joint(id, joint)).collect();
        if joints.is_empty() {
            return None;
        }
        body.0.extend(joints.into_iter().map(Element::Group));
        body.hold_point(
            "Every step within its limit, no light. Otherwise loosen, align, snug and tighten again before the survey.",
        );
        Some(body)
    }

    /// The inspection of one joint, with its four grooves drawn.
    fn joint(&self, id: RailId, joint: usize) -> Option<Content> {
        let rail = self.case.machine.rail(id);
        let it = &rail.joints[joint];
        let address = self.case.machine.joint_address(id, joint);
        let state = joint_state(self.case.ledger, id, joint);
        let open = self.open_at(&address, asks_to_inspect);
        if self.remaining && open.is_none() {
            return None;
        }
        let rows = Groove::ALL.map(|groove| {
            let latest = state.grooves[groove as usize].filter(|_| open.is_none());
            let pair = latest.and_then(|latest| latest.what.pairs.last().copied());
            let step = latest.and_then(|latest| mean_step(&latest)).filter(|_| pair.is_some()).map(|step| {
                let sign = if step.sum_nm < 0 { "-" } else { "" };
                format!("{sign}{}", Length(step.magnitude_nm()).number())
            });
            let read = |length: Option<Length>| TableCell::number_or_blank(length.map(Amount::number));
            vec![
                TableCell::text(groove.word()),
                read(pair.map(|(before, _)| *before)),
                read(pair.map(|(_, after)| *after)),
                TableCell::number_or_blank(step),
            ]
        });
        let light = state.light.filter(|_| open.is_none()).map(|light| if light.what { "seen" } else { "none" });
        let why = match &open {
            Some(why) => why.clone(),
            None => match state.last.and_then(|record| self.case.records[record].date) {
                Some(date) => format!("inspected on {}", date.date),
                None => "inspected".into(),
            },
        };
        let (near, far) = (it.before + 1, it.before + 2);
        let mut body = Content::default();
        body.heading(3, format!("Joint {address}, at {} between seg{near} and seg{far}", it.position));
        body.say(format!("{why}. Limit of each step: {}.", self.limit(LimitName::JointStep)));
        body.figure(Some(Figure {
            title: "The four grooves of the rail".into(),
            caption: "Seen along increasing position".into(),
            svg: Some(include_str!("grooves.svg").into()),
            characters: Some(GROOVES.into()),
        }));
        body.table("", &["Groove", "Before (mm)", "After (mm)", "Step (mm)"], rows.to_vec());
        let mut facts = vec![("Light", light.map_or(TableCell::Choice(&["none", "seen"]), TableCell::text))];
        let records = state.records();
        let read = Some(&records[..]).filter(|_| open.is_none());
        let length = |length: Option<Spanned<Length>>| length.map(|length| length.number());
        facts.extend([
            ("Gauge", self.said(read, |it| as_inspect(it)?.gauge.as_ref().map(|name| name.to_string()))),
            ("Reach (mm)", self.said(read, |it| length(as_inspect(it)?.reach))),
            ("Travel (mm)", self.said(read, |it| length(as_inspect(it)?.travel))),
            ("By", self.said(read, by)),
            ("Date and time", self.said(read, date)),
        ]);
        body.facts(facts);
        Some(body)
    }

    /// The surveys a rail needs: straightness where others follow it, or where it is limited and no rail follows another; gap
    /// or height where it follows one.
    pub(super) fn surveys(&self, id: RailId) -> Vec<Content> {
        let rail = self.case.machine.rail(id);
        let mut kinds = Vec::new();
        let limited = |kind| is_limited(self.case.rulebook, kind);
        let stands_alone = self.case.followed(id.axis).is_empty() && rail.follows.is_none();
        if self.case.is_followed(id) || stands_alone && limited(SurveyKind::Straightness) {
            kinds.push(SurveyKind::Straightness);
        }
        if rail.follows.is_some() {
            kinds.push(SurveyKind::Gap);
            if limited(SurveyKind::Height) {
                kinds.push(SurveyKind::Height);
            }
        }
        kinds.into_iter().filter_map(|kind| self.survey(id, kind)).collect()
    }

    fn survey(&self, id: RailId, kind: SurveyKind) -> Option<Content> {
        let rail = self.case.machine.rail(id);
        let standing = CurrentSurveys::for_rail(self.case.ledger, id, kind);
        let shimmed = Seat::for_rail(self.case.ledger, id).is_some_and(|seat| seat.kind == kind)
            && standing.as_fitted.is_some_and(|survey| self.case.shimmed_since(id, survey));
        let stage = match (standing.as_fitted, shimmed) {
            (Some(_), true) => SurveyStage::Verification,
            _ => SurveyStage::AsFitted,
        };
        let latest = if stage == SurveyStage::Verification { standing.verified } else { standing.latest() };
        let stale = latest.filter(|_| self.open_at(&self.case.machine.rail_address(id), asks_to_survey).is_some());
        let done = latest.filter(|_| stale.is_none());
        if self.remaining && done.is_some() {
            return None;
        }
        let address = self.case.machine.rail_address(id);
        let follows = rail.follows.as_ref().map_or(String::new(), |name| format!(" to rail {}", **name));
        let what = match kind {
            SurveyKind::Straightness if self.case.is_followed(id) => {
                format!("Survey: straightness of {address}, the reference rail")
            }
            _ => format!("Survey: {} of {address}{follows}", subject(kind)),
        };
        let mut body = Content::default();
        body.heading(2, format!("{what} ({})", stage.word()));
        let mut limit = self.limit(range_limit(kind));
        if let Some((_, local)) = self.case.rulebook.most::<Length>(local_limit(kind)) {
            let judged = match kind {
                SurveyKind::Straightness => "Minimum zone within each stretch",
                SurveyKind::Gap | SurveyKind::Height => "Difference of any two stations no farther apart",
            };
            limit += &format!(". {judged}: {} ({})", local.text(), local.source());
        }
        let seat = Seat::for_rail(self.case.ledger, id).filter(|seat| seat.kind == kind);
        // Shims are read off the first survey of their kind: its zero lies where the others are shimmed to.
        let zero = match seat.and_then(|seat| seat.effect).filter(|_| stage == SurveyStage::AsFitted) {
            Some(effect) => format!(
                "Pass the gauge along the rail once to find {0}, and set it to zero there: shims are read off this survey. Then read",
                target_words(effect)
            ),
            None => "Set the gauge to zero at the first station. Read".to_owned(),
        };
        let judged = if kind == SurveyKind::Straightness { "Minimum zone" } else { "Range" };
        body.say(format!(
            "{zero} every station in turn, row by row, then the first one again: the difference is the gauge's drift. {judged} of the readings: {limit}."
        ));
        let record = done.as_ref().map(std::slice::from_ref);
        body.facts(vec![
            ("Gauge", self.said(record, |it| as_survey(it)?.gauge.as_ref().map(|name| name.to_string()))),
            ("Rail temperature", self.said(record, |it| as_survey(it)?.temperature.map(|it| it.to_string()))),
            ("By", self.said(record, by)),
            ("Date and time", self.said(record, date)),
        ]);
        let readings = done.map(|record| &self.case.records[record].body);
        // Of surveys that are tied to each other, what they say together, the way the last gauge shows it.
        let tied = done.and_then(|record| standing.tied(record)).cloned();
        // Of angles the heights that they add up to.
        let summed = || {
            let record =
                done.filter(|record| survey_at(self.case.ledger, *record).is_some_and(|it| it.angles.is_some()))?;
            SurveyReadings::for_record(self.case.ledger, record)
        };
        let told_by = tied.or_else(summed);
        let told = |support: usize| {
            let state = told_by.as_ref()?;
            let station = state.stations.iter().find(|it| it.row.support == Some(support))?;
            let value = length(station.value);
            Some(if state.sign < 0 { Length(-value.nm()) } else { value }.number())
        };
        let reading = |support: usize| match readings {
            _ if told_by.is_some() => told(support),
            Some(Body::Survey(survey)) => survey
                .stations
                .iter()
                .find(|row| row.support == Some(support))
                .and_then(|row| row.readings.last().map(|reading| reading.number())),
            _ => None,
        };
        let mut stations: Vec<[TableCell; 3]> = Vec::with_capacity(rail.supports.len() + 1);
        for (at, it) in rail.supports.iter().enumerate() {
            let read = TableCell::number_or_blank(reading(at));
            stations.push([TableCell::text(it.name.as_str()), TableCell::Number(it.at.number()), read]);
        }
        if let Some(first) = rail.supports.first() {
            let closure = match readings {
                Some(Body::Survey(survey)) => survey.closure.as_ref().and_then(|it| it.readings.last()),
                _ => None,
            };
            let read = match done {
                Some(_) => TableCell::number(closure.map(|it| it.number())),
                None => TableCell::Blank,
            };
            stations.push([
                TableCell::Text(format!("{} again", first.name)),
                TableCell::Number(first.at.number()),
                read,
            ]);
        }
        // Two stations a row save half the paper, and stay in order wherever a page ends.
        let mut table = Table::new(&["Station", "At (mm)", "Reading (mm)", "Station", "At (mm)", "Reading (mm)"]);
        for both in stations.chunks(2) {
            let mut row: Vec<TableCell> = both.iter().flatten().cloned().collect();
            row.resize(table.head.len(), TableCell::Nothing);
            table.rows.push(row);
        }
        body.whole_table(table);
        Some(body)
    }

    /// The running force of the axis; nothing where nobody asks for it and nobody read it.
    pub(super) fn force(&self) -> Option<Content> {
        let axis = &self.case.machine.axes[self.axis];
        let limit = self.case.rulebook.most::<Force>(LimitName::RunningForce);
        let readings = running_force::latest(self.case.ledger, self.axis);
        if limit.is_none() && readings.is_empty() {
            return None;
        }
        let places = running_force::places(axis);
        let is_open = self.open_at(&axis.name, asks_to_push).is_some();
        let mut rows: Vec<(String, Length, Option<&ForceAtPosition>)> = Vec::new();
        for place in places {
            let near = readings.iter().filter(|_| !is_open).filter(|it| {
                running_force::reaches(axis, *it.row.position, place.at).unwrap_or(*it.row.position == place.at)
            });
            let near = near.min_by_key(|it| (*it.row.position - place.at).abs());
            rows.push((place.what, place.at, near));
        }
        rows.sort_by_key(|(_, at, _)| *at);
        if self.remaining && !is_open && !rows.is_empty() && rows.iter().all(|(.., read)| read.is_some()) {
            return None;
        }
        let mut body = Content::default();
        body.heading(2, format!("Running force of axis {}", *axis.name));
        let limit =
            limit.map_or("no limit stated".into(), |(_, limit)| format!("{} ({})", limit.text(), limit.source()));
        body.say(format!(
            "With the drive off and the carriage free, pull it slowly and evenly with the force gauge, and read it as the carriage's middle passes each place. Keep hands out of its way, and the stops in place. Force: {limit}."
        ));
        let mut records: Vec<usize> = rows.iter().filter_map(|(.., read)| Some((*read)?.record)).collect();
        records.sort_unstable();
        records.dedup();
        let read = Some(&records[..]).filter(|_| !records.is_empty());
        body.facts(vec![
            ("Gauge", self.said(read, |it| as_force(it)?.gauge.as_ref().map(|name| name.to_string()))),
            ("By", self.said(read, by)),
            ("Date and time", self.said(read, date)),
        ]);
        let mut table = Table::new(&["Over", "At (mm)", "Force (N)"]);
        for (what, at, read) in rows {
            let force = TableCell::number_or_blank(read.map(|read| read.row.told().number()));
            table.rows.push(vec![what.into(), TableCell::Number(at.number()), force]);
        }
        if table.rows.is_empty() {
            // Without a stroke nothing says where.
            table.rows.extend((0..BLANK_PLACES).map(|_| vec![const { TableCell::Blank }; 3]));
        }
        body.whole_table(table);
        Some(body)
    }

    /// What some records say, each word once; room to write it in where there are none.
    fn said(&self, records: Option<&[usize]>, of: impl Fn(&Record) -> Option<String>) -> TableCell {
        let Some(records) = records else { return TableCell::Blank };
        let mut all: Vec<String> = Vec::new();
        for said in records.iter().filter_map(|record| of(&self.case.records[*record])) {
            if !all.contains(&said) {
                all.push(said);
            }
        }
        TableCell::given((!all.is_empty()).then(|| all.join(", ")))
    }

    /// `at most 0.02 mm (common practice, no source)`.
    pub(super) fn limit(&self, entry: LimitName) -> String {
        match self.case.rulebook.most::<Length>(entry) {
            Some((_, limit)) => format!("{} ({})", limit.text(), limit.source()),
            None => "no limit stated".into(),
        }
    }
}

/// The grooves drawn in characters.
const GROOVES: &str = " UL _____ UR\n   \\     /\n   /     \\\n LL _____ LR\n";

/// Rows for places that nothing names.
const BLANK_PLACES: usize = 4;

fn by(record: &Record) -> Option<String> {
    record.by.as_ref().map(|name| name.to_string())
}

fn date(record: &Record) -> Option<String> {
    record.date.map(|date| date.to_string())
}

fn as_inspect(record: &Record) -> Option<&Inspect> {
    if let Body::Inspect(inspect) = &record.body { Some(inspect) } else { None }
}

fn as_survey(record: &Record) -> Option<&Survey> {
    if let Body::Survey(survey) = &record.body { Some(survey) } else { None }
}

fn as_force(record: &Record) -> Option<&RunningForce> {
    if let Body::RunningForce(run) = &record.body { Some(run) } else { None }
}

/// Whether a rule says that the running force is to be read, or read again.
fn asks_to_push(rule: &Rule) -> bool {
    rule.judges.contains(&ReadingKind::RunningForce)
}

/// Whether a rule says that a joint is to be inspected, or inspected again.
pub(super) fn asks_to_inspect(rule: &Rule) -> bool {
    rule.asks_for == Some(RequiredWork::Inspection)
        || rule.judges.iter().any(|reading| matches!(reading, ReadingKind::Step | ReadingKind::Light))
}

/// Whether a rule says that a rail is to be surveyed, or surveyed again.
pub(super) fn asks_to_survey(rule: &Rule) -> bool {
    rule.asks_for == Some(RequiredWork::Survey)
}
