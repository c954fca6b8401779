//! A survey: station by station, the first one again at the end, the range said at once.

use super::value::{TypedNumber, numbers};
use super::{AskedReading, EntrySession, PromptError, RecordDraft, right};
use crate::facts::survey_state::CurrentSurveys;
use crate::language::rulebook::LimitName;
use crate::ledger::{EventKind, Keyword, NodeDraft, RailId, SpeltValue, SurveyKind, SurveyStage};
use crate::quantity::Length;

/// The readings at one station, repeats included, and whether the person was asked if they are so.
type StationAnswer = (Vec<TypedNumber<Length>>, bool);

impl EntrySession<'_, '_> {
    pub(super) fn survey(&mut self) -> Result<RecordDraft, PromptError> {
        let kind: SurveyKind = self.one_of("What was read", self.given.reads.as_ref(), Some(SurveyKind::Gap))?;
        let (on, id) = self.rail()?;
        self.case.rulebook = self.case.limits(id.axis);
        let stage = self.one_of("Stage", self.given.stage.as_ref(), Some(self.usual_stage(id, kind)))?;
        let mut draft = RecordDraft::new(NodeDraft::new("survey").value(kind.word()).value(&on));
        let graduation = self.gauge(&mut draft)?;
        self.temperature(&mut draft)?;
        draft.set("stage", stage.word());
        if !self.rows_given(&mut draft) {
            self.stations(&mut draft, id, kind, graduation)?;
        }
        Ok(draft)
    }

    fn usual_stage(&self, id: RailId, kind: SurveyKind) -> SurveyStage {
        let Some(record) = CurrentSurveys::for_rail(self.case.ledger, id, kind).as_fitted else {
            return SurveyStage::AsFitted;
        };
        let mut events = self.case.history(id).supports.all().iter();
        let shimmed = events.any(|event| event.what == EventKind::Shimmed && self.case.after(event.record, record));
        if shimmed { SurveyStage::Verification } else { SurveyStage::AsFitted }
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
        let mut read: Vec<Length> = Vec::new();
        for support in &rail.supports {
            let question = format!("{} at {}", support.name, support.at);
            let Some((typed, confirmed)) = self.station(&support.name, &question, graduation)? else { break };
            if typed.is_empty() {
                continue;
            }
            read.extend(typed.iter().map(|typed| typed.value));
            let row = NodeDraft::new("at").value(support.name.as_str()).values(spelt(&typed));
            draft.answered(row, AskedReading { question, confirmed });
        }
        if let (Some(first), true) = (rail.supports.first(), read.len() > 1) {
            let question = format!("{} again", first.name);
            let again = self.station(&question, &question, graduation)?;
            if let Some((typed, confirmed)) = again.filter(|(typed, _)| !typed.is_empty()) {
                let row = NodeDraft::new("closure").value(first.name.as_str()).values(spelt(&typed[..1]));
                draft.answered(row, AskedReading { question, confirmed });
            }
        }
        if let (Some(least), Some(most)) = (read.iter().min(), read.iter().max()) {
            let range = *most - *least;
            let entry = match kind {
                SurveyKind::Gap => LimitName::GapRange,
                SurveyKind::Straightness => LimitName::Straightness,
                SurveyKind::Height => LimitName::HeightRange,
            };
            // The straightness of a rail is not the range of its readings: its line is taken out first.
            let limit = self.case.rulebook.most::<Length>(entry).filter(|_| kind != SurveyKind::Straightness);
            self.prompter.tell(&match limit {
                Some((most, limit)) if range > most => {
                    format!("range {range}, {} over {} ({})", range - most, limit.text(), limit.source())
                }
                Some((_, limit)) => format!("range {range}, within {}", limit.text()),
                None => format!("range {range}"),
            });
        }
        Ok(())
    }

    /// The readings at one station, repeats included, and whether the person was asked if they are so; none for a blank,
    /// nothing at the end.
    fn station(
        &mut self,
        name: &str,
        question: &str,
        graduation: Option<Length>,
    ) -> Result<Option<StationAnswer>, PromptError> {
        loop {
            let answer = right(self.prompter, question, |answer| match answer {
                "." => Ok(None),
                _ => numbers::<Length>(answer).map(Some),
            });
            let Some(typed) = answer? else { return Ok(None) };
            let odd = graduation
                .filter(|graduation| graduation.nm() > 0)
                .filter(|graduation| typed.iter().any(|it| it.value.nm() % graduation.nm() != 0));
            match odd {
                Some(graduation)
                    if !self.keep(name, question, &format!("{question}: the gauge shows steps of {graduation}"))? => {}
                odd => return Ok(Some((typed, odd.is_some()))),
            }
        }
    }
}

fn spelt(typed: &[TypedNumber<Length>]) -> impl Iterator<Item = SpeltValue> {
    typed.iter().map(|typed| SpeltValue::typed(&typed.text))
}
