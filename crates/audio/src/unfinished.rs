//! Files that are being written, so that a stopped program leaves no half file.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Every temporary file starts with this.
pub const TEMPORARY_PREFIX: &str = ".cupel-";

static UNFINISHED: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());
static NEXT: AtomicU64 = AtomicU64::new(0);

/// Removes every file that is still being written; for a Ctrl-C handler that ends
/// the program afterwards. Returns how many there were.
pub fn remove_unfinished() -> usize {
    let paths = std::mem::take(&mut *registry());
    for path in &paths {
        let _ = fs::remove_file(path);
    }
    paths.len()
}

/// A name for a temporary file beside `target`, not used before by this process.
pub(crate) fn temporary_beside(target: &Path) -> PathBuf {
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    let name = crate::error::file_name(target);
    let process = std::process::id();
    target.with_file_name(format!("{TEMPORARY_PREFIX}{process}-{number}-{name}.part"))
}

/// Remembers a temporary file.
pub(crate) fn remember(path: &Path) {
    registry().push(path.to_path_buf());
}

/// Forgets a temporary file that was renamed or removed.
pub(crate) fn forget(path: &Path) {
    registry().retain(|known| known != path);
}

fn registry() -> MutexGuard<'static, Vec<PathBuf>> {
    UNFINISHED.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_remembered_is_removed() {
        let folder = tempfile::tempdir().unwrap();
        let path = temporary_beside(&folder.path().join("mix.wav"));
        let finished = temporary_beside(&folder.path().join("mix.wav"));
        assert_ne!(path, finished);
        for path in [&path, &finished] {
            fs::write(path, b"half").unwrap();
            remember(path);
        }
        forget(&finished);
        assert!(remove_unfinished() >= 1);
        assert!(!path.exists());
        assert!(finished.exists());
    }
}
