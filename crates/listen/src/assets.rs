//! The page's own files, embedded.

/// A file the page may ask for, without a token: it holds nothing of the session.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Asset {
    pub(crate) path: &'static str,
    pub(crate) kind: &'static str,
    pub(crate) body: &'static str,
}

const SCRIPT: &str = "text/javascript; charset=utf-8";
const STYLE: &str = "text/css; charset=utf-8";

const fn asset(path: &'static str, kind: &'static str, body: &'static str) -> Asset {
    Asset { path, kind, body }
}

pub(crate) const ASSETS: [Asset; 8] = [
    asset("/page.css", STYLE, include_str!("../assets/page.css")),
    asset("/page.js", SCRIPT, include_str!("../assets/page.js")),
    asset("/talk.js", SCRIPT, include_str!("../assets/talk.js")),
    asset("/sound.js", SCRIPT, include_str!("../assets/sound.js")),
    asset("/player.js", SCRIPT, include_str!("../assets/player.js")),
    asset(
        "/transport.js",
        SCRIPT,
        include_str!("../assets/transport.js"),
    ),
    asset("/decide.js", SCRIPT, include_str!("../assets/decide.js")),
    asset("/blind.js", SCRIPT, include_str!("../assets/blind.js")),
];

/// The page itself.
pub(crate) const PAGE: &str = include_str!("../assets/page.html");
