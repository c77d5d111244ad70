//! The module from the sources, with a compiler that has the sources of its library.
//!
//! Debian's `rustc-web` and `rust-web-src` are such a pair; the usual compiler's cargo
//! and linker drive it. No version is pinned: the compiler is asked for its own.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::error::XtaskError;

const TARGET: &str = "wasm32-unknown-unknown";

/// Where a compiler that can build the module may be.
const COMPILERS: [&str; 2] = ["/usr/bin/rustc", "/usr/bin/rustc-web"];

/// What builds the module.
#[derive(Debug)]
pub(crate) struct ToolChain {
    compiler: PathBuf,
    sysroot: PathBuf,
    linker: PathBuf,
}

impl ToolChain {
    /// Looks for it; `CUPEL_WASM_RUSTC` names another compiler.
    pub(crate) fn find() -> Result<Self, XtaskError> {
        let named = std::env::var_os("CUPEL_WASM_RUSTC").map(PathBuf::from);
        let places = COMPILERS.iter().map(PathBuf::from);
        named
            .into_iter()
            .chain(places)
            .find_map(|compiler| {
                let sysroot = sysroot(&compiler)?;
                let library = sysroot.join("lib/rustlib/src/rust/library/std/Cargo.toml");
                library.is_file().then_some((compiler, sysroot))
            })
            .zip(linker())
            .map(|((compiler, sysroot), linker)| Self {
                compiler,
                sysroot,
                linker,
            })
            .ok_or(XtaskError::NoToolChain)
    }
}

fn ask(compiler: &Path, arguments: &[&str]) -> Option<String> {
    let output = Command::new(compiler).args(arguments).output().ok()?;
    let said = String::from_utf8(output.stdout).ok()?;
    output.status.success().then(|| said.trim().to_owned())
}

fn sysroot(compiler: &Path) -> Option<PathBuf> {
    ask(compiler, &["--print", "sysroot"]).map(PathBuf::from)
}

/// The linker that comes with the usual compiler.
fn linker() -> Option<PathBuf> {
    let usual = Path::new("rustc");
    let version = ask(usual, &["-vV"])?;
    let host = version
        .lines()
        .find_map(|line| line.strip_prefix("host: "))?;
    let linker = sysroot(usual)?.join(format!("lib/rustlib/{host}/bin/rust-lld"));
    linker.is_file().then_some(linker)
}

/// Builds the module; gives where it lies.
pub(crate) fn build(root: &Path, tools: &ToolChain) -> Result<PathBuf, XtaskError> {
    let target = std::env::var_os("CARGO_TARGET_DIR")
        .map_or_else(|| root.join("target"), PathBuf::from)
        .join("engine");
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let home = std::env::var_os("CARGO_HOME")
        .or_else(|| std::env::var_os("HOME").map(|home| Path::new(&home).join(".cargo").into()));
    // The module says nothing of the machine it was built on.
    let mut flags = vec!["-Ctarget-feature=+simd128".to_owned()];
    let mut known_as = |path: &Path, name: &str| {
        flags.push(format!("--remap-path-prefix={}={name}", path.display()));
    };
    known_as(root, "cupel");
    known_as(&tools.sysroot.join("lib/rustlib/src"), "library");
    if let Some(home) = &home {
        known_as(Path::new(home), "cargo");
    }
    let status = Command::new(&cargo)
        .current_dir(root)
        .args([
            "rustc",
            "--locked",
            "--release",
            "--package",
            "cupel-engine",
        ])
        .args(["--lib", "--crate-type", "cdylib", "--target", TARGET])
        .arg("-Zbuild-std=std,panic_abort")
        .env("RUSTC_BOOTSTRAP", "1")
        .env("RUSTC", &tools.compiler)
        .env("CARGO_ENCODED_RUSTFLAGS", flags.join("\u{1f}"))
        .env("CARGO_TARGET_DIR", &target)
        .env("CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER", &tools.linker)
        .env("CARGO_PROFILE_RELEASE_LTO", "fat")
        .env("CARGO_PROFILE_RELEASE_PANIC", "abort")
        .env("CARGO_PROFILE_RELEASE_CODEGEN_UNITS", "1")
        .env("CARGO_PROFILE_RELEASE_STRIP", "true")
        .env_remove("RUSTC_WRAPPER")
        .env_remove("RUSTUP_TOOLCHAIN")
        .status()
        .map_err(|source| XtaskError::Start {
            program: "cargo".into(),
            source,
        })?;
    if !status.success() {
        return Err(XtaskError::Failed {
            program: "cargo rustc".into(),
            status,
            said: "the engine could not be built".into(),
        });
    }
    Ok(target.join(TARGET).join("release/cupel_engine.wasm"))
}
