//! Any exported file by any mapping: every row is taken or told as a misfit, and the record can be read.
//!
//! The input is the mapping as it stands in a shop file, the byte 0x1F, and the exported file.

use jiff::civil::date;
use wayledger::amounts::Moment;
use wayledger::files::Path;
use wayledger::kdl::{self, ReadLimits};
use wayledger::lint::judge_ledger;
use wayledger::model::{Ledger, RailId, TextFile};
use wayledger::records::import::{Becomes, RecordHead, build, find, read};
use wayledger::records::tidy;

const MACHINE: &str = "machine saw {
    axis X {
        run from=0 to=2400
        beam bed { piece 2400 }
        rail left beam=bed profile=R20 datum=left {
            segment 1200
            segment 1200
            supports S first=240 pitch=240 count=9 length=80 { omit S5 }
            joint-support J1 at=1200 length=200
        }
    }
}
";

const SHOP: &str = "
    profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 contact=outward least-segment=240 { stock 1200 }
    gauge DI-4 kind=dial-indicator graduation=0.002
    wrench TW-2 kind=indicating least=4 most=20 permissible-error=(%)4
";

pub(crate) fn check(bytes: &[u8]) {
    let split = bytes.iter().position(|byte| *byte == 0x1F).unwrap_or(bytes.len());
    let (mapping, export) = (&bytes[..split], bytes.get(split + 1..).unwrap_or_default());
    let Ok(mapping) = std::str::from_utf8(mapping) else { return };
    let shop =
        TextFile::read(Path("shop.kdl".into()), format!("shop \"Quarry 3\" {{{SHOP}\n{mapping}\n}}").into_bytes());
    let machine = || TextFile::read(Path("m/machine.kdl".into()), MACHINE.as_bytes().to_vec());
    let ledger = Ledger::new(Path("m".into()), vec![machine()], std::slice::from_ref(&shop));
    let Ok(mapping) = find(&ledger, "bench") else { return };
    let Ok(rows) = read(export, &mapping) else { return };
    assert_eq!(rows.lines, rows.rows.len() + rows.misfits.len(), "no row is lost");
    let lines = export.iter().filter(|byte| **byte == b'\n').count() as u64 + 1;
    let told = rows.rows.iter().map(|row| row.line).chain(rows.misfits.iter().map(|misfit| misfit.line));
    for line in told {
        assert!((1..=lines).contains(&line), "line {line} of {lines}");
    }
    let moment = Moment { date: date(2026, 4, 14), minute: None };
    let (on, joint) = match mapping.becomes {
        Becomes::Inspect => ("X.left.J1", Some("J1".to_owned())),
        Becomes::Fasten | Becomes::Survey => ("X.left", None),
    };
    let head = RecordHead {
        on: on.into(),
        joint,
        date: moment,
        by: "fitter-2".into(),
        stage: Some(if mapping.becomes == Becomes::Survey { "as-fitted" } else { "full" }.into()),
        survey: Some("gap".into()),
        temperature: Some("20".into()),
    };
    let rail = ledger.machine.rail(RailId { axis: 0, rail: 0 });
    let built = build(&rows.rows, &mapping, &head, rail).expect("a record of good rows is good text");
    assert_eq!(rows.rows.len(), built.taken + built.misfits.len(), "no row is lost");
    assert_eq!(built.text.is_empty(), built.taken == 0);
    let record = kdl::read(built.text.clone(), &ReadLimits::default());
    assert_eq!(record.faults, [], "{}", built.text);
    assert_eq!(record.document.nodes().count(), usize::from(built.taken > 0));
    assert_eq!(tidy(&built.text).as_ref(), Ok(&built.text), "it is in its layout");
    if built.taken > 0 {
        let file = TextFile::read(Path("m/2026-04-14-fitter-2.kdl".into()), built.text.clone().into_bytes());
        let ledger = Ledger::new(Path("m".into()), vec![file, machine()], &[shop]);
        assert_eq!(ledger.records.len(), 1, "{}", built.text);
        judge_ledger(ledger, date(2026, 11, 1));
    }
}
