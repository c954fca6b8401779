//! Reports, fleets and traces: what they say, and that no text from a ledger becomes more than text.

use crate::formats::paper::{html, markdown, plain};
use crate::formats::report as words;
use crate::judging::lint::Judged;
use crate::views::report::{Fleet, Report, State, Tracing, report, trace};
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

use crate::testing::{judge, same_page, today};

const MACHINE: &str = include_str!("report/machine.kdl");
const RECORDS: &str = include_str!("report/records.kdl");

fn bench() -> Judged {
    judge(&[("machine.kdl", MACHINE), ("records.kdl", RECORDS)], &[])
}

fn bench_report() -> Report {
    report(&bench(), today())
}

/// The paper without findings and rulebook, which other tests look after.
fn printed() -> String {
    let all = markdown::markdown(&words::paper(&bench_report()));
    let (head, rest) = all.split_once("\n## Findings").expect("findings");
    let (_, rest) = rest.split_once("\n## Cautions").expect("cautions");
    let (axes, rest) = rest.split_once("\n## Limits in force").expect("limits");
    let (_, concessions) = rest.split_once("\n## Concessions").expect("concessions");
    format!("{head}\n## Cautions{axes}\n## Concessions{concessions}")
}

#[test]
fn the_markdown_is_as_it_was() {
    same_page("src/views/tests/report/expected.md", &printed());
}

/// Computed by hand from the records: reading less the widest one, reading plus shim.
#[test]
fn the_gap_is_told_before_predicted_and_after() {
    let report = bench_report();
    let gap = report.axes[0].rails[1].gap.as_ref().expect("b follows a");
    let column = |of: fn(&crate::views::report::GapStation) -> Option<crate::quantity::Length>| -> Vec<String> {
        gap.stations.iter().map(|station| of(station).map_or("–".into(), |length| length.to_string())).collect()
    };
    assert_eq!(column(|s| s.before), ["0 mm", "-0.03 mm", "-0.07 mm"]);
    assert_eq!(column(|s| s.shim), ["0 mm", "0.02 mm", "0.07 mm"]);
    assert_eq!(column(|s| s.predicted), ["0 mm", "-0.01 mm", "0 mm"]);
    assert_eq!(column(|s| s.after), ["0 mm", "-0.01 mm", "0 mm"]);
    let ranges = [gap.range_before, gap.range_predicted, gap.range_after].map(|range| range.map(|it| it.to_string()));
    assert_eq!(ranges, [Some("0.07 mm".into()), Some("0.01 mm".into()), Some("0.01 mm".into())]);
}

#[test]
fn states_are_those_of_the_findings() {
    let report = bench_report();
    let a = &report.axes[0].rails[0];
    assert_eq!(report.state, State::Nonconforming);
    assert_eq!(a.joints[0].state, State::Nonconforming);
    assert_eq!(a.joints[0].steps.iter().map(|step| step.over).collect::<Vec<_>>(), [true, true, false, true]);
    let torque: Vec<(&str, State)> =
        a.torques[0].supports.iter().map(|support| (support.support.as_str(), support.state)).collect();
    assert_eq!(torque, [("S1", State::Nonconforming), ("J1", State::Conforming), ("S3", State::Outstanding)]);
    // What is not tightened is one finding for the rail; each support shows it all the same.
    let supports: Vec<State> = a.supports.iter().map(|support| support.state).collect();
    assert_eq!(supports, [State::Nonconforming, State::Nonconforming, State::Outstanding]);
    // EN ISO 898-1: proof load of M6 10.9 is 16 700 N, rounded to three digits.
    let load = a.torques[0].proof_load.expect("the fastener is known");
    assert!((16_650..16_750).contains(&load), "{load}");
    // The same torque window, clicking or not, lies below the yield point of such a bolt (VDI 2230 allows 14.9 N·m).
    let (least, most) = a.torques[0].supports[1].proof_share.expect("it is tightened");
    assert!(30 < least && least < most && most < 90, "{least} to {most} %");
}

#[test]
fn instruments_and_service_are_dated() {
    let report = bench_report();
    let of = |name: &str| report.instruments.iter().find(|it| it.name == name).expect("it was used");
    // Its calibration ended on 2026-03-01.
    assert_eq!(of("DI-1").uncalibrated_uses, ["2026-04-15"]);
    assert_eq!(of("DI-2").uncalibrated_uses, Vec::<String>::new());
    assert_eq!((of("DI-2").uses, of("DI-2").last_use.as_deref()), (2, Some("2026-04-18")));
    let due = &report.axes[0].dues[0];
    // Six months after the release of 2026-04-20.
    assert_eq!((due.task.as_str(), due.due.as_deref()), ("lubricate", Some("2026-10-20")));
    assert_eq!(due.standing.word(), "overdue");
}

#[test]
fn json_is_exact_and_twice_the_same() {
    let once = serde_json::to_string(&bench_report()).expect("it can be written");
    assert_eq!(once, serde_json::to_string(&bench_report()).expect("it can be written"));
    let json: serde_json::Value = serde_json::from_str(&once).expect("it is JSON");
    assert_eq!(json["format"], "wayledger-report-4");
    assert_eq!(json["axes"][0]["rails"][0]["joints"][0]["steps"][2]["step"], "-0.014");
    assert_eq!(json["axes"][0]["rails"][0]["joints"][0]["most_step"], "0.015");
    assert_eq!(json["axes"][0]["release"]["by"], "engineer-1");
    let changed = json["limits"].as_array().expect("a list").iter().find(|limit| limit["entry"] == "joint-step");
    assert_eq!(changed.expect("it is there")["limit_source"], "set by the machine: spindle carriage");
}

#[test]
fn a_fleet_counts_first_inspections_steps_and_leaves() {
    let again = "inspect Y.a.J1 date=\"2026-04-19\" by=inspector-1 gauge=DI-2 { light none; UL 0 -> 0.01; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }\n";
    let mended = format!("{RECORDS}{again}");
    let mended = judge(&[("machine.kdl", MACHINE), ("records.kdl", &mended)], &[]);
    let good = RECORDS.replace("0.018", "0.015").replace("0.016", "0.01");
    let good = judge(&[("machine.kdl", MACHINE), ("records.kdl", &good)], &[]);
    let blind = RECORDS.replace("UL 0 -> 0.018;", "");
    let blind = judge(&[("machine.kdl", MACHINE), ("records.kdl", &blind)], &[]);
    let mut fleet = Fleet::new(today());
    for judged in [&bench(), &mended, &good, &blind] {
        fleet.add(judged, today());
    }
    // One was wrong at first and stays so, one was mended later, one was right at once; the last was not fully read.
    let first = fleet.first_pass;
    assert_eq!((first.inspected, first.conforming, first.incomplete, first.percent()), (3, 1, 1, Some(33)));
    // Shares of 0.015: bench 0.018 0.016 0.014 0.016; mended 0.01 0.01 0 0; good 0.015 0.01 0.014 0.01; blind 0.016 0.014 0.016.
    let counts: Vec<usize> = fleet.steps.iter().map(|share| share.count).collect();
    assert_eq!(counts, [2, 0, 4, 4, 5]);
    let leaves: Vec<(String, usize, usize)> =
        fleet.leaves.iter().map(|leaves| (leaves.thickness.to_string(), leaves.count, leaves.supports)).collect();
    assert_eq!(leaves, [("0.02 mm".into(), 8, 8), ("0.05 mm".into(), 4, 4)]);
    let gauge = fleet.dues.iter().find(|due| due.of == "DI-1").expect("its calibration ended");
    assert_eq!((gauge.standing.word(), gauge.machines.len()), ("overdue", 4));
}

#[test]
fn a_trace_finds_records_and_parts() {
    let found = |name: &str, since: Option<&str>| {
        let since = since.map(|day| day.parse().expect("a day"));
        let traced = trace(&bench(), &Tracing::new(name, since));
        let records = traced.records.iter().map(|record| {
            let on = record.on.clone().unwrap_or_default();
            format!("{} {on} {}: {}", record.kind, record.signed.date.clone().unwrap_or_default(), record.standing)
        });
        let parts = traced.parts.iter().map(|part| part.address.clone());
        records.chain(parts).collect::<Vec<_>>()
    };
    assert_eq!(found("DI-1", None), ["inspect Y.a.J1 2026-04-15T09:00: does not count"]);
    let surveys = ["survey Y.b 2026-04-16: counts now", "survey Y.b 2026-04-18: counts now"];
    assert_eq!(found("DI-2", None), surveys);
    assert_eq!(found("DI-2", Some("2026-04-17")), surveys[1..]);
    assert_eq!(found("TW-2", None), ["fasten Y.a 2026-04-14T09:00: counts now"]);
    assert_eq!(found("32", None), ["Y.a.seg2", "Y.b.seg1"]);
    // A serial number tells all that was done at its part, whoever signed it.
    let life = ["fasten Y.a 2026-04-14T08:00: counts now", "fasten Y.a 2026-04-14T09:00: counts now"];
    let read = ["inspect Y.a.J1 2026-04-15T09:00: does not count", "release Y 2026-04-20: counts now", "Y.a.seg2"];
    assert_eq!(found("P-2", None), [&life[..], &read].concat());
    assert_eq!(found("0.05", None), ["shim Y.b 2026-04-17: counts now", "Y.b.S3"]);
    assert_eq!(found("engineer-1", None), ["release Y 2026-04-20: counts now"]);
    assert!(trace(&bench(), &Tracing::new("R15", None)).known);
    let unknown = trace(&bench(), &Tracing::new("DI-11", None));
    assert!(!unknown.known && unknown.names.contains("DI-1"));
}

#[test]
fn a_record_that_was_read_again_or_withdrawn_counts_no_more() {
    let again = "inspect Y.a.J1 date=\"2026-04-19\" by=inspector-1 gauge=DI-2 { light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }\nvoid survey Y.b of=\"2026-04-18\" date=\"2026-04-19\" by=inspector-1 reason=\"wrong zero\"\n";
    let judged = judge(&[("machine.kdl", MACHINE), ("records.kdl", &format!("{RECORDS}{again}"))], &[]);
    let standing = |name: &str| -> Vec<&'static str> {
        trace(&judged, &Tracing::new(name, None)).records.iter().map(|record| record.standing).collect()
    };
    assert_eq!(standing("DI-1"), ["replaced since"]);
    // The survey that was shimmed by is undone by those shims, and the one after them withdrawn. A gauge that counts wider
    // reads no groove.
    assert_eq!(standing("DI-2"), ["undone since", "does not count", "withdrawn"]);
}

/// A text that is markup in Markdown and in HTML, and would mention people and close tables.
const HOSTILE: &str = r#"<script>alert(1)</script><img src=x onerror=alert(2)> | **b** _i_ `c` [l](http://e.example) www.e.example ~~s~~ &lt; "q" 'a' $x$ \| --> ]]> </style>"#;

/// A ledger with a hostile text in every string that one can be written into.
fn hostile(turned: bool) -> Judged {
    let mut text = HOSTILE.replace('\\', "\\\\").replace('"', "\\\"");
    if turned {
        // Written as escapes: a text that runs backwards, and one that clears the screen.
        text.push_str("\\u{202e}\\u{1b}[2J");
    }
    let q = format!("\"{text}\"");
    let machine = MACHINE
        .replace("\"Test bench\"", &q)
        .replace("\"spindle carriage\"", &q)
        .replace("certificate=\"C-1\"", &format!("certificate={q}"))
        .replace("serial=P-1 lot=\"31\"", &format!("serial={q} lot={q}"))
        .replace("kind=dial-indicator", &format!("kind={q}"))
        .replace("DI-1", &q)
        .replace("TW-2", &q)
        .replace("R15", &q)
        .replace("rail-bolt=rail-bolt", &format!("rail-bolt={q}"))
        .replace("fastener rail-bolt", &format!("fastener {q}"));
    let records = RECORDS.replace("DI-1", &q).replace("TW-2", &q).replace("engineer-1", &q).replace("fitter-2", &q);
    let more = format!(
        "concession joint-step Y.a.J1 date=\"2026-04-19\" by={q} accepts=0.02 until=\"2027-04-18\" reason={q}\nrunning-force Y date=\"2026-04-18\" by={q} gauge={q} {{ at 100 12 }}\ninspect {q} date=\"2026-04-18\" by={q}\n"
    );
    judge(&[("machine.kdl", &machine), ("records.kdl", &format!("{records}{more}"))], &[])
}

#[test]
fn no_text_becomes_markup_in_markdown() {
    let hostile = report(&hostile(false), today());
    let text = markdown::markdown(&words::paper(&hostile));
    let body = text.strip_prefix(markdown::HEAD).expect("it begins with our mark");
    let mut cells: Vec<String> = Vec::new();
    let mut wide = None;
    for event in Parser::new_ext(body, Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH | Options::ENABLE_MATH) {
        match event {
            Event::Html(html) | Event::InlineHtml(html) => panic!("HTML came of it: {html}"),
            Event::Code(code) => panic!("code came of it: {code}"),
            Event::InlineMath(it) | Event::DisplayMath(it) => panic!("mathematics came of it: {it}"),
            Event::Start(Tag::Link { .. } | Tag::Image { .. } | Tag::Emphasis | Tag::Strong | Tag::Strikethrough) => {
                panic!("markup came of it")
            }
            Event::Start(Tag::Table(columns)) => wide = Some(columns.len()),
            Event::End(TagEnd::Table) => wide = None,
            Event::Start(Tag::TableCell) => cells.push(String::new()),
            Event::Text(text) if wide.is_some() => {
                if let Some(cell) = cells.last_mut() {
                    cell.push_str(&text);
                }
            }
            _ => {}
        }
    }
    // And it is all there, each in its own cell.
    let whole = cells.iter().filter(|cell| cell.as_str() == HOSTILE).count();
    assert!(whole >= 5, "{whole} cells hold the text as it was written");
    assert!(!text.contains("http://") && !text.contains("www."), "a review page would make links of these");
}

#[test]
fn no_text_becomes_markup_in_html() {
    let hostile = report(&hostile(true), today());
    let page = html::html(&words::paper(&hostile));
    for markup in ["<script", "<img", "</style> ", "onerror=alert(2)>", "\u{202e}", "\u{1b}"] {
        assert!(!page.contains(markup), "{markup:?} came through");
    }
    assert_eq!(page.matches("</style>").count(), 1);
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"), "the text itself is shown");
    // Nothing is asked for from anywhere.
    for outside in ["src=", "url(http", "@import", "<link", "href=\"http"] {
        assert!(!page.replace("src=x onerror", "").contains(outside), "{outside} reaches out");
    }
}

#[test]
fn no_text_steers_a_terminal() {
    let text = plain::plain(&words::summary(&report(&hostile(true), today())));
    assert!(text.contains("alert(1)") && !text.contains('\u{1b}') && !text.contains('\u{202e}'));
}

/// Numbers at the ends of what a ledger holds, rails without anything, more parts than a picture can show.
/// A static safety is C0 over the load (ISO 14728-2), rounded down; a block without load has none, and one with next to
/// none shows the most that is told, not a number that went round.
#[test]
fn static_safety_is_told_as_far_as_it_goes() {
    let told = |blocks: &str, load: &str| {
        let text = format!(
            "shop {{ block B C=5590 C0=4000 }}
             machine m {{ axis X {{ stroke from=0 to=900; rail a {{ segment 1200 }}; rail b {{ segment 1200 }}
              carriage {{ {blocks} track a y=-300; track b y=300; load {load} }} }} }}"
        );
        let report = report(&judge(&[("machine.kdl", &text)], &[]), today());
        let life = report.axes[0].life.as_ref().expect("there is a carriage");
        assert_eq!(life.lacking, None);
        let row = |block: &crate::views::report::BlockLifeReport| {
            let safety = block.static_safety_nominal.map_or("–".into(), |safety| safety.to_string());
            format!("{} N, {safety}", block.mean_load_nominal)
        };
        life.blocks.iter().map(row).collect::<Vec<_>>()
    };
    let four = "block a at=-180 type=B; block a at=180 type=B; block b at=-180 type=B; block b at=180 type=B;";
    assert_eq!(told(four, "4000 x=90"), ["500 N, 8", "1500 N, 2.666", "500 N, 8", "1500 N, 2.666"]);
    assert_eq!(told(four, "0.000001"), ["1 N, 2000000000"; 4]);
    let three = "block a at=-150 type=B; block a at=150 type=B; block b at=150 type=B;";
    assert_eq!(told(three, "1000"), ["500 N, 8", "0 N, –", "500 N, 8"]);
}

#[test]
fn extremes_make_papers_too() {
    let huge = "(km)570000";
    let texts = [
        "machine m".to_string(),
        "machine m { axis X }".to_string(),
        "machine m { axis X { rail a } }".to_string(),
        format!("machine m {{ axis X {{ run from=-{huge} to={huge}; stroke from=-{huge} to={huge}; beam b {{ piece {huge}; piece {huge}; piece {huge} }}; rail a beam=b {{ segment {huge}; segment {huge}; segment {huge}; support S1 at={huge} length={huge} }}; carriage length={huge} {{ block a at={huge} length={huge} }} }} }}"),
        "machine m { axis X { stroke from=5 to=5; rail a { segment 1; segment 0.000001; supports S first=0 pitch=0.000001 count=3; support T at=0 } } }".to_string(),
        "machine m { axis X { rail a { segment 24000; segment 24000; supports S first=1 pitch=1 count=5000 } } }\nfasten X.a date=\"2026-04-01\" by=f stage=full { at S1..S5000 10 10 }".to_string(),
        format!("machine m {{ axis X {{ rail a; rail b follows=a shims=widen {{ segment 100; support S1 at=1; support S2 at=90 }} }} }}\nsurvey gap X.b date=\"2026-04-01\" by=i stage=as-fitted {{ at S1 -{huge}; at S2 {huge} }}\nshim X.b date=\"2026-04-02\" by=f {{ at S1 {huge} {huge} {huge} {huge} {huge} }}\ninspect X.b.J1 date=\"2026-04-01\" by=i {{ UL -{huge} -> {huge} }}"),
        "machine m { axis X { rail a { segment 600; segment 600; joint-support J1 at=600 length=200 } } }\ninspect X.a.J1 date=\"2026-04-01\" by=i { UL -9000000000 -> 9000000000; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }\nfasten X.a date=\"2026-04-01\" by=f stage=full { at J1 -99999999 99999999 }".to_string(),
    ];
    for text in texts {
        let judged = judge(&[("machine.kdl", &text)], &[]);
        let report = report(&judged, today());
        let paper = words::paper(&report);
        let printed = [markdown::markdown(&paper), html::html(&paper), plain::plain(&words::summary(&report))];
        assert!(printed.iter().all(|text| !text.is_empty()));
        serde_json::to_string(&report).expect("it can be written");
        let mut fleet = Fleet::new(today());
        fleet.add(&judged, today());
        trace(&judged, &Tracing::new("f", None));
    }
}

/// What is enforced where nobody states a limit is told with what it is derived from; by hand: a pitch of 60 and blocks of 80,
/// half of a support of 200, and a tenth of the gap's 0.05 against a graduation of 0.01.
#[test]
fn a_derived_limit_is_told() {
    let shop = "shop { profile R hole-pitch=60 end-distance=30; gauge DI-1 kind=dial-indicator graduation=0.01 }";
    let machine = |book: &str| {
        format!(
            "machine m {{ {book} axis X {{ beam front {{ piece 1500; piece 900 }}
            rail a profile=R beam=front {{ segment 1200; segment 1200; support S1 at=240; support S2 at=2160; joint-support J1 at=1200 length=200 }}
            rail b profile=R follows=a {{ segment 960; segment 1440; support S1 at=240; support S2 at=2160 }}
            carriage {{ block a at=0 length=80; block b at=0 length=80 }} }} }}
            survey gap X.b date=\"2026-04-16\" by=i-1 gauge=DI-1 stage=as-fitted {{ at S1 0; at S2 0.01; closure S1 0 }}"
        )
    };
    let told = |book: &str| -> Vec<(String, String, String)> {
        let judged = judge(&[("machine.kdl", &machine(book))], &[shop]);
        let report = report(&judged, today());
        report
            .limits
            .iter()
            .filter(|it| it.derived)
            .map(|it| (it.entry.clone(), it.limit.clone(), it.source.clone()))
            .collect()
    };
    let expected = [
        (
            "stagger of X.a and X.b",
            "at least 80 mm",
            "derived: the longer of the hole pitch, 60 mm, and the block, 80 mm",
        ),
        (
            "seam-clearance of X.a.J1",
            "at least 100 mm",
            "derived: half of what the support under the joint covers, 200 mm",
        ),
        ("survey-closure of the gap of X.b, with DI-1", "at most 0.01 mm", "derived: one graduation of the gauge"),
    ];
    let expected = expected.map(|(on, limit, from)| (on.to_string(), limit.to_string(), from.to_string()));
    assert_eq!(told(""), expected);
    let stated = "rulebook { stagger least=90 reason=\"drawing 7\"; seam-clearance least=50 reason=\"drawing 7\"; survey-closure most=0.02 reason=\"drawing 7\" }";
    assert_eq!(told(stated), []);
    // The finding names the same limit.
    let near = machine("").replace("segment 960; segment 1440", "segment 1140; segment 1260");
    let judged = judge(&[("machine.kdl", &near)], &[shop]);
    let found = judged.findings.iter().find(|it| it.rule.as_str() == "joint-stagger").expect("60 is too near");
    assert_eq!(found.limit.as_ref().map(|it| it.text.clone()), Some("at least 80 mm".into()));
}

/// Straightness, height and running force each have a picture with its joints and its limit; a fleet has its steps and dues.
#[test]
fn what_runs_along_an_axis_is_drawn() {
    let machine = "machine m { rulebook { running-force most=25 reason=\"drawing 7\"; straightness most=0.05 reason=\"drawing 7\" } axis X { run from=0 to=2400
        rail a { segment 1200; segment 1200; supports S first=240 pitch=480 count=5 }
        rail b follows=a shims=lift { segment 960; segment 1440; supports S first=240 pitch=480 count=5 } } }
        survey straightness X.a date=\"2026-04-15\" by=i-1 stage=verification { at S1 0; at S2 0.004; at S3 0.01; at S4 0.002; at S5 0 }
        survey height X.b date=\"2026-04-16\" by=i-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 0; at S4 -0.02; at S5 0 }
        inspect X.a.J1 date=\"2026-04-17\" by=i-1 { UL 0 -> 0.01; UR 0 -> 0; LL 0 -> 0.03; LR 0 -> 0 }
        running-force X date=\"2026-04-18\" by=i-1 { at 300 12; at 1200 24; at 2100 14 }";
    let judged = judge(&[("machine.kdl", machine)], &[]);
    let page = html::html(&words::paper(&report(&judged, today())));
    let pictures: Vec<&str> = page.split("<svg").skip(1).map(|it| it.split("</svg>").next().unwrap_or("")).collect();
    let titled = |title: &str| {
        let of = format!("<title>{title}</title>");
        pictures.iter().copied().find(|it| it.contains(&of)).unwrap_or_else(|| panic!("no picture {title}"))
    };
    let straight = titled("Straightness of X.a along the axis");
    assert!(straight.contains(">J1<") && straight.contains("hatched: within 0.05 mm of the line"), "{straight}");
    // By hand: of these five the zone is 0.01 wide, the line through the ends and S3 across.
    assert!(straight.contains("The zone is 0.01 mm wide"), "{straight}");
    assert!(titled("Height of X.b along the axis").contains(">J1<"));
    let force = titled("Running force of axis X");
    assert!(force.contains("class=\"limit\"") && force.contains("hatched: at most 25 N"), "{force}");
    assert_eq!(force.matches("class=\"hidden\"").count(), 2, "a joint of each rail: {force}");
    let mut fleet = Fleet::new(today());
    fleet.add(&judged, today());
    let page = html::html(&crate::formats::fleet::paper(&fleet));
    assert!(page.contains("1 of 4 are over it") && page.contains(">the limit<"), "{page}");
    // Shares are to the nearest tenth: of 24 grooves one is 4.17 %, and two are 8.33 %.
    fleet.steps.iter_mut().zip([21, 2, 1, 0, 0]).for_each(|(share, count)| share.count = count);
    let page = crate::formats::paper::markdown::markdown(&crate::formats::fleet::paper(&fleet));
    for row in ["| 21 | 87.5 % |", "| 2 | 8.3 % |", "| 1 | 4.2 % |"] {
        assert!(page.contains(row), "{row}: {page}");
    }
}
