//! The server: one page on this machine, and what it may ask.

use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;

use axum::extract::{DefaultBodyLimit, Query, State};
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderName, StatusCode};
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use serde::Deserialize;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

use crate::assets::{ASSETS, Asset, PAGE};
use crate::blind::Heard;
use crate::decide::{Decision, Outcome, Resolve};
use crate::guard::{Guard, ask, keep};
use crate::live::Wanted;
use crate::room::Room;
use crate::{ListenError, pcm};

/// Longest stretch of sound in one answer, seconds.
const LONGEST_S: f64 = 10.0;
/// Longest stretch over which sources are made equally loud, seconds.
const LONGEST_MATCH_S: f64 = 120.0;
/// Pieces of sound made at once; more wait.
const AT_ONCE: usize = 2;
/// What is no text.
const BYTES: &str = "application/octet-stream";
/// Largest request, bytes.
const LARGEST_REQUEST: usize = 64 * 1024;

/// A page that is being served.
#[derive(Clone, Debug)]
pub struct Serving {
    /// The address to open, token and all.
    pub address: String,
}

#[derive(Clone)]
struct Shared {
    room: Arc<Room>,
    at_once: Arc<Semaphore>,
}

/// Serves the page until `stop` comes, at a port (0 for any free one); `ready` is told
/// the address.
///
/// # Errors
/// [`ListenError::Bind`], [`ListenError::Random`], [`ListenError::Stopped`].
pub fn serve(
    room: Room,
    port: u16,
    ready: impl FnOnce(&Serving),
    stop: impl Future<Output = ()> + Send + 'static,
) -> Result<(), ListenError> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(ListenError::Stopped)?;
    runtime.block_on(async move {
        let here = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
        let bind = |source| ListenError::Bind { port, source };
        let listener = TcpListener::bind(here).await.map_err(bind)?;
        let guard = Guard::new(listener.local_addr().map_err(bind)?.port())?;
        let room = Arc::new(room);
        // The page opens without it; the source appears once it is there.
        let laying = room.clone();
        drop(tokio::task::spawn_blocking(move || laying.lay()));
        ready(&Serving {
            address: format!("http://127.0.0.1:{}/#{}", guard.port, guard.token),
        });
        axum::serve(listener, router(room, guard))
            .with_graceful_shutdown(stop)
            .await
            .map_err(ListenError::Stopped)
    })
}

fn router(room: Arc<Room>, guard: Guard) -> Router {
    let shared = Shared {
        room,
        at_once: Arc::new(Semaphore::new(AT_ONCE)),
    };
    let asked = Router::new()
        .route("/api/room", get(facts))
        .route("/api/drawings", get(drawings))
        .route("/api/sound", get(sound))
        .route("/api/piece", get(piece))
        .route("/api/strips", post(strips))
        .route("/api/decide", post(decide))
        .route("/api/resolve", post(resolve))
        .route("/api/match", post(match_at))
        .route("/api/blind", post(blind))
        .route_layer(from_fn_with_state(guard.clone(), ask))
        .with_state(shared.clone());
    let style = shared.room.drawings.1.clone();
    let mut open = Router::new()
        .route(
            "/",
            get(|| async { text("text/html; charset=utf-8", PAGE.to_owned()) }),
        )
        .route("/favicon.ico", get(|| async { StatusCode::NO_CONTENT }))
        .route(
            "/drawings.css",
            get(move || async move { text("text/css; charset=utf-8", style) }),
        );
    for Asset { path, kind, body } in ASSETS {
        open = open.route(
            path,
            get(move || async move { ([(CONTENT_TYPE, kind)], body).into_response() }),
        );
    }
    open.merge(asked)
        .layer(DefaultBodyLimit::max(LARGEST_REQUEST))
        .layer(from_fn_with_state(guard, keep))
}

fn text(kind: &'static str, body: String) -> Response {
    ([(CONTENT_TYPE, kind)], body).into_response()
}

/// Runs what takes time apart from the server's own threads.
async fn apart<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, ListenError> + Send + 'static,
) -> Result<T, Response> {
    match tokio::task::spawn_blocking(work).await {
        Ok(Ok(value)) => Ok(value),
        Ok(Err(error)) => Err(failure(&error)),
        Err(_) => Err((
            StatusCode::INTERNAL_SERVER_ERROR,
            "this could not be done\n",
        )
            .into_response()),
    }
}

/// An error with its cause, and a status that tells whose fault it is.
fn failure(error: &ListenError) -> Response {
    let status = match error {
        ListenError::NoSource(_) | ListenError::NoMove(_) => StatusCode::NOT_FOUND,
        ListenError::Value(_) => StatusCode::UNPROCESSABLE_ENTITY,
        ListenError::NoEngine => StatusCode::GONE,
        _ => StatusCode::INTERNAL_SERVER_ERROR,
    };
    let mut words = error.to_string();
    let mut source = std::error::Error::source(error);
    while let Some(cause) = source {
        words = format!("{words}: {cause}");
        source = cause.source();
    }
    (status, format!("{words}\n")).into_response()
}

async fn facts(State(shared): State<Shared>) -> Result<Response, Response> {
    let room = shared.room;
    apart(move || {
        let json = room.facts(|facts| serde_json::to_string(facts));
        json.map_err(|error| ListenError::Value(error.to_string()))
    })
    .await
    .map(|json| text("application/json", json))
}

async fn drawings(State(shared): State<Shared>) -> Response {
    text("text/html; charset=utf-8", shared.room.drawings.0.clone())
}

/// A stretch of a source.
#[derive(Debug, Deserialize)]
struct Stretch {
    source: String,
    /// First frame on the session's clock.
    frame: u64,
    frames: usize,
    /// Ids of tracks, parted by commas; empty for all.
    #[serde(default)]
    solo: String,
}

async fn sound(
    State(shared): State<Shared>,
    Query(stretch): Query<Stretch>,
) -> Result<Response, Response> {
    let longest = (LONGEST_S * f64::from(shared.room.sample_rate_hz())) as usize;
    if stretch.frames == 0 || stretch.frames > longest || stretch.frame > 1 << 40 {
        let words = format!("ask for 1 to {longest} frames at a time\n");
        return Err((StatusCode::UNPROCESSABLE_ENTITY, words).into_response());
    }
    // Whoever goes away while waiting gives up the place.
    let Ok(_permit) = shared.at_once.clone().acquire_owned().await else {
        return Err(StatusCode::SERVICE_UNAVAILABLE.into_response());
    };
    let room = shared.room;
    let solo: Vec<String> = stretch
        .solo
        .split(',')
        .filter(|id| !id.is_empty())
        .map(str::to_owned)
        .collect();
    let heard = apart(move || {
        room.hear(&stretch.source, &solo, stretch.frame, stretch.frames)
            .map(|sound| (pcm::bytes(&sound), room.state().revision))
    })
    .await?;
    let revision = heard.1.to_string();
    let headers = [
        (CONTENT_TYPE, BYTES.to_owned()),
        (HeaderName::from_static("x-cupel-revision"), revision),
    ];
    Ok((headers, heard.0).into_response())
}

/// A piece of all tracks' own sound.
#[derive(Debug, Deserialize)]
struct Piece {
    index: u32,
}

async fn piece(
    State(shared): State<Shared>,
    Query(piece): Query<Piece>,
) -> Result<Response, Response> {
    let Ok(_permit) = shared.at_once.clone().acquire_owned().await else {
        return Err(StatusCode::SERVICE_UNAVAILABLE.into_response());
    };
    let room = shared.room;
    let bytes = apart(move || room.piece(u64::from(piece.index))).await?;
    Ok(([(CONTENT_TYPE, BYTES)], bytes).into_response())
}

/// The strips of a version of the mix, with decisions that are still on their way.
async fn strips(
    State(shared): State<Shared>,
    Json(wanted): Json<Wanted>,
) -> Result<Response, Response> {
    let room = shared.room;
    let numbers = apart(move || room.strips(&wanted)).await?;
    let bytes: Vec<u8> = numbers.iter().flat_map(|x| x.to_le_bytes()).collect();
    Ok(([(CONTENT_TYPE, BYTES)], bytes).into_response())
}

async fn decide(
    State(shared): State<Shared>,
    Json(decision): Json<Decision>,
) -> Result<Response, Response> {
    let room = shared.room.clone();
    let outcome = apart(move || room.decide(&decision)).await?;
    answered(shared, outcome).await
}

/// Where all sources shall be equally loud; the busiest passage where none is given.
#[derive(Debug, Deserialize)]
struct MatchAt {
    span_s: Option<(f64, f64)>,
}

async fn match_at(
    State(shared): State<Shared>,
    Json(at): Json<MatchAt>,
) -> Result<Response, Response> {
    let room = shared.room.clone();
    apart(move || {
        let passage = room.hearing.assayed.passages.as_ref();
        let passage_s = passage.map(|p| (p.stretch.start_s, p.stretch.end_s));
        let span_s = at.span_s.or(passage_s);
        match span_s {
            Some((start_s, end_s)) if !(start_s >= 0.0 && end_s > start_s + 0.4) => {
                Err(ListenError::Value("match over 0.4 s at least".into()))
            }
            Some((start_s, end_s)) if end_s - start_s > LONGEST_MATCH_S => Err(ListenError::Value(
                format!("match over {LONGEST_MATCH_S:.0} s at most"),
            )),
            _ => room.match_at(span_s),
        }
    })
    .await?;
    facts(State(shared)).await
}

async fn resolve(
    State(shared): State<Shared>,
    Json(how): Json<Resolve>,
) -> Result<Response, Response> {
    let room = shared.room.clone();
    let outcome = apart(move || room.resolve(how)).await?;
    answered(shared, outcome).await
}

/// The room after a decision; a conflict has a status of its own.
async fn answered(shared: Shared, outcome: Outcome) -> Result<Response, Response> {
    // The page hears the change at once; its loudness is matched meanwhile.
    let room = shared.room.clone();
    drop(tokio::task::spawn_blocking(move || room.rematch()));
    let mut response = facts(State(shared)).await?;
    if outcome == Outcome::Conflict {
        *response.status_mut() = StatusCode::CONFLICT;
    }
    Ok(response)
}

async fn blind(
    State(shared): State<Shared>,
    Json(heard): Json<Heard>,
) -> Result<Response, Response> {
    let room = shared.room;
    let heard = apart(move || {
        room.still_there()?;
        let mut kept = room.state().kept;
        let heard = kept.add(heard);
        kept.save(&room.place)?;
        room.with(|state| state.kept = kept);
        Ok(heard)
    })
    .await?;
    Ok(Json(heard).into_response())
}
