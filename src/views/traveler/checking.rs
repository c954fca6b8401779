//! The joints to be inspected and the stations to be surveyed.

use super::Gather;
use super::sheet::{Block, Cell, GrooveLine, Joint, Section, Table};
use crate::facts::steps::{joint_state, mean_step};
use crate::facts::survey::{Seat, Standing, subject};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Groove, RailId, SurveyKind, SurveyStage, Word};
use crate::quantity::{Amount, Length};
use crate::rules::{ReadingKind, Rule, Work};

impl Gather<'_> {
    /// The joints of a rail; with `again`, those only whose old readings no longer count.
    pub(super) fn inspection(&self, id: RailId) -> Option<Section> {
        let rail = self.case.machine.rail(id);
        let mut section = Section::new(format!("Inspect the joints of {}", self.case.machine.rail_address(id)));
        section.text("Hold the carrying block wholly on one rail for both readings. Its stylus reaches past the joint and past the chamfers of the rail ends; the block itself never rides over the joint, for then it hides the step. Move it by less than the stylus reaches ahead of it.");
        section.text("Read each groove just before and just past the joint, along increasing position. Step = after minus before. Write down what the gauge shows, zero too; leave a blank where nothing was read.");
        let before = section.blocks.len();
        for joint in 0..rail.joints.len() {
            if let Some(block) = self.joint(id, joint) {
                section.blocks.push(Block::Joint(Box::new(block)));
            }
        }
        if section.blocks.len() == before {
            return None;
        }
        section.blocks.push(Block::Hold(
            "Every step within its limit, no light. Otherwise loosen, align, snug and tighten again before the survey."
                .into(),
        ));
        Some(section)
    }

    fn joint(&self, id: RailId, joint: usize) -> Option<Joint> {
        let rail = self.case.machine.rail(id);
        let it = &rail.joints[joint];
        let address = self.case.machine.joint_address(id, joint);
        let state = joint_state(self.case.ledger, id, joint);
        let open = self.open_at(&address, asks_to_inspect);
        if self.remaining && open.is_none() {
            return None;
        }
        let mut lines =
            Groove::ALL.map(|groove| GrooveLine { name: groove.word(), before: None, after: None, step: None });
        if open.is_none() {
            for groove in Groove::ALL {
                let Some(latest) = state.grooves[groove as usize] else { continue };
                let Some((before, after)) = latest.what.pairs.last() else { continue };
                let line = &mut lines[groove as usize];
                line.before = Some(before.number());
                line.after = Some(after.number());
                line.step = mean_step(&latest).map(|step| {
                    let sign = if step.sum_nm < 0 { "-" } else { "" };
                    format!("{sign}{}", Length(step.magnitude_nm()).number())
                });
            }
        }
        let segments = format!("seg{} and seg{}", it.before + 1, it.before + 2);
        Some(Joint {
            name: address,
            place: format!("at {} between {segments}", it.position),
            state: match open {
                Some(why) => why,
                None => match state.last.and_then(|record| self.case.records[record].date) {
                    Some(date) => format!("inspected on {}", date.date),
                    None => "inspected".into(),
                },
            },
            limit: self.limit(LimitName::JointStep),
            light: state
                .light
                .filter(|_| open_none(self, id, joint))
                .map(|light| if light.what { "seen".into() } else { "none".into() }),
            grooves: lines,
        })
    }

    /// The surveys a rail needs: straightness where others follow it, gap or height where it follows one.
    pub(super) fn surveys(&self, id: RailId) -> Vec<Section> {
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

    fn survey(&self, id: RailId, kind: SurveyKind) -> Option<Section> {
        let rail = self.case.machine.rail(id);
        let standing = Standing::of(self.case.ledger, id, kind);
        let shimmed = Seat::of(self.case.ledger, id).is_some_and(|seat| seat.kind == kind)
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
        let mut section = Section::new(format!("{what} ({})", stage.word()));
        let limit = match kind {
            SurveyKind::Gap => self.limit(LimitName::GapRange),
            SurveyKind::Straightness => self.limit(LimitName::Straightness),
            SurveyKind::Height => self.limit(LimitName::HeightRange),
        };
        section.text(format!(
            "Set the gauge to zero at the first station and read every station in turn, then the first one again: the difference is the gauge's drift. Range of the readings: {limit}. Rail temperature: ______ °C."
        ));
        let readings = done.map(|record| &self.case.records[record].body);
        let reading = |support: usize| match readings {
            Some(Body::Survey(survey)) => survey
                .stations
                .iter()
                .find(|row| row.support == Some(support))
                .and_then(|row| row.readings.last().map(|reading| reading.number())),
            _ => None,
        };
        // Two stations a row save half the paper.
        let mut table = Table::new(["Station", "At (mm)", "Reading (mm)", "", "Station", "At (mm)", "Reading (mm)"]);
        let half = (rail.supports.len() + 1).div_ceil(2);
        let cells = |at: usize| -> [Cell; 3] {
            match rail.supports.get(at) {
                Some(it) => [
                    Cell::text(it.name.as_str()),
                    Cell::Number(it.at.number()),
                    reading(at).map_or(Cell::Blank, Cell::Number),
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
                            Cell::Text(format!("{} again", first.name)),
                            Cell::Number(first.at.number()),
                            closure.map_or(Cell::Blank, Cell::Number),
                        ]
                    }
                    None => [Cell::Nothing, Cell::Nothing, Cell::Nothing],
                },
                None => [Cell::Nothing, Cell::Nothing, Cell::Nothing],
            }
        };
        for row in 0..half {
            let mut all = cells(row).to_vec();
            all.push(Cell::Nothing);
            all.extend(cells(row + half));
            table.rows.push(all);
        }
        section.table(table);
        Some(section)
    }

    /// `at most 0.02 mm (common practice, no source)`.
    pub(super) fn limit(&self, entry: LimitName) -> String {
        match self.case.rulebook.most::<Length>(entry) {
            Some((_, limit)) => format!("{} ({})", limit.text(), limit.source()),
            None => "no limit stated".into(),
        }
    }
}

fn open_none(gather: &Gather, id: RailId, joint: usize) -> bool {
    gather.open_at(&gather.case.machine.joint_address(id, joint), asks_to_inspect).is_none()
}

/// Whether a rule says that a joint is to be inspected, or inspected again.
pub(super) fn asks_to_inspect(rule: &Rule) -> bool {
    rule.asks_for == Some(Work::Inspection)
        || rule.judges.iter().any(|reading| matches!(reading, ReadingKind::Step | ReadingKind::Light))
}

/// Whether a rule says that a rail is to be surveyed, or surveyed again.
pub(super) fn asks_to_survey(rule: &Rule) -> bool {
    rule.asks_for == Some(Work::Survey)
}
