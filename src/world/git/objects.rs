//! The contents git keeps, through one `git cat-file --batch` for the whole run: starting a program for each file would
//! cost more than reading it. Files that are expected are asked for in a stream, by a thread of its own, because git
//! stops reading questions while nobody reads its answers.

use std::collections::BTreeMap;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, ChildStdout, Stdio};
use std::sync::{Mutex, MutexGuard, PoisonError};

use super::super::{MOST_BYTES, ReadError};
use super::caller::{Caller, GitError};

/// Bytes kept of files that are expected but not read yet.
const MOST_WAITING: usize = 64 << 20;
/// Questions asked in one stream.
const STREAM: usize = 4096;

/// What git has under a name.
#[derive(Debug)]
pub(super) enum Object {
    Missing,
    Ambiguous,
    TooLarge {
        size: u64,
    },
    /// Read, but not kept: enough is waiting already.
    NoRoom,
    Whole {
        id: String,
        kind: String,
        bytes: Vec<u8>,
    },
}

#[derive(Debug)]
pub(super) struct Objects {
    caller: Caller,
    state: Mutex<ReaderState>,
}

#[derive(Debug, Default)]
struct ReaderState {
    batch: Option<Batch>,
    /// By id: the contents, and how often they are still expected to be read.
    waiting: BTreeMap<String, (Vec<u8>, usize)>,
}

#[derive(Debug)]
struct Batch {
    child: Child,
    questions: ChildStdin,
    answers: BufReader<ChildStdout>,
}

impl Objects {
    pub(super) fn new(caller: Caller) -> Self {
        Self { caller, state: Mutex::default() }
    }

    /// Starts the conversation, so that git gets ready while something else is done. That it cannot be started is told by
    /// the first question.
    pub(super) fn get_ready(&self) {
        let mut state = self.state();
        if state.batch.is_none() {
            state.batch = Batch::start(&self.caller).ok();
        }
    }

    fn state(&self) -> MutexGuard<'_, ReaderState> {
        // A reader that failed left no half-read answer behind: the process is dropped on every error.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What git has under a name (an id, or anything `git help revisions` describes).
    pub(super) fn named(&self, name: &str) -> Result<Object, ReadError> {
        if name.is_empty() || name.contains(['\n', '\0']) {
            return Ok(Object::Missing);
        }
        let mut state = self.state();
        self.with_batch(&mut state, |batch| {
            batch.questions.write_all(format!("{name}\n").as_bytes())?;
            read_answer(&mut batch.answers)
        })
    }

    /// The contents of a file.
    pub(super) fn blob(&self, id: &str) -> Result<Vec<u8>, ReadError> {
        {
            let mut state = self.state();
            if let Some((bytes, uses)) = state.waiting.get_mut(id) {
                if *uses > 1 {
                    *uses -= 1;
                    return Ok(bytes.clone());
                }
                return Ok(state.waiting.remove(id).map(|(bytes, _)| bytes).unwrap_or_default());
            }
        }
        match self.named(id)? {
            Object::Whole { kind, bytes, .. } if kind == "blob" => Ok(bytes),
            Object::TooLarge { size } => Err(ReadError::TooLarge { size, most: MOST_BYTES }),
            Object::Whole { kind, .. } => Err(ReadError::Other(format!("git keeps a {kind} there, not a file"))),
            Object::Missing | Object::Ambiguous | Object::NoRoom => {
                Err(ReadError::Other("git does not have its contents here; fetch the missing objects".to_owned()))
            }
        }
    }

    /// Fetches contents ahead, as far as memory is set aside for them. What is left, or fails, is asked for when read.
    pub(super) fn prefetch(&self, ids: Vec<String>) {
        let mut state = self.state();
        // In the order they came, which is about the order in which git has packed them.
        let mut wanted: Vec<(String, usize)> = Vec::new();
        let mut places: BTreeMap<String, usize> = BTreeMap::new();
        for id in ids {
            if let Some(&place) = places.get(&id) {
                wanted[place].1 += 1;
            } else if !state.waiting.contains_key(&id) {
                places.insert(id.clone(), wanted.len());
                wanted.push((id, 1));
            }
        }
        for stream in wanted.chunks(STREAM) {
            let held: usize = state.waiting.values().map(|(bytes, _)| bytes.len()).sum();
            if held > MOST_WAITING {
                return;
            }
            let answers = self.with_batch(&mut state, |batch| batch.stream(stream, MOST_WAITING - held));
            let Ok(answers) = answers else { return };
            for ((id, uses), answer) in stream.iter().zip(answers) {
                if let Object::Whole { kind, bytes, .. } = answer
                    && kind == "blob"
                {
                    state.waiting.insert(id.clone(), (bytes, *uses));
                }
            }
        }
    }

    /// Runs a conversation with git, starting it if need be. After an answer that was not read to its end, or an
    /// error, that git is ended and the next conversation starts another one.
    fn with_batch<T: CutShort>(
        &self,
        state: &mut ReaderState,
        talk: impl FnOnce(&mut Batch) -> io::Result<T>,
    ) -> Result<T, ReadError> {
        let mut batch = match state.batch.take() {
            Some(batch) => batch,
            None => Batch::start(&self.caller)?,
        };
        let answer = talk(&mut batch).map_err(|error| ReadError::Other(format!("git broke off: {error}")))?;
        if !answer.was_cut() {
            state.batch = Some(batch);
        }
        Ok(answer)
    }
}

/// Whether an answer was left in the middle.
trait CutShort {
    fn was_cut(&self) -> bool;
}

impl CutShort for Object {
    fn was_cut(&self) -> bool {
        matches!(self, Self::TooLarge { .. } | Self::NoRoom)
    }
}

impl CutShort for Vec<Object> {
    fn was_cut(&self) -> bool {
        self.last().is_some_and(CutShort::was_cut)
    }
}

impl Batch {
    fn start(caller: &Caller) -> Result<Self, ReadError> {
        let started = caller
            .command()
            .args(["cat-file", "--batch"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn();
        let mut child = started.map_err(|error| ReadError::from(GitError::NoGit(error)))?;
        match (child.stdin.take(), child.stdout.take()) {
            (Some(questions), Some(answers)) => Ok(Self { child, questions, answers: BufReader::new(answers) }),
            _ => Err(ReadError::Other("git was started without its pipes".to_owned())),
        }
    }

    /// Asks for many, and reads the answers meanwhile. Stops after one that is too large, and once more than `room`
    /// bytes have come.
    fn stream(&mut self, wanted: &[(String, usize)], room: usize) -> io::Result<Vec<Object>> {
        let Self { child, questions, answers } = self;
        std::thread::scope(|scope| {
            scope.spawn(move || {
                let lines: String = wanted.iter().flat_map(|(id, _)| [id.as_str(), "\n"]).collect();
                // If git is gone, the reader sees it too and says so.
                let _ = questions.write_all(lines.as_bytes());
            });
            let mut objects = Vec::with_capacity(wanted.len());
            let mut held = 0;
            while objects.len() < wanted.len() && !objects.was_cut() {
                let object = read_answer(answers).inspect_err(|_| end(child))?;
                if let Object::Whole { bytes, .. } = &object {
                    held += bytes.len();
                }
                objects.push(if held > room { Object::NoRoom } else { object });
            }
            if objects.was_cut() {
                // The writer may still wait for a reader.
                end(child);
            }
            Ok(objects)
        })
    }
}

/// Reads one answer: `<id> <kind> <size>`, the contents, a line end; or `<name> missing`.
fn read_answer(answers: &mut BufReader<ChildStdout>) -> io::Result<Object> {
    let mut head = Vec::new();
    answers.read_until(b'\n', &mut head)?;
    let Some(head) = head.strip_suffix(b"\n") else { return Err(io::ErrorKind::UnexpectedEof.into()) };
    let head = String::from_utf8_lossy(head);
    if head.ends_with(" missing") {
        return Ok(Object::Missing);
    }
    if head.ends_with(" ambiguous") {
        return Ok(Object::Ambiguous);
    }
    let mut words = head.split(' ');
    let (Some(id), Some(kind), Some(Ok(size))) = (words.next(), words.next(), words.next().map(str::parse::<u64>))
    else {
        return Err(io::Error::other(format!("`{head}` is no answer to `git cat-file --batch`")));
    };
    if size > MOST_BYTES {
        return Ok(Object::TooLarge { size });
    }
    let mut bytes = Vec::with_capacity(usize::try_from(size).unwrap_or(0) + 1);
    answers.take(size + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 != size + 1 || bytes.pop() != Some(b'\n') {
        return Err(io::ErrorKind::UnexpectedEof.into());
    }
    Ok(Object::Whole { id: id.to_owned(), kind: kind.to_owned(), bytes })
}

/// It only reads, so nothing is lost by ending it.
fn end(child: &mut Child) {
    let _ = child.kill();
}

impl Drop for Batch {
    fn drop(&mut self) {
        end(&mut self.child);
        let _ = self.child.wait();
    }
}
