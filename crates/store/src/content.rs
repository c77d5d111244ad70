//! Content hashes: what a file holds, whatever it is called.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use crate::StoreError;

const CHUNK_BYTES: usize = 1 << 20;

/// BLAKE3 hash of a file's bytes, as 64 hexadecimal digits.
///
/// Reads in chunks: memory does not grow with the file.
///
/// # Errors
/// [`StoreError::Read`] where the file cannot be read.
pub fn content_hash(path: &Path) -> Result<String, StoreError> {
    let failed = |source| StoreError::Read {
        path: path.to_owned(),
        source,
    };
    let mut file = File::open(path).map_err(failed)?;
    let mut hasher = blake3::Hasher::new();
    let mut chunk = vec![0; CHUNK_BYTES];
    loop {
        let read = file.read(&mut chunk).map_err(failed)?;
        if read == 0 {
            return Ok(hasher.finalize().to_hex().to_string());
        }
        hasher.update(&chunk[..read]);
    }
}

/// Hash of several texts in order, each kept apart from the next.
pub fn hash_of_parts<'a>(parts: impl IntoIterator<Item = &'a str>) -> String {
    let mut hasher = blake3::Hasher::new();
    for part in parts {
        hasher.update(&(part.len() as u64).to_le_bytes());
        hasher.update(part.as_bytes());
    }
    hasher.finalize().to_hex().to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Hash of the empty input, from the BLAKE3 specification's test vectors.
    #[test]
    fn empty_file() {
        let file = tempfile::NamedTempFile::new().unwrap();
        let hash = content_hash(file.path()).unwrap();
        assert_eq!(
            hash,
            "af1349b9f5f9a1a6a0404dea36dcc9499bcb25c9adc112b7cc9a93cae41f3262"
        );
    }

    #[test]
    fn parts_are_kept_apart() {
        assert_ne!(hash_of_parts(["ab", "c"]), hash_of_parts(["a", "bc"]));
    }

    #[test]
    fn a_missing_file_is_named() {
        let error = content_hash(Path::new("no-such-file.wav")).unwrap_err();
        assert!(
            error
                .to_string()
                .starts_with("cannot read `no-such-file.wav`"),
            "{error}"
        );
    }
}
