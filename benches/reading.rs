//! How fast a ledger is read: our reader beside the `kdl` crate on the same bytes.
//!
//! `cargo bench --bench reading`

use std::fmt::Write;
use std::hint::black_box;

use criterion::{BatchSize, Criterion, Throughput, criterion_group, criterion_main};
use wayledger::kdl::{ReadLimits, read};

/// A build ledger as people write them, of about that many bytes: a gantry and its records, over and over.
fn ledger(bytes: usize) -> String {
    let mut text = String::from("/- kdl-version 2\n// The hull-sanding gantry.\n");
    let mut axis = 0;
    while text.len() < bytes {
        axis += 1;
        // Writing to a string cannot fail.
        let _ = writeln!(text, "axis X{axis} travel=(mm)6800 {{\n    // butt joints of port and starboard never meet");
        for rail in ["port", "starboard"] {
            let _ = writeln!(text, "    rail {rail} profile=\"size 35\" {{");
            for segment in 1..4 {
                let _ = writeln!(text, "        segment {segment} length=(mm)2400 serial=\"A-{axis:04}-{segment}\"");
            }
            for support in 1..31 {
                let at = support * 240;
                let _ = writeln!(text, "        support {support} at=(mm){at} bolts=2 // on the ground pad");
            }
            text.push_str("    }\n");
        }
        text.push_str("}\n");
        for support in 1..31 {
            let _ = writeln!(
                text,
                "fasten X{axis}.port.S{support} stage=full date=\"2026-04-{:02}\" by=fitter-2 {{\n    \
                 torque (N.m)10.5 wrench=W3\n    torque (N.m)10.45 wrench=W3 /- note=\"again\"\n}}",
                support % 28 + 1
            );
            let _ = writeln!(
                text,
                "survey X{axis}.port.gap station={support} gap=(mm)-0.{:03} temperature=(degC)20.5 \
                 note=\"read twice, second reading kept\"",
                support * 7
            );
        }
    }
    text
}

fn reading(c: &mut Criterion) {
    let text = ledger(1_000_000);
    let ours = read(text.clone(), &ReadLimits::default());
    assert!(ours.faults.is_empty(), "{:?}", ours.faults.first());
    let mut group = c.benchmark_group("reading");
    group.throughput(Throughput::Bytes(text.len() as u64));
    group.bench_function("wayledger", |b| {
        b.iter_batched(|| text.clone(), |text| black_box(read(text, &ReadLimits::default())), BatchSize::LargeInput);
    });
    group.sample_size(10);
    group.bench_function("kdl", |b| b.iter(|| black_box(kdl::KdlDocument::parse_v2(&text))));
    group.finish();
}

criterion_group!(benches, reading);
criterion_main!(benches);
