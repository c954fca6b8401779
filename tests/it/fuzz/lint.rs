//! A whole ledger of any text: judged, written in every format, and the same twice.
//!
//! The parts of the input, each ended by the byte 0x1F, are the machine's file, then records; the last of three or more
//! is the shop's file.

use jiff::civil::{Date, date};
use wayledger::files::{Memory, Path, find_all};
use wayledger::format::{
    FINDINGS_FORMATS, OutputOptions, ReadingFormat, Style, clean, comparison_comment, comparison_paper, fleet_paper,
    html, json, limits_in_force, markdown, plain, report_paper, report_summary, shim_table, trace_paper,
};
use wayledger::lint::{Case, Finding, Judged, Locator, Place, lint, sentence};
use wayledger::model::Target;
use wayledger::papers::{COMPARISON_FORMAT, Comparison, Fleet, Tracing, compare, quantities, traveler};
use wayledger::planning::{layout_plan, shim_plan};

const TODAY: Date = date(2026, 11, 1);

pub(crate) fn check(bytes: &[u8]) {
    let mut parts: Vec<&[u8]> = bytes.split(|byte| *byte == 0x1F).take(8).collect();
    let mut world = Memory::new(TODAY);
    if parts.len() > 2
        && let Some(shop) = parts.pop()
    {
        world = world.with("shop.kdl", shop);
    }
    for (number, part) in parts.iter().enumerate() {
        world = match number {
            0 => world.with("m/machine.kdl", *part),
            _ => world.with(&format!("m/2026-04-{number:02}-fitter-1.kdl"), *part),
        };
    }
    let found = find_all(&world, &[Path::default()]).expect("memory can be listed").found;
    let judge = || {
        let mut all = Vec::new();
        lint(&world, &found, TODAY, |judged| all.push(judged));
        all
    };
    let first = judge();
    let mut written = Vec::new();
    for judged in &first {
        places(judged);
        findings(judged, &mut written);
        if !judged.is_shop {
            papers(judged).iter().for_each(|(kind, text)| sound(kind, text));
        }
    }
    // What takes a second judgement is not tried each time, so that more inputs are.
    match bytes.len() % 4 {
        0 => {
            let second = judge();
            let mut again = Vec::new();
            for (judged, other) in first.iter().zip(&second) {
                assert_eq!(judged.findings, other.findings, "judged twice, it is the same");
                findings(other, &mut again);
            }
            assert!(written == again, "written twice, it is the same");
            let (ledgers, rewritten) = compare(first, second);
            assert!(ledgers.is_empty() && rewritten == 0, "compared with itself, nothing differs");
        }
        1 => changed(&world, bytes),
        _ => {}
    }
}

/// Every finding says what is wrong, and points into its file.
fn places(judged: &Judged) {
    let inside = |place: Place| {
        let text = judged.ledger.sources.get(place.source).document.text();
        assert!(text.get(place.span.range()).is_some(), "{place:?} is not in the text");
    };
    for finding in &judged.findings {
        let Finding { message, at, also, limit, conceded, .. } = finding;
        assert!(!message.trim().is_empty());
        inside(at.place);
        also.iter().for_each(|label| inside(label.place));
        limit.iter().filter_map(|limit| limit.set_at).for_each(inside);
        conceded.iter().for_each(|conceded| inside(conceded.place));
        assert!(!sentence(finding).is_empty());
        assert!(!message.contains("NaN") && !message.contains("inf mm"), "{message}");
    }
}

/// Every format that takes findings.
fn findings(judged: &Judged, out: &mut Vec<u8>) {
    for (name, colour, width) in
        [("text", false, 100), ("text", true, 20), ("json", false, 100), ("sarif", false, 100), ("gitlab", false, 100)]
    {
        for piece in pieces(name, judged, Style { colour, width }) {
            match name {
                "text" if !colour => harmless(&piece),
                "text" => {}
                _ => valid(piece.as_bytes()),
            }
            out.extend_from_slice(piece.as_bytes());
        }
    }
    let commands = pieces("github", judged, Style::default());
    for command in &commands {
        assert_eq!(command.matches('\n').count(), 1, "one line each, whatever stands in it: {command}");
    }
    assert!(commands.len() <= judged.findings.len() && commands.is_empty() == judged.findings.is_empty());
    out.extend_from_slice(commands.concat().as_bytes());
}

/// What a format of findings makes of one ledger, piece by piece.
pub(crate) fn pieces(format: &str, judged: &Judged, style: Style) -> Vec<String> {
    let format = FINDINGS_FORMATS.iter().find(|it| it.name() == format).expect("a format of findings");
    let pieces =
        format.ledger(judged, &OutputOptions { style, ..OutputOptions::default() }).expect("written to memory");
    pieces.into_iter().map(text).collect()
}

/// Every other paper that is made of a ledger, with a name.
pub(crate) fn papers(judged: &Judged) -> Vec<(&'static str, String)> {
    let ledger = &judged.ledger;
    let mut out = Vec::new();
    let gathered = wayledger::papers::report(judged, TODAY);
    out.push(("report", plain(&report_summary(&gathered))));
    let paper = report_paper(&gathered);
    out.push(("report as Markdown", markdown(&paper)));
    out.push(("report as HTML", html(&paper)));
    out.push(("report as JSON", json(&gathered).expect("written to memory")));
    let mut all = Fleet::new(TODAY);
    all.add(judged, TODAY);
    all.add(judged, TODAY);
    out.push(("fleet", plain(&fleet_paper(&all))));
    out.push(("fleet as HTML", html(&fleet_paper(&all))));
    out.push(("limits", limits_in_force(ledger)));

    let rows = |format: ReadingFormat| text(format.rows(judged).expect("written to memory"));
    out.push(("readings", ReadingFormat::Delimited.head() + &rows(ReadingFormat::Delimited)));
    out.extend(rows(ReadingFormat::JsonLines).lines().map(|line| ("reading as JSON", line.to_owned())));

    for name in ["TW-2", "DI-4", "0.05", "fitter-1"] {
        let tracing = Tracing::new(name, None);
        let machines = [wayledger::papers::trace(judged, &tracing)];
        out.push(("trace", plain(&trace_paper(&tracing, &machines))));
        out.push(("trace as Markdown", markdown(&trace_paper(&tracing, &machines))));
    }
    let case = Case::new(ledger, TODAY);
    let locator = Locator::new(&ledger.sources);
    let mut targets = Vec::new();
    for axis in 0..ledger.machine.axes.len() {
        for remaining in [false, true] {
            let sheet = traveler(judged, axis, TODAY, remaining);
            out.push(("traveler as Markdown", markdown(&sheet)));
            out.push(("traveler as HTML", html(&sheet)));
        }
        // Few steps: what is hard to plan is told so.
        out.push(("layout", format!("{:?}", layout_plan(ledger, axis, 200))));
        targets.push(Target::Axis(axis));
    }
    for (id, _, rail) in ledger.machine.rails() {
        targets.push(Target::Rail(id));
        targets.extend((0..rail.joints.len().min(3)).map(|joint| Target::Joint(id, joint)));
        targets.extend((0..rail.supports.len().min(3)).map(|support| Target::Support(id, support)));
        if let Ok(plan) = shim_plan(ledger, id, date(2026, 11, 1))
            && let Ok(plain) = &plan.plain
        {
            out.push(("shims", shim_table(ledger, &plan, &plain.stacks)));
            let rows = wayledger::planning::shim_rows(ledger, &plan, &plain.stacks);
            let rows: Vec<String> = rows.iter().map(|row| format!("    {}\n", row.line())).collect();
            out.push(("shim rows", format!("{rows:?}")));
        }
    }
    for target in targets.into_iter().take(30) {
        for quantity in quantities(&case, target) {
            let how = quantity.how.to_text(|place| locator.locate(*place).line.to_string());
            // As the command prints it.
            out.push(("how", how.lines().map(|line| format!("{}\n", clean(line))).collect()));
        }
    }
    out
}

fn text(bytes: Vec<u8>) -> String {
    String::from_utf8(bytes).expect("what is written is text")
}

/// What each kind of paper must be, whatever it is made of.
fn sound(kind: &str, text: &str) {
    if kind.ends_with("JSON") {
        valid(text.as_bytes());
    }
    match kind {
        // RFC 4180 ends lines so.
        "readings" => harmless(&text.replace("\r\n", "\n")),
        "layout" | "report as HTML" | "fleet as HTML" | "traveler as HTML" => {}
        _ => harmless(text),
    }
}

/// Compared with itself after one part is left out, whatever that does.
fn changed(world: &Memory, bytes: &[u8]) {
    let fewer = match bytes.len() / 4 % 3 {
        0 => world.clone().with("m/machine.kdl", "machine x"),
        1 => world.clone().with("m/2026-04-01-fitter-1.kdl", ""),
        _ => world.clone().with("shop.kdl", ""),
    };
    let judge = |world: &Memory| {
        let found = find_all(world, &[Path::default()]).expect("memory can be listed").found;
        let mut all = Vec::new();
        lint(world, &found, TODAY, |judged| all.push(judged));
        all
    };
    let (ledgers, rewritten) = compare(judge(world), judge(&fewer));
    let comparison = Comparison {
        format: COMPARISON_FORMAT,
        before: "before".into(),
        after: "after".into(),
        judged_by: TODAY.to_string(),
        ledgers,
        rewritten,
        calendar: None,
    };
    harmless(&plain(&comparison_paper(&comparison)));
    comparison_comment(&comparison);
    valid(&serde_json::to_vec(&comparison).expect("written to memory"));
}

/// Text for a terminal holds nothing that could steer one.
fn harmless(text: &str) {
    let bad =
        text.chars().find(|c| c.is_control() && !matches!(c, '\n' | '\t') || matches!(c, '\u{202a}'..='\u{202e}'));
    assert_eq!(bad, None, "{text:?}");
}

fn valid(json: &[u8]) {
    serde_json::from_slice::<serde_json::Value>(json).expect("it is JSON");
}
