//! Inverses of the small symmetric matrices of this folder.

use smallvec::SmallVec;

/// Replaces a symmetric positive definite matrix of `n` rows, written row by row, by its inverse (Gauss–Jordan in place;
/// such a matrix needs no exchange of rows). Whether it was positive definite.
#[must_use]
pub(crate) fn invert(n: usize, matrix: &mut [f64]) -> bool {
    let mut top: SmallVec<[f64; 16]> = SmallVec::from_elem(0.0, n);
    for pivot in 0..n {
        let line = &mut matrix[pivot * n..(pivot + 1) * n];
        let divisor = line[pivot];
        if !(divisor > 0.0 && divisor.is_finite()) {
            return false;
        }
        line[pivot] = 1.0;
        line.iter_mut().for_each(|entry| *entry /= divisor);
        top.copy_from_slice(line);
        for (row, line) in matrix.chunks_exact_mut(n).enumerate() {
            let factor = line[pivot];
            if row == pivot || factor == 0.0 {
                continue;
            }
            line[pivot] = 0.0;
            line.iter_mut().zip(&top).for_each(|(entry, above)| *entry -= factor * above);
        }
    }
    true
}

/// The inverse of a symmetric matrix of five rows that may resist some ways not at all.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PoseInverse {
    /// The inverse; nought along what nothing resists.
    pub inverse: [[f64; 5]; 5],
    /// For each way that nothing resists: it, and the weights with which what acts must cancel.
    pub loose: Vec<(usize, [f64; 5])>,
}

/// Inverts by the largest remaining diagonal, entries measured against the diagonal so that mm and rad compare.
pub(crate) fn settle(matrix: &[[f64; 5]; 5]) -> PoseInverse {
    // A pivot below this share of its diagonal is rounding, not stiffness.
    const NOTHING: f64 = 1e-10;
    let size: [f64; 5] = std::array::from_fn(|n| matrix[n][n].max(0.0).sqrt());
    let scale: [f64; 5] = size.map(|size| if size > 0.0 { size.recip() } else { 0.0 });
    let mut work = [[0.0; 10]; 5];
    for (row, line) in work.iter_mut().enumerate() {
        for column in 0..5 {
            line[column] = matrix[row][column] * scale[row] * scale[column];
        }
        line[5 + row] = 1.0;
    }
    let mut open = [true; 5];
    loop {
        let next = (0..5).filter(|n| open[*n]).max_by(|a, b| work[*a][*a].total_cmp(&work[*b][*b]));
        let Some(pivot) = next.filter(|n| work[*n][*n] > NOTHING) else { break };
        open[pivot] = false;
        let divisor = work[pivot][pivot];
        work[pivot].iter_mut().for_each(|entry| *entry /= divisor);
        let top = work[pivot];
        for (row, line) in work.iter_mut().enumerate() {
            let factor = line[pivot];
            if row != pivot && factor != 0.0 {
                line.iter_mut().zip(top).for_each(|(entry, above)| *entry -= factor * above);
            }
        }
    }
    let mut settled = PoseInverse { inverse: [[0.0; 5]; 5], loose: Vec::new() };
    for row in 0..5 {
        if open[row] {
            // In the units of what acts: the row was scaled by `scale`, or is of size one where nothing at all resists it.
            let own = if scale[row] > 0.0 { scale[row] } else { 1.0 };
            let weights = |n: usize| work[row][5 + n] * if n == row { 1.0 } else { scale[n] / own };
            settled.loose.push((row, std::array::from_fn(weights)));
            continue;
        }
        for column in (0..5).filter(|column| !open[*column]) {
            settled.inverse[row][column] = work[row][5 + column] * scale[row] * scale[column];
        }
    }
    settled
}
