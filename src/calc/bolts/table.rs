//! What the standards say of metric bolts: threads, property classes and heads.
//!
//! Thread dimensions follow from diameter and pitch (ISO 724); the rest are table values. Clearance holes
//! were compared with an independent collection of fastener tables; bearing-face diameters are from
//! memory of ISO 4014 and ISO 4762 and are held by the tightening torques that VDI 2230 tabulates for them.

use std::f64::consts::PI;

/// One row of the size table; lengths in mm.
struct Size {
    nominal: f64,
    /// Coarse pitch, ISO 261.
    pitch: f64,
    /// Clearance hole, medium series, ISO 273.
    hole: f64,
    /// Least outer diameter of the bearing face of a hexagon head, ISO 4014, grade A.
    hexagon_face: f64,
    /// Least outer diameter of the bearing face of a socket head cap screw, ISO 4762.
    cap_face: f64,
}

const fn size(row: [f64; 5]) -> Size {
    let [nominal, pitch, hole, hexagon_face, cap_face] = row;
    Size { nominal, pitch, hole, hexagon_face, cap_face }
}

const SIZES: [Size; 10] = [
    size([3.0, 0.5, 3.4, 4.57, 5.07]),
    size([4.0, 0.7, 4.5, 5.88, 6.53]),
    size([5.0, 0.8, 5.5, 6.88, 8.03]),
    size([6.0, 1.0, 6.6, 8.88, 9.38]),
    size([8.0, 1.25, 9.0, 11.63, 12.33]),
    size([10.0, 1.5, 11.0, 14.63, 15.33]),
    size([12.0, 1.75, 13.5, 16.63, 17.23]),
    size([14.0, 2.0, 15.5, 19.64, 20.17]),
    size([16.0, 2.0, 17.5, 22.49, 23.17]),
    size([20.0, 2.5, 22.0, 28.19, 28.87]),
];

/// The threads by name, as a message lists them.
pub(crate) const KNOWN_THREADS: &str =
    "M3, M4, M5, M6, M8, M10, M12, M14, M16, M20, and these with a finer pitch as in M8x1";

/// A metric thread of one of the known sizes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Thread {
    row: usize,
    pitch_mm: f64,
}

impl Thread {
    /// The thread of this name: `M6` is coarse (ISO 261), `M8x1` has its pitch in mm. `None` for other sizes, and for a
    /// pitch that is not positive or coarser than the coarse one.
    pub(crate) fn named(name: &str) -> Option<Self> {
        let digits = name.trim().strip_prefix(['M', 'm'])?;
        let (nominal, pitch) = match digits.split_once(['x', 'X', '×']) {
            Some((nominal, pitch)) => (nominal, Some(pitch.trim().parse::<f64>().ok()?)),
            None => (digits, None),
        };
        let nominal: f64 = nominal.trim().parse().ok()?;
        let row = SIZES.iter().position(|size| size.nominal == nominal)?;
        let coarse = SIZES[row].pitch;
        let pitch_mm = pitch.unwrap_or(coarse);
        // Below a tenth of the coarse pitch there is no thread any more, only a slip of the pen.
        (pitch_mm >= coarse / 10.0 && pitch_mm <= coarse).then_some(Self { row, pitch_mm })
    }

    fn size(self) -> &'static Size {
        &SIZES[self.row]
    }

    /// The name as the trade writes it: `M6`, or `M8x1` for a finer pitch.
    pub(crate) fn name(self) -> String {
        let Size { nominal, pitch, .. } = *self.size();
        if self.pitch_mm == pitch { format!("M{nominal}") } else { format!("M{nominal}x{}", self.pitch_mm) }
    }

    /// Nominal diameter d in mm.
    pub(crate) fn nominal_mm(self) -> f64 {
        self.size().nominal
    }

    /// Pitch P in mm (ISO 261).
    pub(crate) fn pitch_mm(self) -> f64 {
        self.pitch_mm
    }

    /// Pitch diameter d2 = d − 0.649519 P in mm (ISO 724).
    pub(crate) fn pitch_diameter_mm(self) -> f64 {
        self.nominal_mm() - 0.649_519 * self.pitch_mm
    }

    /// Minor diameter of the root d3 = d − 1.226869 P in mm (ISO 724, ISO 68-1).
    pub(crate) fn minor_diameter_mm(self) -> f64 {
        self.nominal_mm() - 1.226_869 * self.pitch_mm
    }

    /// The tolerance of grade 6 of an external thread's pitch diameter in µm: ISO 965-1, 90 · P^0.4 · d^0.1 with d as the
    /// middle of its range of diameters, from memory.
    fn pitch_diameter_tolerance_um(self) -> f64 {
        let nominal: f64 = self.nominal_mm();
        let range = [[2.8, 5.6], [5.6, 11.2], [11.2, 22.4]];
        let [from, to]: [f64; 2] = range.into_iter().find(|[_, to]| nominal <= *to).unwrap_or(range[2]);
        90.0 * self.pitch_mm.powf(0.4) * (from * to).sqrt().powf(0.1)
    }

    /// The largest pitch diameter D2 of an internal thread of tolerance 6H in mm: 1.32 times that tolerance. The standard
    /// rounds its tolerances; five hundredths more, here and below, keep them from being less.
    pub(crate) fn largest_internal_pitch_diameter_mm(self) -> f64 {
        self.pitch_diameter_mm() + 1.05 * 1.32 * self.pitch_diameter_tolerance_um() / 1000.0
    }

    /// The smallest outer diameter of an external thread of tolerance 6g in mm: ISO 965-1, from memory.
    pub(crate) fn smallest_outer_diameter_mm(self) -> f64 {
        let pitch = self.pitch_mm;
        let (gap, tolerance) = (15.0 + 11.0 * pitch, 180.0 * pitch.powf(2.0 / 3.0) - 3.15 / pitch.sqrt());
        self.nominal_mm() - 1.05 * (gap + tolerance) / 1000.0
    }

    /// The largest minor diameter D1 of an internal thread of tolerance 6H in mm: ISO 965-1, from memory.
    pub(crate) fn largest_internal_minor_diameter_mm(self) -> f64 {
        let pitch = self.pitch_mm;
        let fine = 433.0 * pitch - 190.0 * pitch.powf(1.22);
        let tolerance_um = if pitch < 1.0 { fine } else { 230.0 * pitch.powf(0.7) };
        self.nominal_mm() - 1.082_532 * pitch + 1.05 * tolerance_um / 1000.0
    }

    /// The smallest pitch diameter d2 of an external thread of tolerance 6g in mm: ISO 965-1, from memory.
    pub(crate) fn smallest_pitch_diameter_mm(self) -> f64 {
        let gap = 15.0 + 11.0 * self.pitch_mm;
        self.pitch_diameter_mm() - 1.05 * (gap + self.pitch_diameter_tolerance_um()) / 1000.0
    }

    /// The diameter of the stress area d0 = (d2 + d3)/2 in mm (VDI 2230).
    pub(crate) fn stress_diameter_mm(self) -> f64 {
        f64::midpoint(self.pitch_diameter_mm(), self.minor_diameter_mm())
    }

    /// Stress area As = π/4 · ((d2 + d3)/2)² in mm² (ISO 898-1).
    pub(crate) fn stress_area_mm2(self) -> f64 {
        PI / 4.0 * self.stress_diameter_mm().powi(2)
    }
}

/// A property class of bolts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Class {
    /// 8.8 of ISO 898-1
    C8_8,
    /// 10.9 of ISO 898-1
    C10_9,
    /// 12.9 of ISO 898-1
    C12_9,
    /// Soft austenitic stainless steel of ISO 3506-1, of a grade from A1 on.
    A50(AusteniticGrade),
    /// The same, cold worked.
    A70(AusteniticGrade),
    /// The same, of high strength.
    A80(AusteniticGrade),
}

/// A grade of austenitic stainless steel: they differ in what they resist, not in their strength.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum AusteniticGrade {
    A1,
    A2,
    A3,
    A4,
    A5,
}

/// The strength of a property class in MPa.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Strength {
    /// Least tensile strength Rm.
    pub tensile_mpa: f64,
    /// Least stress at 0.2 % non-proportional extension Rp0.2.
    pub yield_mpa: f64,
    /// Stress under proof load Sp.
    pub proof_mpa: f64,
}

/// The classes by name, as a message lists them.
pub(crate) const KNOWN_CLASSES: &str = "8.8, 10.9, 12.9, and A1 to A5 of 50, 70 or 80 as in A2-70";

impl Class {
    /// All of them, those of ISO 898-1 first, weakest first.
    pub(crate) const ALL: [Self; 18] = {
        use AusteniticGrade::{A1, A2, A3, A4, A5};
        [
            Self::C8_8,
            Self::C10_9,
            Self::C12_9,
            Self::A50(A1),
            Self::A50(A2),
            Self::A50(A3),
            Self::A50(A4),
            Self::A50(A5),
            Self::A70(A1),
            Self::A70(A2),
            Self::A70(A3),
            Self::A70(A4),
            Self::A70(A5),
            Self::A80(A1),
            Self::A80(A2),
            Self::A80(A3),
            Self::A80(A4),
            Self::A80(A5),
        ]
    };

    /// As marked on the head.
    pub(crate) const fn name(self) -> &'static str {
        const AUSTENITIC: [[&str; 3]; 5] = [
            ["A1-50", "A1-70", "A1-80"],
            ["A2-50", "A2-70", "A2-80"],
            ["A3-50", "A3-70", "A3-80"],
            ["A4-50", "A4-70", "A4-80"],
            ["A5-50", "A5-70", "A5-80"],
        ];
        match self {
            Self::C8_8 => "8.8",
            Self::C10_9 => "10.9",
            Self::C12_9 => "12.9",
            Self::A50(grade) => AUSTENITIC[grade as usize][0],
            Self::A70(grade) => AUSTENITIC[grade as usize][1],
            Self::A80(grade) => AUSTENITIC[grade as usize][2],
        }
    }

    /// The class of this name.
    pub(crate) fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|class| class.name() == name.trim())
    }

    /// Its strength at a nominal diameter (ISO 898-1, where 8.8 is stronger beyond 16 mm; ISO 3506-1). For stainless steel
    /// no stress under proof load is taken over: Rp0.2 stands for it.
    pub(crate) fn strength(self, nominal_mm: f64) -> Strength {
        let [tensile_mpa, yield_mpa, proof_mpa] = match self {
            Self::C8_8 if nominal_mm > 16.0 => [830.0, 660.0, 600.0],
            Self::C8_8 => [800.0, 640.0, 580.0],
            Self::C10_9 => [1040.0, 940.0, 830.0],
            Self::C12_9 => [1220.0, 1100.0, 970.0],
            Self::A50(_) => [500.0, 210.0, 210.0],
            Self::A70(_) => [700.0, 450.0, 450.0],
            Self::A80(_) => [800.0, 600.0, 600.0],
        };
        Strength { tensile_mpa, yield_mpa, proof_mpa }
    }

    /// Its shear strength over its tensile strength: VDI 2230-1, from memory. Of stainless steels it is 0.80 where they are
    /// annealed, and less where they are cold-worked, as most bolts are: 0.65 is taken, on the safe side.
    pub(crate) const fn shear_ratio(self) -> f64 {
        match self {
            Self::C8_8 => 0.65,
            Self::C10_9 => 0.62,
            Self::C12_9 => 0.60,
            Self::A50(_) | Self::A70(_) | Self::A80(_) => 0.65,
        }
    }

    /// Where its strength is from.
    pub(crate) const fn source(self) -> &'static str {
        match self {
            Self::C8_8 | Self::C10_9 | Self::C12_9 => "ISO 898-1",
            Self::A50(_) | Self::A70(_) | Self::A80(_) => "ISO 3506-1",
        }
    }

    /// Where its stress under proof load is from.
    pub(crate) const fn proof_source(self) -> &'static str {
        match self {
            Self::C8_8 | Self::C10_9 | Self::C12_9 => "ISO 898-1",
            Self::A50(_) | Self::A70(_) | Self::A80(_) => "ISO 3506-1: Rp0.2, taken for a stress under proof load",
        }
    }
}

/// The head of a bolt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum BoltHead {
    /// Hexagon socket head cap screw, ISO 4762.
    SocketCap,
    /// Hexagon socket button head screw, ISO 7380-1.
    Button,
    /// Hexagon head, ISO 4014 and ISO 4017.
    Hexagon,
    /// Hexagon socket countersunk head screw, ISO 10642.
    Countersunk,
}

impl BoltHead {
    /// All of them.
    pub(crate) const ALL: [Self; 4] = [Self::SocketCap, Self::Button, Self::Hexagon, Self::Countersunk];

    /// The word for it.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::SocketCap => "socket-cap",
            Self::Button => "button",
            Self::Hexagon => "hexagon",
            Self::Countersunk => "countersunk",
        }
    }

    /// The head of this name.
    pub(crate) fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|head| head.name() == name.trim())
    }

    /// The percentage of the thread's load that the head carries: 80 for button heads (ISO 7380-1) and, from memory, for
    /// countersunk ones (ISO 10642).
    pub(crate) const fn carries_percent(self) -> u8 {
        match self {
            Self::SocketCap | Self::Hexagon => 100,
            Self::Button | Self::Countersunk => 80,
        }
    }

    /// Where that percentage is from.
    pub(crate) const fn carries_source(self) -> &'static str {
        match self {
            Self::SocketCap => "ISO 4762: loadable to the thread's strength",
            Self::Hexagon => "ISO 4014: loadable to the thread's strength",
            Self::Button => "ISO 7380-1: reduced loadability",
            Self::Countersunk => "ISO 10642: reduced loadability, from memory",
        }
    }

    /// The mean diameter of the seat D_Km = (face + clearance hole)/2 in mm (VDI 2230), on a flat seat without washer.
    ///
    /// ISO 7380-1 gives no bearing face: the hexagon head's is taken, which is smaller than any button head's, so that the
    /// torque allowed errs to the safe side. A countersunk seat is a cone whose size and angle count: `None`.
    pub(crate) fn seat_mm(self, thread: Thread) -> Option<f64> {
        let size = thread.size();
        let face = match self {
            Self::SocketCap => size.cap_face,
            Self::Hexagon | Self::Button => size.hexagon_face,
            Self::Countersunk => return None,
        };
        Some(f64::midpoint(face, size.hole))
    }

    /// Where the seat's diameter is from.
    pub(crate) const fn seat_source(self) -> &'static str {
        match self {
            Self::SocketCap => "face of ISO 4762 and hole of ISO 273 medium, mean",
            Self::Hexagon => "face of ISO 4014 and hole of ISO 273 medium, mean",
            Self::Button => "the hexagon head's (ISO 4014, ISO 273), smaller than a button's: safe side",
            Self::Countersunk => "must be stated",
        }
    }
}
