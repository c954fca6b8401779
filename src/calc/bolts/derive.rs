//! The derivations of a bolt's numbers, in the symbols of VDI 2230.

use super::{BoltError, Friction, SeatedBolt, ValueRange, YIELD_SHARE};
use crate::calc::derivation::{Derivation, Origin, figures};

/// Where the facts about a bolt were written; what is `None` came from a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct BoltOrigins<P> {
    /// The thread.
    pub thread: P,
    /// The property class.
    pub class: P,
    /// The head.
    pub head: P,
    /// The stated seat diameter.
    pub seat: Option<P>,
    /// The friction range, or why one was assumed.
    pub friction: Origin<P>,
}

const VDI: &str = "VDI 2230, torque-controlled tightening";

/// How the torque a bolt may have comes about.
pub(crate) fn derive_allowed_torque<P: Clone>(
    bolt: &SeatedBolt,
    friction: Friction,
    at: &BoltOrigins<P>,
) -> Derivation<P> {
    let mu = friction.least();
    let result = figures(bolt.tightening_torque_nm(mu), 4);
    let derivation =
        Derivation::new("torque allowed", "M_A = F_M · (0.16 P + 0.58 d2 µ + µ D_Km/2)", VDI, result, "N·m")
            .derived("F_M", assembly_preload(bolt, friction, at));
    lever_inputs(derivation, bolt, at)
        .input("µ (least)", figures(mu, 3), "", at.friction.clone())
        .step("0.16 P + 0.58 d2 µ + µ D_Km/2", figures(bolt.lever_mm(mu), 4), "mm")
        .note("taken at the least friction, where a torque stresses the bolt most")
        .note("holds for the bolt; a weaker threaded part needs its maker's limit")
}

/// How the preload of a torque comes about. Errors as [`SeatedBolt::preload_n`].
pub(crate) fn derive_preload<P: Clone>(
    bolt: &SeatedBolt,
    torque_nm: ValueRange,
    torque_at: &Origin<P>,
    friction: Friction,
    at: &BoltOrigins<P>,
) -> Result<Derivation<P>, BoltError> {
    let preload = bolt.preload_n(torque_nm, friction)?;
    let share = bolt.proof_share(torque_nm, friction)?;
    let range = |of: ValueRange, digits| match (figures(of.least, digits), figures(of.most, digits)) {
        (least, most) if least == most => least,
        (least, most) => format!("{least} to {most}"),
    };
    let derivation = Derivation::new("preload", "F = M / (0.16 P + 0.58 d2 µ + µ D_Km/2)", VDI, range(preload, 3), "N")
        .input("M", range(torque_nm, 6), "N·m", torque_at.clone());
    let friction_range = ValueRange { least: friction.least(), most: friction.most() };
    Ok(lever_inputs(derivation, bolt, at)
        .input("µ", range(friction_range, 3), "", at.friction.clone())
        .derived("F_p", proof_load(bolt, at))
        .step("bracket at the most µ", figures(bolt.lever_mm(friction.most()), 4), "mm")
        .step("bracket at the least µ", figures(bolt.lever_mm(friction.least()), 4), "mm")
        .step("F / F_p", range(ValueRange { least: share.least * 100.0, most: share.most * 100.0 }, 3), "%"))
}

fn lever_inputs<P: Clone>(derivation: Derivation<P>, bolt: &SeatedBolt, at: &BoltOrigins<P>) -> Derivation<P> {
    let seat_at = match &at.seat {
        Some(place) if bolt.seat_stated => Origin::Place(place.clone()),
        _ if bolt.seat_stated => Origin::Assumed("stated without a place"),
        _ => Origin::Standard(bolt.head.seat_source()),
    };
    derivation
        .input("thread", bolt.thread.name(), "", Origin::Place(at.thread.clone()))
        .input("P", figures(bolt.thread.pitch_mm(), 4), "mm", Origin::Standard("ISO 261"))
        .input("d2", figures(bolt.thread.pitch_diameter_mm(), 4), "mm", Origin::Standard("ISO 724"))
        .input("D_Km", figures(bolt.seat_mm, 4), "mm", seat_at)
}

fn assembly_preload<P: Clone>(bolt: &SeatedBolt, friction: Friction, at: &BoltOrigins<P>) -> Derivation<P> {
    let mu = friction.least();
    Derivation::new(
        "preload that tightening may reach",
        "F_M = c · 0.9 · Rp0.2 · As / √(1 + 3 [1.5 (d2/d0)(P/(π d2) + 1.155 µ)]²)",
        VDI,
        figures(bolt.assembly_preload_n(mu), 5),
        "N",
    )
    .input("head", bolt.head.name(), "", Origin::Place(at.head.clone()))
    .input("c", figures(bolt.carries(), 2), "", Origin::Standard(bolt.head.carries_source()))
    .input("class", bolt.class.name(), "", Origin::Place(at.class.clone()))
    .input("Rp0.2", figures(bolt.strength().yield_mpa, 4), "MPa", Origin::Standard(bolt.class.source()))
    .derived("As", stress_area(bolt, at))
    .input("d2", figures(bolt.thread.pitch_diameter_mm(), 4), "mm", Origin::Standard("ISO 724"))
    .input("d0", figures(bolt.thread.stress_diameter_mm(), 4), "mm", Origin::Standard("(d2 + d3)/2, VDI 2230"))
    .input("P", figures(bolt.thread.pitch_mm(), 4), "mm", Origin::Standard("ISO 261"))
    .input("µ (least)", figures(mu, 3), "", at.friction.clone())
    .step("0.9 · Rp0.2 · As", figures(YIELD_SHARE * bolt.strength().yield_mpa * bolt.thread.stress_area_mm2(), 5), "N")
    .step("√(…)", figures(bolt.twist_factor(mu), 4), "")
}

fn proof_load<P: Clone>(bolt: &SeatedBolt, at: &BoltOrigins<P>) -> Derivation<P> {
    let formula = "F_p = c · Sp · As";
    Derivation::new("proof load of the bolt", formula, bolt.class.source(), figures(bolt.proof_load_n(), 5), "N")
        .input("head", bolt.head.name(), "", Origin::Place(at.head.clone()))
        .input("c", figures(bolt.carries(), 2), "", Origin::Standard(bolt.head.carries_source()))
        .input("class", bolt.class.name(), "", Origin::Place(at.class.clone()))
        .input("Sp", figures(bolt.strength().proof_mpa, 4), "MPa", Origin::Standard(bolt.class.proof_source()))
        .derived("As", stress_area(bolt, at))
        .note("the standard's table rounds to three digits and may differ by half a percent")
}

fn stress_area<P: Clone>(bolt: &SeatedBolt, at: &BoltOrigins<P>) -> Derivation<P> {
    let thread = bolt.thread;
    let area = figures(thread.stress_area_mm2(), 4);
    Derivation::new("stress area", "As = π/4 · ((d2 + d3)/2)²", "ISO 898-1", area, "mm²")
        .input("thread", thread.name(), "", Origin::Place(at.thread.clone()))
        .input("d2", figures(thread.pitch_diameter_mm(), 4), "mm", Origin::Standard("ISO 724"))
        .input("d3", figures(thread.minor_diameter_mm(), 4), "mm", Origin::Standard("ISO 724"))
}
