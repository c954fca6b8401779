//! How a rail segment gives way under what presses on it: a beam of even section on its supports, free at both ends.
//!
//! Euler–Bernoulli beam, one Hermite element from support to support, which is exact at the supports; within an element the
//! fixed–fixed beam under a load between its ends is added (handbook case: Roark's Formulas for Stress and Strain,
//! table of beams). The matrix is inverted once.

use super::inverse::invert;

/// A support under a segment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct BeamHold {
    /// Where its middle lies, in mm along the axis.
    pub at: f64,
    /// Its stiffness in this plane in N/mm; `None`: it does not yield.
    pub stiffness: Option<f64>,
}

/// What is taken of a beam at a place: how far it yields there, or how it slopes. The load that belongs to it is a force or a
/// moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Feel {
    Way,
    Slope,
}

/// A segment in one plane.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SegmentBeam {
    /// Both ends and all supports, in rising order.
    nodes: Vec<f64>,
    /// N·mm².
    rigidity: f64,
    /// The rows of the inverse for the four ends of each element: way and slope on the left, way and slope on the right. What
    /// does not yield has the last row, which is nought.
    elements: Vec<[usize; 4]>,
    rows: usize,
    inverse: Vec<f64>,
}

/// More supports than this under one segment are not looked at.
pub(crate) const MOST_HOLDS: usize = 200;

impl SegmentBeam {
    /// A segment from one end to the other with the rigidity E·I in N·mm². `None` where it is not held against moving
    /// and tilting (it takes two supports), has too many supports, or a number is out of order.
    pub(crate) fn new([from, to]: [f64; 2], holds: &[BeamHold], rigidity: f64) -> Option<Self> {
        let within = |hold: &&BeamHold| hold.at >= from && hold.at <= to;
        let mut held: Vec<BeamHold> = holds.iter().filter(within).copied().collect();
        held.sort_by(|a, b| a.at.total_cmp(&b.at));
        held.dedup_by(|a, b| a.at == b.at);
        if !(from < to && rigidity > 0.0 && rigidity.is_finite()) || held.len() < 2 || held.len() > MOST_HOLDS {
            return None;
        }
        let mut nodes: Vec<f64> = held.iter().map(|hold| hold.at).chain([from, to]).collect();
        nodes.sort_by(f64::total_cmp);
        nodes.dedup();
        // The ways that are free, then all slopes.
        let stiffness = |at: &f64| held.iter().find(|hold| hold.at == *at).map(|hold| hold.stiffness);
        let is_free = |at: &&f64| stiffness(at) != Some(None);
        let free = nodes.iter().filter(is_free).count();
        let rows = free + nodes.len();
        let mut next = 0;
        let mut ways = Vec::with_capacity(nodes.len());
        for at in &nodes {
            ways.push(if is_free(&at) { next } else { rows });
            next += usize::from(is_free(&at));
        }
        let ends = |n: usize| [ways[n], free + n, ways[n + 1], free + n + 1];
        let elements: Vec<[usize; 4]> = (0..nodes.len() - 1).map(ends).collect();
        let mut matrix = vec![0.0; rows * rows];
        for (pair, places) in nodes.windows(2).zip(&elements) {
            let l = pair[1] - pair[0];
            let l2 = l * l;
            let local = [
                [12.0, 6.0 * l, -12.0, 6.0 * l],
                [6.0 * l, 4.0 * l2, -6.0 * l, 2.0 * l2],
                [-12.0, -6.0 * l, 12.0, -6.0 * l],
                [6.0 * l, 2.0 * l2, -6.0 * l, 4.0 * l2],
            ];
            for (line, row) in local.iter().zip(places) {
                for (entry, column) in line.iter().zip(places) {
                    if *row < rows && *column < rows {
                        matrix[row * rows + column] += entry * rigidity / (l2 * l);
                    }
                }
            }
        }
        for (at, way) in nodes.iter().zip(&ways) {
            if let Some(Some(stiffness)) = stiffness(at) {
                matrix[way * rows + way] += stiffness;
            }
        }
        if !invert(rows, &mut matrix) {
            return None;
        }
        let mut inverse = vec![0.0; (rows + 1) * (rows + 1)];
        for (line, from) in inverse.chunks_mut(rows + 1).zip(matrix.chunks(rows)) {
            line[..rows].copy_from_slice(from);
        }
        Some(Self { nodes, rigidity, elements, rows: rows + 1, inverse })
    }

    fn element(&self, x: f64) -> usize {
        self.nodes.partition_point(|node| *node <= x).clamp(1, self.nodes.len() - 1) - 1
    }

    /// Hermite's four shapes, or their slopes, at a place of an element.
    fn shapes(&self, element: usize, x: f64, feel: Feel) -> [f64; 4] {
        let length = self.nodes[element + 1] - self.nodes[element];
        let t = (x - self.nodes[element]) / length;
        match feel {
            Feel::Way => [
                1.0 - 3.0 * t * t + 2.0 * t * t * t,
                length * t * (1.0 - t) * (1.0 - t),
                t * t * (3.0 - 2.0 * t),
                length * t * t * (t - 1.0),
            ],
            Feel::Slope => [
                6.0 * t * (t - 1.0) / length,
                (1.0 - t) * (1.0 - 3.0 * t),
                6.0 * t * (1.0 - t) / length,
                t * (3.0 * t - 2.0),
            ],
        }
    }

    /// A place of the beam, made ready. Places beyond the ends count as the ends.
    pub(crate) fn grip(&self, x: f64) -> Grip {
        let x = x.clamp(self.nodes[0], self.nodes[self.nodes.len() - 1]);
        let element = self.element(x);
        let shapes = |feel| self.shapes(element, x, feel);
        Grip { x, element, way: shapes(Feel::Way), slope: shapes(Feel::Slope) }
    }

    /// How far the beam yields (mm) or slopes (rad) at one place under a force of 1 N or a moment of 1 N·mm at another. It is
    /// the same with the two exchanged (Maxwell).
    pub(crate) fn compliance(&self, (here, feel): (&Grip, Feel), (there, load): (&Grip, Feel)) -> f64 {
        let (a, b) = (here.shapes(feel), there.shapes(load));
        let columns = self.elements[there.element];
        let mut sum = 0.0;
        for (shape, row) in a.iter().zip(self.elements[here.element]) {
            let line = &self.inverse[row * self.rows..(row + 1) * self.rows];
            sum += shape
                * (b[0] * line[columns[0]]
                    + b[1] * line[columns[1]]
                    + b[2] * line[columns[2]]
                    + b[3] * line[columns[3]]);
        }
        if here.element == there.element {
            let start = self.nodes[here.element];
            let length = self.nodes[here.element + 1] - start;
            let (x, load_at) = (here.x - start, there.x - start);
            // By Maxwell the lesser place may be the one that is felt.
            let ((x, feel), (load_at, load)) =
                if x <= load_at { ((x, feel), (load_at, load)) } else { ((load_at, load), (x, feel)) };
            sum += fixed_fixed(length, (x, feel), (load_at, load)) / self.rigidity;
        }
        sum
    }
}

/// A place of a beam: its element, and the shapes of way and slope there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Grip {
    x: f64,
    element: usize,
    way: [f64; 4],
    slope: [f64; 4],
}

impl Grip {
    const fn shapes(&self, feel: Feel) -> &[f64; 4] {
        match feel {
            Feel::Way => &self.way,
            Feel::Slope => &self.slope,
        }
    }
}

/// The fixed–fixed beam of rigidity one: w(x) = x²(L−a)²(3aL − 2ax − Lx)/6L³ for x ≤ a under a force at a; derived by x for
/// a slope, and by a for a moment.
fn fixed_fixed(l: f64, (x, feel): (f64, Feel), (a, load): (f64, Feel)) -> f64 {
    let b = l - a;
    let (q, by_a) = match feel {
        Feel::Way => (x * x * (3.0 * a * l - 2.0 * a * x - l * x), x * x * (3.0 * l - 2.0 * x)),
        Feel::Slope => (6.0 * a * l * x - 6.0 * a * x * x - 3.0 * l * x * x, 6.0 * x * (l - x)),
    };
    let sum = match load {
        Feel::Way => b * b * q,
        Feel::Slope => b * b * by_a - 2.0 * b * q,
    };
    sum / (6.0 * l * l * l)
}
