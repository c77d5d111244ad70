//! `cargo xtask engine`: builds the listening page's engine for WebAssembly, or checks
//! the module that is kept in the repository.

mod build;
mod stamp;
mod trial;

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;

use crate::error::XtaskError;

/// Where the kept module and its stamp lie, from the root of the repository.
const MODULE: &str = "crates/listen/assets/engine.wasm";
const STAMP: &str = "crates/listen/assets/engine.stamp";

/// Options of `cargo xtask engine`.
#[derive(Debug, Args)]
pub(crate) struct Options {
    /// Change nothing; fail where the kept module is not that of the sources.
    #[arg(long)]
    check: bool,
}

/// The root of the repository.
fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_owned()
}

pub(crate) fn run(options: &Options) -> Result<(), XtaskError> {
    let root = root();
    let kept = root.join(MODULE);
    if !options.check {
        let built = build::build(&root, &build::ToolChain::find()?)?;
        let module = fs::read(&built).map_err(XtaskError::file(&built))?;
        fs::write(&kept, module).map_err(XtaskError::file(&kept))?;
        let path = root.join(STAMP);
        fs::write(&path, stamp::stamp(&root)?).map_err(XtaskError::file(&path))?;
        println!("{MODULE} is built and stamped");
        return Ok(());
    }
    stamp::check(&root)?;
    println!("the kept module is that of the sources");
    let Some(node) = trial::node() else {
        println!("skipped: node is not installed, the modules are not played");
        return Ok(());
    };
    let frames = trial::same_as_native(&kept, &node)?;
    println!("the kept module and the native build give the same bits: {frames} frames");
    match build::ToolChain::find() {
        Ok(tools) => {
            let built = build::build(&root, &tools)?;
            let frames = trial::same_as_native(&built, &node)?;
            println!("a module built now gives the same bits: {frames} frames");
        }
        Err(absent) => println!("skipped: nothing is built anew: {absent}"),
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_kept_module_is_that_of_the_sources() {
        stamp::check(&root()).unwrap();
    }

    #[test]
    fn the_kept_module_plays_what_the_native_build_plays() {
        match trial::node() {
            Some(node) => {
                let frames = trial::same_as_native(&root().join(MODULE), &node).unwrap();
                assert!(frames > 50_000, "{frames}");
            }
            None => println!("skipped: node is not installed"),
        }
    }
}
