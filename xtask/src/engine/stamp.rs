//! Which sources a module was built from.

use std::fs;
use std::path::{Path, PathBuf};

use crate::engine::{MODULE, STAMP};
use crate::error::XtaskError;

/// Crates that are part of the module.
const CRATES: [&str; 3] = ["engine", "process", "units"];

/// Their only dependency from elsewhere.
const FROM_ELSEWHERE: &str = "name = \"libm\"\n";

/// Hash of the sources, then of the kept module, a line each.
pub(crate) fn stamp(root: &Path) -> Result<String, XtaskError> {
    let module = root.join(MODULE);
    let module = fs::read(&module).map_err(XtaskError::file(&module))?;
    Ok(format!(
        "sources {}\nmodule {}\n",
        sources(root)?,
        blake3::hash(&module)
    ))
}

/// Fails where the stamp beside the kept module is another one.
pub(crate) fn check(root: &Path) -> Result<(), XtaskError> {
    let path = root.join(STAMP);
    let kept = fs::read_to_string(&path).map_err(XtaskError::file(&path))?;
    if kept == stamp(root)? {
        Ok(())
    } else {
        Err(XtaskError::OldModule)
    }
}

fn sources(root: &Path) -> Result<blake3::Hash, XtaskError> {
    let mut files = Vec::new();
    for name in CRATES {
        let folder = root.join("crates").join(name);
        files.push(folder.join("Cargo.toml"));
        collect(&folder.join("src"), &mut files)?;
    }
    files.sort();
    let mut hasher = blake3::Hasher::new();
    for path in files {
        let name = path.strip_prefix(root).unwrap_or(&path);
        let text = fs::read_to_string(&path).map_err(XtaskError::file(&path))?;
        // The same on systems that write lines and paths in another way.
        let text = text.replace("\r\n", "\n");
        hasher.update(name.to_string_lossy().replace('\\', "/").as_bytes());
        hasher.update(&(text.len() as u64).to_le_bytes());
        hasher.update(text.as_bytes());
    }
    let lock = root.join("Cargo.lock");
    let lock = fs::read_to_string(&lock).map_err(XtaskError::file(&lock))?;
    let package = lock
        .split("[[package]]\n")
        .find(|package| package.starts_with(FROM_ELSEWHERE));
    hasher.update(package.unwrap_or("").trim().as_bytes());
    Ok(hasher.finalize())
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) -> Result<(), XtaskError> {
    for entry in fs::read_dir(folder).map_err(XtaskError::file(folder))? {
        let path = entry.map_err(XtaskError::file(folder))?.path();
        if path.is_dir() {
            collect(&path, files)?;
        } else {
            files.push(path);
        }
    }
    Ok(())
}
