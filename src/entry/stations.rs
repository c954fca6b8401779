//! A survey: station by station, the first one again at the end, the range said at once.

use super::value::{Typed, numbers};
use super::{Draft, Sitting, Stop, right};
use crate::ledger::{RailId, SurveyKind, SurveyStage, What, Word};
use crate::quantity::Length;
use crate::syntax::quote;
use crate::worked::survey::Standing;

impl Sitting<'_, '_> {
    pub(super) fn survey(&mut self) -> Result<Draft, Stop> {
        let kind: SurveyKind = self.one_of("What was read", self.given.reads.as_ref(), Some(SurveyKind::Gap))?;
        let (on, id) = self.rail()?;
        self.case.rulebook = self.case.limits(id.axis);
        let stage = self.one_of("Stage", self.given.stage.as_ref(), Some(self.usual_stage(id, kind)))?;
        let mut draft = Draft::new("survey", &[kind.word(), &on]);
        let graduation = self.gauge(&mut draft)?;
        self.temperature(&mut draft)?;
        draft.word("stage", stage.word());
        draft.rows = self.given.rows.clone();
        if draft.rows.is_empty() {
            self.stations(&mut draft, id, kind, graduation)?;
        }
        Ok(draft)
    }

    fn usual_stage(&self, id: RailId, kind: SurveyKind) -> SurveyStage {
        let Some(record) = Standing::of(self.case.ledger, id, kind).as_fitted else { return SurveyStage::AsFitted };
        let mut events = self.case.history(id).supports.all().iter();
        let shimmed = events.any(|event| event.what == What::Shimmed && self.case.after(event.record, record));
        if shimmed { SurveyStage::Verification } else { SurveyStage::AsFitted }
    }

    fn stations(
        &mut self,
        draft: &mut Draft,
        id: RailId,
        kind: SurveyKind,
        graduation: Option<Length>,
    ) -> Result<(), Stop> {
        let rail = self.case.ledger.machine.rail(id);
        self.desk.tell("What the gauge shows at each station, in mm; Enter leaves a blank; . ends.");
        let mut read: Vec<Length> = Vec::new();
        for support in &rail.supports {
            let question = format!("{} at {}", support.name, support.at);
            let Some(typed) = self.station(&question, graduation)? else { break };
            if typed.is_empty() {
                continue;
            }
            read.extend(typed.iter().map(|typed| typed.value));
            draft.rows.push(format!("at {} {}", quote(&support.name), texts(&typed)));
        }
        if let (Some(first), true) = (rail.supports.first(), read.len() > 1) {
            let question = format!("{} again", first.name);
            if let Some(typed) = self.station(&question, graduation)?.filter(|typed| !typed.is_empty()) {
                draft.rows.push(format!("closure {} {}", quote(&first.name), texts(&typed[..1])));
            }
        }
        if let (Some(least), Some(most)) = (read.iter().min(), read.iter().max()) {
            let range = *most - *least;
            let entry = match kind {
                SurveyKind::Gap => "gap-range",
                SurveyKind::Straightness => "straightness",
                SurveyKind::Height => "height-range",
            };
            // The straightness of a rail is not the range of its readings: its line is taken out first.
            let limit = self.case.rulebook.most::<Length>(entry).filter(|_| kind != SurveyKind::Straightness);
            self.desk.tell(&match limit {
                Some((most, limit)) if range > most => {
                    format!("range {range}, {} over {} ({})", range - most, limit.text(), limit.source())
                }
                Some((_, limit)) => format!("range {range}, within {}", limit.text()),
                None => format!("range {range}"),
            });
        }
        Ok(())
    }

    /// The readings at one station, repeats included; none for a blank, nothing at the end.
    fn station(&mut self, question: &str, graduation: Option<Length>) -> Result<Option<Vec<Typed<Length>>>, Stop> {
        loop {
            let answer = right(self.desk, question, |answer| match answer {
                "." => Ok(None),
                _ => numbers::<Length>(answer).map(Some),
            });
            let typed = match answer {
                Ok(Some(typed)) => typed,
                Ok(None) | Err(Stop::Ended(_)) => return Ok(None),
                Err(stop) => return Err(stop),
            };
            let odd = graduation
                .filter(|graduation| graduation.nm() > 0)
                .filter(|graduation| typed.iter().any(|it| it.value.nm() % graduation.nm() != 0));
            match odd {
                Some(graduation) if !self.keep(&format!("{question}: the gauge shows steps of {graduation}"))? => {}
                _ => return Ok(Some(typed)),
            }
        }
    }
}

fn texts(typed: &[Typed<Length>]) -> String {
    typed.iter().map(|typed| typed.text.as_str()).collect::<Vec<_>>().join(" ")
}
