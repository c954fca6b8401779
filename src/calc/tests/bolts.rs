//! Bolts against the tables of the standards they follow.

use crate::calc::bolts::{
    AusteniticGrade, BoltError, BoltHead, BoltOrigins, Class, Friction, SeatedBolt, Thread, TorqueBound, ValueRange,
    WindowFit, bolt_shear_area_mm2, derive_allowed_torque, derive_preload, shear_area_mm2, window_fit,
};
use crate::calc::derivation::{Derivation, Origin};
use proptest::prelude::*;

fn thread(name: &str) -> Thread {
    Thread::named(name).unwrap_or_else(|| panic!("{name} is in the table"))
}

fn bolt(name: &str, class: Class, head: BoltHead) -> SeatedBolt {
    SeatedBolt::new(thread(name), class, head, None).expect("a standard seat")
}

#[test]
fn pitches_and_pitch_diameters_are_those_of_the_standard() {
    // ISO 261 coarse series and ISO 724, basic pitch diameter, three decimals.
    let table = [
        ("M3", 0.5, 2.675),
        ("M4", 0.7, 3.545),
        ("M5", 0.8, 4.480),
        ("M6", 1.0, 5.350),
        ("M8", 1.25, 7.188),
        ("M10", 1.5, 9.026),
        ("M12", 1.75, 10.863),
        ("M14", 2.0, 12.701),
        ("M16", 2.0, 14.701),
        ("M20", 2.5, 18.376),
        ("M8x1", 1.0, 7.350),
        ("M10x1.25", 1.25, 9.188),
        ("M12x1.5", 1.5, 11.026),
    ];
    for (name, pitch, d2) in table {
        let thread = thread(name);
        assert_eq!(thread.pitch_mm(), pitch, "{name}");
        assert!((thread.pitch_diameter_mm() - d2).abs() <= 0.000_501, "{name}: {}", thread.pitch_diameter_mm());
        assert_eq!(thread.name(), name);
    }
}

#[test]
fn threads_that_no_table_has_are_refused() {
    for name in ["M7", "6", "M", "M6x", "M6x2", "M6x0", "M6x-1", "Mx1", "M6xNaN", "MNaN", "Minf", "UNC 1/4", ""] {
        assert_eq!(Thread::named(name), None, "{name}");
    }
    assert_eq!(Thread::named(" m6 ").map(Thread::name).as_deref(), Some("M6"));
    assert_eq!(Thread::named("M6x1").map(Thread::name).as_deref(), Some("M6"));
}

#[test]
fn stress_areas_and_proof_loads_are_those_of_the_standard() {
    // EN ISO 898-1, tables of coarse threads: stress area in mm² to three digits, proof loads 8.8/10.9/12.9 in N.
    let table = [
        ("M4", 8.78, [5_100.0, 7_290.0, 8_520.0]),
        ("M5", 14.2, [8_230.0, 11_800.0, 13_800.0]),
        ("M6", 20.1, [11_600.0, 16_700.0, 19_500.0]),
        ("M8", 36.6, [21_200.0, 30_400.0, 35_500.0]),
    ];
    for (name, area, loads) in table {
        let rounded = |value: f64| format!("{value:.*}", if area < 10.0 { 2 } else { 1 });
        assert_eq!(rounded(thread(name).stress_area_mm2()), rounded(area), "{name}");
        for (class, load) in Class::ALL.into_iter().zip(loads) {
            let computed = bolt(name, class, BoltHead::SocketCap).proof_load_n();
            // The table is made from rounded areas and rounded down or up to three digits: 0.7 % at most (M6 8.8).
            assert!((computed / load - 1.0).abs() < 0.007, "{name} {class:?}: {computed} for {load}");
        }
    }
    // The same table, further sizes, from memory.
    for (name, area) in
        [("M3", "5.03"), ("M10", "58.0"), ("M12", "84.3"), ("M14", "115"), ("M16", "157"), ("M20", "245")]
    {
        let places = area.split_once('.').map_or(0, |(_, behind)| behind.len());
        assert_eq!(format!("{:.places$}", thread(name).stress_area_mm2()), area, "{name}");
    }
    // ISO 898-1: 8.8 has Sp 580 MPa up to 16 mm and 600 beyond.
    let sp = |name: &str| bolt(name, Class::C8_8, BoltHead::Hexagon).proof_load_n() / thread(name).stress_area_mm2();
    assert!((sp("M16") - 580.0).abs() < 1e-9 && (sp("M20") - 600.0).abs() < 1e-9);
}

#[test]
fn tightening_torques_are_those_of_the_guideline() {
    // VDI 2230 table for hexagon seats, as reprinted in a machine manual (µ of the second row set inferred): N·m, three
    // classes. D_Km 6.19 (M5) and 7.74 (M6) are (bearing face of ISO 4014 + hole of ISO 273)/2.
    let table = [
        (0.14, "M5", 6.19, [6.5, 9.5, 11.2]),
        (0.14, "M6", 7.74, [11.3, 16.5, 19.3]),
        (0.12, "M5", 6.19, [5.9, 8.6, 10.0]),
        (0.12, "M6", 7.74, [10.1, 14.9, 17.4]),
    ];
    for (friction, name, seat, torques) in table {
        for (class, torque) in Class::ALL.into_iter().zip(torques) {
            let stated = SeatedBolt::new(thread(name), class, BoltHead::Hexagon, Some(seat)).expect("a fitting seat");
            let computed = stated.tightening_torque_nm(friction);
            assert!((computed - torque).abs() < 0.06, "{name} {class:?} at {friction}: {computed} for {torque}");
            let standard = BoltHead::Hexagon.seat_mm(thread(name)).expect("a standard seat");
            assert!((standard - seat).abs() < 1e-9, "{name}: seat {standard}");
        }
    }
}

#[test]
fn standard_seats_reproduce_the_guideline_in_other_sizes() {
    // VDI 2230:2003, table A1 for hexagon and socket cap seats, class 8.8, from memory: M_A in N·m at µ 0.12 and 0.14.
    // It holds the bearing faces and holes of the size table; within half a unit of the last digit and 1.5 %.
    let table = [
        ("M4", 3.0, 3.3),
        ("M8", 24.6, 27.3),
        ("M10", 48.0, 54.0),
        ("M12", 84.0, 93.0),
        ("M14", 133.0, 148.0),
        ("M16", 206.0, 230.0),
        ("M20", 415.0, 464.0),
    ];
    for (name, at_12, at_14) in table {
        for (friction, torque) in [(0.12, at_12), (0.14, at_14)] {
            let computed = bolt(name, Class::C8_8, BoltHead::Hexagon).tightening_torque_nm(friction);
            assert!((computed / torque - 1.0).abs() < 0.015, "{name} at {friction}: {computed} for {torque}");
        }
    }
}

#[test]
fn seats_lie_under_their_heads() {
    // Greatest head diameters dk: ISO 4762 plain head and ISO 7380-1, mm; holes: ISO 273 medium.
    let table = [
        ("M3", 3.4, 5.5, Some(5.7)),
        ("M4", 4.5, 7.0, Some(7.6)),
        ("M5", 5.5, 8.5, Some(9.5)),
        ("M6", 6.6, 10.0, Some(10.5)),
        ("M8", 9.0, 13.0, Some(14.0)),
        ("M10", 11.0, 16.0, Some(17.5)),
        ("M12", 13.5, 18.0, Some(21.0)),
        ("M14", 15.5, 21.0, None),
        ("M16", 17.5, 24.0, Some(28.0)),
        ("M20", 22.0, 30.0, None),
    ];
    for (name, hole, cap, button) in table {
        let thread = thread(name);
        // D_Km = (face + hole)/2, turned round. A cap's face is its head less a rounded edge.
        let face = |head: BoltHead| 2.0 * head.seat_mm(thread).expect("a standard seat") - hole;
        assert!((0.90..1.0).contains(&(face(BoltHead::SocketCap) / cap)), "{name}: {}", face(BoltHead::SocketCap));
        // What the doc of the button's seat claims: smaller than the head, so the torque allowed is on the safe side.
        assert!(button.is_none_or(|button| face(BoltHead::Button) < button - 0.5), "{name}");
        assert_eq!(BoltHead::Countersunk.seat_mm(thread), None);
    }
}

#[test]
fn a_button_head_carries_four_fifths() {
    // ISO 7380-1: 80 % of the thread's load. M6 8.8 then allows 8.1 N·m at µ 0.12 (80 % of the guideline's 10.1).
    let button = bolt("M6", Class::C8_8, BoltHead::Button);
    let hexagon = bolt("M6", Class::C8_8, BoltHead::Hexagon);
    assert!((button.proof_load_n() / hexagon.proof_load_n() - 0.8).abs() < 1e-12);
    let friction = Friction::new(0.12, 0.14).expect("a range");
    let allowed = button.allowed_torque(friction);
    assert_eq!(format!("{:.1}", allowed.newton_metres), "8.1");
    // The trade's window of 10 to 11 N·m, in thousandths, is beyond it altogether.
    let milli = |torque: f64| (torque * 1000.0).floor() as i64;
    let most = milli(allowed.newton_metres);
    assert_eq!(window_fit(10_000, 11_000, most, None), WindowFit::Nothing { most, bound: TorqueBound::Bolt });
    // The same window fits a 10.9 button head on this seat, and a socket cap of 8.8 only in its lower part or not at all.
    let strong = milli(bolt("M6", Class::C10_9, BoltHead::Button).allowed_torque(friction).newton_metres);
    assert_eq!(window_fit(10_000, 11_000, strong, None), WindowFit::Whole);
    // A maker's limit for thread in aluminium binds first.
    assert_eq!(
        window_fit(10_000, 11_000, strong, Some(10_500)),
        WindowFit::LowerPart { most: 10_500, bound: TorqueBound::Stated }
    );
    assert_eq!(window_fit(10_000, 11_000, strong, Some(20_000)), WindowFit::Whole);
    // The lesser of two limits binds, and is named; of two alike the bolt's.
    for (bolt, stated, limit, bound) in [
        (10_500, 10_499, 10_499, TorqueBound::Stated),
        (10_500, 10_500, 10_500, TorqueBound::Bolt),
        (10_500, 10_501, 10_500, TorqueBound::Bolt),
        (10_500, 20_000, 10_500, TorqueBound::Bolt),
    ] {
        let fit = window_fit(10_000, 11_000, bolt, Some(stated));
        assert_eq!(fit, WindowFit::LowerPart { most: limit, bound }, "{bolt} {stated}");
    }
    // Limits belong to the window.
    assert_eq!(window_fit(8_000, 11_000, 11_000, None), WindowFit::Whole);
    assert_eq!(window_fit(8_000, 11_000, 8_000, None), WindowFit::LowerPart { most: 8_000, bound: TorqueBound::Bolt });
}

#[test]
fn friction_is_a_range_of_coefficients() {
    let range = Friction::new(0.08, 0.16).expect("a range");
    assert_eq!((range.least(), range.most()), (0.08, 0.16));
    // Both ends belong to it.
    for (least, most, taken) in [
        (0.02, 1.0, true),
        (0.1, 0.1, true),
        (0.019, 0.1, false),
        (0.1, 1.001, false),
        (0.12, 0.11, false),
        (f64::NAN, 0.1, false),
        (0.1, f64::NAN, false),
    ] {
        assert_eq!(Friction::new(least, most).is_ok(), taken, "{least} to {most}");
    }
}

#[test]
fn preload_follows_the_guideline_back() {
    // The guideline's own pair, M6 8.8 at µ 0.14: 11.3 N·m make 9.9 kN (VDI 2230 table A1, the force from memory).
    let bolt = bolt("M6", Class::C8_8, BoltHead::Hexagon);
    let friction = Friction::new(0.12, 0.14).expect("a range");
    let preload = bolt.preload_n(ValueRange { least: 11.3, most: 11.3 }, friction).expect("a torque");
    assert!((preload.least / 9_900.0 - 1.0).abs() < 0.01, "{preload:?}");
    assert!(preload.most > preload.least);
    // By hand for µ 0.12: 11 300 / (0.16 + 0.58·5.3505·0.12 + 0.12·7.74/2) = 11 300/0.9968 = 11 336 N, of 11 671 N proof.
    assert!((preload.most - 11_336.0).abs() < 3.0, "{preload:?}");
    let share = bolt.proof_share(ValueRange { least: 11.3, most: 11.3 }, friction).expect("a torque");
    assert!((share.most - 0.971).abs() < 0.001, "{share:?}");
}

#[test]
fn what_makes_no_sense_is_refused() {
    assert!(matches!(
        SeatedBolt::new(thread("M6"), Class::C8_8, BoltHead::Countersunk, None),
        Err(BoltError::SeatUnknown)
    ));
    for seat in [0.0, 5.0, 25.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(
            SeatedBolt::new(thread("M6"), Class::C8_8, BoltHead::Button, Some(seat)),
            Err(BoltError::Seat { .. })
        ));
    }
    for (least, most) in [(0.0, 0.1), (0.2, 0.1), (0.1, 1.1), (f64::NAN, 0.1), (0.1, f64::NAN)] {
        assert!(Friction::new(least, most).is_err(), "{least} {most}");
    }
    let friction = Friction::new(0.1, 0.2).expect("a range");
    for (least, most) in [(-1.0, 1.0), (2.0, 1.0), (1.0, f64::INFINITY), (f64::NAN, 1.0)] {
        let torque = ValueRange { least, most };
        assert!(bolt("M6", Class::C8_8, BoltHead::Button).preload_n(torque, friction).is_err(), "{torque:?}");
    }
}

proptest! {
    /// The allowed torque is taken at the least friction; that is right only if M_A never falls with friction.
    #[test]
    fn more_friction_allows_more_torque(
        name in prop::sample::select(vec!["M3", "M4", "M5", "M6", "M8", "M10", "M12", "M16", "M20", "M8x0.5"]),
        class in prop::sample::select(Class::ALL.to_vec()),
        seat in 1.05..4.0_f64,
        low in 0.02..1.0_f64,
        high in 0.02..1.0_f64,
    ) {
        let thread = thread(name);
        let bolt = SeatedBolt::new(thread, class, BoltHead::Button, Some(seat * thread.nominal_mm())).expect("a fitting seat");
        let (low, high) = (low.min(high), low.max(high));
        prop_assert!(bolt.tightening_torque_nm(low) <= bolt.tightening_torque_nm(high) * (1.0 + 1e-12));
        prop_assert!(bolt.assembly_preload_n(low) >= bolt.assembly_preload_n(high) * (1.0 - 1e-12));
        // Torque and preload undo each other.
        let torque = bolt.tightening_torque_nm(low);
        let back = bolt.preload_n(ValueRange { least: torque, most: torque }, Friction::new(low, low).expect("a range"));
        let back = back.expect("a torque").least;
        prop_assert!((back / bolt.assembly_preload_n(low) - 1.0).abs() < 1e-12);
    }
}

fn origins() -> BoltOrigins<u32> {
    BoltOrigins { thread: 46, class: 46, head: 46, seat: None, friction: Origin::Place(47) }
}

#[test]
fn an_allowed_torque_says_where_it_comes_from() {
    let button = bolt("M6", Class::C8_8, BoltHead::Button);
    let friction = Friction::new(0.12, 0.14).expect("a range");
    let text = derive_allowed_torque(&button, friction, &origins()).to_text(|line| format!("shop.kdl:{line}"));
    insta::assert_snapshot!(text);
}

#[test]
fn the_printed_inputs_of_a_derivation_give_its_result() {
    // Done again from the printed digits alone, with the formula as printed.
    let button = bolt("M6", Class::C8_8, BoltHead::Button);
    let friction = Friction::new(0.12, 0.14).expect("a range");
    let sheet = derive_allowed_torque(&button, friction, &origins());
    let value = |sheet: &Derivation<u32>, name: &str| -> f64 {
        let input = sheet.inputs.iter().find(|input| input.name == name).expect("an input");
        input.value.parse().expect("a number")
    };
    let (p, d2, mu, seat) =
        (value(&sheet, "P"), value(&sheet, "d2"), value(&sheet, "µ (least)"), value(&sheet, "D_Km"));
    let torque = value(&sheet, "F_M") * (0.16 * p + 0.58 * d2 * mu + mu * seat / 2.0) / 1000.0;
    let result: f64 = sheet.result.parse().expect("a number");
    assert!((torque / result - 1.0).abs() < 0.001, "{torque} for {result}");

    let once = ValueRange { least: 8.0, most: 8.0 };
    let at = Origin::Place(90);
    let sheet = derive_preload(&button, once, &at, friction, &origins()).expect("a torque");
    assert_eq!(sheet.inputs.first().map(|input| (input.value.as_str(), &input.origin)), Some(("8", &at)));
    let proof = value(&sheet, "F_p");
    assert!((proof - button.proof_load_n()).abs() < 0.5, "{proof}");
    let (least, most) = sheet.result.split_once(" to ").expect("a range");
    let preload = button.preload_n(once, friction).expect("a torque");
    assert_eq!((least, most), (&*format!("{:.0}", preload.least), &*format!("{:.0}", preload.most)));
    // The share of the proof load in percent is the two numbers above it, divided.
    let share = sheet.steps.iter().find(|step| step.value.contains(" to ")).expect("the share");
    let (low, high) = share.value.split_once(" to ").expect("a range");
    for (shown, preload) in [(low, preload.least), (high, preload.most)] {
        let shown: f64 = shown.parse().expect("a number");
        assert!((shown / (100.0 * preload / proof) - 1.0).abs() < 0.01, "{shown}");
    }
}

#[test]
fn stainless_bolts_reach_their_yield_point_at_the_loads_of_the_table() {
    // Loads at 0.2 % in N of coarse threads of steel groups A2-70 and A4-70, table of a maker as reprinted by suppliers.
    let table = [("M4", 3_960.0), ("M5", 6_390.0), ("M6", 9_040.0), ("M8", 16_470.0)];
    for (name, load) in table {
        for grade in ["A2-70", "A4-70"] {
            let class = Class::named(grade).unwrap_or_else(|| panic!("{grade}"));
            let yields = class.strength(thread(name).nominal_mm()).yield_mpa * thread(name).stress_area_mm2();
            assert!((yields / load - 1.0).abs() < 0.005, "{name} {grade}: {yields} for {load}");
        }
    }
    // ISO 3506-1:2020, table of mechanical properties as reprinted: Rm and Rp0.2 in MPa.
    for (name, tensile, yields) in [("A2-50", 500.0, 210.0), ("A2-70", 700.0, 450.0), ("A2-80", 800.0, 600.0)] {
        let strength = Class::named(name).unwrap_or_else(|| panic!("{name}")).strength(8.0);
        assert_eq!((strength.tensile_mpa, strength.yield_mpa), (tensile, yields), "{name}");
    }
    assert_eq!(Class::named("A4-80"), Some(Class::A80(AusteniticGrade::A4)));
    for name in ["A6-70", "A2-60", "A2", "A2-070", "C1-70"] {
        assert_eq!(Class::named(name), None, "{name}");
    }
}

#[test]
fn a_threaded_part_is_sheared_as_in_the_published_example() {
    // Handbook of Bolts and Bolted Joints, CRC Press 1998, the chapter on thread strength (10.1201/9781482273786-99):
    // M10 x 1.5 in aluminium of 130 MPa, d 9.968 mm, D2 9.206 mm; 69,600 N need 21.6 mm.
    let held_by_a_millimetre = 130.0 * shear_area_mm2(9.968, 9.206, 1.5, 1.0);
    assert!((69_600.0 / held_by_a_millimetre - 21.6).abs() < 0.06, "{}", 69_600.0 / held_by_a_millimetre);
    // The same bolt by the guideline: 1.2 Rm of its class instead of 1200 MPa, the smallest bolt of 6g (9.732 mm, ISO 965-2)
    // and teeth that bend (0.897, from memory): longer in that proportion, and a little more for the rounding.
    let smallest = 130.0 * shear_area_mm2(9.732, 9.206, 1.5, 1.0);
    let expected = 1.2 * 1040.0 * 58.0 / 0.897 / smallest;
    let needed = bolt("M10", Class::C10_9, BoltHead::SocketCap).engagement_needed_mm(130.0);
    assert!(needed > expected && needed < 1.04 * expected, "{needed} for {expected}");
}

#[test]
fn tolerances_are_no_less_than_those_of_the_standard() {
    // ISO 965-2, limits of sizes of coarse threads, medium quality: largest D2 of 6H, smallest d of 6g; from memory.
    let table = [("M6", 5.500, 5.794), ("M8", 7.348, 7.760), ("M10", 9.206, 9.732), ("M12", 11.063, 11.701)];
    for (name, largest, smallest) in table {
        let thread = thread(name);
        let (d2, d) = (thread.largest_internal_pitch_diameter_mm(), thread.smallest_outer_diameter_mm());
        assert!(d2 >= largest - 0.001 && d2 < largest + 0.012, "{name}: D2 {d2} for {largest}");
        assert!(d <= smallest + 0.001 && d > smallest - 0.02, "{name}: d {d} for {smallest}");
    }
    // The same tables: largest D1 of 6H, smallest d2 of 6g; from memory.
    let table = [("M6", 5.153, 5.212), ("M8", 6.912, 7.042), ("M10", 8.676, 8.862), ("M12", 10.441, 10.679)];
    for (name, largest, smallest) in table {
        let thread = thread(name);
        let (d1, d2) = (thread.largest_internal_minor_diameter_mm(), thread.smallest_pitch_diameter_mm());
        assert!(d1 >= largest - 0.001 && d1 < largest + 0.025, "{name}: D1 {d1} for {largest}");
        assert!(d2 <= smallest + 0.001 && d2 > smallest - 0.012, "{name}: d2 {d2} for {smallest}");
    }
}

#[test]
fn the_weaker_of_both_threads_says_how_much_must_be_engaged() {
    // A regular nut (ISO 4032, least height; from memory) is made so high that the bolt breaks before its own thread strips,
    // in a nut of any strength; a thin one (ISO 4035) is not.
    for (name, regular, thin) in [("M6", 4.9, 2.9), ("M8", 6.44, 3.7), ("M10", 8.04, 4.7), ("M12", 10.37, 5.7)] {
        let needed = bolt(name, Class::C10_9, BoltHead::Hexagon).engagement_needed_mm(1e6);
        assert!(thin < needed && needed < regular, "{name}: {needed} mm, a nut has {regular}");
    }
    // M6 of class 10.9 by hand from the sizes of ISO 965-2: A_SGS = π · 5.153 · (0.5 + 0.059 / √3) = 8.646 mm² a mm, of
    // 0.62 · 1040 MPa and 0.897: 5000.5 N a mm against 1040 · 20.12 = 20 930 N, 4.19 mm.
    assert!((bolt_shear_area_mm2(5.153, 5.212, 1.0, 1.0) - 8.646).abs() < 0.001);
    let strong = bolt("M6", Class::C10_9, BoltHead::SocketCap);
    let needed = strong.engagement_needed_mm(1e6);
    assert!((4.18..4.36).contains(&needed), "{needed}");
    // In aluminium its own thread plays no part: twice the strength needs half the length.
    let [weak, twice] = [100.0, 200.0].map(|shear| strong.engagement_needed_mm(shear));
    assert!((weak / twice - 2.0).abs() < 1e-9, "{weak} {twice}");
    // What holds is told by the same two: with the length at which the part needs 1.2 times what breaks the bolt.
    let holds = strong.thread_holds_n(100.0, weak);
    assert!((holds / (1.2 * 1040.0 * 20.12) - 1.0).abs() < 0.001, "{holds}");
}
