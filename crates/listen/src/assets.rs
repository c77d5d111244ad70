//! The page's own files, embedded.

/// A file the page may ask for, without a token: it holds nothing of the session.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Asset {
    pub(crate) path: &'static str,
    pub(crate) kind: &'static str,
    pub(crate) body: &'static str,
}

const SCRIPT: &str = "text/javascript; charset=utf-8";

pub(crate) const ASSETS: [Asset; 8] = [
    Asset {
        path: "/page.css",
        kind: "text/css; charset=utf-8",
        body: include_str!("../assets/page.css"),
    },
    Asset {
        path: "/page.js",
        kind: SCRIPT,
        body: include_str!("../assets/page.js"),
    },
    Asset {
        path: "/talk.js",
        kind: SCRIPT,
        body: include_str!("../assets/talk.js"),
    },
    Asset {
        path: "/sound.js",
        kind: SCRIPT,
        body: include_str!("../assets/sound.js"),
    },
    Asset {
        path: "/player.js",
        kind: SCRIPT,
        body: include_str!("../assets/player.js"),
    },
    Asset {
        path: "/transport.js",
        kind: SCRIPT,
        body: include_str!("../assets/transport.js"),
    },
    Asset {
        path: "/decide.js",
        kind: SCRIPT,
        body: include_str!("../assets/decide.js"),
    },
    Asset {
        path: "/blind.js",
        kind: SCRIPT,
        body: include_str!("../assets/blind.js"),
    },
];

/// The page itself.
pub(crate) const PAGE: &str = include_str!("../assets/page.html");
