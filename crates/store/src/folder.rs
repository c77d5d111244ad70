//! The folder of records.

use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::SystemTime;

use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::StoreError;

/// Largest size of the store, in bytes: 2 GiB.
pub const LIMIT_BYTES: u64 = 2 << 30;

/// After tidying, the store is at most this part of its limit.
const KEPT_PART: f64 = 0.9;

const ENDING: &str = "record";

/// A store in one folder.
#[derive(Clone, Debug)]
pub struct Store {
    folder: PathBuf,
    limit_bytes: u64,
}

/// What a store holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Contents {
    /// Number of records.
    pub records: usize,
    /// Their size in bytes.
    pub bytes: u64,
}

impl Store {
    /// Opens the store in `folder`, or in the platform's cache folder; makes it
    /// where it is absent.
    ///
    /// # Errors
    /// [`StoreError::Folder`] where it cannot be made, [`StoreError::NoFolder`]
    /// where the platform names none.
    pub fn open(folder: Option<&Path>) -> Result<Self, StoreError> {
        let folder = match folder {
            Some(folder) => folder.to_owned(),
            None => dirs::cache_dir().ok_or(StoreError::NoFolder)?.join("cupel"),
        };
        fs::create_dir_all(&folder).map_err(|source| StoreError::Folder {
            path: folder.clone(),
            source,
        })?;
        Ok(Self {
            folder,
            limit_bytes: LIMIT_BYTES,
        })
    }

    /// The same store with another size limit.
    pub fn with_limit(mut self, limit_bytes: u64) -> Self {
        self.limit_bytes = limit_bytes;
        self
    }

    /// Where the records lie.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    fn path(&self, kind: &str, version: u32, key: &str) -> PathBuf {
        self.folder.join(format!("{kind}-{version}-{key}.{ENDING}"))
    }

    /// The record of this kind, version and key, if it is there and whole.
    pub fn get<T: DeserializeOwned>(&self, kind: &str, version: u32, key: &str) -> Option<T> {
        let path = self.path(kind, version, key);
        let bytes = fs::read(&path).ok()?;
        let value = unseal(&bytes).and_then(|payload| postcard::from_bytes(payload).ok());
        match value {
            Some(value) => {
                // The time of last use decides what goes first; not being able
                // to note it only makes the record look older.
                let _ = File::options()
                    .append(true)
                    .open(&path)
                    .and_then(|file| file.set_modified(SystemTime::now()));
                Some(value)
            }
            None => {
                let _ = fs::remove_file(&path);
                None
            }
        }
    }

    /// Keeps a record: whole or not at all.
    ///
    /// # Errors
    /// [`StoreError::Folder`] where it cannot be written. The caller may go on:
    /// the store only saves time.
    pub fn put<T: Serialize>(
        &self,
        kind: &str,
        version: u32,
        key: &str,
        value: &T,
    ) -> Result<(), StoreError> {
        let failed = |source| StoreError::Folder {
            path: self.folder.clone(),
            source,
        };
        let payload = postcard::to_stdvec(value)
            .map_err(|error| failed(std::io::Error::other(error.to_string())))?;
        let path = self.path(kind, version, key);
        let unfinished = unfinished(&path);
        let written = File::create(&unfinished).and_then(|mut file| {
            file.write_all(blake3::hash(&payload).as_bytes())?;
            file.write_all(&payload)?;
            fs::rename(&unfinished, &path)
        });
        written.map_err(|source| {
            let _ = fs::remove_file(&unfinished);
            failed(source)
        })
    }

    /// What the store holds now.
    ///
    /// # Errors
    /// [`StoreError::Folder`] where the folder cannot be listed.
    pub fn contents(&self) -> Result<Contents, StoreError> {
        let records = self.records()?;
        Ok(Contents {
            records: records.len(),
            bytes: records.iter().map(|r| r.bytes).sum(),
        })
    }

    /// Removes the least recently used records until the store is well under
    /// its limit. Gives the number removed.
    ///
    /// # Errors
    /// [`StoreError::Folder`] where the folder cannot be listed.
    pub fn tidy(&self) -> Result<usize, StoreError> {
        let mut records = self.records()?;
        let mut bytes: u64 = records.iter().map(|r| r.bytes).sum();
        if bytes <= self.limit_bytes {
            return Ok(0);
        }
        records.sort_by(|a, b| (a.used, &a.path).cmp(&(b.used, &b.path)));
        let kept = (self.limit_bytes as f64 * KEPT_PART) as u64;
        let mut removed = 0;
        for record in records {
            if bytes <= kept {
                break;
            }
            if fs::remove_file(&record.path).is_ok() {
                bytes -= record.bytes;
                removed += 1;
            }
        }
        Ok(removed)
    }

    /// Removes every record. Gives what was removed.
    ///
    /// # Errors
    /// [`StoreError::Folder`] where the folder cannot be listed or emptied.
    pub fn clear(&self) -> Result<Contents, StoreError> {
        let records = self.records()?;
        let removed = Contents {
            records: records.len(),
            bytes: records.iter().map(|r| r.bytes).sum(),
        };
        for record in records {
            fs::remove_file(&record.path).map_err(|source| StoreError::Folder {
                path: record.path.clone(),
                source,
            })?;
        }
        Ok(removed)
    }

    fn records(&self) -> Result<Vec<RecordFile>, StoreError> {
        let failed = |source| StoreError::Folder {
            path: self.folder.clone(),
            source,
        };
        let mut records = Vec::new();
        for entry in fs::read_dir(&self.folder).map_err(failed)? {
            let path = entry.map_err(failed)?.path();
            let ours = path
                .extension()
                .is_some_and(|e| e == ENDING || e == "unfinished");
            // A record may go away between listing and looking.
            if let (true, Ok(data)) = (ours, fs::metadata(&path)) {
                let used = data.modified().unwrap_or(SystemTime::UNIX_EPOCH);
                records.push(RecordFile {
                    path,
                    bytes: data.len(),
                    used,
                });
            }
        }
        Ok(records)
    }
}

/// A name for a record being written that no other writer has, be it another
/// process or another thread with the same content.
fn unfinished(path: &Path) -> PathBuf {
    static NEXT: AtomicU64 = AtomicU64::new(0);
    let (process, number) = (std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
    path.with_extension(format!("{process}-{number}.unfinished"))
}

struct RecordFile {
    path: PathBuf,
    bytes: u64,
    used: SystemTime,
}

/// The payload behind its hash, if the two agree.
fn unseal(bytes: &[u8]) -> Option<&[u8]> {
    let (seal, payload) = bytes.split_at_checked(blake3::OUT_LEN)?;
    (blake3::hash(payload).as_bytes() == seal).then_some(payload)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    fn store() -> (tempfile::TempDir, Store) {
        let dir = tempfile::tempdir().unwrap();
        let store = Store::open(Some(&dir.path().join("deep/er"))).unwrap();
        (dir, store)
    }

    #[test]
    fn what_goes_in_comes_out() {
        let (_dir, store) = store();
        let value = (vec![1.5f32, f32::NEG_INFINITY], Some("text".to_owned()));
        store.put("measure", 3, "abc", &value).unwrap();
        assert_eq!(store.get("measure", 3, "abc"), Some(value));
        assert_eq!(
            store.get::<(Vec<f32>, Option<String>)>("measure", 4, "abc"),
            None
        );
    }

    #[test]
    fn writers_of_one_record_do_not_meet() {
        let (_dir, store) = store();
        let value = vec![7u32; 50_000];
        std::thread::scope(|scope| {
            for _ in 0..8 {
                scope.spawn(|| {
                    for _ in 0..20 {
                        store.put("measure", 1, "abc", &value).unwrap();
                        assert_eq!(store.get("measure", 1, "abc").as_ref(), Some(&value));
                    }
                });
            }
        });
        assert_eq!(store.contents().unwrap().records, 1);
    }

    #[test]
    fn a_damaged_record_is_absent() {
        let (_dir, store) = store();
        store.put("measure", 1, "abc", &vec![7u32; 100]).unwrap();
        let path = store.path("measure", 1, "abc");
        let mut bytes = fs::read(&path).unwrap();
        bytes[40] ^= 1;
        fs::write(&path, bytes).unwrap();
        assert_eq!(store.get::<Vec<u32>>("measure", 1, "abc"), None);
        assert!(!path.exists());
    }

    #[test]
    fn the_least_recently_used_go_first() {
        let (_dir, store) = store();
        let store = store.with_limit(2500);
        for (age_s, key) in [(30, "old"), (20, "middle"), (10, "new")] {
            store.put("measure", 1, key, &vec![0u8; 1000]).unwrap();
            let file = File::options()
                .append(true)
                .open(store.path("measure", 1, key))
                .unwrap();
            file.set_modified(SystemTime::now() - Duration::from_secs(age_s))
                .unwrap();
        }
        // Using the oldest makes it the newest.
        assert!(store.get::<Vec<u8>>("measure", 1, "old").is_some());
        assert_eq!(store.tidy().unwrap(), 1);
        assert!(store.get::<Vec<u8>>("measure", 1, "middle").is_none());
        assert!(store.get::<Vec<u8>>("measure", 1, "old").is_some());
        assert_eq!(store.tidy().unwrap(), 0);
    }

    #[test]
    fn clearing_leaves_foreign_files() {
        let (_dir, store) = store();
        store.put("measure", 1, "abc", &1u8).unwrap();
        fs::write(store.folder().join("notes.txt"), "mine").unwrap();
        assert_eq!(store.clear().unwrap().records, 1);
        assert_eq!(
            store.contents().unwrap(),
            Contents {
                records: 0,
                bytes: 0
            }
        );
        assert!(store.folder().join("notes.txt").exists());
    }
}
