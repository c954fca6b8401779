//! The traveler says what the ledger says, asks for what is open, and prints without a cut row.

use std::path::Path;
use std::process::Command as Program;

use crate::formats::paper::{html, markdown};
use crate::views::paper::{Element, Paper, TableCell};
use crate::views::traveler::traveler;

use crate::testing::{judge, today};

const SHOP: &str = include_str!("../../../example-ledgers/boatyard/shop.kdl");
const MAST: &str = include_str!("../../../example-ledgers/boatyard/mast-router/machine.kdl");
const MAST_RECORDS: &str = include_str!("../../../example-ledgers/boatyard/mast-router/2026-10-26-fitter-3.kdl");

fn mast(records: &str, remaining: bool) -> Paper {
    let judged = judge(&[("machine.kdl", MAST), ("records.kdl", records)], &[SHOP]);
    traveler(&judged, 0, today(), remaining)
}

/// What stands under a heading.
fn section<'t>(it: &'t Paper, title: &str) -> Option<&'t [Element]> {
    let is_heading = |element: &Element| matches!(element, Element::Heading(2, _));
    let is_it = |element: &Element| matches!(element, Element::Heading(2, text) if text.contains(title));
    let rest = &it.body.0[it.body.0.iter().position(is_it)? + 1..];
    Some(&rest[..rest.iter().position(is_heading).unwrap_or(rest.len())])
}

/// The rows of the first table of a section whose first column has a name, as words; `___` is a blank.
fn rows(section: &[Element], first_column: &str) -> Vec<String> {
    let table = section.iter().find_map(|element| match element {
        Element::Table(table) if table.head[0] == first_column => Some(table),
        _ => None,
    });
    let word = |cell: &TableCell| match cell {
        TableCell::Text(text) | TableCell::Number(text) => text.clone(),
        TableCell::Blank => "___".into(),
        TableCell::Tick(done) => if *done { "[x]" } else { "[ ]" }.into(),
        TableCell::Nothing => "-".into(),
        other => panic!("no such cell stands on a traveler: {other:?}"),
    };
    table.expect("a table").rows.iter().map(|row| row.iter().map(word).collect::<Vec<_>>().join(" ")).collect()
}

#[test]
fn full_torque_goes_from_the_joint_outward_with_hole_numbers() {
    let it = mast(MAST_RECORDS, false);
    let left = rows(section(&it, "Fit rail X.left").expect("there"), "Support");
    // By hand: seg1 is 1200 long with 20 holes from 30 every 60 mm; S4 stands at 840, over holes 14 (810) and 15 (870).
    assert_eq!(left[0], "J1 1200 seg1: 19, 20; seg2: 1, 2 [x] 10.4 10.5 ___ ___");
    assert_eq!(left[1], "S4 840 seg1: 14, 15 [x] ___ ___ - -");
    let order: Vec<&str> = left.iter().filter_map(|row| row.split(' ').next()).collect();
    assert_eq!(order, ["J1", "S4", "S3", "S2", "S1", "S7", "S8", "S9", "S10", "S11", "S12", "S13", "S14", "S15"]);
}

#[test]
fn instruments_out_of_calibration_are_not_offered() {
    let judged = judge(&[("machine.kdl", MAST)], &[SHOP]);
    let day = jiff::civil::date(2026, 12, 1);
    let it = traveler(&judged, 0, day, false);
    let names: Vec<String> = rows(section(&it, "Gauges").expect("there"), "Name");
    // The laser's certificate ends on 2026-11-03.
    assert!(!names.iter().any(|row| row.starts_with("LA-1")), "{names:#?}");
    assert!(names.iter().any(|row| row.starts_with("DI-4") && row.contains("groove steps")));
    assert!(
        names.iter().any(|row| row.starts_with("TW-2") && row.contains("full rail bolts") && !row.contains("snug"))
    );
    assert!(markdown::markdown(&it).contains("LA-1 | its calibration was due on 2026-11-03"));
    // Nor is one that somebody says was wrong, and still may be.
    let doubt = "doubt DI-4 date=\"2026-11-20\" by=inspector-1 from=\"2026-11-01\" reason=\"bent\"\n    gauge DI-4";
    let judged = judge(&[("machine.kdl", MAST)], &[&SHOP.replacen("gauge DI-4", doubt, 1)]);
    let it = traveler(&judged, 0, day, false);
    assert!(markdown::markdown(&it).contains("DI-4 | in doubt since 2026-11-01"));
}

#[test]
fn remaining_work_is_what_the_ledger_leaves_open() {
    let done = "
fasten X.left date=\"2026-10-27\" by=fitter-3 wrench=TW-2 stage=full { at J1 10.4 10.5 10.5 10.4 }
inspect X.left.J1 date=\"2026-10-28\" by=inspector-1 gauge=DI-4 {
    light none; UL 0 -> 0.004; UR 0 -> 0.004; LL 0 -> -0.006; LR 0 -> -0.002
}
";
    let it = mast(&format!("{MAST_RECORDS}{done}"), true);
    assert!(section(&it, "Parts").is_none());
    assert!(section(&it, "Inspect the joints of X.left").is_none(), "J1 is inspected");
    assert!(section(&it, "Inspect the joints of X.right").is_some());
    let left = rows(section(&it, "Fit rail X.left").expect("there"), "Support");
    assert!(!left.iter().any(|row| row.starts_with("J1")), "J1 has its torque: {left:#?}");
    assert_eq!(left.len(), 13);
    // Loosening the neighbour makes the inspection stale: the joint is to be read again.
    let loosened = "loosen X.left date=\"2026-10-29\" by=fitter-3 reason=\"seat cleaned\" { at S4 }\n";
    let it = mast(&format!("{MAST_RECORDS}{done}{loosened}"), true);
    assert!(section(&it, "Inspect the joints of X.left").is_some());
}

#[test]
fn after_the_survey_the_leaves_are_listed() {
    let hull = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard/hull-gantry");
    let read = |name: &str| std::fs::read_to_string(hull.join(name)).expect("there");
    let (machine, fit, joints, survey) = (
        read("machine.kdl"),
        read("2026-04-14-fitter-2.kdl"),
        read("2026-04-15-inspector-1.kdl"),
        read("2026-04-16-inspector-1.kdl"),
    );
    let files = [
        ("machine.kdl", machine.as_str()),
        ("a.kdl", fit.as_str()),
        ("b.kdl", joints.as_str()),
        ("c.kdl", survey.as_str()),
    ];
    // With proof required the uncertainty is taken off the limit, and supports beside J1 need a shim too.
    let shop =
        SHOP.replace("    shim-stock {", "    rulebook { proof is=required reason=\"customer\" }\n    shim-stock {");
    let judged = judge(&files, &[&shop]);
    let it = traveler(&judged, 0, today(), true);
    let shims = section(&it, "Shim rail X.starboard").expect("there");
    let rows = rows(shims, "Support");
    // The survey reads -0.07 at S1: 0.07 are asked for, and the leaves bring it within the limit of 0.05.
    assert!(rows[0].starts_with("S1 0.07 0.0"), "{rows:#?}");
    assert!(
        shims.iter().any(|block| matches!(block, Element::Checklist(steps)
        if steps.iter().any(|step| step.what.starts_with("X.starboard.J1")))),
        "J1 lies between shimmed supports"
    );
    assert!(
        shims.iter().any(|block| matches!(block, Element::HoldPoint(text) if text.contains("Verification survey")))
    );
}

#[test]
fn text_of_the_ledger_stays_text() {
    let machine = r#"
machine "<script>alert(1)</script>" {
    title "a\u{1b}[31m\u{202e}b | <img src=x onerror=y> **c**"
    axis X { rail "p</td>" { segment 1200 serial="<b>K</b>" lot="|x|"; supports S first=120 pitch=240 count=5 length=80 } }
}
"#;
    let judged = judge(&[("machine.kdl", machine)], &[]);
    let it = traveler(&judged, 0, today(), false);
    let (page, text) = (html::html(&it), markdown::markdown(&it));
    for bad in ["<script>", "<img", "<b>K", "</td>\"", "\u{1b}", "\u{202e}"] {
        assert!(!page.contains(bad), "{bad:?} in the page");
    }
    assert!(!text.contains(['\u{1b}', '\u{202e}']), "{text}");
    let html = |event: &pulldown_cmark::Event| {
        matches!(event, pulldown_cmark::Event::Html(_) | pulldown_cmark::Event::InlineHtml(_))
    };
    let body = text.strip_prefix(markdown::HEAD).expect("it begins with our mark");
    assert!(!pulldown_cmark::Parser::new(body).any(|event| html(&event)), "{text}");
    assert!(text.contains("\\|x\\|") && text.contains("\\*\\*c\\*\\*"));
    // Self-contained: nothing is fetched.
    assert!(page.contains("default-src 'none'") && !page.contains("src=\"") && !page.contains("href=\"h"));
}

/// What is said of a fact in a section, groups in it too.
fn facts(section: &[Element]) -> Vec<(&'static str, &TableCell)> {
    let mut all = Vec::new();
    for element in section {
        match element {
            Element::Facts(facts) => all.extend(facts.iter().map(|(name, value)| (*name, value))),
            Element::Group(group) => all.extend(facts(&group.0)),
            _ => {}
        }
    }
    all
}

#[test]
fn a_record_finds_room_for_all_that_it_needs() {
    let it = mast("", false);
    let fit = rows(section(&it, "Fit rail X.left").expect("there"), "Stage");
    assert_eq!(fit, ["snug ___ ___ ___ ___", "full ___ ___ ___ ___"]);
    let survey = facts(section(&it, "straightness of X.left").expect("there"));
    for name in ["Gauge", "Rail temperature", "By", "Date and time"] {
        assert!(survey.contains(&(name, &TableCell::Blank)), "{name}: {survey:?}");
    }
    let inspect = facts(section(&it, "Inspect the joints of X.left").expect("there"));
    for name in ["Gauge", "Reach (mm)", "Travel (mm)", "By", "Date and time"] {
        assert!(inspect.contains(&(name, &TableCell::Blank)), "{name}: {inspect:?}");
    }
}

#[test]
fn what_is_recorded_is_no_blank() {
    let done = "
fasten X.left date=\"2026-10-27T09:30\" by=fitter-3 wrench=TW-2 stage=full setting=10.5 { clicked J1 S1..S15 }
inspect X.left.J1 date=\"2026-10-28\" by=inspector-1 gauge=DI-4 {
    carrier reach=60 travel=40; light none; UL 0 -> 0.004; UR 0 -> 0.004; LL 0 -> -0.006; LR 0 -> -0.002
}
";
    let it = mast(done, false);
    let fit = rows(section(&it, "Fit rail X.left").expect("there"), "Stage");
    assert_eq!(fit, ["full TW-2 10.5 fitter-3 2026-10-27T09:30"]);
    let inspect = facts(section(&it, "Inspect the joints of X.left").expect("there"));
    let said = |name: &'static str, text: &str| (name, TableCell::text(text));
    for (name, value) in [said("Gauge", "DI-4"), said("Reach (mm)", "60"), said("By", "inspector-1")] {
        assert!(inspect.contains(&(name, &value)), "{name}: {inspect:?}");
    }
}

/// A survey that shims are read off is zeroed where `gap-zero` wants it; a straight line has a zone and no range.
#[test]
fn surveys_are_asked_for_as_they_are_judged() {
    let hull = include_str!("../../../example-ledgers/boatyard/hull-gantry/machine.kdl");
    let judged = judge(&[("machine.kdl", hull)], &[SHOP]);
    let it = traveler(&judged, 0, today(), false);
    let told = |title: &str| {
        let paragraph = |element: &Element| matches!(element, Element::Paragraph(_));
        let body = section(&it, title).expect("there");
        format!("{:?}", body.iter().filter(|it| paragraph(it)).collect::<Vec<_>>())
    };
    let straight = told("straightness of X.port");
    assert!(straight.contains("zero at the first station") && straight.contains("Minimum zone"), "{straight}");
    let gap = told("gap of X.starboard");
    assert!(gap.contains("zero there") && !gap.contains("first station."), "{gap}");
    // Stations are read row by row, so that no page's end puts them out of order.
    let stations = rows(section(&it, "gap of X.starboard").expect("there"), "Station");
    assert!(stations[0].starts_with("S1 ") && stations[0].contains(" S2 "), "{stations:#?}");
}

#[test]
fn the_running_force_has_a_card() {
    let machine = "machine m { rulebook { running-force most=20 reason=\"drive\" }
axis X { stroke from=200 to=2200; rail a { segment 1200; segment 1200; supports S first=120 pitch=240 count=10 }
carriage length=300 } }\n";
    let card = |records: &str, remaining: bool| {
        let judged = judge(&[("machine.kdl", machine), ("r.kdl", records)], &[]);
        let it = traveler(&judged, 0, today(), remaining);
        section(&it, "Running force").map(|section| rows(section, "Over"))
    };
    let ends = ["the near end of the stroke 200", "J1 of a 1200", "the far end of the stroke 2200"];
    assert_eq!(card("", true).expect("there"), ends.map(|end| format!("{end} ___")));
    let read = "running-force X date=\"2026-04-16\" by=inspector-1 { at 200 14; at 1200 15; at 2200 16 }";
    let filled: Vec<String> = ends.iter().zip([14, 15, 16]).map(|(end, force)| format!("{end} {force}")).collect();
    assert_eq!(card(read, false).expect("there"), filled);
    assert_eq!(card(read, true), None);
    // One that is over the limit is read again.
    assert_eq!(card(&read.replace("15", "40"), true).expect("there"), ends.map(|end| format!("{end} ___")));
}

/// Prints a page on a paper and gives the text of each page.
fn printed(page: &str, paper: &str) -> Vec<String> {
    let folder = tempfile::tempdir().expect("a folder");
    let (html, pdf) = (folder.path().join("t.html"), folder.path().join("t.pdf"));
    let page = page.replace("</style>", &format!("@page {{ size: {paper}; }}</style>"));
    std::fs::write(&html, page).expect("written");
    let status = Program::new("chromium")
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"])
        .arg(format!("--user-data-dir={}", folder.path().join("profile").display()))
        .arg(format!("--print-to-pdf={}", pdf.display()))
        .arg(&html)
        .output()
        .expect("Chromium runs");
    assert!(status.status.success(), "{}", String::from_utf8_lossy(&status.stderr));
    let text = Program::new("pdftotext").args(["-layout"]).arg(&pdf).arg("-").output().expect("pdftotext runs");
    String::from_utf8_lossy(&text.stdout)
        .split('\u{c}')
        .map(str::to_string)
        .filter(|page| !page.trim().is_empty())
        .collect()
}

#[test]
#[ignore = "needs Chromium; .ci/run runs it"]
fn any_single_sheet_tells_what_it_shows() {
    let mut it = mast(MAST_RECORDS, false);
    // Text that would end the string, the rule or the element.
    it.shows = Some("revision 0123456789ab, as of 2026-11-01 \"};</style>".into());
    let page = html::html(&it);
    for paper in ["A4", "Letter"] {
        let pages = printed(&page, paper);
        assert!(pages.len() > 3, "{paper}: {} pages", pages.len());
        for (at, sheet) in pages.iter().enumerate() {
            let number = format!("page {} of {}", at + 1, pages.len());
            let tool = format!("wayledger {}", env!("CARGO_PKG_VERSION"));
            let shows = "revision 0123456789ab, as of 2026-11-01";
            for told in [it.title.as_str(), "outstanding", shows, &tool, &number] {
                assert!(sheet.contains(told), "{paper}, sheet {}: {told:?} is not on it: {sheet}", at + 1);
            }
        }
    }
}

#[test]
#[ignore = "needs Chromium; .ci/run runs it"]
fn no_row_is_cut_on_a4_or_letter() {
    // Serials long enough to need many lines: each line of a cell carries its row's number.
    let serial = |n: usize| (0..14).map(|part| format!("K{n:03}x{part:02}")).collect::<Vec<_>>().join(" ");
    let segments: String = (1..=60).map(|n| format!("segment 1200 serial=\"{}\"\n", serial(n))).collect();
    let machine = format!("machine m {{ axis X {{ rail a {{ {segments} }} }} }}");
    let judged = judge(&[("machine.kdl", &machine)], &[SHOP]);
    let page = html::html(&traveler(&judged, 0, today(), false));
    for paper in ["A4", "Letter"] {
        let pages = printed(&page, paper);
        assert!(pages.len() > 3, "{paper}: {} pages", pages.len());
        for n in 1..=60 {
            let mark = format!("K{n:03}x");
            let on: Vec<usize> = (0..pages.len()).filter(|page| pages[*page].contains(&mark)).collect();
            assert_eq!(on.len(), 1, "{paper}: the row of {mark} lies on pages {on:?}");
            assert_eq!(pages[on[0]].matches(&mark).count(), 14, "{paper}: all of {mark} is on the paper");
        }
        // The drawing of a joint and its table stay together.
        for n in 1..=59 {
            let joint = format!("Joint X.a.J{n},");
            let page = pages.iter().find(|page| page.contains(&joint)).expect("every joint is printed");
            let after = &page[page.find(&joint).unwrap_or(0)..];
            assert!(after.contains("LR") && after.contains("Travel (mm)"), "{paper}: {joint} is cut");
        }
    }
}

/// A gauge of a kind of its own says itself what it reads; a force gauge must be fine enough for the limit of the force.
#[test]
fn a_gauge_is_offered_for_what_it_reads() {
    let offered = |gauge: &str, reads: &str| {
        let gauge = format!("gauge G-9 {gauge} {{ calibrated \"2026-01-12\" due=\"2027-01-12\"; {reads} }}");
        let shop = SHOP.replacen("    gauge ", &format!("    {gauge}\n    gauge "), 1);
        let judged = judge(&[("machine.kdl", MAST)], &[&shop]);
        let shown = markdown::markdown(&traveler(&judged, 0, today(), false));
        shown.lines().find(|line| line.contains("G-9")).expect("it is listed").to_owned()
    };
    let own = "kind=other graduation=0.001";
    assert!(offered(own, "").contains("what it reads is not stated"), "{}", offered(own, ""));
    assert!(offered(own, "reads gap height").contains("| gap, height |"), "{}", offered(own, "reads gap height"));
    assert!(
        offered("kind=other", "reads force").contains("| running force |"),
        "{}",
        offered("kind=other", "reads force")
    );
    let feeler = offered("kind=feeler graduation=0.001", "");
    assert!(feeler.contains("| gap, straightness, height |"), "{feeler}");
    let collimator = offered("kind=autocollimator graduation=(arcsec)0.1 range=(arcsec)60", "");
    assert!(collimator.contains("| 0.484814 µm/m | straightness, added up from angles |"), "{collimator}");
}
