//! Reports, fleets, traces and limits in plain English: a number agrees with its noun, no name is empty, no number is a raw
//! float, no character is written out by its code.
//!
//! Machines of none, one and two of everything are printed in every way there is.

use wayledger::format::{fleet_paper, limits_in_force, markdown, plain, report_paper, report_summary, trace_paper};
use wayledger::lint::Judged;
use wayledger::papers::{Fleet, Tracing, report, trace};

use crate::common::{judge, today};

const NOUNS: [(&str, &str); 32] = [
    ("segment", "segments"),
    ("joint", "joints"),
    ("support", "supports"),
    ("leaf", "leaves"),
    ("machine", "machines"),
    ("axis", "axes"),
    ("rail", "rails"),
    ("record", "records"),
    ("part", "parts"),
    ("block", "blocks"),
    ("release", "releases"),
    ("finding", "findings"),
    ("bolt", "bolts"),
    ("limit", "limits"),
    ("groove", "grooves"),
    ("station", "stations"),
    ("day", "days"),
    ("nonconformity", "nonconformities"),
    ("observation", "observations"),
    ("torque", "torques"),
    ("hole", "holes"),
    ("reading", "readings"),
    ("step", "steps"),
    ("place", "places"),
    ("piece", "pieces"),
    ("bar", "bars"),
    ("turn", "turns"),
    ("row", "rows"),
    ("month", "months"),
    ("year", "years"),
    ("file", "files"),
    ("line", "lines"),
];

/// What is wrong with a text, if anything.
pub(crate) fn faults(text: &str) -> Vec<String> {
    let mut faults = Vec::new();
    for line in text.lines() {
        let words: Vec<&str> = line.split([' ', '(', ')']).filter(|word| !word.is_empty()).collect();
        for pair in words.windows(2) {
            let Ok(count) = pair[0].parse::<usize>() else { continue };
            let noun = pair[1].trim_end_matches(|c: char| !c.is_alphabetic());
            let wrong = NOUNS.iter().any(|(one, many)| if count == 1 { noun == *many } else { noun == *one });
            if wrong {
                faults.push(format!("{count} {noun}: {line}"));
            }
        }
        // More digits than a nanometre in metres has are a float that was not rounded.
        let raw = words.iter().any(|word| {
            let decimals = word.split_once('.').map_or("", |(_, rest)| rest);
            decimals.chars().take_while(char::is_ascii_digit).count() > 9
        });
        let empty = ["``", "\"\"", " ,", "( ", " )", ": :", "of to ", "of of"]
            .iter()
            .any(|fault| line.replace("\"\"\"", "x").contains(fault));
        let said_twice = line
            .split(' ')
            .zip(line.split(' ').skip(1))
            .any(|(word, next)| word == next && word.len() > 1 && word.chars().all(char::is_alphabetic));
        // One thing is, several are.
        let verb = words.windows(3).any(|three| {
            let one = three[0] == "1";
            let wrong = if one { ["are", "have", "were"] } else { ["is", "has", "was"] };
            three[0].parse::<usize>().is_ok()
                && NOUNS.iter().any(|(single, many)| three[1] == if one { *single } else { *many })
                && wrong.contains(&three[2])
        });
        if raw || empty || said_twice || verb || line.contains("\\u{") {
            faults.push(line.to_string());
        }
    }
    faults
}

/// A machine with so many of everything, and what was done to it.
fn machine(count: usize) -> Judged {
    let some = |row: &dyn Fn(usize) -> String| (0..count).map(row).collect::<Vec<_>>().join("\n");
    let machine = format!(
        "shop {{ gauge DI-1 graduation=0.002; profile R20 hole-pitch=60; block B20 length=60 C=(kN)18.1 C0=(kN)29.5; shim-stock {{ leaf 0.02 }} }}
machine bench {{ {} }}",
        some(&|axis| format!(
            "axis X{axis} {{ run from=0 to=1200; service-interval lubricate months=6; rail a profile=R20 {{ {}\n{} }}\n rail b follows=a shims=widen {{ segment 1200; {} }}\n carriage length=100 {{ {} }} }}",
            some(&|_| "segment 600 lot=\"31\" ".into()),
            some(&|at| format!("support S{at} at={} length=80", 100 + 200 * at)),
            some(&|at| format!("support T{at} at={} length=80", 100 + 200 * at)),
            some(&|_| "block a at=0 length=60 type=B20".into()),
        ))
    );
    let mut records = some(&|axis| {
        let joints = if count > 1 {
            format!(
                "inspect X{axis}.a.J1 date=\"2026-04-15\" by=inspector-1 gauge=DI-1 {{ light none; UL 0 -> 0.018; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}\n"
            )
        } else {
            String::new()
        };
        format!(
            "fasten X{axis}.a date=\"2026-04-14\" by=fitter-2 stage=full {{ {} }}\n{joints}survey gap X{axis}.b date=\"2026-04-15\" by=inspector-1 gauge=DI-1 stage=as-fitted {{ {} }}\nshim X{axis}.b date=\"2026-04-16\" by=fitter-2 {{ {} }}\nrelease X{axis} date=\"2026-04-20\" by=engineer-1",
            some(&|at| format!("at S{at} 10.5")),
            some(&|at| format!("at T{at} 0.0{at}")),
            some(&|at| format!("at T{at} 0.02")),
        )
    });
    records.push('\n');
    judge(&[("machine.kdl", &machine), ("r.kdl", &records)], &[])
}

#[test]
fn numbers_and_nouns_agree_and_nothing_is_left_raw() {
    let machines: Vec<Judged> = (0..=3).map(machine).collect();
    let mut checked = 0;
    let mut look = |what: &str, text: String| {
        let faults = faults(&text);
        assert!(faults.is_empty(), "{what}: {faults:#?}");
        checked += text.lines().count();
    };
    for (count, judged) in machines.iter().enumerate() {
        // The messages of the rules are looked at where they are made.
        let mut report = report(judged, today());
        look("text", plain(&report_summary(&report)));
        report.findings.clear();
        look("paper", markdown(&report_paper(&report)));
        look("in force", limits_in_force(&judged.ledger));
        for number in 0..=count {
            let mut all = Fleet::new(today());
            machines[..number].iter().for_each(|judged| all.add(judged, today()));
            look("fleet", plain(&fleet_paper(&all)));
            look("fleet paper", markdown(&fleet_paper(&all)));
        }
        for name in ["DI-1", "31", "0.02", "fitter-2", "engineer-1", "B20", "R20"] {
            let tracing = Tracing::new(name, None);
            let found = vec![trace(judged, &tracing)];
            look("trace", plain(&trace_paper(&tracing, &found)));
            look("trace paper", markdown(&trace_paper(&tracing, &found)));
        }
    }
    assert!(checked > 500, "{checked} lines");
}

/// The check finds what it is for.
#[test]
fn a_fault_of_each_kind_is_found() {
    let bad = [
        "1 segments",
        "2 segment, all",
        "1 axes (all)",
        "there is no ``",
        "0.8999999999999999 mm",
        "a\\u{a}b",
        "of of",
        "1 bolt are loose",
        "3 supports has none",
        "by fitter-3 by by",
    ];
    for text in bad {
        assert_eq!(faults(text).len(), 1, "{text}");
    }
    for text in ["1 segment", "21 segments", "11 axes", "0 joints", "0.9 mm", "1.1 segments"] {
        assert!(faults(text).is_empty(), "{text}");
    }
}
