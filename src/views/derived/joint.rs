//! The numbers of a joint: its place, its steps and their patterns, the guard band, and how far it keeps from others.

use super::quantity::{DerivedQuantity, PlacedDerivation, limit_origin, mm, quantity};
use crate::calc::derivation::{Derivation, Origin, figures};
use crate::calc::exact::Surd;
use crate::calc::grooves::{GaugePlus, GrooveFacing};
use crate::calc::layout::clearance::default_seam_clearance;
use crate::calc::layout::meeting::{Meeting, PositionRange, meeting_slack};
use crate::facts::proof::{self, GaugeCertainty};
use crate::facts::stagger::required as required_stagger;
use crate::facts::steps::{Latest, four_steps, joint_state, mean_step, nearest, plus, signed_step};
use crate::language::rulebook::LimitName;
use crate::ledger::{Gauge, Groove, GrooveReading, Keyword as _, Ledger, RailId, RepeatedQuantity};
use crate::quantity::{Amount, Length, Ratio};
use crate::rules::Case;

pub(super) fn quantities(case: &Case, id: RailId, joint: usize) -> Vec<DerivedQuantity> {
    let ledger = case.ledger;
    let state = joint_state(ledger, id, joint);
    let mut all = vec![quantity("position", position(ledger, id, joint))];
    for reading in state.grooves.iter().flatten() {
        all.extend(step(ledger, reading).map(|how| quantity(format!("step-{}", reading.what.groove.word()), how)));
    }
    all.extend(patterns(ledger, id, joint));
    let reading = state.grooves.iter().flatten().next();
    let gauge = reading.and_then(|reading| ledger.shop.gauge(reading.inspect.gauge.as_ref()?));
    all.extend(
        gauge
            .zip(reading)
            .and_then(|(gauge, reading)| guard_band(case, gauge, reading))
            .map(|how| quantity("guard-band", how)),
    );
    all.extend(stagger(case, id, joint).map(|how| quantity("stagger-slack", how)));
    all.extend(seam(case, id, joint).map(|how| quantity("seam-slack", how)));
    all.extend(meeting(case, id, joint).map(|how| quantity("meeting-slack", how)));
    all
}

/// Where a joint lies: nobody types it.
fn position(ledger: &Ledger, id: RailId, joint: usize) -> PlacedDerivation {
    let rail = ledger.machine.rail(id);
    let it = &rail.joints[joint];
    let name = format!("position of {}", ledger.machine.joint_address(id, joint));
    let start = Derivation::new(name, "p = start + Σ lengths", "geometry", mm(it.position), "mm");
    let start = start.input("start of the rail", mm(rail.from), "mm", Origin::Place(rail.place));
    rail.segments.iter().take(it.before + 1).enumerate().fold(start, |how, (number, segment)| {
        how.input(format!("seg{}", number + 1), mm(segment.length.value), "mm", Origin::Place(segment.length.place))
    })
}

/// The step of one groove, as the report has it; the lint judges its size.
fn step(ledger: &Ledger, reading: &Latest<&crate::ledger::GrooveReading>) -> Option<PlacedDerivation> {
    let mean = mean_step(reading)?;
    let sense = plus(ledger, reading.inspect);
    let formula = match (mean.slanted, sense == Some(GaugePlus::Inward)) {
        (false, false) => "s = Σ (after − before) / n",
        (false, true) => "s = −Σ (after − before) / n, the gauge counts inward",
        (true, false) => "s = Σ (after − before) / (n √2)",
        (true, true) => "s = −Σ (after − before) / (n √2), the gauge counts inward",
    };
    let source = if mean.slanted {
        "definition of the step; √2 by geometry, for a stylus held level or upright at a contact of 45°"
    } else {
        "definition of the step"
    };
    let name = format!("step of groove {}", reading.what.groove.word());
    let mut how = Derivation::new(name, formula, source, mm(signed_step(ledger, reading)?), "mm");
    for (before, after) in &reading.what.pairs {
        how = how.input("before", mm(before.value), "mm", Origin::Place(before.place));
        how = how.input("after", mm(after.value), "mm", Origin::Place(after.place));
    }
    how = how.step("Σ (after − before)", mm(Length(mean.sum_nm)), "mm").step("n", mean.count.to_string(), "");
    how = how.note("plus: the far rail's groove stands proud; its size is held against the limit");
    Some(match sense {
        Some(_) => how,
        None => how.note("nothing says which way the gauge counts: outward is taken"),
    })
}

/// The four patterns of the steps, and the offsets of height and side.
fn patterns(ledger: &Ledger, id: RailId, joint: usize) -> Vec<DerivedQuantity> {
    let Some(four) = four_steps(ledger, id, joint) else { return Vec::new() };
    let state = joint_state(ledger, id, joint);
    let patterns = four.steps.patterns(four.contact_or_outward());
    let shown = |length: Surd| mm(nearest(length));
    let inward = four.contact_or_outward() == GrooveFacing::Inward;
    let height = match inward {
        false => "a = (UL + UR − LL − LR) / 4",
        true => "a = −(UL + UR − LL − LR) / 4, contact lines crossing inward",
    };
    let source = "orthogonal patterns of four grooves at 45°, geometry";
    let amplitude = |name: &str, formula, of: Surd| {
        let mut how = Derivation::new(format!("{name} pattern"), formula, source, shown(of), "mm");
        for groove in Groove::ALL {
            let Some(reading) = &state.grooves[groove as usize] else { continue };
            let sense = plus(ledger, reading.inspect).is_some();
            let Some(signed) = signed_step(ledger, reading) else { continue };
            let origin =
                step(ledger, reading).map_or(Origin::Place(reading.what.place), |how| Origin::Derived(Box::new(how)));
            let name = format!("{}{}", groove.word(), if sense { ", plus = far groove proud" } else { "" });
            how = how.input(name, mm(signed), "mm", origin);
        }
        if four.contact.is_none() {
            how = how.note("the profile does not say which way the contact lines cross: outward is taken");
        }
        if !four.signed {
            how = how.note("nothing says which way the gauge counts: outward is taken");
        }
        how.note("told to the nearest tenth of a micrometre")
    };
    let offset = |name: &str, from: PlacedDerivation, of: Surd| {
        Derivation::new(format!("{name} offset of the far rail"), "offset = a √2", source, shown(of), "mm")
            .derived("a", from)
    };
    let height = amplitude("height", height, patterns.height);
    let side = amplitude("side", "a = (UR − UL + LR − LL) / 4", patterns.side);
    vec![
        quantity("height-pattern", height.clone()),
        quantity("height-offset", offset("height", height, patterns.height_offset())),
        quantity("side-pattern", side.clone()),
        quantity("side-offset", offset("side", side, patterns.side_offset())),
        quantity("twist-pattern", amplitude("twist", "a = (UL − UR − LL + LR) / 4", patterns.twist)),
        quantity("size-pattern", amplitude("size", "a = (UL + UR + LL + LR) / 4", patterns.size)),
    ]
}

/// The guard band of the step of a groove: a difference of two readings.
fn guard_band(case: &Case, gauge: &Gauge, reading: &Latest<&GrooveReading>) -> Option<PlacedDerivation> {
    let certainty = GaugeCertainty::new(case.ledger, gauge, RepeatedQuantity::Step)?;
    let count = reading.what.pairs.len();
    let uncertainty = certainty.of_step(count);
    let band = proof::band(case.rulebook, uncertainty);
    let error = certainty.error;
    let origin = match (gauge.local_error, gauge.permissible_error) {
        (Some(local), _) => Origin::Place(local.place),
        (None, Some(permissible)) if permissible.value == error => Origin::Place(permissible.place),
        _ => Origin::Standard("JIS B 7503 for a dial indicator of 0.01 mm, over a tenth of a revolution"),
    };
    let graduation = gauge.graduation?;
    let share = case.rulebook.most::<Ratio>(LimitName::GuardBand).map_or(Ratio(1_000_000_000), |(share, _)| share);
    let um = |nm: f64| figures(nm / 1000.0, 4);
    Some(
        Derivation::new(
            "guard band of a difference of two readings",
            "w = share · U, U = k u, u² = G²/3 + the greater of s²/n and 2 d²/12",
            "ILAC-G8:09/2019; GUM 4.3.7, F.2.2.1, G.4",
            mm(Length(band.width())),
            "mm",
        )
        .input("G, error over a short travel", mm(error), "mm", origin)
        .input("d, graduation", mm(graduation.value), "mm", Origin::Place(graduation.place))
        .input("share", share.number(), "", limit_origin(case, LimitName::GuardBand))
        .input("n, times read", count.to_string(), "", Origin::Place(reading.what.place))
        .step(
            format!("s of one step, from {}", certainty.scatter_words()),
            um(certainty.scatter().standard_uncertainty()),
            "µm",
        )
        .step("u", um(uncertainty.variance().standard_uncertainty()), "µm")
        .step("k", proof::factor(uncertainty), "")
        .step("U", um(uncertainty.expanded() as f64), "µm")
        .note("rounded up to a whole nanometre"),
    )
}

/// The joint of another rail that needs most attention: the least stagger beyond what is required.
fn stagger(case: &Case, id: RailId, joint: usize) -> Option<PlacedDerivation> {
    let machine = &case.ledger.machine;
    let here = machine.rail(id).joints[joint].position;
    let others = machine.axes[id.axis].rails.iter().enumerate().filter(|(rail, _)| *rail != id.rail);
    let slacks = others.flat_map(|(rail, it)| {
        let other = RailId { axis: id.axis, rail };
        let (required, _) = required_stagger(case.ledger, case.rulebook, id.min(other), id.max(other))?;
        let slack = move |number: usize, at: Length| ((at - here).abs() - required, other, number, required);
        Some(it.joints.iter().enumerate().map(move |(number, at)| slack(number, at.position)).collect::<Vec<_>>())
    });
    let (slack, other, number, required) = slacks.flatten().min()?;
    let how =
        Derivation::new("stagger beyond what is required", "slack = |p − q| − required", "geometry", mm(slack), "mm")
            .derived("p", position(case.ledger, id, joint))
            .derived("q", position(case.ledger, other, number));
    let how = how.input("required", mm(required), "mm", limit_origin(case, LimitName::Stagger));
    Some(how.note("to the joint of a parallel rail that is nearest to its limit; below zero the rule is broken"))
}

fn seam(case: &Case, id: RailId, joint: usize) -> Option<PlacedDerivation> {
    let axis = &case.ledger.machine.axes[id.axis];
    let rail = case.ledger.machine.rail(id);
    let beam = axis.beams.iter().find(|beam| rail.beam.as_ref().is_some_and(|name| *beam.name == **name))?;
    let it = &rail.joints[joint];
    let (index, seam) = beam.seams.iter().enumerate().min_by_key(|(_, seam)| (seam.position - it.position).abs())?;
    let stated = case.rulebook.least::<Length>(LimitName::SeamClearance).map(|(least, _)| least);
    let support = it.support.map(|support| &rail.supports[support]);
    let covers = support.and_then(|support| support.covers);
    let required = stated.or(covers.map(|covers| Length(default_seam_clearance(covers.nm()))))?;
    let origin = match (stated, support) {
        (None, Some(support)) => Origin::Derived(Box::new(
            Derivation::new(
                "required distance to a seam",
                "half the length the joint support covers",
                "from memory, no source",
                mm(required),
                "mm",
            )
            .input("covers", mm(covers?), "mm", Origin::Place(support.place)),
        )),
        _ => limit_origin(case, LimitName::SeamClearance),
    };
    let mut at = Derivation::new("position of the seam", "start + Σ pieces", "geometry", mm(seam.position), "mm")
        .input("start of the beam", mm(beam.from), "mm", Origin::Place(beam.place));
    for piece in beam.pieces.iter().take(index + 1) {
        at = at.input("piece", mm(piece.value), "mm", Origin::Place(piece.place));
    }
    let slack = (seam.position - it.position).abs() - required;
    let how = Derivation::new(
        "distance to the seam beyond what is required",
        "slack = |p − seam| − required",
        "geometry",
        mm(slack),
        "mm",
    );
    Some(how.derived("p", position(case.ledger, id, joint)).derived("seam", at).input(
        "required",
        mm(required),
        "mm",
        origin,
    ))
}

/// The meeting of a block with this joint that comes nearest to another meeting.
fn meeting(case: &Case, id: RailId, joint: usize) -> Option<PlacedDerivation> {
    let axis = &case.ledger.machine.axes[id.axis];
    let carriage = axis.carriage.as_ref()?;
    let (margin, _) = case.rulebook.least::<Length>(LimitName::MeetingMargin)?;
    let stroke = axis.stroke.map(|stroke| PositionRange { from: stroke.from.nm(), to: stroke.to.nm() });
    let mut meetings: Vec<(Meeting, usize, RailId, usize)> = Vec::new();
    for (index, block) in carriage.blocks.iter().enumerate() {
        let (Some(rail), Some(length)) = (block.rail, block.length) else { continue };
        let of = RailId { axis: id.axis, rail };
        meetings.extend(axis.rails[rail].joints.iter().enumerate().map(|(number, at)| {
            let meeting = Meeting { joint: at.position.nm(), offset: block.at.nm(), length: length.nm() };
            (meeting, index, of, number)
        }));
    }
    let mine = meetings.iter().filter(|(_, _, rail, number)| (*rail, *number) == (id, joint));
    let pairs = mine.flat_map(|a| {
        // A joint does not meet itself, whichever blocks of its rail stand over it.
        let others = meetings.iter().filter(move |b| (a.2, a.3) != (b.2, b.3));
        others.map(move |b| (meeting_slack(&a.0, &b.0, margin.nm(), stroke), a, b))
    });
    let (slack, a, b) = pairs.min_by_key(|(slack, a, b)| (*slack, a.1, b.1, b.2, b.3))?;
    let block = |how: PlacedDerivation, name: &str, index: usize| {
        let block = &carriage.blocks[index];
        let how = how.input(format!("o{name}"), mm(block.at.value), "mm", Origin::Place(block.at.place));
        match block.length {
            Some(length) => how.input(format!("ℓ{name}"), mm(length.value), "mm", Origin::Place(length.place)),
            None => how,
        }
    };
    let how = Derivation::new(
        "clearance of two meetings of blocks with joints",
        "slack = |(p − o₁) − (q − o₂)| − (ℓ₁ + ℓ₂)/2 − m, or what lies outside the stroke",
        "geometry",
        mm(Length(slack)),
        "mm",
    )
    .derived("p", position(case.ledger, id, joint))
    .derived("q", position(case.ledger, b.2, b.3));
    let how = block(block(how, "₁", a.1), "₂", b.1);
    let how = how.input("m", mm(margin), "mm", limit_origin(case, LimitName::MeetingMargin));
    let apart = Length(a.0.centre() - b.0.centre()).abs();
    let how = how.step("meetings apart, carriage travel", mm(apart), "mm");
    Some(match axis.stroke {
        Some(stroke) => how.input("stroke from", mm(stroke.from.value), "mm", Origin::Place(stroke.from.place)).input(
            "stroke to",
            mm(stroke.to.value),
            "mm",
            Origin::Place(stroke.to.place),
        ),
        None => how,
    })
}
