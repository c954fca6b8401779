//! A report as a paper: which facts stand where, and in which words.

use super::paper::{Cell, Paper};
use super::pictures;
use crate::quantity::{Amount, Length};
use crate::report::{Axis, Counted, DueState, Found, Gap, Instrument, Joint, Life, Rail, Report, State, SupportTorque};

/// A report as a paper.
pub fn paper(report: &Report) -> Paper {
    let mut paper = Paper::new(format!("{}: build report", report.called()));
    paper.facts(vec![
        ("Machine", Cell::given(report.name.clone())),
        ("Ledger", folder(&report.path).into()),
        ("Judged by the day", report.judged_on.as_str().into()),
        ("State", Cell::State(report.state)),
        ("Findings", counts(&report.counts).into()),
    ]);
    paper.cautions();
    paper.heading(2, "Findings");
    if report.findings.is_empty() {
        paper.say("None: every rule holds, and everything is recorded.");
    }
    paper.table(
        "",
        &["Grade", "Rule", "Address", "What", "Limit", "Next", "Place"],
        report.findings.iter().map(finding).collect(),
    );
    for axis in &report.axes {
        self::axis(&mut paper, axis);
    }
    instruments(&mut paper, &report.instruments);
    paper.heading(2, "Limits in force");
    let limits = report.limits.iter().map(|limit| {
        let changed = if limit.changed { "changed" } else { "default" };
        vec![
            limit.entry.as_str().into(),
            limit.limit.as_str().into(),
            changed.into(),
            limit.what.as_str().into(),
            limit.source.as_str().into(),
        ]
    });
    paper.table("", &["Entry", "Limit", "Set", "What", "Source"], limits.collect());
    concessions(&mut paper, report);
    paper
}

/// A ledger's folder as it is printed.
pub fn folder(path: &str) -> &str {
    if path.is_empty() { "." } else { path }
}

/// `2 nonconformities, 1 outstanding`; `none`.
pub fn counts(counts: &Counted) -> String {
    let words = [
        (counts.nonconformities, if counts.nonconformities == 1 { "nonconformity" } else { "nonconformities" }),
        (counts.outstanding, "outstanding"),
        (counts.observations, if counts.observations == 1 { "observation" } else { "observations" }),
        (counts.conceded, "accepted by concession"),
    ];
    let said: Vec<String> =
        words.iter().filter(|(count, _)| *count > 0).map(|(count, word)| format!("{count} {word}")).collect();
    if said.is_empty() { "none".into() } else { said.join(", ") }
}

fn finding(found: &Found) -> Vec<Cell> {
    let grade = match (&found.conceded_by, found.grade) {
        (Some(by), grade) => Cell::Text(format!("{grade}, accepted by {by}")),
        (None, "nonconformity") => Cell::Wrong(found.grade.into()),
        (None, grade) => grade.into(),
    };
    let limit = found.limit.as_ref().map(|limit| match &found.limit_source {
        Some(source) => format!("{limit} ({source})"),
        None => limit.clone(),
    });
    vec![
        grade,
        found.rule.into(),
        Cell::given((!found.address.is_empty()).then(|| found.address.clone())),
        found.message.as_str().into(),
        Cell::given(limit),
        Cell::given((!found.next.is_empty()).then(|| found.next.clone())),
        format!("{}:{}", found.file, found.line).into(),
    ]
}

fn axis(paper: &mut Paper, axis: &Axis) {
    paper.heading(2, format!("Axis {}", axis.name));
    let released = match &axis.release {
        None => "not released".to_string(),
        Some(release) => {
            let seal = release.seal.as_ref().map_or(String::new(), |seal| format!(", seal {seal}"));
            format!("released {}{seal}", signed(&release.signed))
        }
    };
    let stretch = |stretch: &Option<crate::report::Stretch>| {
        Cell::given(stretch.map(|stretch| format!("{} to {}", stretch.from.number(), stretch.to)))
    };
    paper.facts(vec![
        ("State", Cell::State(axis.state)),
        ("Release", released.into()),
        ("Run", stretch(&axis.run)),
        ("Stroke", stretch(&axis.stroke)),
    ]);
    paper.picture(pictures::axis::picture(axis));
    let rails = axis.rails.iter().map(|rail| {
        vec![
            rail.address.as_str().into(),
            Cell::State(rail.state),
            Cell::given(rail.beam.clone()),
            Cell::given(rail.profile.clone()),
            Cell::Number(rail.from.number()),
            Cell::Number(rail.to.number()),
            Cell::Number(rail.segments.len().to_string()),
            Cell::Number(rail.joints.len().to_string()),
            Cell::Number(rail.supports.len().to_string()),
        ]
    });
    paper.table(
        "Rails",
        &["Rail", "State", "Beam", "Profile", "From, mm", "To, mm", "Segments", "Joints", "Supports"],
        rails.collect(),
    );
    let segments = axis.rails.iter().flat_map(|rail| {
        rail.segments.iter().enumerate().map(|(at, segment)| {
            vec![
                format!("{}.seg{}", rail.address, at + 1).into(),
                Cell::Number(segment.from.number()),
                Cell::Number(segment.to.number()),
                Cell::Number((segment.to - segment.from).number()),
                Cell::given(segment.serial.clone()),
                Cell::given(segment.lot.clone()),
            ]
        })
    });
    paper.table("Segments", &["Segment", "From, mm", "To, mm", "Length, mm", "Serial", "Lot"], segments.collect());
    joints(paper, axis);
    for rail in &axis.rails {
        straightness(paper, rail);
        if let Some(gap) = &rail.gap {
            self::gap(paper, rail, gap);
        }
        shims(paper, rail);
    }
    for rail in &axis.rails {
        torques(paper, rail);
    }
    running_force(paper, axis);
    if let Some(life) = &axis.life {
        self::life(paper, axis, life);
    }
    let dues = axis.dues.iter().map(|due| {
        vec![
            due.task.as_str().into(),
            standing(due.standing),
            Cell::given(due.last.clone()),
            Cell::given(due.due.clone()),
            Cell::number(due.travelled.map(Amount::number)),
            Cell::number(due.due_travelled.map(Amount::number)),
        ]
    });
    let dues: Vec<Vec<Cell>> = dues.collect();
    if !dues.is_empty() {
        paper.heading(3, format!("Service of {}", axis.name));
    }
    paper.table("", &["Task", "Standing", "Last", "Due", "Travelled, km", "Due at, km"], dues);
}

fn standing(standing: DueState) -> Cell {
    match standing {
        DueState::Overdue => Cell::Wrong(standing.word().into()),
        _ => standing.word().into(),
    }
}

/// `on 2026-04-15 by inspector-1`.
pub fn signed(signed: &crate::report::Signed) -> String {
    let date = signed.date.as_ref().map_or("on no known day".into(), |date| format!("on {date}"));
    signed.by.as_ref().map_or(date.clone(), |by| format!("{date} by {by}"))
}

fn joints(paper: &mut Paper, axis: &Axis) {
    let all = || axis.rails.iter().flat_map(|rail| &rail.joints);
    if all().next().is_none() {
        return;
    }
    paper.heading(3, format!("Joints of {}", axis.name));
    paper.picture(pictures::steps::picture(axis));
    let step = |joint: &Joint, at: usize| match joint.steps.get(at).and_then(|step| Some((step.step?, step.over))) {
        Some((step, true)) => Cell::Wrong(format!("{} over", step.number())),
        Some((step, false)) => Cell::Number(step.number()),
        None => Cell::none(),
    };
    let rows = all().map(|joint| {
        let light = match joint.light {
            Some(true) => Cell::Wrong("seen".into()),
            Some(false) => "none".into(),
            None => Cell::none(),
        };
        vec![
            joint.address.as_str().into(),
            Cell::Number(joint.at.number()),
            Cell::State(joint.state),
            step(joint, 0),
            step(joint, 1),
            step(joint, 2),
            step(joint, 3),
            Cell::number(joint.most_step.map(Amount::number)),
            light,
            Cell::given(joint.inspected.as_ref().map(signed)),
            Cell::given(joint.gauge.clone()),
        ]
    });
    paper.table(
        "Groove steps in mm; plus: the far rail's groove stands proud",
        &["Joint", "At, mm", "State", "UL", "UR", "LL", "LR", "At most", "Light", "Inspected", "Gauge"],
        rows.collect(),
    );
    let causes = all().filter_map(|joint| {
        let patterns = joint.patterns?;
        let sense = |plus: &str, minus: &str, length: Length| {
            let word = if length == Length::ZERO || !patterns.signed {
                String::new()
            } else {
                format!(" {}", if length > Length::ZERO { plus } else { minus })
            };
            Cell::Number(format!("{}{word}", length.abs().number()))
        };
        Some(vec![
            joint.address.as_str().into(),
            sense("high", "low", patterns.height),
            sense("right", "left", patterns.side),
            Cell::Number(patterns.twist.number()),
            Cell::Number(patterns.size.number()),
            Cell::given(joint.cause.clone().or_else(|| Some("no cause stands out".into()))),
            Cell::given(joint.cure.clone()),
        ])
    });
    paper.table(
        "What the steps split into, in mm: how far the far rail stands off for height and side, a groove step for twist and size",
        &["Joint", "Height", "Side", "Twist", "Size", "Cause", "Cure"],
        causes.collect(),
    );
    for joint in all() {
        if let Some(stale) = &joint.stale {
            paper.say(format!("{}: {stale}.", joint.address));
        }
    }
}

fn straightness(paper: &mut Paper, rail: &Rail) {
    for survey in &rail.surveys {
        paper.heading(3, format!("Straightness of {}", rail.address));
        paper.facts(vec![
            ("Surveyed", signed(&survey.head.signed).into()),
            ("Gauge", Cell::given(survey.head.gauge.clone())),
            ("Minimum zone", Cell::given(survey.zone.map(|zone| zone.to_string()))),
            ("Limit", Cell::given(survey.most.map(|most| format!("at most {most}")).or(Some("none".into())))),
        ]);
        let rows = survey.stations.iter().map(|(name, at, reading)| {
            vec![name.as_str().into(), Cell::Number(at.number()), Cell::Number(reading.number())]
        });
        paper.table("", &["Station", "At, mm", "To the left, mm"], rows.collect());
    }
}

/// What a picture and a paper say of a gap in one sentence.
pub fn gap_in_words(rail: &Rail, gap: &Gap) -> String {
    let mut parts = Vec::new();
    if let Some(range) = gap.range_before {
        parts.push(format!("{range} before shims"));
    }
    if let Some(range) = gap.range_predicted {
        parts.push(format!("{range} to be expected with them"));
    }
    if let Some(range) = gap.range_after {
        parts.push(format!("{range} in the last survey"));
    }
    let limit = gap.most.map_or("no limit".to_string(), |most| format!("limit {most}"));
    let follows = gap.follows.as_ref().map_or(String::new(), |follows| format!(" to {follows}"));
    if parts.is_empty() {
        return format!("The {} of {}{follows} is not surveyed yet; {limit}.", gap.kind, rail.address);
    }
    format!("The {} of {}{follows} varies by {}; {limit}.", gap.kind, rail.address, parts.join(", "))
}

fn gap(paper: &mut Paper, rail: &Rail, gap: &Gap) {
    let title = if gap.kind == "height" { "Height" } else { "Gap" };
    paper.heading(3, format!("{title} of {}", rail.address));
    paper.picture(pictures::gap::picture(rail, gap));
    if gap.stations.is_empty() {
        paper.say(gap_in_words(rail, gap));
        return;
    }
    let head = |head: &Option<crate::report::SurveyHead>| {
        Cell::given(head.as_ref().map(|head| {
            let mut text = format!("{} {}", head.stage.unwrap_or("survey"), signed(&head.signed));
            if let Some(gauge) = &head.gauge {
                text = format!("{text} with {gauge}");
            }
            if let Some(temperature) = head.temperature {
                text = format!("{text} at {temperature}");
            }
            match head.closure {
                Some(closure) => format!("{text}, closure {closure}"),
                None => format!("{text}, no closure"),
            }
        }))
    };
    paper.facts(vec![
        ("Before", head(&gap.before)),
        ("After", head(&gap.after)),
        ("Range before", Cell::given(gap.range_before.map(|range| range.to_string()))),
        ("Range to be expected", Cell::given(gap.range_predicted.map(|range| range.to_string()))),
        ("Range after", Cell::given(gap.range_after.map(|range| range.to_string()))),
        ("Limit", Cell::given(gap.most.map(|most| format!("at most {most}")).or(Some("none".into())))),
        ("Limit from", Cell::given(gap.limit_source.clone())),
    ]);
    let number = |length: Option<Length>| Cell::number(length.map(Amount::number));
    let rows = gap.stations.iter().map(|station| {
        vec![
            station.name.as_str().into(),
            Cell::Number(station.at.number()),
            number(station.before),
            number(station.shim),
            number(station.predicted),
            number(station.after),
        ]
    });
    paper.table(
        format!("In mm, each column counted from its own {} place", gap.zero),
        &["Station", "At, mm", "Before", "Shims do", "To be expected", "After"],
        rows.collect(),
    );
}

fn shims(paper: &mut Paper, rail: &Rail) {
    if rail.shims.is_empty() {
        return;
    }
    paper.heading(3, format!("Shims under {}", rail.address));
    let rows = rail.shims.iter().map(|shimmed| {
        let leaves: Vec<String> = shimmed.leaves.iter().map(|leaf| leaf.number()).collect();
        vec![
            shimmed.support.as_str().into(),
            Cell::Number(shimmed.at.number()),
            leaves.join(" + ").into(),
            Cell::Number(shimmed.total.number()),
            signed(&shimmed.signed).into(),
        ]
    });
    paper.table("", &["Support", "At, mm", "Leaves, mm", "Total, mm", "Put in"], rows.collect());
    let mut leaves = std::collections::BTreeMap::<Length, usize>::new();
    for leaf in rail.shims.iter().flat_map(|shimmed| &shimmed.leaves) {
        *leaves.entry(*leaf).or_default() += 1;
    }
    let list: Vec<String> = leaves.iter().map(|(leaf, count)| format!("{count} of {leaf}")).collect();
    paper.say(format!("Leaves in all: {}.", list.join(", ")));
}

fn torques(paper: &mut Paper, rail: &Rail) {
    for torques in rail.torques.iter().filter(|torques| !torques.supports.is_empty()) {
        paper.heading(3, format!("Torque of the {} bolts of {}", torques.interface, rail.address));
        paper.picture(pictures::torque::picture(rail, torques));
        let window = torques.least.zip(torques.most).map(|(least, most)| format!("{} to {most}", least.number()));
        let mut facts = vec![
            ("Fastener", Cell::given(torques.fastener.clone())),
            ("Window", Cell::given(window)),
            ("Window from", Cell::given(torques.window_source.clone())),
        ];
        match (&torques.without_preload, torques.proof_load) {
            (Some(why), _) => facts.push(("Preload", format!("not computed: {why}").into())),
            (None, Some(load)) => facts.push(("Proof load of a bolt", format!("{load} N").into())),
            (None, None) => {}
        }
        paper.facts(facts);
        let rows = torques.supports.iter().map(support_torque);
        paper.table(
            "Full torque each bolt holds now; preload by VDI 2230 over the range of friction and the wrench's error",
            &["Support", "At, mm", "State", "Bolts, N·m", "Preload, N", "Of proof load", "Tightened", "Wrench"],
            rows.collect(),
        );
    }
}

/// The bolts of a support in words: `10.5 10.4 – 9.8 under`.
pub fn bolts(support: &SupportTorque) -> String {
    let bolts = support.bolts.iter().map(|bolt| {
        let number = match (bolt.held, bolt.torque) {
            (false, _) => "–".to_string(),
            (true, None) => "clicked".into(),
            (true, Some(torque)) => crate::rules::fitting::shown(torque).trim_end_matches(" N·m").to_string(),
        };
        bolt.off.map_or(number.clone(), |off| format!("{number} {off}"))
    });
    bolts.collect::<Vec<_>>().join(", ")
}

fn support_torque(support: &SupportTorque) -> Vec<Cell> {
    let between = |range: Option<(i64, i64)>, unit: &str| {
        Cell::number(range.map(|(least, most)| format!("{least} to {most}{unit}")))
    };
    let bolts = bolts(support);
    vec![
        support.support.as_str().into(),
        Cell::Number(support.at.number()),
        Cell::State(support.state),
        if support.state == State::Nonconforming { Cell::Wrong(bolts) } else { bolts.into() },
        between(support.preload, ""),
        between(support.proof_share, " %"),
        Cell::given(support.signed.date.is_some().then(|| signed(&support.signed))),
        Cell::given(support.wrench.clone()),
    ]
}

fn running_force(paper: &mut Paper, axis: &Axis) {
    let Some(run) = &axis.running_force else { return };
    paper.heading(3, format!("Running force of {}", axis.name));
    paper.facts(vec![
        ("Measured", signed(&run.signed).into()),
        ("Gauge", Cell::given(run.gauge.clone())),
        ("Limit", Cell::given(run.most.map(|most| format!("at most {most}")).or(Some("none".into())))),
    ]);
    let rows = run.readings.iter().map(|(at, force)| vec![Cell::Number(at.number()), Cell::Number(force.number())]);
    paper.table("", &["At, mm", "Force, N"], rows.collect());
}

fn life(paper: &mut Paper, axis: &Axis, life: &Life) {
    paper.heading(3, format!("Life of the blocks of {}", axis.name));
    let reliability =
        life.reliability.map_or("90 %, the rated life".to_string(), |share| format!("{} %", share.number()));
    paper.facts(vec![
        ("Required", Cell::given(life.required.map(|required| required.to_string()).or(Some("nothing stated".into())))),
        ("Reliability", reliability.into()),
        ("Without joints", "ISO 14728-1".into()),
        ("With joints", format!("{}; {} measured joints", life.model, life.joints).into()),
    ]);
    if let Some(lacking) = &life.lacking {
        paper.say(format!("Not computed: {lacking}."));
    }
    let rows = life.blocks.iter().map(|block| {
        vec![
            block.rail.as_str().into(),
            Cell::Number(block.at.number()),
            Cell::Number(block.load_without_joints.to_string()),
            Cell::Number(block.load_with_joints.to_string()),
            Cell::number(block.life_without_joints.map(Amount::number)),
            Cell::number(block.life_with_joints.map(Amount::number)),
            Cell::number(block.static_safety.map(Amount::number)),
        ]
    });
    paper.table(
        "Loads are cubic means",
        &[
            "Rail",
            "Block at, mm",
            "Load without joints, N",
            "Load with joints, N",
            "Life without joints, km",
            "Life with joints, km",
            "Static safety",
        ],
        rows.collect(),
    );
}

fn instruments(paper: &mut Paper, instruments: &[Instrument]) {
    paper.heading(2, "Gauges and wrenches used");
    if instruments.is_empty() {
        paper.say("No record names one.");
    }
    let rows = instruments.iter().map(|it| {
        let at_use = if !it.known {
            Cell::Wrong("not described in the shop file".into())
        } else if it.uncalibrated_uses.is_empty() {
            "calibrated at every use".into()
        } else {
            Cell::Wrong(format!("not calibrated on {}", it.uncalibrated_uses.join(", ")))
        };
        let times = if it.uses == 1 { "once".to_string() } else { format!("{} times", it.uses) };
        let used = match (&it.first_use, &it.last_use) {
            (Some(first), Some(last)) if first != last => format!("{times}, {first} to {last}"),
            (Some(first), _) => format!("{times}, {first}"),
            _ => times,
        };
        vec![
            it.name.as_str().into(),
            Cell::given(it.kind.clone().or(Some(it.what.into()))),
            Cell::given(it.graduation.clone()),
            Cell::given(it.permissible_error.clone()),
            Cell::given(it.calibrated.clone()),
            Cell::given(it.due.clone()),
            Cell::given(it.certificate.clone()),
            used.into(),
            at_use,
        ]
    });
    paper.table(
        "",
        &["Name", "Kind", "Graduation", "Permissible error", "Calibrated", "Due", "Certificate", "Used", "At use"],
        rows.collect(),
    );
}

fn concessions(paper: &mut Paper, report: &Report) {
    paper.heading(2, "Concessions");
    if report.concessions.is_empty() {
        paper.say("None.");
    }
    let rows = report.concessions.iter().map(|it| {
        let covers = match (it.expired, it.covers) {
            (true, _) => Cell::Wrong("expired".into()),
            (false, 1) => "in force, covers 1 finding".into(),
            (false, covers) => format!("in force, covers {covers} findings").into(),
        };
        vec![
            Cell::given(it.rule.clone()),
            Cell::given(it.on.clone()),
            covers,
            Cell::given(it.accepts.clone()),
            Cell::given(it.until.clone()),
            signed(&it.signed).into(),
            Cell::given(it.reason.clone()),
        ]
    });
    paper.table("", &["Rule", "Address", "Standing", "Accepts", "Until", "Given", "Reason"], rows.collect());
}
