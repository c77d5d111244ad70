//! Content hashes, remembered while a file stays as it is.

use std::path::Path;
use std::time::SystemTime;

use cupel_store::{Store, StoreError, content_hash};

const KIND: &str = "content";
const VERSION: u32 = 1;

/// A file that changed less than this ago could change again without another
/// time stamp: the coarsest file systems count in steps of 2 s.
#[cfg(unix)]
const SETTLED_S: u64 = 3;

/// BLAKE3 hash of a file's bytes, found in the store where the system says that
/// the file is as it was when it was hashed.
///
/// The system's word is its number for the file, the size, and the times of the
/// last change of the bytes and of the entry; the last cannot be set by programs.
/// Where there is no such word, the file is read.
///
/// # Errors
/// [`StoreError::Read`] where it cannot be read.
pub(crate) fn content_of(path: &Path, store: &Store) -> Result<String, StoreError> {
    remembered(path, store, SystemTime::now())
}

fn remembered(path: &Path, store: &Store, now: SystemTime) -> Result<String, StoreError> {
    let Some(before) = settled_state(path, now) else {
        return content_hash(path);
    };
    if let Some(content) = store.get(KIND, VERSION, &before) {
        return Ok(content);
    }
    let content = content_hash(path)?;
    if settled_state(path, now).is_some_and(|after| after == before) {
        // Failing to keep it only costs time later.
        let _ = store.put(KIND, VERSION, &before, &content);
    }
    Ok(content)
}

/// What the system says of a file that has not changed of late, as a key.
#[cfg(unix)]
fn settled_state(path: &Path, now: SystemTime) -> Option<String> {
    use std::os::unix::fs::MetadataExt;
    use std::time::{Duration, UNIX_EPOCH};

    let about = std::fs::metadata(path).ok()?;
    let changed = UNIX_EPOCH + Duration::from_secs(u64::try_from(about.ctime()).ok()?);
    let age = now.duration_since(changed).ok()?;
    (age.as_secs() >= SETTLED_S).then(|| {
        let parts = [
            about.dev().to_string(),
            about.ino().to_string(),
            about.size().to_string(),
            format!("{} {}", about.mtime(), about.mtime_nsec()),
            format!("{} {}", about.ctime(), about.ctime_nsec()),
        ];
        cupel_store::hash_of_parts(parts.iter().map(String::as_str))
    })
}

/// Elsewhere there is no time that programs cannot set.
#[cfg(not(unix))]
fn settled_state(_: &Path, _: SystemTime) -> Option<String> {
    None
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;
    use std::fs::{self, File};
    use std::time::Duration;

    #[test]
    fn remembers_what_settled_and_sees_every_change() {
        let dir = tempfile::tempdir().unwrap();
        let store = Store::open(Some(&dir.path().join("cache"))).unwrap();
        let path = dir.path().join("a.wav");
        fs::write(&path, "one").unwrap();
        let (now, later) = (
            SystemTime::now(),
            SystemTime::now() + Duration::from_secs(60),
        );
        let first = content_hash(&path).unwrap();

        // Just written: hashed, not kept.
        assert_eq!(remembered(&path, &store, now).unwrap(), first);
        assert_eq!(store.contents().unwrap().records, 0);
        // Settled: kept, and found again without a look at the bytes.
        assert_eq!(remembered(&path, &store, later).unwrap(), first);
        let key = settled_state(&path, later).unwrap();
        store.put(KIND, VERSION, &key, &"kept".to_owned()).unwrap();
        assert_eq!(remembered(&path, &store, later).unwrap(), "kept");

        // Other bytes of the same size under the old time of change.
        let time = fs::metadata(&path).unwrap().modified().unwrap();
        std::thread::sleep(Duration::from_millis(20));
        fs::write(&path, "two").unwrap();
        File::options()
            .append(true)
            .open(&path)
            .unwrap()
            .set_modified(time)
            .unwrap();
        let second = remembered(&path, &store, later).unwrap();
        assert_eq!(second, content_hash(&path).unwrap());
        assert_ne!(second, first);
    }

    #[test]
    fn a_missing_file_is_named() {
        let dir = tempfile::tempdir().unwrap();
        let store = Store::open(Some(dir.path())).unwrap();
        let error = content_of(&dir.path().join("gone.wav"), &store).unwrap_err();
        assert!(error.to_string().contains("gone.wav"), "{error}");
    }
}
