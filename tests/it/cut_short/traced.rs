//! The same with `strace`, which stops a command in front of a chosen call to the system, or lets that call fail: no
//! moment between two calls is left out, and every kind of bad disk is met. And a disk that really is full.

use std::collections::BTreeMap;
use std::path::Path;

use super::scene::{Dice, Scene};
use super::{Tally, scenes, tell, times};

/// The calls of a command's main thread in order, from a run that nothing disturbed. Files are written by no other.
fn calls(scene: &Scene) -> Vec<String> {
    let root = scene.stage();
    let log = root.path().join("../").join(format!("{}.log", root.path().file_name().unwrap_or_default().display()));
    let log = log.to_string_lossy().into_owned();
    let output = scene.run(root.path(), &mut scene.under(root.path(), "strace", &["-o", &log, "-s", "200"]));
    assert_eq!(output.status.code(), scene.code, "{}", String::from_utf8_lossy(&output.stderr));
    let text = std::fs::read_to_string(&log).expect("strace has written down what it saw");
    std::fs::remove_file(&log).expect("it was there");
    text.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_lowercase())).map(str::to_owned).collect()
}

fn name(call: &str) -> &str {
    call.split('(').next().unwrap_or_default()
}

/// The calls from where the writing begins: at the lock of a folder, or where something is made or taken away. Each has
/// its name and how many of that name there were up to it, which is how `strace` finds it again.
fn numbered(calls: &[String], from_the_start: bool) -> Vec<(String, usize)> {
    let writes = |call: &String| ["flock", "mkdir", "unlink"].contains(&name(call));
    let begins = calls.iter().position(writes).expect("it writes").saturating_sub(2);
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut all = Vec::new();
    for (at, call) in calls.iter().enumerate() {
        let nth = seen.entry(name(call)).or_default();
        *nth += 1;
        if from_the_start || at >= begins {
            all.push((name(call).to_owned(), *nth));
        }
    }
    all
}

#[test]
#[ignore = "needs strace; `.ci/run` has it"]
fn killed_between_any_two_calls_to_the_system() {
    let (mut dice, scenes) = (Dice::new(), scenes::all());
    let mut tally = Tally::default();
    // Before the writing begins a kill is a kill; asked for thousands, those calls are met too.
    let asked = times(0);
    let mut all = Vec::new();
    for scene in &scenes {
        all.extend(numbered(&calls(scene), asked > 0).into_iter().map(|(call, nth)| (scene, call, nth)));
    }
    tell(&format!("{} moments between two calls", all.len()));
    for (scene, call, nth) in dice.some(all, if asked > 0 { asked } else { 100 }) {
        let inject = format!("inject={call}:signal=SIGKILL:when={nth}");
        let root = scene.stage();
        let strace = ["-o", "/dev/null", "-e", &format!("trace={call}"), "-e", &inject];
        let output = scene.run(root.path(), &mut scene.under(root.path(), "strace", &strace));
        tally.count(scene.judge(root.path(), &inject, output.status.code()));
    }
    tally.tell("killed between two calls");
    assert!(tally.old > 0 && tally.half > 0 && tally.new > 0 && tally.leftovers > 0, "all moments are met");
}

/// What the system may answer to a call.
fn failures(call: &str) -> &'static [&'static str] {
    match call {
        "open" | "openat" => &["EMFILE", "EACCES", "ENOSPC", "EROFS", "EINTR"],
        "write" | "pwrite64" => &["ENOSPC", "EIO", "EDQUOT", "EINTR"],
        "read" | "pread64" => &["EIO", "EINTR"],
        "fsync" | "fdatasync" => &["EIO", "ENOSPC", "EINTR"],
        "rename" | "renameat" | "renameat2" | "link" | "linkat" => &["EXDEV", "EACCES", "ENOSPC", "EROFS", "EINVAL"],
        "unlink" | "unlinkat" => &["EACCES", "EIO"],
        "mkdir" | "mkdirat" => &["ENOSPC", "EACCES"],
        "flock" => &["ENOLCK", "EINTR", "EBADF"],
        "chmod" | "fchmod" | "fchmodat" | "chown" | "fchown" => &["EPERM", "EIO"],
        "stat" | "lstat" | "fstat" | "newfstatat" | "statx" | "readlink" | "getdents64" | "lseek" => &["EACCES", "EIO"],
        _ => &[],
    }
}

#[test]
#[ignore = "needs strace; `.ci/run` has it"]
fn any_call_to_the_system_may_fail() {
    let (mut dice, scenes) = (Dice::new(), scenes::all());
    let mut all = Vec::new();
    for scene in &scenes {
        for (call, nth) in numbered(&calls(scene), false) {
            all.extend(failures(&call).iter().map(|how| (scene, call.clone(), nth, *how)));
        }
    }
    tell(&format!("{} calls and failures", all.len()));
    let mut tally = Tally::default();
    let mut told_nothing = 0;
    for (scene, call, nth, failure) in dice.some(all, times(100)) {
        let inject = format!("inject={call}:error={failure}:when={nth}");
        let root = scene.stage();
        let strace = ["-o", "/dev/null", "-e", &format!("trace={call}"), "-e", &inject];
        let output = scene.run(root.path(), &mut scene.under(root.path(), "strace", &strace));
        let told = String::from_utf8_lossy(&output.stderr);
        assert!(!told.contains("panicked"), "{}, {inject}: {told}", scene.name);
        let state = scene.judge(root.path(), &inject, output.status.code());
        if state.leftovers > 0 {
            assert!(call.starts_with("unlink"), "{}, {inject}: a draft is left", scene.name);
        }
        told_nothing += usize::from(output.status.code() == scene.code);
        tally.count(state);
    }
    tally.tell(&format!("calls that failed, {told_nothing} of them without any harm"));
    assert!(tally.old > 0 && tally.new > 0, "calls before and after the renaming fail");
}

/// A file system of 256 KB in memory, all of it taken but for what is said, in a name space of its own.
const FULL: &str = r#"set -e
mount -t tmpfs -o size=256k none "$1/disk"
cp -a "$1/home" "$1/tmp" "$1/elsewhere" "$1/yard" "$1/disk"
dd if=/dev/zero of="$1/disk/filler" bs=1024 count=1024 2>/dev/null || true
truncate -s "-$2K" "$1/disk/filler"
root="$1"
shift 2
cd "$root/disk/yard"
code=0
"$@" || code=$?
rm "$root/disk/filler"
cd /
rm -r "$root/home" "$root/tmp" "$root/elsewhere" "$root/yard"
cp -a "$root/disk/home" "$root/disk/tmp" "$root/disk/elsewhere" "$root/disk/yard" "$root"
umount "$root/disk"
rmdir "$root/disk"
exit $code
"#;

#[test]
#[ignore = "needs the right to mount; `.ci/run` has it"]
fn a_full_disk() {
    let (mut dice, scenes) = (Dice::new(), scenes::all());
    let mut all = Vec::new();
    for scene in &scenes {
        // Such a disk gives room in pages of 4 KB.
        all.extend((0..20).map(|page| (scene, page * 4)));
    }
    let mut tally = Tally::default();
    for (scene, room) in dice.some(all, times(30)) {
        let root = scene.stage();
        let folder = root.path().to_string_lossy().into_owned();
        std::fs::create_dir(root.path().join("disk")).expect("made");
        let how = format!("{room} KB of room");
        let unshare = ["-rm", "sh", "-c", FULL, "sh", &folder, &room.to_string()];
        let output = scene.run(root.path(), &mut scene.under(Path::new(&folder), "unshare", &unshare));
        let state = scene.judge(root.path(), &how, output.status.code());
        let told = String::from_utf8_lossy(&output.stderr);
        if output.status.code() != scene.code {
            assert!(
                ["No space left", "no storage space"].iter().any(|it| told.contains(it)),
                "{}, {how}: {told}",
                scene.name
            );
        }
        assert_eq!(state.leftovers, 0, "{}, {how}", scene.name);
        tally.count(state);
    }
    tally.tell("full disks");
    assert!(tally.old > 0 && tally.new > 0, "some have room and some have not");
}
