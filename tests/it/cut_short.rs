//! Every command that writes, cut short: killed, told to stop, with a full disk, with calls to the system that fail.
//! Whatever happens, each file is the old one or the new one, byte for byte, nothing else has changed, and the same
//! command then does its work.
//!
//! `cargo test` cuts short a few dozen times. `WAYLEDGER_KILLS=5000` asks for so many times in each of these tests, and
//! `WAYLEDGER_SEED` for other moments. Those that need `strace` are ignored unless asked for.
#![cfg(target_os = "linux")]

mod scene;
mod scenes;
mod traced;

use std::process::{Child, Command};
use std::time::{Duration, Instant};

use scene::{Dice, Scene};

/// How many times a test cuts short: its own number, or as many as are asked for.
fn times(usual: usize) -> usize {
    std::env::var("WAYLEDGER_KILLS").ok().and_then(|times| times.parse().ok()).unwrap_or(usual)
}

/// On standard error, where the test runner keeps it until a test fails or `--nocapture` asks for it.
#[expect(clippy::print_stderr, reason = "a test has nowhere else to tell its seed and its figures")]
fn tell(what: &str) {
    eprintln!("{what}");
}

/// What became of many runs.
#[derive(Default)]
struct Tally {
    old: usize,
    half: usize,
    new: usize,
    leftovers: usize,
}

impl Tally {
    fn count(&mut self, state: scene::State) {
        match (state.begun, state.done) {
            (_, true) => self.new += 1,
            (false, _) => self.old += 1,
            (true, false) => self.half += 1,
        }
        self.leftovers += usize::from(state.leftovers > 0);
    }

    fn tell(&self, what: &str) {
        let all = self.old + self.half + self.new;
        tell(&format!(
            "{what}: {all} times; {} old, {} new, {} with some of several files new, {} with a temporary file left",
            self.old, self.new, self.half, self.leftovers
        ));
    }
}

/// Waits until a draft lies in the yard or the command is over; at most a few seconds.
fn sight(scene: &Scene, root: &std::path::Path, child: &mut Child) {
    let start = Instant::now();
    while start.elapsed() < Duration::from_secs(5) && child.try_wait().is_ok_and(|it| it.is_none()) {
        // The yard changes while it is looked at, so what cannot be read now is passed over.
        let entries = walkdir::WalkDir::new(root).into_iter().flatten();
        let names = entries.map(|entry| entry.path().strip_prefix(root).unwrap_or(root).to_path_buf());
        let new: Vec<_> =
            names.filter(|name| !name.as_os_str().is_empty() && !scene.before.contains_key(name)).collect();
        if !new.is_empty() {
            return;
        }
    }
}

fn stop(child: &mut Child, signal: &str) {
    if signal == "KILL" {
        let _ = child.kill();
    } else {
        let _ = Command::new("kill").args(["-s", signal, &child.id().to_string()]).output();
    }
}

#[test]
fn killed_at_any_moment_a_command_leaves_the_old_or_the_new() {
    let (mut dice, scenes) = (Dice::new(), scenes::all());
    let usual: Vec<Duration> = scenes
        .iter()
        .map(|scene| {
            let root = scene.stage();
            let start = Instant::now();
            scene.run(root.path(), &mut scene.command(root.path()));
            start.elapsed()
        })
        .collect();
    let mut tally = Tally::default();
    for time in 0..times(52) {
        let which = time % scenes.len();
        let scene = &scenes[which];
        let signal = ["KILL", "KILL", "TERM", "INT"][dice.roll(4)];
        let wait = usual[which].mul_f64(dice.roll(1100) as f64 / 1000.0);
        let close = Duration::from_micros(dice.roll(1500) as u64);
        let at_sight = dice.roll(2) == 0;
        let root = scene.stage();
        let mut child = scene.start(&mut scene.command(root.path()));
        if at_sight {
            sight(scene, root.path(), &mut child);
            std::thread::sleep(close);
        } else {
            std::thread::sleep(wait);
        }
        stop(&mut child, signal);
        let code = child.wait_with_output().expect("it ends").status.code();
        let how =
            format!("time {time}, {signal} {}", if at_sight { "at the first sight of a draft" } else { "at random" });
        tally.count(scene.judge(root.path(), &how, code));
    }
    tally.tell("killed at random moments");
    assert!(tally.old > 0 && tally.new > 0, "the moments lie before and after the writing");
}

#[test]
fn a_file_that_may_not_grow_is_not_written() {
    // In blocks of 512 bytes. A program that asks for more is killed, or told that the file is too large.
    let (mut dice, scenes) = (Dice::new(), scenes::all());
    let mut all = Vec::new();
    for scene in &scenes {
        for blocks in 0..40 {
            all.extend([(scene, blocks, ""), (scene, blocks, "trap '' XFSZ; ")]);
        }
    }
    let mut tally = Tally::default();
    for (scene, blocks, trap) in dice.some(all, times(39)) {
        let root = scene.stage();
        let script = format!("{trap}ulimit -f {blocks}; exec \"$@\"");
        let output = scene.run(root.path(), &mut scene.under(root.path(), "sh", &["-c", &script, "sh"]));
        let state = scene.judge(root.path(), &script, output.status.code());
        if !trap.is_empty() && output.status.code() != scene.code {
            let told = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(2), "{}: {told}", scene.name);
            assert!(told.contains("was not written"), "{}: {told}", scene.name);
            assert_eq!(state.leftovers, 0, "{}: a command that could tell also tidied up", scene.name);
        }
        tally.count(state);
    }
    tally.tell("files limited in size");
    assert!(tally.old > 0, "the limit bites");
}

#[test]
fn a_draft_of_a_killed_writer_is_taken_away_by_the_next_one_and_nothing_else_is() {
    let scene = &scenes::all()[2];
    let root = scene.stage();
    let folder = root.path().join("yard/mast-router");
    let others = [".wayledger-abcdef.kdl2", ".wayledger-notes.tmp", "wayledger-abcdef.tmp", ".wayledger-abcdeé.tmp"];
    for name in others.iter().chain(&[".wayledger-aB3dE9.tmp"]) {
        std::fs::write(folder.join(name), "half a rec").expect("written");
    }
    // A folder of such a name is one of ours only as far as it holds what we put there.
    for part in [".wayledger-folder.tmp", ".wayledger-gitdir.tmp/.git", ".wayledger-Zz9yX8.tmp/.git"] {
        std::fs::create_dir_all(folder.join(part)).expect("made");
    }
    for kept in [".wayledger-folder.tmp/notes", ".wayledger-gitdir.tmp/.git/HEAD", ".wayledger-Zz9yX8.tmp/.git/text"] {
        std::fs::write(folder.join(kept), "half a rec").expect("written");
    }
    let seen = scene::seen_by_git(&root.path().join("yard"));
    assert!(seen.contains(".wayledger-notes.tmp") && !seen.contains(".wayledger-Zz9yX8.tmp"), "{seen}");
    let output = scene.run(root.path(), &mut scene.command(root.path()));
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(!folder.join(".wayledger-aB3dE9.tmp").exists());
    assert!(!folder.join(".wayledger-Zz9yX8.tmp").exists());
    for name in others.iter().chain(&[".wayledger-folder.tmp/notes", ".wayledger-gitdir.tmp/.git/HEAD"]) {
        assert!(folder.join(name).exists(), "{name} is not ours");
    }
}
