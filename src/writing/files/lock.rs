//! One writer at a time in a folder.

use std::fs::{File, TryLockError};
use std::path::Path;
use std::time::{Duration, Instant};

use super::{WriteError, draft, name};

/// How long a writer waits for another one before it gives up.
const PATIENCE: Duration = Duration::from_secs(5);

/// Held while a folder is written to; the system lets go of it even when the program is killed.
pub(super) struct FolderLock {
    _folder: Option<File>,
}

/// Waits for the lock of a folder. Where the system cannot lock a folder, the comparison before renaming is all the
/// protection there is.
pub(super) fn take(folder: &Path) -> Result<FolderLock, WriteError> {
    let Ok(file) = File::open(folder) else { return Ok(FolderLock { _folder: None }) };
    let start = Instant::now();
    loop {
        match file.try_lock() {
            Ok(()) => {
                // Nobody else writes here now, so what a writer left in the middle of its work is nobody's.
                draft::clear(folder);
                return Ok(FolderLock { _folder: Some(file) });
            }
            Err(TryLockError::Error(_)) => return Ok(FolderLock { _folder: None }),
            Err(TryLockError::WouldBlock) if start.elapsed() > PATIENCE => {
                return Err(WriteError::Busy(name(folder)));
            }
            Err(TryLockError::WouldBlock) => std::thread::sleep(Duration::from_millis(20)),
        }
    }
}
