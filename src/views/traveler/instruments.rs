//! The gauges and wrenches that may be used: in calibration on the day, and fit for something that is to be read.

use super::TravelerBuilder;
use crate::facts::survey_limits::range_limit;
use crate::facts::torque_window::{shown, window};
use crate::language::rulebook::LimitName;
use crate::ledger::{Absent, Gauge, GaugedQuantity, Instrument, Interface, Keyword, Stage, SurveyKind, Wrench};
use crate::quantity::{Amount, Force, Length, Torque};
use crate::rules::GraduationLimits;
use crate::views::paper::{Content, Table, TableCell};

/// Something that is read with a gauge.
struct GaugedReading {
    what: &'static str,
    quantity: GaugedQuantity,
    /// The kind of survey that reads it.
    survey: Option<SurveyKind>,
}

/// What is read in lengths.
const READINGS: [GaugedReading; 4] = [
    GaugedReading { what: "groove steps", quantity: GaugedQuantity::Groove, survey: None },
    GaugedReading { what: "gap", quantity: GaugedQuantity::Gap, survey: Some(SurveyKind::Gap) },
    GaugedReading {
        what: "straightness",
        quantity: GaugedQuantity::Straightness,
        survey: Some(SurveyKind::Straightness),
    },
    GaugedReading { what: "height", quantity: GaugedQuantity::Height, survey: Some(SurveyKind::Height) },
];

impl TravelerBuilder<'_> {
    pub(super) fn instruments(&self) -> Content {
        let mut body = Content::default();
        body.heading(2, "Gauges and wrenches");
        let mut fit =
            Table::new(&["Name", "Kind", "Range", "Graduation", "For", "Calibration due", "Certificate", "Taken"]);
        let mut unfit = Table::new(&["Not to be used", "Why"]);
        let shop = &self.case.ledger.shop;
        let mut put =
            |name: &str, uses: Result<Vec<String>, String>, good: InstrumentUsable, cells: [String; 3]| match uses
                .and_then(|uses| good.map(|(due, certificate)| (uses, due, certificate)))
            {
                Ok((uses, due, certificate)) => {
                    let [kind, range, graduation] = cells;
                    let mut row = vec![TableCell::text(name)];
                    row.extend([kind, range, graduation, uses.join(", "), due, certificate].map(TableCell::Text));
                    row.push(TableCell::Tick(false));
                    fit.rows.push(row);
                }
                Err(why) => unfit.rows.push(vec![TableCell::text(name), TableCell::Text(why)]),
            };
        for gauge in &shop.gauges {
            let range = gauge.range.map(|it| it.to_string()).or(gauge.forces.range.map(|it| it.to_string()));
            let range = range.or(gauge.angles.range.map(|it| it.to_string()));
            let graduation =
                gauge.graduation.map(|it| it.to_string()).or(gauge.forces.graduation.map(|it| it.to_string()));
            let graduation = graduation.or(gauge.angles.graduation.map(|it| it.to_string()));
            let kind = gauge.kind.as_ref().map_or(String::new(), |kind| kind.to_string());
            put(
                &gauge.name,
                self.gauge_uses(gauge),
                self.good(Instrument::Gauge(gauge)),
                [kind, range.unwrap_or_default(), graduation.unwrap_or_default()],
            );
        }
        for wrench in &shop.wrenches {
            let range = match (wrench.least, wrench.most) {
                (Some(least), Some(most)) => format!("{} to {}", least.number(), shown(*most)),
                _ => String::new(),
            };
            let graduation = wrench.graduation.map_or(String::new(), |it| shown(*it));
            let kind = wrench.kind.map_or("wrench".into(), |kind| format!("{} wrench", kind.word()));
            put(
                &wrench.name,
                self.wrench_uses(wrench),
                self.good(Instrument::Wrench(wrench)),
                [kind, range, graduation],
            );
        }
        if fit.rows.is_empty() {
            body.say(format!(
                "No gauge or wrench in the shop file is in calibration on {} and fit for this job. Get one before work starts.",
                self.case.today
            ));
        }
        body.whole_table(fit);
        body.whole_table(unfit);
        body
    }

    fn gauge_uses(&self, gauge: &Gauge) -> Result<Vec<String>, String> {
        if gauge.is_of_own_kind() && gauge.reads.is_empty() {
            return Err("what it reads is not stated: add `reads` in the shop file".into());
        }
        let book = self.case.rulebook;
        let limits = GraduationLimits::new(&self.case);
        let (mut uses, mut why) = (Vec::new(), String::from("it reads nothing that this job asks for"));
        for reading in READINGS.iter().filter(|reading| reading.quantity.suits(gauge)) {
            let Some(limit) = limits.to_show(reading.survey) else { continue };
            // What is read may lie anywhere within the limit over the whole rail.
            let whole = reading.survey.map_or(LimitName::JointStep, range_limit);
            let whole = [whole, LimitName::GapRange].into_iter().find_map(|name| book.most::<Length>(name));
            let whole = whole.map_or(limit, |(most, _)| most);
            let Some(graduation) = gauge.graduation else {
                why = "its graduation is not stated".into();
                continue;
            };
            if limits.coarse(graduation.nm().into(), limit.nm().into()) {
                why = format!("its graduation of {} is too coarse for a limit of {limit}", *graduation);
            } else if gauge.range.is_some_and(|range| range.nm() < whole.nm() * 2) {
                why = "its range does not hold twice the limit".into();
            } else {
                uses.push(reading.what.to_string());
            }
        }
        if GaugedQuantity::Force.suits(gauge) && gauge.kind.is_some() {
            let limit = book.most::<Force>(LimitName::RunningForce).map(|(limit, _)| limit);
            match (gauge.forces.graduation, limit) {
                (Some(graduation), Some(limit)) if limits.coarse(graduation.0, limit.0) => {
                    why = format!("its graduation of {} is too coarse for a limit of {limit}", *graduation);
                }
                _ => uses.push("running force".into()),
            }
        }
        // How far a mark lets a step rise hangs on the base, which the record will say.
        let straightness = limits.to_show(Some(SurveyKind::Straightness)).is_some();
        if straightness && GaugedQuantity::Angle.suits(gauge) && gauge.kind.is_some() {
            uses.push("straightness, added up from angles".into());
        }
        if uses.is_empty() { Err(why) } else { Ok(uses) }
    }

    fn wrench_uses(&self, wrench: &Wrench) -> Result<Vec<String>, String> {
        let mut uses: Vec<String> = Vec::new();
        let mut why = String::from("it fits no window of this job");
        for id in self.rails() {
            for interface in [Interface::Rail, Interface::Base] {
                if interface == Interface::Base && !self.has_base_bolts(id) {
                    continue;
                }
                for stage in [Stage::Snug, Stage::Full] {
                    let Some((least, most, _)) =
                        window(self.case.ledger, self.case.limits(id.axis), id, interface, stage)
                    else {
                        continue;
                    };
                    let bolts = if interface == Interface::Rail { "rail bolts" } else { "base bolts" };
                    let low = wrench.least.is_some_and(|it| *it > least);
                    let high = wrench.most.is_some_and(|it| *it < most);
                    let name = format!("{} {bolts}", stage.word());
                    match (low, high) {
                        (false, false) if !uses.contains(&name) => uses.push(name),
                        (true, _) => why = format!("its range begins above {}", number(least)),
                        (_, true) => why = format!("its range ends below {}", shown(most)),
                        _ => {}
                    }
                }
            }
        }
        if uses.is_empty() { Err(why) } else { Ok(uses) }
    }

    /// Until when an instrument is in calibration, with its certificate; or why it is not to be used. By today's limits: it
    /// is asked whether it may be used now.
    fn good(&self, instrument: Instrument) -> InstrumentUsable {
        let today = self.case.today;
        match instrument.absent_on(today) {
            Some(Absent::NotYet(day)) => return Err(format!("the shop has it from {}", *day)),
            Some(Absent::NoMore(day)) => return Err(format!("the shop has it until {}", *day)),
            None => {}
        }
        let Some(latest) = instrument.calibration_on(today) else { return Err("it has no calibration".into()) };
        if latest.failed {
            return Err(format!("it failed its calibration of {}", *latest.on));
        }
        let due = latest.last_day(&self.case.ledger.rulebook);
        if let Some(due) = due.filter(|due| *due < today) {
            return Err(format!("its calibration was due on {due}"));
        }
        if let Some(against) = instrument.in_doubt(today).next() {
            return Err(against.words());
        }
        Ok((
            due.map_or(String::new(), |due| due.to_string()),
            latest.certificate.as_ref().map_or(String::new(), |it| it.to_string()),
        ))
    }
}

/// Due date and certificate, or why it must not be used.
type InstrumentUsable = Result<(String, String), String>;

fn number(torque: Torque) -> String {
    shown(torque)
}
