//! Where the bytes come from: a file, or memory.

use std::fs::File;
use std::io::{self, Cursor, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use symphonia::core::io::MediaSource;

use crate::error::AudioError;

/// Something that can be opened again and again.
#[derive(Clone, Debug)]
pub(crate) enum Origin {
    /// A file on disk.
    File(PathBuf),
    /// Bytes in memory, with a name for messages.
    Memory(PathBuf, Arc<[u8]>),
}

/// An open stream of bytes of known length.
#[derive(Debug)]
pub(crate) enum Bytes {
    File(File),
    Memory(Cursor<Arc<[u8]>>),
}

impl Origin {
    /// The path or name, for messages.
    pub(crate) fn path(&self) -> &Path {
        match self {
            Origin::File(path) | Origin::Memory(path, _) => path,
        }
    }

    /// Opens the bytes at their start.
    pub(crate) fn open(&self) -> Result<Bytes, AudioError> {
        match self {
            Origin::File(path) => open_file(path),
            Origin::Memory(_, bytes) => Ok(Bytes::Memory(Cursor::new(bytes.clone()))),
        }
    }
}

fn open_file(path: &Path) -> Result<Bytes, AudioError> {
    let file = File::open(path).map_err(|source| AudioError::read(path, source))?;
    let metadata = file
        .metadata()
        .map_err(|source| AudioError::read(path, source))?;
    if metadata.is_dir() {
        let source = io::Error::new(io::ErrorKind::IsADirectory, "this is a folder");
        return Err(AudioError::read(path, source));
    }
    Ok(Bytes::File(file))
}

impl Bytes {
    /// Length in bytes.
    pub(crate) fn len(&self) -> io::Result<u64> {
        match self {
            Bytes::File(file) => file.metadata().map(|metadata| metadata.len()),
            Bytes::Memory(cursor) => Ok(cursor.get_ref().len() as u64),
        }
    }

    /// Reads until `buffer` is full or the bytes end; returns how many there were.
    pub(crate) fn read_up_to(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let mut filled = 0;
        while filled < buffer.len() {
            match self.read(&mut buffer[filled..]) {
                Ok(0) => break,
                Ok(count) => filled += count,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        Ok(filled)
    }

    /// Reads up to `buffer.len()` bytes from `position` on.
    pub(crate) fn read_at(&mut self, position: u64, buffer: &mut [u8]) -> io::Result<usize> {
        self.seek(SeekFrom::Start(position))?;
        self.read_up_to(buffer)
    }
}

impl Read for Bytes {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        match self {
            Bytes::File(file) => file.read(buffer),
            Bytes::Memory(cursor) => cursor.read(buffer),
        }
    }
}

impl Seek for Bytes {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        match self {
            Bytes::File(file) => file.seek(to),
            Bytes::Memory(cursor) => cursor.seek(to),
        }
    }
}

impl MediaSource for Bytes {
    fn is_seekable(&self) -> bool {
        true
    }

    fn byte_len(&self) -> Option<u64> {
        self.len().ok()
    }
}
