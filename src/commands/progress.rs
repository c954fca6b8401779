//! A bar that shows how far a long job is: on a terminal only, and only where there is enough to wait for.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Fewer ledgers than this are done before a bar could be read.
const WORTH_A_BAR: usize = 50;

/// A bar over ledgers, on standard error. Where that is no terminal nothing is drawn.
pub(crate) fn ledgers(count: usize) -> ProgressBar {
    let target = if count < WORTH_A_BAR { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr() };
    let bar = ProgressBar::with_draw_target(Some(count as u64), target);
    match ProgressStyle::with_template("{bar:40} {pos} of {len} ledgers") {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}
