//! A rail of a report: straightness, gap, shims and torques.

use super::words::{bolts, gap_in_words, signed};
use crate::finding::counted;
use crate::formats::pictures;
use crate::quantity::{Amount, Length};
use crate::views::paper::{Content, TableCell};
use crate::views::report::{Gap, LocalReport, RailReport, State, SupportTorque, SurveyHead};

pub(super) fn straightness(body: &mut Content, rail: &RailReport) {
    for survey in &rail.surveys {
        let upright = if survey.is_upright { ", upright" } else { "" };
        body.heading(3, format!("Straightness of {}{upright}", rail.address));
        let tied = tied(&survey.head).map(|tied| ("Tied at", tied.into()));
        let tied_at = tied.is_some();
        let mut facts = vec![
            ("Surveyed", signed(&survey.head.signed).into()),
            ("Gauge", TableCell::given(survey.head.gauge.clone())),
            ("Minimum zone", TableCell::given(survey.zone.map(|zone| zone.to_string()))),
            ("Limit", TableCell::given(survey.most.map(|most| format!("at most {most}")).or(Some("none".into())))),
        ];
        facts.extend(local(survey.local.as_ref()));
        facts.extend(tied);
        for summed in &survey.summed {
            let steps = counted(summed.steps, "step", "steps");
            let read = if tied_at { format!(", read {}", signed(&summed.signed)) } else { String::new() };
            facts.push(("Added up from", format!("angles of {steps} of {}{read}", summed.base).into()));
            facts.extend(summed.curvature.map(|sag| {
                let told = format!("{sag} at the middle of the span is taken off{read}: a level follows gravity");
                ("Curvature of the earth", told.into())
            }));
        }
        body.figure(pictures::straightness::picture(rail, survey));
        body.facts(facts);
        let rows = survey.stations.iter().map(|it| {
            vec![it.name.as_str().into(), TableCell::Number(it.at.number()), TableCell::Number(it.reading.number())]
        });
        let plus = if survey.is_upright { "Up, mm" } else { "To the left, mm" };
        body.table("", &["Station", "At, mm", plus], rows.collect());
    }
}

/// What was found within each stretch of a length, where that is limited.
fn local(local: Option<&LocalReport>) -> Vec<(&'static str, TableCell)> {
    let Some(local) = local else { return Vec::new() };
    let worst = local.worst.as_ref().zip(local.from.as_ref().zip(local.to.as_ref()));
    let worst = worst.map(|(worst, (from, to))| match local.not_judged {
        None => format!("{worst}, from {from} to {to}"),
        Some(why) => format!("{worst}, from {from} to {to}; not judged: {why}"),
    });
    let unseen = || local.not_judged.map(|why| format!("not judged: {why}"));
    vec![
        ("Locally", TableCell::given(worst.or_else(unseen))),
        ("Local limit", format!("at most {} over {}", local.most, local.over).into()),
    ]
}

/// Where a survey of some stations was tied to what was read before.
fn tied(head: &SurveyHead) -> Option<String> {
    (!head.tied_at.is_empty()).then(|| head.tied_at.join(", "))
}

pub(super) fn gap(body: &mut Content, rail: &RailReport, gap: &Gap) {
    let title = if gap.kind == "height" { "Height" } else { "Gap" };
    body.heading(3, format!("{title} of {}", rail.address));
    body.figure(pictures::gap::picture(rail, gap));
    if gap.stations.is_empty() {
        body.say(gap_in_words(rail, gap));
        return;
    }
    let head = |head: &Option<SurveyHead>| {
        TableCell::given(head.as_ref().map(|head| {
            let mut text = format!("{} {}", head.stage.unwrap_or("survey"), signed(&head.signed));
            if let Some(gauge) = &head.gauge {
                text = format!("{text} with {gauge}");
            }
            if let Some(temperature) = head.temperature {
                text = format!("{text} at {temperature}");
            }
            if let Some(tied) = tied(head) {
                text = format!("{text}, tied to what was read before at {tied}");
            }
            match head.closure {
                Some(closure) => format!("{text}, closure {closure}"),
                None => format!("{text}, no closure"),
            }
        }))
    };
    let mut facts = vec![
        ("Before", head(&gap.before)),
        ("After", head(&gap.after)),
        ("Range before", TableCell::given(gap.range_before.map(|range| range.to_string()))),
        ("Range to be expected", TableCell::given(gap.range_predicted.map(|range| range.to_string()))),
        ("Range after", TableCell::given(gap.range_after.map(|range| range.to_string()))),
        ("Limit", TableCell::given(gap.most.map(|most| format!("at most {most}")).or(Some("none".into())))),
        ("Limit from", TableCell::given(gap.limit_source.clone())),
    ];
    facts.extend(local(gap.local.as_ref()));
    body.facts(facts);
    let number = |length: Option<Length>| TableCell::number(length.map(Amount::number));
    let rows = gap.stations.iter().map(|station| {
        vec![
            station.name.as_str().into(),
            TableCell::Number(station.at.number()),
            number(station.before),
            number(station.shim),
            number(station.predicted),
            number(station.after),
        ]
    });
    body.table(
        format!("In mm, each column counted from its own {} place", gap.zero),
        &["Station", "At, mm", "Before", "Shims do", "To be expected", "After"],
        rows.collect(),
    );
}

pub(super) fn shims(body: &mut Content, rail: &RailReport) {
    if rail.shims.is_empty() {
        return;
    }
    body.heading(3, format!("Shims under {}", rail.address));
    let rows = rail.shims.iter().map(|shimmed| {
        let leaves: Vec<String> = shimmed.leaves.iter().map(|leaf| leaf.number()).collect();
        vec![
            shimmed.support.as_str().into(),
            TableCell::Number(shimmed.at.number()),
            leaves.join(" + ").into(),
            TableCell::Number(shimmed.total.number()),
            signed(&shimmed.signed).into(),
        ]
    });
    body.table("", &["Support", "At, mm", "Leaves, mm", "Total, mm", "Put in"], rows.collect());
    let mut leaves = std::collections::BTreeMap::<Length, usize>::new();
    for leaf in rail.shims.iter().flat_map(|shimmed| &shimmed.leaves) {
        *leaves.entry(*leaf).or_default() += 1;
    }
    let list: Vec<String> = leaves.iter().map(|(leaf, count)| format!("{count} of {leaf}")).collect();
    body.say(format!("Leaves in all: {}.", list.join(", ")));
}

pub(super) fn torques(body: &mut Content, rail: &RailReport) {
    for torques in rail.torques.iter().filter(|torques| !torques.supports.is_empty()) {
        body.heading(3, format!("Torque of the {} bolts of {}", torques.interface, rail.address));
        body.figure(pictures::torque::picture(rail, torques));
        let window = torques.least.zip(torques.most).map(|(least, most)| format!("{} to {most}", least.number()));
        let mut facts = vec![
            ("Fastener", TableCell::given(torques.fastener.clone())),
            ("Window", TableCell::given(window)),
            ("Window from", TableCell::given(torques.window_source.clone())),
        ];
        match (&torques.without_preload, torques.proof_load) {
            (Some(why), _) => facts.push(("Preload", format!("not computed: {why}").into())),
            (None, Some(load)) => facts.push(("Proof load of a bolt", format!("{load} N").into())),
            (None, None) => {}
        }
        body.facts(facts);
        let rows = torques.supports.iter().map(support_torque);
        body.table(
            "Full torque each bolt holds now; preload by VDI 2230 over the range of friction and the wrench's error",
            &["Support", "At, mm", "State", "Bolts, N·m", "Preload, N", "Of proof load", "Tightened", "Wrench"],
            rows.collect(),
        );
    }
}

fn support_torque(support: &SupportTorque) -> Vec<TableCell> {
    let between = |range: Option<(i64, i64)>, unit: &str| {
        TableCell::number(range.map(|(least, most)| format!("{least} to {most}{unit}")))
    };
    let bolts = bolts(support);
    vec![
        support.support.as_str().into(),
        TableCell::Number(support.at.number()),
        TableCell::State(support.state),
        if support.state == State::Nonconforming { TableCell::Wrong(bolts) } else { bolts.into() },
        between(support.preload, ""),
        between(support.proof_share, " %"),
        TableCell::given(support.signed.date.is_some().then(|| signed(&support.signed))),
        TableCell::given(support.wrench.clone()),
    ]
}
