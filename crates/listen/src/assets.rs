//! The page's own files, embedded.

/// A file the page may ask for, without a token: it holds nothing of the session.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Asset {
    pub(crate) path: &'static str,
    pub(crate) kind: &'static str,
    pub(crate) body: &'static [u8],
}

const SCRIPT: &str = "text/javascript; charset=utf-8";
const STYLE: &str = "text/css; charset=utf-8";
const MODULE: &str = "application/wasm";

macro_rules! asset {
    ($path:literal, $kind:expr) => {
        Asset {
            path: $path,
            kind: $kind,
            body: include_bytes!(concat!("../assets", $path)),
        }
    };
}

pub(crate) const ASSETS: [Asset; 13] = [
    asset!("/page.css", STYLE),
    asset!("/page.js", SCRIPT),
    asset!("/talk.js", SCRIPT),
    asset!("/sound.js", SCRIPT),
    asset!("/feed.js", SCRIPT),
    asset!("/player.js", SCRIPT),
    asset!("/ways.js", SCRIPT),
    asset!("/engine.js", SCRIPT),
    asset!("/engine.wasm", MODULE),
    asset!("/transport.js", SCRIPT),
    asset!("/places.js", SCRIPT),
    asset!("/decide.js", SCRIPT),
    asset!("/blind.js", SCRIPT),
];

/// The page itself.
pub(crate) const PAGE: &str = include_str!("../assets/page.html");
