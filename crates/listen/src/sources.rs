//! What can be listened to, and how it lies on the session's clock.

use std::path::PathBuf;
use std::sync::Arc;

use cupel_work::Laid;
use serde::Serialize;

/// Something that plays.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Source {
    /// Stable name.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Whether it is a version of this mix, so that a linear crossfade to another is
    /// right; else an equal-power one is.
    pub is_mix: bool,
    /// Gain that makes its passage as loud as the tracks as they came, dB.
    pub gain_db: f64,
    /// Seconds of the session at which its own second `own_s` plays.
    pub session_s: f64,
    /// See `session_s`.
    pub own_s: f64,
    /// Where it comes from.
    #[serde(skip)]
    pub from: From,
}

/// Where samples come from.
#[derive(Clone, Debug, PartialEq)]
pub enum From {
    /// The tracks as they came.
    Tracks,
    /// The tracks with the moves that are on.
    Moves,
    /// A file.
    File(PathBuf),
    /// A passage laid on the session's clock, held whole.
    Laid(Arc<Laid>),
}

impl Source {
    /// Frame of the source that plays at a frame of the session; negative before it.
    pub fn own_frame(&self, session_frame: i64, rate_hz: u32) -> i64 {
        let shift_s = self.own_s - self.session_s;
        session_frame + (shift_s * f64::from(rate_hz)).round() as i64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn passages_lie_over_each_other() {
        let source = Source {
            id: "reference".into(),
            name: "the reference".into(),
            is_mix: false,
            gain_db: -8.0,
            session_s: 60.0,
            own_s: 45.5,
            from: From::Tracks,
        };
        assert_eq!(source.own_frame(60 * 48_000, 48_000), 45 * 48_000 + 24_000);
        assert_eq!(source.own_frame(0, 48_000), -14 * 48_000 - 24_000);
    }
}
