//! Runs and times whole processes, and looks at their memory while they run.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// What one run took.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Run {
    pub time: Duration,
    /// The most memory it held, in kB, where the system tells.
    pub peak: Option<u64>,
}

/// The program under test, in a folder, on so many threads.
pub(crate) fn wayledger(folder: &Path, threads: usize, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wayledger"));
    command.args(arguments).current_dir(folder).env("RAYON_NUM_THREADS", threads.to_string());
    command
}

/// Times a process from its start to its end. It may find fault; it must not fail.
pub(crate) fn run(command: &mut Command) -> Run {
    let start = Instant::now();
    let mut child = command.stdout(Stdio::null()).spawn().expect("the process starts");
    let mut peak = None;
    let status = loop {
        if let Some(status) = child.try_wait().expect("the process can be waited for") {
            break status;
        }
        peak = memory(child.id()).max(peak);
        std::thread::sleep(Duration::from_micros(200));
    };
    let time = start.elapsed();
    assert!(matches!(status.code(), Some(0 | 1)), "{command:?} ended with {status}");
    Run { time, peak }
}

/// The quickest of several runs.
pub(crate) fn best(runs: usize, mut command: impl FnMut() -> Command) -> Run {
    let runs = (0..runs).map(|_| run(&mut command()));
    runs.min_by_key(|run| run.time).expect("at least one run")
}

fn memory(process: u32) -> Option<u64> {
    let status = fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().trim_end_matches(" kB").parse().ok()
}

pub(crate) fn per_second(bytes: u64, time: Duration) -> String {
    format!("{:.1} MB/s", bytes as f64 / 1e6 / time.as_secs_f64())
}

pub(crate) fn milliseconds(time: Duration) -> String {
    format!("{:.1} ms", time.as_secs_f64() * 1e3)
}
