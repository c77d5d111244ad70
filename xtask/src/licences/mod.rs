//! `THIRD-PARTY.md`: the licences of everything that the program contains.

mod texts;
mod tree;

use std::fmt::Write;
use std::fs;
use std::path::Path;

use clap::Args;

use crate::error::XtaskError;
use texts::{Text, distinct_texts};
use tree::{Package, packages};

/// Name of the file, at the root of the project.
const FILE: &str = "THIRD-PARTY.md";

const HEAD: &str = "# Third-party software

Cupel contains the crates below, on one platform or another: all that its program
depends on, apart from what is used only to build or test it. Written by `cargo xtask
licences`; please do not edit.

The report's page carries no fonts, scripts or pictures of others.
";

/// Options of the job.
#[derive(Debug, Args)]
pub(crate) struct Options {
    /// Write nothing; fail if the file is out of date.
    #[arg(long)]
    check: bool,
}

/// Writes the file, or compares it with what would be written.
pub(crate) fn run(options: &Options) -> Result<(), XtaskError> {
    let (root, packages) = packages()?;
    let text = document(&packages)?;
    let path = root.join(FILE);
    if !options.check {
        fs::write(&path, &text).map_err(XtaskError::file(&path))?;
        println!(
            "{FILE}: {} crates, {} kB",
            packages.len(),
            text.len() / 1000
        );
        return Ok(());
    }
    match fs::read_to_string(&path) {
        Ok(there) if there == text => Ok(()),
        _ => Err(XtaskError::OutOfDate {
            path: Path::new(FILE).to_owned(),
        }),
    }
}

fn document(packages: &[Package]) -> Result<String, XtaskError> {
    let mut text = format!("{HEAD}\n| crate | version | licence |\n|---|---|---|\n");
    for package in packages {
        let Package {
            name,
            version,
            licence,
            ..
        } = package;
        let _ = writeln!(text, "| {name} | {version} | {licence} |");
    }
    let (texts, without) = distinct_texts(packages)?;
    text += "\n## Texts\n\nAs the crates carry them. Where one may be chosen, MIT is.\n";
    for Text { of, text: licence } in &texts {
        let _ = write!(text, "\n### {}\n\n```text\n{licence}\n```\n", of.join(", "));
    }
    if !without.is_empty() {
        text += "\n### Without a text of their own\n\n";
        let names: Vec<_> = without
            .iter()
            .map(|p| format!("{} ({})", p.name, p.licence))
            .collect();
        let _ = writeln!(
            text,
            "These packages carry no licence file; the texts of the licences they name stand \
             above or at <https://spdx.org/licenses/>: {}.",
            names.join(", ")
        );
    }
    Ok(text)
}
