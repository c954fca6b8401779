//! Another implementation of the same model, with nothing in common but the input: one great system of the carriage and all
//! nodes of all rails, solved by plain elimination; splines by the coefficients of every piece; integrals of polynomials.

use crate::calc::motion::frame::{BodyPoint, Five};

/// Plain elimination with exchange of rows.
pub(super) fn eliminate(mut matrix: Vec<Vec<f64>>) -> Vec<f64> {
    let count = matrix.len();
    for pivot in 0..count {
        let best = (pivot..count).max_by(|a, b| matrix[*a][pivot].abs().total_cmp(&matrix[*b][pivot].abs()));
        matrix.swap(pivot, best.expect("a row"));
        assert!(matrix[pivot][pivot] != 0.0, "singular");
        for row in pivot + 1..count {
            let factor = matrix[row][pivot] / matrix[pivot][pivot];
            if factor != 0.0 {
                for column in pivot..=count {
                    matrix[row][column] -= factor * matrix[pivot][column];
                }
            }
        }
    }
    let mut solved = vec![0.0; count];
    for row in (0..count).rev() {
        let known: f64 = (row + 1..count).map(|column| matrix[row][column] * solved[column]).sum();
        solved[row] = (matrix[row][count] - known) / matrix[row][row];
    }
    solved
}

/// A natural cubic spline by the four coefficients of each piece, all conditions written down.
pub(super) struct Pieces {
    at: Vec<f64>,
    /// In the distance from the left end.
    of: Vec<[f64; 4]>,
}

impl Pieces {
    pub(super) fn new(points: &[(f64, f64)]) -> Self {
        let at: Vec<f64> = points.iter().map(|point| point.0).collect();
        let count = at.len() - 1;
        if count == 0 {
            return Self { at, of: vec![[points[0].1, 0.0, 0.0, 0.0]] };
        }
        let mut matrix = Vec::new();
        let mut condition = |terms: &[(usize, usize, f64)], right: f64| {
            let mut row = vec![0.0; 4 * count + 1];
            terms.iter().for_each(|(piece, power, weight)| row[4 * piece + power] += weight);
            row[4 * count] = right;
            matrix.push(row);
        };
        for piece in 0..count {
            let h = at[piece + 1] - at[piece];
            condition(&[(piece, 0, 1.0)], points[piece].1);
            condition(&[(piece, 0, 1.0), (piece, 1, h), (piece, 2, h * h), (piece, 3, h * h * h)], points[piece + 1].1);
            if piece + 1 < count {
                condition(&[(piece, 1, 1.0), (piece, 2, 2.0 * h), (piece, 3, 3.0 * h * h), (piece + 1, 1, -1.0)], 0.0);
                condition(&[(piece, 2, 2.0), (piece, 3, 6.0 * h), (piece + 1, 2, -2.0)], 0.0);
            }
        }
        condition(&[(0, 2, 1.0)], 0.0);
        condition(&[(count - 1, 2, 2.0), (count - 1, 3, 6.0 * (at[count] - at[count - 1]))], 0.0);
        let solved = eliminate(matrix);
        let of = (0..count).map(|piece| std::array::from_fn(|power| solved[4 * piece + power])).collect();
        Self { at, of }
    }

    /// ∫ (x − about)ⁿ v dx from one place to the next, n 0 or 1, straight beyond the ends.
    pub(super) fn integral(&self, from: f64, to: f64, about: f64, n: u32) -> f64 {
        let mut sum = 0.0;
        let last = self.of.len() - 1;
        for (piece, of) in self.of.iter().enumerate() {
            let left = self.at[piece];
            let right = self.at.get(piece + 1).copied().unwrap_or(left);
            let within = |of: &[f64; 4], left: f64, from: f64, to: f64| {
                if from >= to {
                    return 0.0;
                }
                // (x − left + left − about)ⁿ times the polynomial, term by term.
                let shift = left - about;
                let mut all = [0.0; 5];
                for (power, weight) in of.iter().enumerate() {
                    if n == 0 {
                        all[power] += weight;
                    } else {
                        all[power] += weight * shift;
                        all[power + 1] += weight;
                    }
                }
                let at = |x: f64| {
                    all.iter().enumerate().map(|(k, w)| w * (x - left).powi(k as i32 + 1) / (k + 1) as f64).sum::<f64>()
                };
                at(to) - at(from)
            };
            sum += within(of, left, from.max(left), to.min(right));
            let straight = |x: f64| {
                let d = x - left;
                [of[0] + of[1] * d + of[2] * d * d + of[3] * d * d * d, of[1] + 2.0 * of[2] * d + 3.0 * of[3] * d * d]
            };
            if piece == 0 && from < left {
                let [value, slope] = straight(left);
                sum += within(&[value, slope, 0.0, 0.0], left, from, to.min(left));
            }
            if piece == last && to > right {
                let [value, slope] = straight(right);
                sum += within(&[value, slope, 0.0, 0.0], right, from.max(right), to);
            }
        }
        sum
    }
}

/// A segment as the tests describe it.
#[derive(Clone)]
pub(super) struct PlainSegment {
    pub from: f64,
    pub to: f64,
    /// What was read to the left and up.
    pub read: [Vec<(f64, f64)>; 2],
    /// Supports with their stiffness, and the rigidity; the rail is stiff where there is none.
    pub holds: [Vec<(f64, Option<f64>)>; 2],
    pub rigidity: [Option<f64>; 2],
}

#[derive(Clone)]
pub(super) struct PlainBlock {
    pub at: BodyPoint,
    pub rail: usize,
    pub length: f64,
    pub springs: Five,
}

/// The pose and what each block passes on, of a carriage at `position` under `acts` on rails as read.
pub(super) fn solve(
    blocks: &[PlainBlock],
    rails: &[Vec<PlainSegment>],
    position: f64,
    acts: Five,
) -> (Five, Vec<Five>) {
    // Unknowns: the pose, then way and slope of every node of every yielding segment in both planes.
    struct Node {
        rail: usize,
        segment: usize,
        plane: usize,
        x: f64,
        way: Option<usize>,
        slope: usize,
    }
    let covered = |block: &PlainBlock| {
        let rail = &rails[block.rail];
        let (a, b) = (position + block.at.x - block.length / 2.0, position + block.at.x + block.length / 2.0);
        let mut parts = Vec::new();
        for (n, segment) in rail.iter().enumerate() {
            let from = if n == 0 { a } else { a.max(segment.from) };
            let to = if n + 1 == rail.len() { b } else { b.min(segment.to) };
            if from < to {
                parts.push((n, from, to));
            }
        }
        parts
    };
    let mut nodes: Vec<Node> = Vec::new();
    let mut unknowns = 5;
    for (r, rail) in rails.iter().enumerate() {
        for (s, segment) in rail.iter().enumerate() {
            for plane in 0..2 {
                if segment.rigidity[plane].is_none() {
                    continue;
                }
                let mut at = vec![segment.from, segment.to];
                at.extend(segment.holds[plane].iter().map(|hold| hold.0));
                for block in blocks.iter().filter(|block| block.rail == r) {
                    for (_, from, to) in covered(block).into_iter().filter(|part| part.0 == s) {
                        at.push(((from + to) / 2.0).clamp(segment.from, segment.to));
                    }
                }
                at.sort_by(f64::total_cmp);
                at.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
                for x in at {
                    let held = segment.holds[plane].iter().any(|hold| hold.0 == x && hold.1.is_none());
                    let way = (!held).then_some(unknowns);
                    unknowns += usize::from(!held);
                    nodes.push(Node { rail: r, segment: s, plane, x, way, slope: unknowns });
                    unknowns += 1;
                }
            }
        }
    }
    let mut matrix = vec![vec![0.0; unknowns + 1]; unknowns];
    for pair in nodes.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        if (a.rail, a.segment, a.plane) != (b.rail, b.segment, b.plane) {
            continue;
        }
        let rigidity = rails[a.rail][a.segment].rigidity[a.plane].expect("yielding");
        let l = b.x - a.x;
        let k = rigidity / (l * l * l);
        let local = [
            [12.0 * k, 6.0 * l * k, -12.0 * k, 6.0 * l * k],
            [6.0 * l * k, 4.0 * l * l * k, -6.0 * l * k, 2.0 * l * l * k],
            [-12.0 * k, -6.0 * l * k, 12.0 * k, -6.0 * l * k],
            [6.0 * l * k, 2.0 * l * l * k, -6.0 * l * k, 4.0 * l * l * k],
        ];
        let places = [a.way, Some(a.slope), b.way, Some(b.slope)];
        for (i, row) in places.iter().enumerate() {
            for (j, column) in places.iter().enumerate() {
                if let (Some(row), Some(column)) = (row, column) {
                    matrix[*row][*column] += local[i][j];
                }
            }
        }
    }
    for node in &nodes {
        let holds = &rails[node.rail][node.segment].holds[node.plane];
        if let (Some(way), Some((_, Some(k)))) = (node.way, holds.iter().find(|hold| hold.0 == node.x)) {
            matrix[way][way] += k;
        }
    }
    // Each spring: what it is stretched by as a row of the unknowns, and by the rail's shape.
    let mut springs = Vec::new();
    for (index, block) in blocks.iter().enumerate() {
        let (x, y, z) = (block.at.x, -block.at.y, block.at.z);
        for way in 0..5 {
            let k = block.springs[way];
            if k == 0.0 {
                continue;
            }
            let mut row = vec![0.0; unknowns];
            match way {
                0 => (row[0], row[2], row[4]) = (1.0, -z, x),
                1 => (row[1], row[2], row[3]) = (1.0, y, -x),
                turn => row[turn] = 1.0,
            }
            let (plane, slope, sign) = match way {
                0 => (0, false, 1.0),
                1 => (1, false, 1.0),
                3 => (1, true, -1.0),
                4 => (0, true, 1.0),
                _ => {
                    springs.push((index, way, k, row, 0.0));
                    continue;
                }
            };
            let mut shape = 0.0;
            for (s, from, to) in covered(block) {
                let segment = &rails[block.rail][s];
                let middle = position + block.at.x;
                if !segment.read[plane].is_empty() {
                    let pieces = Pieces::new(&segment.read[plane]);
                    let l = block.length;
                    shape += if slope {
                        12.0 / (l * l * l) * pieces.integral(from, to, middle, 1)
                    } else {
                        pieces.integral(from, to, middle, 0) / l
                    };
                }
                if segment.rigidity[plane].is_some() {
                    let press = ((from + to) / 2.0).clamp(segment.from, segment.to);
                    let share = (to - from) / block.length;
                    let node = nodes.iter().find(|node| {
                        (node.rail, node.segment, node.plane) == (block.rail, s, plane) && (node.x - press).abs() < 1e-9
                    });
                    let node = node.expect("a node under every block");
                    let place = if slope { Some(node.slope) } else { node.way };
                    if let Some(place) = place {
                        row[place] -= sign * share;
                    }
                }
            }
            springs.push((index, way, k, row, sign * shape));
        }
    }
    for (_, _, k, row, shape) in &springs {
        for i in (0..unknowns).filter(|i| row[*i] != 0.0) {
            for j in (0..unknowns).filter(|j| row[*j] != 0.0) {
                matrix[i][j] += k * row[i] * row[j];
            }
            matrix[i][unknowns] += k * row[i] * shape;
        }
    }
    for (line, act) in matrix.iter_mut().zip(acts) {
        line[unknowns] += act;
    }
    let solved = eliminate(matrix);
    let mut passed = vec![[0.0; 5]; blocks.len()];
    for (index, way, k, row, shape) in springs {
        let stretch: f64 = row.iter().zip(&solved).map(|(a, b)| a * b).sum();
        passed[index][way] = k * (stretch - shape);
    }
    (std::array::from_fn(|n| solved[n]), passed)
}
