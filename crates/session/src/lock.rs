//! One command at a time on one session.

use std::fs::{self, File, TryLockError};
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use crate::SessionError;
use crate::file::name_of;

/// How long [`SessionLock::take`] waits.
const PATIENCE: Duration = Duration::from_secs(10);
const PAUSE: Duration = Duration::from_millis(20);

/// A lock on a session, held until it is dropped or the process ends.
///
/// It is advisory: it keeps out other holders of a `SessionLock`, not editors.
/// It is taken on `cupel/.NAME.lock` beside the session file, which stays.
#[derive(Debug)]
pub struct SessionLock {
    _file: File,
}

impl SessionLock {
    /// Takes the lock of a session file, which need not exist yet; waits up to
    /// ten seconds for another holder.
    ///
    /// # Errors
    /// [`SessionError::InUse`] after waiting; [`SessionError::Lock`] if the lock
    /// file cannot be made.
    pub fn take(session_file: impl AsRef<Path>) -> Result<Self, SessionError> {
        Self::take_within(session_file, PATIENCE)
    }

    /// Like [`SessionLock::take`], waiting at most `patience`.
    ///
    /// # Errors
    /// Those of [`SessionLock::take`].
    pub fn take_within(
        session_file: impl AsRef<Path>,
        patience: Duration,
    ) -> Result<Self, SessionError> {
        let path = session_file.as_ref();
        let file = name_of(path);
        let lock = match open(path, &file) {
            Ok(lock) => lock,
            Err(source) => return Err(SessionError::Lock { file, source }),
        };
        let start = Instant::now();
        loop {
            match lock.try_lock() {
                Ok(()) => return Ok(Self { _file: lock }),
                Err(TryLockError::Error(source)) => {
                    return Err(SessionError::Lock { file, source });
                }
                Err(TryLockError::WouldBlock) if start.elapsed() < patience => thread::sleep(PAUSE),
                Err(TryLockError::WouldBlock) => return Err(SessionError::InUse { file }),
            }
        }
    }
}

fn open(path: &Path, name: &str) -> std::io::Result<File> {
    let folder = path.with_file_name("cupel");
    fs::create_dir_all(&folder)?;
    File::options()
        .create(true)
        .truncate(false)
        .write(true)
        .open(folder.join(format!(".{name}.lock")))
}
