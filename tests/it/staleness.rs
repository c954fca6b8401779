//! What goes stale, as a truth table: all orders of fastening, inspecting, loosening, shimming, tightening again and
//! surveying, at all distances, against a small oracle that knows nothing of the program.
//!
//! The oracle restates common practice, no source: loosening or shimming a support undoes the inspection of a joint and
//! the readings of a station when it is theirs or the next one; two supports away is worth a look at a joint; farther
//! away it is nothing. Shimming loosens. Tightening again undoes nothing, and until then nothing proven there holds.

use std::collections::BTreeSet;

use rayon::prelude::*;

use crate::common::{judge, share};

/// What is done, on one rail with the supports S1 … S5, J1, S6 … S10. The joint and the only station are at J1, which
/// is support number 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Event {
    /// Full torque on every support.
    Fasten,
    Inspect,
    Survey,
    Loosen(i32),
    Shim(i32),
    /// Full torque on one support.
    Tighten(i32),
}

use Event::*;

fn name(support: i32) -> String {
    match support {
        0 => "J1".into(),
        below if below < 0 => format!("S{}", 6 + below),
        above => format!("S{}", 5 + above),
    }
}

const MACHINE: &str = "machine m { axis X { rail a; rail b follows=a shims=widen { segment 1200; segment 1200; \
    supports S first=200 pitch=200 count=5; joint-support J1 at=1200 length=100; \
    support S6 at=1400; support S7 at=1600; support S8 at=1800; support S9 at=2000; support S10 at=2200 } } }\n";

fn record(day: usize, event: Event) -> String {
    let date = format!("date=\"2026-04-{:02}\" by=someone", day + 1);
    match event {
        Fasten => format!("fasten X.b {date} stage=full setting=10.5 {{ clicked J1 S5..S1 S6..S10 }}\n"),
        Inspect => {
            format!("inspect X.b.J1 {date} {{ light none; UL 0 -> 0; UR 0 -> 0.01; LL 0 -> 0; LR 0.01 -> 0 }}\n")
        }
        Survey => format!("survey gap X.b {date} stage=verification {{ at J1 0 }}\n"),
        Loosen(at) => format!("loosen X.b {date} {{ at {} }}\n", name(at)),
        Shim(at) => format!("shim X.b {date} {{ at {} 0.05 }}\n", name(at)),
        Tighten(at) => format!("fasten X.b {date} stage=full setting=10.5 {{ clicked {} }}\n", name(at)),
    }
}

/// What is expected to be found, from the order of events alone.
fn expected(events: &[Event]) -> BTreeSet<&'static str> {
    let mut found = BTreeSet::new();
    let last = |of: Event| events.iter().rposition(|event| *event == of);
    let after = |since: Option<usize>| &events[since.map_or(0, |at| at + 1)..];
    let touches = |event: &Event, far: i32| matches!(event, Loosen(at) | Shim(at) if at.abs() <= far);
    // Loose at some moment: the last thing done to that support before then was not tightening.
    let loose = |until: usize, support: i32| {
        events[..until]
            .iter()
            .rev()
            .find_map(|event| match event {
                Fasten => Some(false),
                Tighten(at) if *at == support => Some(false),
                Loosen(at) | Shim(at) if *at == support => Some(true),
                _ => None,
            })
            .unwrap_or(false)
    };
    if let Some(at) = last(Inspect) {
        let later = after(Some(at));
        if later.iter().any(|event| touches(event, 1)) {
            found.insert("inspection-stale outstanding");
        } else if later.iter().any(|event| touches(event, 2)) {
            found.insert("inspection-stale observation");
        }
        if (-1..=1).any(|support| loose(at, support)) {
            found.insert("torque-after-shim X.b.J1");
        }
    }
    if let Some(at) = last(Survey) {
        let later = after(Some(at));
        // Loosening that ended in shims there is the shims' business.
        let stale = later.iter().enumerate().any(|(i, event)| match event {
            Loosen(of) => of.abs() <= 1 && !later[i..].contains(&Shim(*of)),
            _ => false,
        });
        if stale {
            found.insert("survey-stale");
        }
        if (-5..=5).any(|support| loose(at, support)) {
            found.insert("torque-after-shim X.b");
        }
    }
    if after(last(Survey)).iter().any(|event| matches!(event, Shim(_))) {
        found.insert("shim-unverified");
    }
    // A support never tightened, or loosened or shimmed since.
    let open = (-5..=5).any(|support| {
        events
            .iter()
            .rev()
            .find_map(|event| match event {
                Fasten => Some(false),
                Tighten(at) if *at == support => Some(false),
                Loosen(at) | Shim(at) if *at == support => Some(true),
                _ => None,
            })
            .unwrap_or(true)
    });
    if open {
        found.insert("torque-missing");
    }
    found
}

fn found(events: &[Event]) -> BTreeSet<String> {
    let records: String = events.iter().enumerate().map(|(day, event)| record(day, *event)).collect();
    let judged = judge(&[("machine.kdl", &format!("{MACHINE}{records}"))], &[]);
    let findings = judged.findings.iter().filter_map(|finding| match finding.rule.as_str() {
        "inspection-stale" => Some(format!("inspection-stale {}", finding.grade.name())),
        "torque-after-shim" => Some(format!("torque-after-shim {}", finding.address)),
        "survey-stale" | "shim-unverified" | "torque-missing" => Some(finding.rule.to_string()),
        "date-order" | "unknown-reference" | "unreadable" => Some(format!("{}: {}", finding.rule, finding.message)),
        _ => None,
    });
    findings.collect()
}

/// All orders of all subsets of some events.
fn orders(events: &[Event]) -> Vec<Vec<Event>> {
    let mut all = vec![Vec::new()];
    let mut from = 0;
    while from < all.len() {
        let order: Vec<Event> = all[from].clone();
        for event in events.iter().filter(|event| !order.contains(event)) {
            let mut longer = order.clone();
            longer.push(*event);
            all.push(longer);
        }
        from += 1;
    }
    all
}

#[test]
fn every_order_goes_stale_as_the_trade_says() {
    // Own, next, two away, far: what is loosened, what is shimmed, what is tightened again.
    let near = [(0, 0, 0), (0, 1, 0), (0, 1, 1), (1, 1, 1), (1, -1, 1), (1, -1, -1), (1, 0, 0)];
    let away = [(2, 1, 2), (1, 2, 1), (2, 2, 2), (2, 4, 4), (4, 4, 4), (4, 0, 0), (-2, 4, -2)];
    let all: BTreeSet<Vec<Event>> = near
        .into_iter()
        .chain(away)
        .flat_map(|(loosened, shimmed, tightened)| {
            orders(&[Fasten, Inspect, Survey, Loosen(loosened), Shim(shimmed), Tighten(tightened)])
        })
        .collect();
    assert!(all.len() > 14 * 720, "every order of all six is among them");
    let tried: Vec<&Vec<Event>> = share(&all, 5).collect();
    let faults: Vec<String> = tried
        .par_iter()
        .filter_map(|order| {
            let (expected, found) = (expected(order), found(order));
            let expected: BTreeSet<String> = expected.into_iter().map(str::to_string).collect();
            (found != expected).then(|| format!("{order:?}\n  found {found:?}\n  expected {expected:?}"))
        })
        .collect();
    assert!(faults.is_empty(), "{} orders differ, the first of them:\n{}", faults.len(), faults[0]);
}
