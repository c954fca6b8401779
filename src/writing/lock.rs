//! One writer at a time in a folder.

use std::fs::{File, TryLockError};
use std::path::Path;
use std::time::{Duration, Instant};

use super::NotWritten;

/// How long a writer waits for another one before it gives up.
const PATIENCE: Duration = Duration::from_secs(5);

/// Held while a folder is written to; the system lets go of it even when the program is killed.
pub(super) struct Lock {
    _folder: Option<File>,
}

/// Waits for its turn in a folder. Where the system cannot lock a folder, the comparison before renaming is all the
/// protection there is.
pub(super) fn folder(folder: &Path) -> Result<Lock, NotWritten> {
    let Ok(file) = File::open(folder) else { return Ok(Lock { _folder: None }) };
    let start = Instant::now();
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(Lock { _folder: Some(file) }),
            Err(TryLockError::Error(_)) => return Ok(Lock { _folder: None }),
            Err(TryLockError::WouldBlock) if start.elapsed() > PATIENCE => {
                return Err(NotWritten::Busy(folder.to_string_lossy().into_owned()));
            }
            Err(TryLockError::WouldBlock) => std::thread::sleep(Duration::from_millis(20)),
        }
    }
}
