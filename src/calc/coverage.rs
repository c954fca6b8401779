//! The factor by which a standard uncertainty is widened, and the degrees of freedom that it follows from.

/// t at 95.45 % for 1 to 49 degrees of freedom, in thousandths, rounded up: the quantile of Student's distribution,
/// computed. GUM table G.2 and EA-4/02 table E.1 print it to two decimals.
const STUDENT: [u32; 49] = [
    13968, 4527, 3307, 2870, 2649, 2517, 2429, 2367, 2320, 2284, 2255, 2232, 2212, 2196, 2182, 2169, 2159, 2149, 2141,
    2134, 2127, 2121, 2115, 2110, 2106, 2101, 2097, 2094, 2090, 2087, 2084, 2082, 2079, 2077, 2074, 2072, 2070, 2068,
    2067, 2065, 2063, 2062, 2060, 2059, 2058, 2056, 2055, 2054, 2053,
];

/// From so many degrees of freedom on k is 2. There t is 2.05, under 3 % more, whereas a scatter found with so many is
/// itself known to 10 % only (GUM table E.1); it is the last finite row of EA-4/02 table E.1.
pub(crate) const ENOUGH_DEGREES: u32 = 50;

/// k in thousandths. Fractions of a degree of freedom are cut off (GUM G.4.1), and fewer than one counts as one.
pub(crate) fn coverage_thousandths(degrees: u32) -> u32 {
    STUDENT.get(degrees.max(1) as usize - 1).copied().unwrap_or(2_000)
}

/// Effective degrees of freedom by Welch and Satterthwaite (GUM G.2b): total² over the sum of each part² by its own
/// degrees. A part that is known well adds nothing to the sum. Enough of them where there is no other part.
pub(crate) fn effective_degrees(total: u128, parts: impl IntoIterator<Item = (u128, u32)>) -> u32 {
    // A part as a share of the total, so that one which is the whole gives its own degrees exactly.
    let share = |part: u128| part as f64 / total as f64;
    let all = parts.into_iter().filter(|(part, _)| *part > 0);
    let sum: f64 = all.map(|(part, degrees)| share(part) * share(part) / f64::from(degrees.max(1))).sum();
    if sum <= 0.0 {
        return ENOUGH_DEGREES;
    }
    // What the arithmetic itself loses must not cost a degree.
    let degrees = (1.0 / sum) * (1.0 + 1e-12);
    if degrees >= f64::from(ENOUGH_DEGREES) { ENOUGH_DEGREES } else { degrees as u32 }
}
