//! A bar that shows how far a long job is: on a terminal only, and only where there is enough to wait for. A search can be
//! ended by Ctrl-C.

use std::rc::Rc;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::calc::layout::meter::{LayoutProgress, Watch};
use crate::calc::shims::{ShimProgress, ShimWatch};
use crate::finding::counted;
use crate::quantity::Length;

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

/// Shows the best plan of a search and its bound, and listens for Ctrl-C.
pub(crate) struct SearchWatch {
    bar: ProgressBar,
    asked: Arc<AtomicBool>,
}

impl SearchWatch {
    /// Listens from now on. The first Ctrl-C ends the search, a second one the program.
    pub(crate) fn begin(steps: u64) -> Self {
        let bar = ProgressBar::with_draw_target(Some(steps), ProgressDrawTarget::stderr());
        let bar = match ProgressStyle::with_template("{bar:20} {pos} of {len} steps; {msg}; Ctrl-C ends it") {
            Ok(style) => bar.with_style(style),
            Err(_) => bar,
        };
        let asked = Arc::new(AtomicBool::new(false));
        let heard = Arc::clone(&asked);
        let handler = move || {
            if heard.swap(true, Ordering::SeqCst) {
                std::process::exit(130);
            }
        };
        // Where no handler can be set Ctrl-C ends the program, as it does by itself.
        let _ = ctrlc::set_handler(handler);
        Self { bar, asked }
    }

    pub(crate) fn watch(&self) -> Watch {
        let (bar, asked) = (self.bar.clone(), Arc::clone(&self.asked));
        Rc::new(move |progress: &LayoutProgress| {
            bar.set_message(standing(progress));
            bar.set_position(progress.steps);
            !asked.load(Ordering::SeqCst)
        })
    }

    /// The same for a search for shims.
    pub(crate) fn of_shims(&self) -> ShimWatch {
        let (bar, asked) = (self.bar.clone(), Arc::clone(&self.asked));
        Rc::new(move |progress: &ShimProgress| {
            let standing = match progress.shimmed {
                Some(shimmed) => format!("{} ({} or more)", counted(shimmed, "support", "supports"), progress.at_least),
                None => format!("{} or more", counted(progress.at_least, "support", "supports")),
            };
            bar.set_message(standing);
            bar.set_position(progress.steps);
            !asked.load(Ordering::SeqCst)
        })
    }

    /// Takes the bar away; whether somebody asked for the end. From now on the first Ctrl-C ends the program.
    pub(crate) fn end(self) -> bool {
        self.bar.finish_and_clear();
        self.asked.swap(true, Ordering::SeqCst)
    }
}

/// `9 joints (8 or more), slack 162 mm (282 mm or less)`.
fn standing(progress: &LayoutProgress) -> String {
    let Some(joints) = progress.joints else {
        return format!("{} or more", counted(progress.joints_at_least, "joint", "joints"));
    };
    let slack = progress.slack.map(|slack| format!(", slack {}", Length(slack))).unwrap_or_default();
    let most = progress.slack_at_most.map(|most| format!(" ({} or less)", Length(most))).unwrap_or_default();
    format!("{} ({} or more){slack}{most}", counted(joints, "joint", "joints"), progress.joints_at_least)
}
