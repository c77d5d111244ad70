//! The crates that the program contains, from `cargo metadata`.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::process::Command;

use serde::Deserialize;

use crate::error::XtaskError;

/// The program's own package.
const PROGRAM: &str = "cupel";

/// A crate of others.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Package {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
    /// Its licence as an SPDX expression.
    pub licence: String,
    /// Where its sources are.
    pub folder: PathBuf,
}

#[derive(Deserialize)]
struct Metadata {
    packages: Vec<Stated>,
    resolve: Resolve,
    workspace_root: PathBuf,
}

#[derive(Deserialize)]
struct Stated {
    id: String,
    name: String,
    version: String,
    license: Option<String>,
    source: Option<String>,
    manifest_path: PathBuf,
}

#[derive(Deserialize)]
struct Resolve {
    nodes: Vec<Node>,
}

#[derive(Deserialize)]
struct Node {
    id: String,
    deps: Vec<Dependency>,
}

#[derive(Deserialize)]
struct Dependency {
    pkg: String,
    dep_kinds: Vec<Kind>,
}

#[derive(Deserialize)]
struct Kind {
    /// `null` is a normal dependency; others are `dev` and `build`.
    kind: Option<String>,
}

/// The root of the project, and all crates of others in the program, sorted.
pub(crate) fn packages() -> Result<(PathBuf, Vec<Package>), XtaskError> {
    let cargo = std::env::var_os("CARGO").unwrap_or("cargo".into());
    let mut command = Command::new(cargo);
    command.args(["metadata", "--format-version", "1", "--locked"]);
    let output = command.output().map_err(|source| XtaskError::Start {
        program: "cargo".into(),
        source,
    })?;
    if !output.status.success() {
        return Err(XtaskError::Failed {
            program: "cargo metadata".into(),
            status: output.status,
            said: String::from_utf8_lossy(&output.stderr).trim().to_owned(),
        });
    }
    let metadata: Metadata =
        serde_json::from_slice(&output.stdout).map_err(|source| XtaskError::Answer {
            program: "cargo metadata",
            source,
        })?;
    let reached = reached(&metadata);
    let mut packages = Vec::new();
    let others = metadata
        .packages
        .into_iter()
        .filter(|stated| stated.source.is_some());
    for stated in others.filter(|stated| reached.contains(&stated.id)) {
        packages.push(package(stated)?);
    }
    packages.sort();
    Ok((metadata.workspace_root, packages))
}

fn package(stated: Stated) -> Result<Package, XtaskError> {
    let Some(licence) = stated.license else {
        return Err(XtaskError::NoLicence {
            name: stated.name,
            version: stated.version,
        });
    };
    Ok(Package {
        name: stated.name,
        version: stated.version,
        // An older way of writing "or".
        licence: licence.replace('/', " OR ").replace("  OR  ", " OR "),
        folder: stated
            .manifest_path
            .parent()
            .unwrap_or(&stated.manifest_path)
            .to_owned(),
    })
}

/// Ids of all packages reached from the program by normal dependencies.
fn reached(metadata: &Metadata) -> BTreeSet<String> {
    let nodes: BTreeMap<&str, &Node> = metadata
        .resolve
        .nodes
        .iter()
        .map(|node| (node.id.as_str(), node))
        .collect();
    let start = metadata
        .packages
        .iter()
        .find(|p| p.name == PROGRAM && p.source.is_none());
    let mut open: Vec<&str> = start.iter().map(|p| p.id.as_str()).collect();
    let mut reached = BTreeSet::new();
    while let Some(id) = open.pop() {
        if !reached.insert(id.to_owned()) {
            continue;
        }
        let dependencies = nodes.get(id).map_or(&[][..], |node| &node.deps);
        let is_normal = |d: &&Dependency| d.dep_kinds.iter().any(|kind| kind.kind.is_none());
        open.extend(
            dependencies
                .iter()
                .filter(is_normal)
                .map(|d| d.pkg.as_str()),
        );
    }
    reached
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_normal_dependencies_are_followed() {
        let text = r#"{"workspace_root": "/w", "packages": [
            {"id": "c", "name": "cupel", "version": "1", "license": null, "source": null,
             "manifest_path": "/w/Cargo.toml"}],
            "resolve": {"nodes": [
            {"id": "c", "deps": [
                {"pkg": "a", "dep_kinds": [{"kind": null}]},
                {"pkg": "t", "dep_kinds": [{"kind": "dev"}]}]},
            {"id": "a", "deps": [
                {"pkg": "b", "dep_kinds": [{"kind": "build"}, {"kind": null}]},
                {"pkg": "m", "dep_kinds": [{"kind": "build"}]}]},
            {"id": "b", "deps": []}, {"id": "t", "deps": []}, {"id": "m", "deps": []}]}}"#;
        let metadata: Metadata = serde_json::from_str(text).unwrap();
        let expected = ["a", "b", "c"].map(str::to_owned);
        assert_eq!(reached(&metadata), BTreeSet::from(expected));
    }
}
