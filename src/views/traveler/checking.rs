//! The joints to be inspected and the stations to be surveyed.

use super::TravelerBuilder;
use crate::facts::steps::{joint_state, mean_step};
use crate::facts::survey::{Seat, length, subject};
use crate::facts::survey_state::CurrentSurveys;
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Groove, Keyword, RailId, SurveyKind, SurveyStage};
use crate::quantity::{Amount, Length};
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
        let why = match open {
            Some(why) => why,
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
        facts.extend(["Gauge", "Reach (mm)", "Travel (mm)", "By", "Date"].map(|name| (name, TableCell::Blank)));
        body.facts(facts);
        Some(body)
    }

    /// The surveys a rail needs: straightness where others follow it, gap or height where it follows one.
    pub(super) fn surveys(&self, id: RailId) -> Vec<Content> {
        let axis = &self.case.machine.axes[id.axis];
        let rail = self.case.machine.rail(id);
        let mut kinds = Vec::new();
        if axis.rails.iter().any(|other| other.follows.as_ref().is_some_and(|name| **name == *rail.name)) {
            kinds.push(SurveyKind::Straightness);
        }
        if rail.follows.is_some() {
            kinds.push(SurveyKind::Gap);
            if self.case.rulebook.most::<Length>(LimitName::HeightRange).is_some() {
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
            SurveyKind::Straightness => format!("Survey: straightness of {address}, the reference rail"),
            _ => format!("Survey: {} of {address}{follows}", subject(kind)),
        };
        let mut body = Content::default();
        body.heading(2, format!("{what} ({})", stage.word()));
        let limit = match kind {
            SurveyKind::Gap => self.limit(LimitName::GapRange),
            SurveyKind::Straightness => self.limit(LimitName::Straightness),
            SurveyKind::Height => self.limit(LimitName::HeightRange),
        };
        body.say(format!(
            "Set the gauge to zero at the first station and read every station in turn, then the first one again: the difference is the gauge's drift. Range of the readings: {limit}. Rail temperature: ______ °C."
        ));
        let readings = done.map(|record| &self.case.records[record].body);
        // Of surveys that are tied to each other, what they say together, the way the last gauge shows it.
        let tied = done.and_then(|record| standing.tied(record));
        let told = |support: usize| {
            let state = tied?;
            let station = state.stations.iter().find(|it| it.row.support == Some(support))?;
            let value = length(station.value);
            Some(if state.sign < 0 { Length(-value.nm()) } else { value }.number())
        };
        let reading = |support: usize| match readings {
            _ if tied.is_some() => told(support),
            Some(Body::Survey(survey)) => survey
                .stations
                .iter()
                .find(|row| row.support == Some(support))
                .and_then(|row| row.readings.last().map(|reading| reading.number())),
            _ => None,
        };
        // Two stations a row save half the paper.
        let mut table = Table::new(&["Station", "At (mm)", "Reading (mm)", "", "Station", "At (mm)", "Reading (mm)"]);
        let half = (rail.supports.len() + 1).div_ceil(2);
        let cells = |at: usize| -> [TableCell; 3] {
            match rail.supports.get(at) {
                Some(it) => [
                    TableCell::text(it.name.as_str()),
                    TableCell::Number(it.at.number()),
                    TableCell::number_or_blank(reading(at)),
                ],
                None if at == rail.supports.len() => match rail.supports.first() {
                    Some(first) => {
                        let closure = match readings {
                            Some(Body::Survey(survey)) => {
                                survey.closure.as_ref().and_then(|it| it.readings.last().map(|it| it.number()))
                            }
                            _ => None,
                        };
                        [
                            TableCell::Text(format!("{} again", first.name)),
                            TableCell::Number(first.at.number()),
                            TableCell::number_or_blank(closure),
                        ]
                    }
                    None => [TableCell::Nothing, TableCell::Nothing, TableCell::Nothing],
                },
                None => [TableCell::Nothing, TableCell::Nothing, TableCell::Nothing],
            }
        };
        for row in 0..half {
            let mut all = cells(row).to_vec();
            all.push(TableCell::Nothing);
            all.extend(cells(row + half));
            table.rows.push(all);
        }
        body.whole_table(table);
        Some(body)
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

/// Whether a rule says that a joint is to be inspected, or inspected again.
pub(super) fn asks_to_inspect(rule: &Rule) -> bool {
    rule.asks_for == Some(RequiredWork::Inspection)
        || rule.judges.iter().any(|reading| matches!(reading, ReadingKind::Step | ReadingKind::Light))
}

/// Whether a rule says that a rail is to be surveyed, or surveyed again.
pub(super) fn asks_to_survey(rule: &Rule) -> bool {
    rule.asks_for == Some(RequiredWork::Survey)
}
