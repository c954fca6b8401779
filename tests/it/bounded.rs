//! No text within the size that is read takes more than its share of memory or time, whatever node it is made of.

mod texts;

use std::time::Instant;

use crate::common::judge;

/// A scouting run: what each text takes.
#[test]
#[ignore = "scouting"]
fn scout() {
    let size: usize = std::env::var("WAYLEDGER_LONG").ok().and_then(|it| it.parse().ok()).unwrap_or(200_000);
    let mut seen = Vec::new();
    let only = std::env::var("WAYLEDGER_ONLY").unwrap_or_default();
    let only = regex::Regex::new(&only).unwrap();
    for long in texts::all().into_iter().filter(|it| only.is_match(&it.name())) {
        let mut took = Vec::new();
        let mut told = 0;
        for size in [size, 2 * size] {
            let text = long.text(size);
            let start = Instant::now();
            let judged = judge(&[("machine.kdl", &text)], &[]);
            took.push(start.elapsed().as_secs_f64());
            eprintln!("- {size} {:.3} {}", start.elapsed().as_secs_f64(), long.name());
            told = judged.findings.len();
        }
        seen.push((took[1], took[1] / took[0], told, long.name()));
    }
    seen.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (took, ratio, told, name) in &seen {
        eprintln!("{took:7.3} {ratio:5.2} {told:6} {name}");
    }
}
