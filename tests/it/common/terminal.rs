//! The program at a real terminal, which `script` of util-linux makes: keys are typed, what is shown is read, and a closed
//! window is a closed window.

use std::io::{Read as _, Write as _};
use std::path::Path;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

pub(crate) const CTRL_C: &str = "\x03";
pub(crate) const CTRL_D: &str = "\x04";

pub(crate) struct Terminal {
    child: Child,
    keys: Option<ChildStdin>,
    shown: Arc<Mutex<Vec<u8>>>,
    /// How much of it was waited for already.
    seen: usize,
}

impl Terminal {
    /// Starts `wayledger` with these words, none of which may hold a quote, in a folder.
    pub(crate) fn start(folder: &Path, words: &[&str]) -> Terminal {
        let words: Vec<String> = words.iter().map(|word| format!("'{word}'")).collect();
        let line = format!("exec '{}' {}", env!("CARGO_BIN_EXE_wayledger"), words.join(" "));
        let mut child = Command::new("script")
            .args(["-qefc", &line, "/dev/null"])
            .current_dir(folder)
            .env("GIT_CONFIG_GLOBAL", "/dev/null")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("`script` of util-linux starts");
        let shown = Arc::new(Mutex::new(Vec::new()));
        let (mut from, to) = (child.stdout.take().expect("a pipe"), Arc::clone(&shown));
        std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            while let Ok(count @ 1..) = from.read(&mut bytes) {
                to.lock().expect("nobody fails with it").extend_from_slice(&bytes[..count]);
            }
        });
        let keys = child.stdin.take();
        Terminal { child, keys, shown, seen: 0 }
    }

    pub(crate) fn shown(&self) -> String {
        String::from_utf8_lossy(&self.shown.lock().expect("nobody fails with it")).replace('\r', "")
    }

    /// Waits until a text is shown behind what was waited for before.
    #[track_caller]
    pub(crate) fn wait_for(&mut self, text: &str) -> &mut Terminal {
        let start = Instant::now();
        loop {
            let shown = self.shown();
            if let Some(at) = shown[self.seen..].find(text) {
                self.seen += at + text.len();
                return self;
            }
            assert!(start.elapsed() < Duration::from_secs(60), "`{text}` is not shown:\n{}", &shown[self.seen..]);
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    pub(crate) fn key(&mut self, keys: &str) -> &mut Terminal {
        let to = self.keys.as_mut().expect("the window is open");
        to.write_all(keys.as_bytes()).and_then(|()| to.flush()).expect("it can be typed");
        self
    }

    /// Answers a question once it is asked.
    #[track_caller]
    pub(crate) fn answer(&mut self, question: &str, answer: &str) -> &mut Terminal {
        self.wait_for(question).wait_for(": ").key(&format!("{answer}\n"))
    }

    /// Waits for the end; its exit code and all that was shown.
    pub(crate) fn end(mut self) -> (Option<i32>, String) {
        let code = self.child.wait().expect("it ends").code();
        self.keys = None;
        // What is still on its way is short.
        std::thread::sleep(Duration::from_millis(50));
        (code, self.shown())
    }

    /// Closes the window: the terminal is gone, the program is told, and ends.
    pub(crate) fn close(mut self) {
        let program = self.program();
        self.child.kill().expect("it runs");
        self.child.wait().expect("it ends");
        let start = Instant::now();
        while Path::new(&format!("/proc/{program}/exe")).exists() {
            assert!(start.elapsed() < Duration::from_secs(60), "it goes on without its terminal");
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    /// Ends the program in the middle of whatever it does.
    pub(crate) fn kill(self) {
        let killed = Command::new("kill").args(["-KILL", &self.program()]).status().expect("`kill` starts");
        assert!(killed.success());
        self.end();
    }

    /// The number of the program's process, the only one that `script` has started.
    fn program(&self) -> String {
        let id = self.child.id();
        let children = std::fs::read_to_string(format!("/proc/{id}/task/{id}/children")).expect("Linux says");
        children.split_whitespace().next().expect("it runs").to_string()
    }
}
