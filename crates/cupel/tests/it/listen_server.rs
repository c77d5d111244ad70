//! `cupel listen` as a server: what it gives the engine in the page, and what it survives.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use tempfile::TempDir;

struct Served {
    home: TempDir,
    serving: Child,
    port: String,
    token: String,
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.serving.kill();
        let _ = self.serving.wait();
    }
}

fn cupel(home: &TempDir) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_cupel"));
    command.arg("--cache").arg(home.path().join("cache"));
    command
}

impl Served {
    fn demo() -> Self {
        let home = tempfile::tempdir().unwrap();
        let demo = home.path().join("demo");
        let made = cupel(&home)
            .args(["demo", "--seconds", "30"])
            .arg(&demo)
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&made.stderr).into_owned();
        assert!(made.status.success(), "{said}");
        let mut serving = cupel(&home)
            .arg("listen")
            .arg(&demo)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(serving.stdout.take().unwrap()).lines();
        let address = lines
            .find_map(|line| {
                line.unwrap()
                    .trim()
                    .strip_prefix("http://")
                    .map(str::to_owned)
            })
            .unwrap();
        let (host, token) = address.split_once("/#").unwrap();
        let port = host.rsplit(':').next().unwrap().to_owned();
        let token = token.to_owned();
        Self {
            home,
            serving,
            port,
            token,
        }
    }

    fn folder(&self) -> PathBuf {
        self.home.path().join("demo")
    }

    /// Status and body of an answer; a body makes it a post.
    fn ask(&self, path: &str, body: Option<&str>) -> (u16, Vec<u8>) {
        let mut stream = TcpStream::connect(format!("127.0.0.1:{}", self.port)).unwrap();
        stream
            .set_read_timeout(Some(Duration::from_secs(120)))
            .unwrap();
        let method = if body.is_some() { "POST" } else { "GET" };
        let body = body.unwrap_or("");
        write!(
            stream,
            "{method} {path} HTTP/1.1\r\nhost: 127.0.0.1:{}\r\nx-cupel-token: {}\r\n\
             content-type: application/json\r\ncontent-length: {}\r\nconnection: close\r\n\r\n{body}",
            self.port,
            self.token,
            body.len()
        )
        .unwrap();
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).unwrap();
        let end = answer
            .windows(4)
            .position(|part| part == b"\r\n\r\n")
            .unwrap();
        let head = String::from_utf8_lossy(&answer[..end]).into_owned();
        let status = head.split(' ').nth(1).unwrap().parse().unwrap();
        (status, answer[end + 4..].to_vec())
    }

    /// The strips of a version, as numbers.
    fn strips(&self, wanted: &str) -> Vec<f64> {
        let (status, bytes) = self.ask("/api/strips", Some(wanted));
        assert_eq!(status, 200, "{}", String::from_utf8_lossy(&bytes));
        let (numbers, rest) = bytes.as_chunks::<8>();
        assert!(rest.is_empty());
        numbers.iter().map(|x| f64::from_le_bytes(*x)).collect()
    }
}

fn words(answer: &(u16, Vec<u8>)) -> String {
    format!("{}: {}", answer.0, String::from_utf8_lossy(&answer.1))
}

#[test]
fn a_decision_is_in_the_strips_before_it_is_in_the_file() {
    let served = Served::demo();
    let file = served.folder().join("session.toml");
    let written = fs::read(&file).unwrap();
    let (status, room) = served.ask("/api/room", None);
    assert_eq!(status, 200);
    let room: serde_json::Value = serde_json::from_slice(&room).unwrap();
    let step = room["moves"]
        .as_array()
        .unwrap()
        .iter()
        .find(|step| step["on"] == true && step["gain_db"].is_number())
        .unwrap();
    let id = step["id"].as_str().unwrap();
    let after = served.strips(r#"{"source": "after"}"#);
    let before = served.strips(r#"{"source": "before"}"#);
    assert_ne!(after, before);
    let off = format!(r#"{{"source": "after", "decisions": [{{"id": "{id}", "on": false}}]}}"#);
    let without = served.strips(&off);
    assert_ne!(without, after);
    let louder =
        format!(r#"{{"source": "after", "decisions": [{{"id": "{id}", "gain_db": 1.25}}]}}"#);
    assert_ne!(served.strips(&louder), after);
    // Nothing was written, and nothing is remembered.
    assert_eq!(fs::read(&file).unwrap(), written);
    assert_eq!(served.strips(r#"{"source": "after"}"#), after);
    // What is decided comes out as it was heard.
    let decided = format!(r#"{{"id": "{id}", "on": false}}"#);
    assert_eq!(served.ask("/api/decide", Some(&decided)).0, 200);
    assert_eq!(served.strips(r#"{"source": "after"}"#), without);
    // What is no version, no move or no gain is refused.
    for (wanted, status) in [
        (r#"{"source": "reference"}"#, 404),
        (
            r#"{"source": "after", "decisions": [{"id": "none", "on": true}]}"#,
            404,
        ),
        (&louder.replace("1.25", "99"), 422),
    ] {
        assert_eq!(
            served.ask("/api/strips", Some(wanted)).0,
            status,
            "{wanted}"
        );
    }
    let (status, piece) = served.ask("/api/piece?index=64", None);
    assert_eq!(status, 200);
    let tracks = room["live"]["tracks"].as_u64().unwrap() as u32;
    assert_eq!(piece[..4], tracks.to_le_bytes());
    // Long after the end there is silence, which is not sent.
    let (status, silence) = served.ask("/api/piece?index=4000000000", None);
    assert_eq!((status, silence.len()), (200, 4 + 8 * tracks as usize));
}

#[test]
fn a_vanished_folder_is_survived() {
    let served = Served::demo();
    let (here, away) = (served.folder(), served.home.path().join("away"));
    fs::rename(&here, &away).unwrap();
    assert_eq!(served.ask("/api/room", None).0, 200);
    let sound = "/api/sound?source=after&frame=48000&frames=4096";
    let answer = served.ask(sound, None);
    assert_eq!(answer.0, 500, "{}", words(&answer));
    let room: serde_json::Value = serde_json::from_slice(&served.ask("/api/room", None).1).unwrap();
    let id = room["moves"][0]["id"].as_str().unwrap();
    let decision = format!(
        r#"{{"id": "{id}", "on": {}}}"#,
        room["moves"][0]["on"] != true
    );
    let answer = served.ask("/api/decide", Some(&decision));
    assert_eq!(answer.0, 500, "{}", words(&answer));
    assert!(
        words(&answer).contains("no longer there"),
        "{}",
        words(&answer)
    );
    assert!(!here.exists(), "nothing is made where the folder was");
    // It comes back, and all goes on.
    fs::rename(&away, &here).unwrap();
    assert_eq!(served.ask(sound, None).0, 200);
    let answer = served.ask("/api/decide", Some(&decision));
    assert_eq!(answer.0, 200, "{}", words(&answer));
}

#[test]
fn a_killed_render_is_survived() {
    let served = Served::demo();
    let mut render = cupel(&served.home)
        .arg("render")
        .arg(served.folder())
        .stderr(Stdio::null())
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    // Killed while it writes; should it be quicker than this, it is whole.
    let making = || {
        let folder = fs::read_dir(served.folder().join("cupel")).into_iter();
        let mut entries = folder.flatten().flatten();
        entries.any(|entry| {
            entry
                .file_name()
                .to_string_lossy()
                .starts_with(".cupel-render-")
        })
    };
    while render.try_wait().unwrap().is_none() && !making() {
        std::thread::yield_now();
    }
    render.kill().unwrap();
    render.wait().unwrap();
    let decision = {
        let room = served.ask("/api/room", None).1;
        let room: serde_json::Value = serde_json::from_slice(&room).unwrap();
        let id = room["moves"][0]["id"].as_str().unwrap();
        format!(
            r#"{{"id": "{id}", "on": {}}}"#,
            room["moves"][0]["on"] != true
        )
    };
    for source in ["before", "after", "render-0", "reference"] {
        let answer = served.ask(
            &format!("/api/sound?source={source}&frame=96000&frames=4096"),
            None,
        );
        assert_eq!(answer.0, 200, "{source}: {}", words(&answer));
    }
    let answer = served.ask("/api/decide", Some(&decision));
    assert_eq!(answer.0, 200, "{}", words(&answer));
    // The next render takes its place.
    let rendered = cupel(&served.home)
        .arg("render")
        .arg(served.folder())
        .output()
        .unwrap();
    assert!(rendered.status.success());
    let answer = served.ask("/api/sound?source=render-0&frame=96000&frames=4096", None);
    assert_eq!(answer.0, 200, "{}", words(&answer));
}
