//! A survey: station by station, the first one again at the end, the range said at once.

use super::value::{TypedNumber, numbers};
use super::{AskedReading, EntrySession, PromptError, RecordDraft, outstanding, right, shows};
use crate::facts::survey_limits::{range_limit, survey_limits};
use crate::ledger::{JointSide, Keyword, NodeDraft, RailId, SpeltValue, SurveyKind, Target};
use crate::quantity::Length;

/// What the gauge showed at one station.
struct StationAnswer {
    /// Repeats included.
    readings: Vec<TypedNumber<Length>>,
    /// At a joint where both ends were read, those of the end behind it.
    behind: Vec<TypedNumber<Length>>,
    /// The person was asked if they are so.
    confirmed: bool,
}

impl StationAnswer {
    fn all(&self) -> Vec<TypedNumber<Length>> {
        self.readings.iter().chain(&self.behind).cloned().collect()
    }

    /// A row of the record for each end that was read by itself, by the name of its station.
    fn rows(&self, station: &str) -> Vec<NodeDraft> {
        let row = |name: String, typed: &[TypedNumber<Length>]| {
            NodeDraft::new("at").value(name.as_str()).values(spelt(typed))
        };
        if self.behind.is_empty() {
            return vec![row(station.to_owned(), &self.readings)];
        }
        let ends = JointSide::ALL.into_iter().zip([&self.readings, &self.behind]);
        ends.map(|(side, typed)| row(format!("{station}{}", side.sign()), typed)).collect()
    }
}

impl EntrySession<'_, '_> {
    pub(super) fn survey(&mut self) -> Result<RecordDraft, PromptError> {
        let kind: SurveyKind = self.one_of("What was read", self.given.reads.as_ref(), Some(SurveyKind::Gap))?;
        let (on, id) = if kind == SurveyKind::Gap { self.following_rail()? } else { self.rail()? };
        self.case.rulebook = self.case.limits(id.axis);
        let stage =
            self.one_of("Stage", self.given.stage.as_ref(), Some(outstanding::survey_stage(&self.case, id, kind)))?;
        let mut draft = RecordDraft::new(NodeDraft::new("survey").value(kind.word()).value(&on));
        let graduation = self.gauge(&mut draft)?;
        self.temperature(&mut draft)?;
        draft.set("stage", stage.word());
        if !self.rows_given(&mut draft) {
            match kind == SurveyKind::Straightness && self.reads_angles(draft.gauge.as_ref()) {
                true => self.steps(&mut draft, id)?,
                false => self.stations(&mut draft, id, kind, graduation)?,
            }
        }
        Ok(draft)
    }

    /// The rail that a gap is read along: not the one that others follow, where there is one.
    fn following_rail(&mut self) -> Result<(String, RailId), PromptError> {
        let fit = outstanding::gap_rails(&self.case);
        let machine = &self.case.ledger.machine;
        let known: Vec<String> = fit.iter().map(|id| machine.rail_address(*id)).collect();
        if let Some(on) = &self.given.on
            && let Ok(Target::Rail(id)) = Target::find(machine, on)
            && !fit.contains(&id)
        {
            return Err(PromptError::Wrong(format!(
                "{on} is the reference: a gap is read along the rail that follows it, {}",
                known.join(", ")
            )));
        }
        if fit.len() == self.case.rails().count() {
            return self.rail();
        }
        match (&self.given.on, &fit[..]) {
            (None, [only]) => {
                let on = machine.rail_address(*only);
                self.prompter.about(&on);
                Ok((on, *only))
            }
            (Some(_), _) => self.rail(),
            (None, _) => {
                let question = format!("Which rail that follows the reference? ({})", known.join(", "));
                let found = right(self.prompter, &question, |on| match Target::find(machine, on) {
                    Ok(Target::Rail(id)) if fit.contains(&id) => Ok((on.to_string(), id)),
                    _ => Err(format!("a gap is read along {}", known.join(" or "))),
                })?;
                self.prompter.about(&found.0);
                Ok(found)
            }
        }
    }

    fn stations(
        &mut self,
        draft: &mut RecordDraft,
        id: RailId,
        kind: SurveyKind,
        graduation: Option<Length>,
    ) -> Result<(), PromptError> {
        let rail = self.case.ledger.machine.rail(id);
        self.prompter.tell("What the gauge shows at each station, in mm; Enter leaves a blank; . ends.");
        let is_joint = |support: usize| rail.joints.iter().any(|joint| joint.support == Some(support));
        if (0..rail.supports.len()).any(is_joint) {
            self.prompter
                .tell("At a joint, 0.01 / 0.02 are the end before it and the one behind it; one number is their mean.");
        }
        let range = self.out_of_range(draft.gauge.as_ref());
        let limit = survey_limits(self.case.rulebook, kind).next().map(|it| it.most);
        let mut read: Vec<Length> = Vec::new();
        let mut neighbours: Vec<(&str, Length)> = Vec::new();
        for (index, support) in rail.supports.iter().enumerate() {
            let question = format!("{} at {}", support.name, support.at);
            let asked = StationQuestion {
                name: &support.name,
                question: &question,
                graduation,
                range: range.as_ref(),
                is_joint: is_joint(index),
            };
            let Some(answer) = self.station(&asked, |typed| far_off(kind, typed, &neighbours, limit))? else { break };
            let typed = answer.all();
            let Some(last) = typed.last() else { continue };
            neighbours.push((&support.name, last.value));
            read.extend(typed.iter().map(|typed| typed.value));
            for row in answer.rows(&support.name) {
                draft.answered(row, AskedReading { question: question.clone(), confirmed: answer.confirmed });
            }
        }
        if let (Some(first), true) = (rail.supports.first(), read.len() > 1) {
            let question = format!("{} again", first.name);
            let range = range.as_ref();
            let asked = StationQuestion { name: &question, question: &question, graduation, range, is_joint: false };
            let again = self.station(&asked, |_| None)?;
            if let Some(StationAnswer { readings, confirmed, .. }) = again.filter(|it| !it.readings.is_empty()) {
                let row = NodeDraft::new("closure").value(first.name.as_str()).values(spelt(&readings[..1]));
                draft.answered(row, AskedReading { question, confirmed });
            }
        }
        if let (Some(least), Some(most)) = (read.iter().min(), read.iter().max()) {
            let range = *most - *least;
            // The straightness of a rail is not the range of its readings: its line is taken out first.
            let whole = range_limit(kind);
            let limit = self.case.rulebook.most::<Length>(whole).filter(|_| kind != SurveyKind::Straightness);
            let told = match limit {
                Some((most, limit)) if range > most => {
                    format!("range {range}, {} over {} ({})", range - most, limit.text(), limit.source())
                }
                Some((_, limit)) => format!("range {range}, within {}", limit.text()),
                None => format!("range {range}"),
            };
            // What only the lint works out is named, so that a range within its limit does not pass for all of it.
            let open = survey_limits(self.case.rulebook, kind).filter(|it| limit.is_none() || it.name != whole);
            let open: Vec<String> = open.map(|it| format!("{}, {}", it.name, it.limit.text())).collect();
            self.prompter.tell(&match &open[..] {
                [] => told,
                open => format!("{told}; still to be judged: {}", open.join("; ")),
            });
        }
        Ok(())
    }

    /// The readings at one station, repeats included, and whether the person was asked if they are so; none for a blank,
    /// nothing at the end.
    fn station(
        &mut self,
        asked: &StationQuestion,
        far_off: impl Fn(&[TypedNumber<Length>]) -> Option<String>,
    ) -> Result<Option<StationAnswer>, PromptError> {
        let StationQuestion { name, question, graduation, range, is_joint } = *asked;
        loop {
            let answer = right(self.prompter, question, |answer| -> Result<_, String> {
                if answer == "." {
                    return Ok(None);
                }
                let (readings, behind) = match answer.split_once('/') {
                    None => (numbers(answer)?, Vec::new()),
                    Some(_) if !is_joint => {
                        return Err(format!(
                            "{name} is no joint: write one reading, or repeats with a blank between them"
                        ));
                    }
                    Some((before, behind)) => (numbers(before)?, numbers(behind)?),
                };
                if answer.contains('/') && (readings.is_empty() || behind.is_empty()) {
                    return Err("write both ends of the joint, as 0.01 / 0.02".into());
                }
                let answer = StationAnswer { readings, behind, confirmed: false };
                answer.all().iter().try_for_each(|it| shows(range, it.value))?;
                Ok(Some(answer))
            });
            let Some(answer) = answer? else { return Ok(None) };
            let typed = answer.all();
            let odd = graduation
                .filter(|graduation| graduation.nm() > 0)
                .filter(|graduation| typed.iter().any(|it| it.value.nm() % graduation.nm() != 0))
                .map(|graduation| format!("{question}: the gauge shows steps of {graduation}"));
            let odd: Vec<String> = odd.into_iter().chain(far_off(&typed)).collect();
            if odd.is_empty() || self.keep(name, question, &odd.join("; "))? {
                return Ok(Some(StationAnswer { confirmed: !odd.is_empty(), ..answer }));
            }
        }
    }
}

/// What is asked at a station.
struct StationQuestion<'q> {
    name: &'q str,
    question: &'q str,
    graduation: Option<Length>,
    range: Option<&'q (String, Length)>,
    /// Both ends of a joint may be read there.
    is_joint: bool,
}

/// So many times the limit from one station to the next is no rail any more but a slip of the finger or of the gauge.
/// Common practice, no source.
const FAR_OFF: i64 = 10;

/// That a reading lies far off what its neighbours before it let expect: the last one, and along a line the last two.
fn far_off(
    kind: SurveyKind,
    typed: &[TypedNumber<Length>],
    neighbours: &[(&str, Length)],
    limit: Option<Length>,
) -> Option<String> {
    let expected = match (kind, neighbours) {
        // The line of the instrument may lie askew to the rail.
        (SurveyKind::Straightness, [.., (_, before), (_, last)]) => *last + (*last - *before),
        (SurveyKind::Straightness, _) | (_, []) => return None,
        (_, [.., (_, last)]) => *last,
    };
    let limit = limit.filter(|limit| limit.nm() > 0)?;
    let off = typed.iter().map(|it| (it.value - expected).abs()).max()?;
    let (station, _) = neighbours.last()?;
    (off.nm() > limit.nm().saturating_mul(FAR_OFF)).then(|| {
        format!(
            "that lies {off} off what {station} before it lets expect, more than {FAR_OFF} times the limit of {limit}"
        )
    })
}

fn spelt(typed: &[TypedNumber<Length>]) -> impl Iterator<Item = SpeltValue> {
    typed.iter().map(|typed| SpeltValue::typed(&typed.text))
}
