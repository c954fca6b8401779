//! Writes a plan down as a shop file and a machine file, one fact a line.

use std::fmt::Write as _;

use super::{Kind, Plan, Rail, Seat};

const SHOP: &str = r#"// What every machine here shares.
shop "Dry shed" {
    gauge DI-4 kind=dial-indicator graduation=0.002 range=0.8 permissible-error=0.005 local-error=0.003 plus=outward {
        calibrated "2026-01-12" due="2027-01-12" certificate="C-2211"
    }
    gauge DI-6 kind=dial-indicator graduation=0.01 range=5 permissible-error=0.012 local-error=0.005 plus=wider {
        calibrated "2026-01-12" due="2027-01-12" certificate="C-2212"
    }
    gauge LA-1 kind=laser graduation=0.001 range=3 permissible-error=0.005 plus=right {
        calibrated "2025-11-30" due="2026-11-30" certificate="C-2107"
    }
    wrench TW-1 kind=setting least=0.5 most=5 permissible-error=(%)6 {
        calibrated "2026-02-02" due="2027-02-02" certificate="C-2238"
    }
    wrench TW-2 kind=indicating least=4 most=25 graduation=0.1 permissible-error=(%)4 {
        calibrated "2026-02-02" due="2027-02-02" certificate="C-2239"
    }
    wrench TW-3 kind=setting least=4 most=25 permissible-error=(%)4 {
        calibrated "2026-02-02" due="2027-02-02" certificate="C-2240"
    }
    shim-stock {
        leaf 0.02
        leaf 0.03
        leaf 0.05
        leaf 0.10
        leaf 0.20
    }
    fastener rail-bolt thread=M6 class="10.9" head=socket-cap into=steel { friction 0.12 0.14 }
    fastener base-bolt thread=M8 class="8.8" head=hexagon into=steel {
        friction 0.12 0.14
        full least=20 most=22 reason="M8 bolts into the steel beam"
        snug least=2 most=4 reason="M8 bolts into the steel beam"
    }
"#;

/// The shop file of a plan.
pub(crate) fn shop_file(plan: &Plan) -> String {
    let mut stock: Vec<i64> = plan.rails.iter().flat_map(|rail| rail.segments.iter().copied()).collect();
    stock.sort_unstable();
    stock.dedup();
    let stock: Vec<String> = stock.iter().map(i64::to_string).collect();
    let (pitch, end, edge) = (plan.pitch, plan.pitch / 2, plan.edge);
    let mut out = SHOP.to_string();
    let _ = writeln!(out, "    profile R20 hole-pitch={pitch} end-distance={end} bolt-edge={edge} contact=outward {{");
    let _ = writeln!(out, "        stock {}", stock.join(" "));
    out.push_str("    }\n");
    if let Some(carriage) = &plan.carriage {
        let _ = writeln!(out, "    block B20 length={} C=(kN)18.1 C0=(kN)29.5", carriage.block);
    }
    let mut not_here =
        vec![("straightness-range", "the rails are pushed to edges that the maker of the beam certifies")];
    if plan.carriage.is_none() {
        let fence = "no carriage: the rails carry a fence";
        not_here.extend([("overtravel", fence), ("joint-meeting", fence)]);
    }
    for (rule, reason) in not_here {
        let _ = writeln!(out, "    not-applicable {rule} date=\"2026-03-02\" by=engineer-1 reason=\"{reason}\"");
    }
    out.push_str("}\n");
    out
}

/// The machine file of a plan.
pub(crate) fn machine_file(plan: &Plan) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "machine {} {{\n    axis X {{", plan.name);
    let _ = writeln!(out, "        run from={} to={}", plan.from, plan.to);
    if let Some(carriage) = &plan.carriage {
        let (from, to) = carriage.stroke;
        let _ = writeln!(out, "        stroke from={from} to={to} overtravel={}", carriage.overtravel);
    }
    for (index, beam) in plan.beams.iter().enumerate() {
        let _ = writeln!(out, "        beam beam-{} from={} material=steel {{", index + 1, plan.from);
        for piece in &beam.pieces {
            let _ = writeln!(out, "            piece {piece}");
        }
        out.push_str("        }\n");
    }
    for (index, rail) in plan.rails.iter().enumerate() {
        describe_rail(&mut out, plan, index, rail);
    }
    if let Some(carriage) = &plan.carriage {
        let _ = writeln!(out, "        carriage length={} {{", carriage.length);
        for rail in &plan.rails {
            for at in [-carriage.offset, carriage.offset] {
                let _ = writeln!(out, "            block {} at={at} type=B20", rail.name);
            }
        }
        out.push_str("        }\n");
    }
    out.push_str("    }\n}\n");
    out
}

/// The serial number of a segment.
pub(crate) fn serial(rail: usize, segment: usize) -> String {
    format!("K-{}", 100 + 10 * rail + segment)
}

/// The lot of a rail.
pub(crate) fn lot(rail: usize) -> String {
    format!("77{}", 31 + rail)
}

/// The match marks at the near and the far end of a segment.
pub(crate) fn marks(rail: usize, segments: usize, segment: usize) -> (Option<String>, Option<String>) {
    let mark = |joint: usize| format!("{}{}", char::from(b'A' + rail as u8), joint);
    ((segment > 0).then(|| mark(segment)), (segment + 1 < segments).then(|| mark(segment + 1)))
}

fn describe_rail(out: &mut String, plan: &Plan, index: usize, rail: &Rail) {
    let _ = write!(out, "        rail {} beam=beam-{} profile=R20 rail-bolt=rail-bolt", rail.name, rail.beam + 1);
    if plan.base_bolts.is_some() {
        out.push_str(" base-bolt=base-bolt");
    }
    let shims = match rail.seat {
        Seat::Reference => None,
        Seat::Widen => Some("widen"),
        Seat::Narrow => Some("narrow"),
        Seat::Lift => Some("lift"),
    };
    if let Some(shims) = shims {
        let _ = write!(out, " follows={} shims={shims}", plan.rails[0].name);
    }
    out.push_str(" {\n");
    for (segment, length) in rail.segments.iter().enumerate() {
        let _ = write!(out, "            segment {length} serial={} lot=\"{}\"", serial(index, segment), lot(index));
        let (near, far) = marks(index, rail.segments.len(), segment);
        if let Some(near) = near {
            let _ = write!(out, " near-mark={near}");
        }
        if let Some(far) = far {
            let _ = write!(out, " far-mark={far}");
        }
        out.push('\n');
    }
    let base = plan.base_bolts.map_or(String::new(), |bolts| format!(" base-bolts={bolts}"));
    let (pitch, count) = rail.row;
    let covers = plan.pitch + 2 * plan.edge;
    let first = plan.from + pitch;
    let _ = write!(out, "            supports S first={first} pitch={pitch} count={count} length={covers}{base}");
    let standing = |number: i64| rail.supports.iter().any(|support| support.kind == Kind::Row(number));
    let omitted: Vec<String> = (1..=count).filter(|n| !standing(*n)).map(|n| format!("S{n}")).collect();
    if omitted.is_empty() {
        out.push('\n');
    } else {
        let _ = writeln!(out, " {{\n                omit {}\n            }}", omitted.join(" "));
    }
    for support in &rail.supports {
        let (name, at, covers) = (&support.name, support.at, support.covers);
        match support.kind {
            Kind::Row(_) => {}
            Kind::Single => {
                let half = plan.pitch / 2;
                let _ = writeln!(out, "            support {name} at={at} length={covers}{base} {{");
                let _ = writeln!(out, "                bolts -{half} {half}\n            }}");
            }
            Kind::Joint(_) => {
                let _ = writeln!(out, "            joint-support {name} at={at} length={covers}{base}");
            }
        }
    }
    out.push_str("        }\n");
}
