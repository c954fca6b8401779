//! A joint inspected: light, then the four grooves, each step and its verdict said at once, the cause after the fourth.

use super::value::{TypedNumber, number};
use super::{AddressMeaning, AskedReading, EntrySession, PromptError, RecordDraft, optional, outstanding, shows};
use crate::calc::grooves::{Culprit, GaugePlus, GrooveFacing, GrooveSteps, Pattern, StylusDirection, culprit};
use crate::language::rulebook::LimitName;
use crate::ledger::{Groove, InspectStage, Keyword, NodeDraft, RailId, SpeltValue, Target};
use crate::quantity::Length;

/// The readings on either side of a joint, the one before it first.
type ReadingPair = (TypedNumber<Length>, TypedNumber<Length>);

/// The rail's section with its four grooves: upper and lower, left and right.
const GROOVES: [&str; 7] = [
    "the rail, seen along increasing position:",
    "     .------.",
    "  UL  )    (  UR",
    "      |    |",
    "  LL  )    (  LR",
    "    /        \\",
    "   '----------'",
];

impl EntrySession<'_, '_> {
    pub(super) fn inspect(&mut self) -> Result<RecordDraft, PromptError> {
        let known = self.open_joints();
        let meant: AddressMeaning<(RailId, usize)> = |target| match target {
            Target::Joint(id, joint) => Some((id, joint)),
            _ => None,
        };
        let (on, (id, joint)) = self.target("joint", &known, meant)?;
        self.case.rulebook = self.case.limits(id.axis);
        let mut draft = RecordDraft::new(NodeDraft::new("inspect").value(&on));
        // Mostly a joint is inspected when its bolts are tight: it is not asked for.
        if let Some(said) = self.given.stage.clone() {
            let stage: InspectStage = self.one_of("Stage", Some(&said), None)?;
            draft.set("stage", stage.word());
        }
        let graduation = self.gauge(&mut draft)?;
        self.temperature(&mut draft)?;
        // Should the joint be moved one day, the record says where it was read.
        let rail = self.case.machine.rail(id);
        if !rail.damaged {
            draft.set("position", rail.joints[joint].position);
        }
        if self.rows_given(&mut draft) {
            return Ok(draft);
        }
        let length = |question: &str, session: &mut Self| optional(session.prompter, question, number::<Length>);
        let reach = length("How far does the stylus reach ahead of the block, in mm? (Enter leaves it out)", self)?;
        let travel = length("How far was the block moved between the readings, in mm? (Enter leaves it out)", self)?;
        if reach.is_some() || travel.is_some() {
            let mut carrier = NodeDraft::new("carrier");
            for (name, typed) in [("reach", &reach), ("travel", &travel)] {
                typed.iter().for_each(|typed| carrier.set(name, SpeltValue::typed(&typed.text)));
            }
            draft.push(carrier);
        }
        if let (Some(reach), Some(travel)) = (&reach, &travel)
            && travel.value >= reach.value
        {
            self.prompter.tell("The block was moved as far as the stylus reaches: it may have ridden over the joint and hidden the step.");
        }
        let seen = "Light through the joint? (none, seen)";
        let light = optional(self.prompter, seen, |word| match word {
            "none" | "seen" => Ok(word.to_string()),
            _ => Err(format!("`{word}` is neither none nor seen")),
        })?;
        if let Some(light) = light {
            draft.answered(
                NodeDraft::new("light").value(&light),
                AskedReading { question: seen.into(), confirmed: false },
            );
        }
        let range = self.out_of_range(draft.gauge.as_ref());
        // Somebody at the machine sees which groove is meant.
        if self.prompter.patient() {
            GROOVES.iter().for_each(|line| self.prompter.tell(line));
        }
        let mut steps = [None; 4];
        for groove in Groove::ALL {
            let question = format!("{}: before and after, in mm", groove.word());
            if let Some(((before, after), confirmed)) = self.pair(groove, &question, graduation, range.as_ref())? {
                steps[groove as usize] = Some((after.value - before.value).nm());
                let pair = [SpeltValue::typed(&before.text), SpeltValue::from("->"), SpeltValue::typed(&after.text)];
                draft.answered(NodeDraft::new(groove.word()).values(pair), AskedReading { question, confirmed });
            }
        }
        if let [Some(a), Some(b), Some(c), Some(d)] = steps {
            self.cause(id, [a, b, c, d], &draft);
        }
        Ok(draft)
    }

    /// Joints without an inspection first, then all.
    fn open_joints(&self) -> Vec<String> {
        let all = || self.case.rails().flat_map(|(id, _, rail)| (0..rail.joints.len()).map(move |joint| (id, joint)));
        let open = outstanding::joints(&self.case);
        let named = if open.is_empty() { all().collect() } else { open };
        named.into_iter().map(|(id, joint)| self.case.machine.joint_address(id, joint)).collect()
    }

    /// The two readings of one groove, and whether the person was asked if they are so.
    fn pair(
        &mut self,
        groove: Groove,
        question: &str,
        graduation: Option<Length>,
        range: Option<&(String, Length)>,
    ) -> Result<Option<(ReadingPair, bool)>, PromptError> {
        loop {
            let pair = optional(self.prompter, question, |answer| -> Result<_, String> {
                let words: Vec<&str> = answer.split_whitespace().filter(|word| *word != "->").collect();
                match words[..] {
                    [before, after] => {
                        let pair = (number::<Length>(before)?, number::<Length>(after)?);
                        shows(range, pair.0.value)?;
                        shows(range, pair.1.value)?;
                        Ok(pair)
                    }
                    // A number that is wrong in itself is told of first.
                    _ => {
                        words.iter().try_for_each(|word| number::<Length>(word).map(drop))?;
                        Err("two readings, as -0.04 -0.03".into())
                    }
                }
            })?;
            let Some((before, after)) = pair else { return Ok(None) };
            let step = after.value - before.value;
            let mut told = format!("{}: step {step}", groove.word());
            let mut odd = false;
            if let Some((most, limit)) = self.case.rulebook.most::<Length>(LimitName::JointStep) {
                if step.abs() > most {
                    told += &format!(", {} over {} ({})", step.abs() - most, limit.text(), limit.source());
                    odd = true;
                } else {
                    told += &format!(", within {}", limit.text());
                }
            }
            if let Some(graduation) = graduation.filter(|graduation| graduation.nm() > 0)
                && [&before, &after].iter().any(|it| it.value.nm() % graduation.nm() != 0)
            {
                told += &format!("; the gauge shows steps of {graduation}");
                odd = true;
            }
            if !odd {
                self.prompter.tell(&told);
                return Ok(Some(((before, after), false)));
            }
            if self.keep(groove.word(), question, &told)? {
                return Ok(Some(((before, after), true)));
            }
        }
    }

    /// Says what the four steps are made of.
    fn cause(&mut self, id: RailId, steps: [i64; 4], draft: &RecordDraft) {
        let ledger = self.case.ledger;
        let gauge = self.given.gauge.clone().or_else(|| draft.gauge.clone());
        let sense = gauge.and_then(|name| ledger.shop.gauge(&name)?.plus).map(|plus| plus.value);
        let plus = match sense {
            Some(crate::ledger::PlusDirection::Inward) => GaugePlus::Inward,
            _ => GaugePlus::Outward,
        };
        let profile = ledger.machine.rail(id).profile.as_ref().and_then(|name| ledger.shop.profile(name));
        let contact = match profile.and_then(|profile| profile.contact).map(|contact| contact.value) {
            Some(crate::ledger::Contact::Inward) => GrooveFacing::Inward,
            _ => GrooveFacing::Outward,
        };
        let Ok(four) = GrooveSteps::new(steps, plus, StylusDirection::Square) else { return };
        let patterns = four.patterns(contact);
        let part = |pattern: Pattern, name: &str| {
            format!("{name} {}", Length(patterns.amplitude(pattern).abs().away_from_zero_nm()))
        };
        let parts = [
            part(Pattern::Height, "height"),
            part(Pattern::Side, "side"),
            part(Pattern::Twist, "twist"),
            part(Pattern::Size, "size"),
        ];
        let most = match culprit(&four, contact) {
            Culprit::Pattern(Pattern::Height) => "mostly height",
            Culprit::Pattern(Pattern::Side) => "mostly to the side",
            Culprit::Pattern(Pattern::Twist) => "mostly twist",
            Culprit::Pattern(Pattern::Size) => "mostly size",
            Culprit::OneGroove(_) => "one groove alone: look for a burr or dirt there",
            Culprit::Mixed => "nothing stands out",
        };
        self.prompter.tell(&format!("Of the four steps: {}; {most}.", parts.join(", ")));
    }
}
