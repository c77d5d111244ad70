//! Licence texts that the crates' packages carry, each text once.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use crate::error::XtaskError;
use crate::licences::tree::Package;

/// Beginnings of the names of files that hold a licence or a notice.
const NAMES: [&str; 5] = ["license", "licence", "copying", "notice", "unlicense"];

/// A text with the crates that carry it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Text {
    /// Names of the crates, sorted.
    pub of: Vec<String>,
    /// The text, its ends trimmed.
    pub text: String,
}

/// All distinct texts in the order of their first crate, and the crates that
/// carry none. Texts that differ in white space only count as one.
pub(crate) fn distinct_texts(
    packages: &[Package],
) -> Result<(Vec<Text>, Vec<&Package>), XtaskError> {
    let mut texts: Vec<Text> = Vec::new();
    let mut known: BTreeMap<String, usize> = BTreeMap::new();
    let mut without = Vec::new();
    for package in packages {
        let files = licence_files(package)?;
        if files.is_empty() {
            without.push(package);
        }
        for file in files {
            let text = fs::read(&file).map_err(XtaskError::file(&file))?;
            let text = String::from_utf8_lossy(&text).replace("\r\n", "\n");
            let key = text.split_whitespace().collect::<Vec<_>>().join(" ");
            let index = *known.entry(key).or_insert_with(|| {
                let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
                texts.push(Text {
                    of: Vec::new(),
                    text: lines.join("\n").trim_matches('\n').to_owned(),
                });
                texts.len() - 1
            });
            let of = &mut texts[index].of;
            if !of.contains(&package.name) {
                of.push(package.name.clone());
            }
        }
    }
    Ok((texts, without))
}

/// The files that must go along: where MIT may be chosen, its text and notices.
fn licence_files(package: &Package) -> Result<Vec<PathBuf>, XtaskError> {
    let entries = fs::read_dir(&package.folder).map_err(XtaskError::file(&package.folder))?;
    let mut files: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.is_file() && is_licence(&name(path)))
        .collect();
    files.sort();
    let may_choose = package.licence.split(" OR ").any(|part| part == "MIT");
    let mit = |path: &PathBuf| name(path).contains("mit");
    if may_choose && files.iter().any(mit) {
        files.retain(|path| mit(path) || name(path).starts_with("notice"));
    }
    Ok(files)
}

fn name(path: &Path) -> String {
    path.file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .to_lowercase()
}

fn is_licence(name: &str) -> bool {
    NAMES.iter().any(|start| name.starts_with(start)) && !name.ends_with(".rs")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn package(folder: &Path, name: &str, licence: &str, files: &[(&str, &str)]) -> Package {
        let folder = folder.join(name);
        fs::create_dir(&folder).unwrap();
        for (file, text) in files {
            fs::write(folder.join(file), text).unwrap();
        }
        Package {
            name: name.into(),
            version: "1.0.0".into(),
            licence: licence.into(),
            folder,
        }
    }

    #[test]
    fn one_text_for_all_who_share_it() {
        let dir = tempfile::tempdir().unwrap();
        let packages = [
            package(
                dir.path(),
                "a",
                "MIT OR Apache-2.0",
                &[("LICENSE-MIT", "may\n"), ("LICENSE-APACHE", "long")],
            ),
            package(dir.path(), "b", "MIT", &[("license.txt", "may \r\n")]),
            package(
                dir.path(),
                "c",
                "MPL-2.0",
                &[("LICENSE", "other"), ("licenses.rs", "code")],
            ),
            package(dir.path(), "d", "ISC", &[("README.md", "read")]),
        ];
        let (texts, without) = distinct_texts(&packages).unwrap();
        let shown: Vec<_> = texts
            .iter()
            .map(|t| (t.of.join("+"), t.text.as_str()))
            .collect();
        assert_eq!(
            shown,
            [("a+b".to_owned(), "may"), ("c".to_owned(), "other")]
        );
        assert_eq!(without, [&packages[3]]);
    }
}
