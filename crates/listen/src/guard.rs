//! Who may ask: only this server's own page, opened with its token.

use std::fs::File;
use std::io::Read;

use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, HOST, HeaderName, ORIGIN, REFERRER_POLICY,
    X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use crate::ListenError;

/// The header that carries the token.
pub(crate) const TOKEN: HeaderName = HeaderName::from_static("x-cupel-token");

/// Nothing but the page's own files; no frames, no forms, no inline script. The engine is
/// WebAssembly, which is all that `wasm-unsafe-eval` allows.
const POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; connect-src 'self'; \
                      worker-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; \
                      frame-ancestors 'none'";

/// What a request is held against.
#[derive(Clone, Debug)]
pub struct Guard {
    /// The secret the page was opened with.
    pub token: String,
    /// The port the server listens at.
    pub port: u16,
}

impl Guard {
    /// A guard with a fresh token.
    ///
    /// # Errors
    /// [`ListenError::Random`] where the system gives none.
    pub fn new(port: u16) -> Result<Self, ListenError> {
        Ok(Self {
            token: token().map_err(ListenError::Random)?,
            port,
        })
    }

    /// Whether the host is this machine at this port: a page elsewhere that points a
    /// name of its own here is turned away.
    fn is_here(&self, host: &str) -> bool {
        let port = self.port;
        [format!("127.0.0.1:{port}"), format!("localhost:{port}")].contains(&host.to_owned())
    }

    /// Whether a request may be answered at all.
    fn admits(&self, headers: &HeaderMap) -> bool {
        let text = |name: HeaderName| headers.get(name).map(|value| value.to_str());
        let host = matches!(text(HOST), Some(Ok(host)) if self.is_here(host));
        let origin = match text(ORIGIN) {
            None => true,
            Some(Ok(origin)) => origin
                .strip_prefix("http://")
                .is_some_and(|host| self.is_here(host)),
            Some(Err(_)) => false,
        };
        host && origin
    }

    /// Whether the token is right, compared in the same time whatever it is.
    pub(crate) fn knows(&self, token: &str) -> bool {
        let (given, own) = (
            blake3::hash(token.as_bytes()),
            blake3::hash(self.token.as_bytes()),
        );
        given == own
    }
}

/// 128 random bits in hexadecimal.
fn token() -> std::io::Result<String> {
    let mut bytes = [0_u8; 16];
    random(&mut bytes)?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

#[cfg(unix)]
fn random(bytes: &mut [u8]) -> std::io::Result<()> {
    File::open("/dev/urandom")?.read_exact(bytes)
}

#[cfg(not(unix))]
fn random(bytes: &mut [u8]) -> std::io::Result<()> {
    // Keys of a hash map are drawn by the system.
    use std::hash::{BuildHasher, Hasher};
    for part in bytes.chunks_mut(8) {
        let word = std::collections::hash_map::RandomState::new()
            .build_hasher()
            .finish();
        part.copy_from_slice(&word.to_le_bytes()[..part.len()]);
    }
    Ok(())
}

/// Turns away foreign hosts and origins; every answer carries the same headers.
pub(crate) async fn keep(State(guard): State<Guard>, request: Request, next: Next) -> Response {
    let mut response = if guard.admits(request.headers()) {
        next.run(request).await
    } else {
        (
            StatusCode::FORBIDDEN,
            "this page is for this machine only\n",
        )
            .into_response()
    };
    let fixed = [
        (CONTENT_SECURITY_POLICY, POLICY),
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (REFERRER_POLICY, "no-referrer"),
        (CACHE_CONTROL, "no-store"),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-embedder-policy"),
            "require-corp",
        ),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
    ];
    for (name, value) in fixed {
        response
            .headers_mut()
            .insert(name, HeaderValue::from_static(value));
    }
    response
}

/// Asks for the token before anything of the session is told.
pub(crate) async fn ask(State(guard): State<Guard>, request: Request, next: Next) -> Response {
    let given = request
        .headers()
        .get(TOKEN)
        .and_then(|value| value.to_str().ok());
    match given {
        Some(given) if guard.knows(given) => next.run(request).await,
        _ => (
            StatusCode::UNAUTHORIZED,
            "open the address that cupel listen printed\n",
        )
            .into_response(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn guard() -> Guard {
        Guard {
            token: "secret".into(),
            port: 4000,
        }
    }

    fn headers(pairs: &[(HeaderName, &'static str)]) -> HeaderMap {
        let mut headers = HeaderMap::new();
        for (name, value) in pairs {
            headers.insert(name, HeaderValue::from_static(value));
        }
        headers
    }

    #[test]
    fn only_this_machine_at_this_port_is_admitted() {
        let admits = |pairs: &[(HeaderName, &'static str)]| guard().admits(&headers(pairs));
        assert!(admits(&[(HOST, "127.0.0.1:4000")]));
        assert!(admits(&[
            (HOST, "localhost:4000"),
            (ORIGIN, "http://localhost:4000")
        ]));
        assert!(!admits(&[]));
        assert!(!admits(&[(HOST, "example.org:4000")]));
        assert!(!admits(&[(HOST, "127.0.0.1:4001")]));
        assert!(!admits(&[
            (HOST, "127.0.0.1:4000"),
            (ORIGIN, "http://example.org")
        ]));
        assert!(!admits(&[(HOST, "127.0.0.1:4000"), (ORIGIN, "null")]));
    }

    #[test]
    fn tokens_are_long_and_never_the_same() {
        let (one, other) = (token().unwrap_or_default(), token().unwrap_or_default());
        assert_eq!(one.len(), 32);
        assert_ne!(one, other);
        assert!(guard().knows("secret") && !guard().knows("secre") && !guard().knows(""));
    }
}
