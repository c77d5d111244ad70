//! Moves: what to do, to what, by how much, and why.

use serde::{Serialize, Serializer};

use crate::{MoveKind, Parameters, Target};

/// One move.
///
/// In JSON it has exactly the keys `id`, `target`, `kind`, `parameters`, `by`,
/// `stage`, `why`, `locked`, `on` and, where given, `at`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Move {
    /// Short name that stays from round to round.
    pub id: String,
    /// What it acts on.
    pub target: Target,
    /// What it does; always that of `parameters`.
    pub kind: MoveKind,
    /// By how much.
    pub parameters: Parameters,
    /// Who wrote it.
    pub by: By,
    /// The stage it was found in; see [`stage_rank`].
    pub stage: String,
    /// The reason, for people.
    pub why: String,
    /// Never touched by Cupel.
    pub locked: bool,
    /// Whether it takes effect.
    pub on: bool,
    /// Where it holds; everywhere if absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<At>,
}

/// Who wrote a move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum By {
    /// Written `cupel`.
    Cupel,
    /// Written `hand`.
    Hand,
}

impl By {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Cupel, Self::Hand];

    /// The name as written in the session file.
    pub fn name(self) -> &'static str {
        match self {
            Self::Cupel => "cupel",
            Self::Hand => "hand",
        }
    }

    /// The one of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|by| by.name() == name)
    }
}

impl Serialize for By {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}

/// Where a move holds. Never empty after reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum At {
    /// In the sections of these names only.
    Sections(Vec<String>),
    /// Everywhere, with a gain on top that moves in straight lines of decibels
    /// between these points, in order of time.
    Breakpoints(Vec<Breakpoint>),
}

/// A gain at a time.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Breakpoint {
    /// Seconds from the start of the session.
    pub time_s: f64,
    /// Gain there, on top of that of the move, -96 to 24 dB.
    pub gain_db: f64,
}

/// The stages in which moves are found and done.
const STAGES: [&str; 6] = ["anchor", "low end", "core", "rest", "lean", "check"];

/// Place of a stage in the order to do: `anchor`, `low end`, `core`, `rest`,
/// `lean`, `check`, then stages of other names, then `hand`.
pub fn stage_rank(stage: &str) -> usize {
    match STAGES.iter().position(|name| *name == stage) {
        Some(rank) => rank,
        None if stage == "hand" => STAGES.len() + 1,
        None => STAGES.len(),
    }
}

impl Move {
    /// A move that is on and not locked. Its id is made of target and kind
    /// (`kick-fader`); [`crate::Session::replace_moves`] makes ids unique.
    pub fn new(
        target: Target,
        parameters: Parameters,
        by: By,
        stage: impl Into<String>,
        why: impl Into<String>,
    ) -> Self {
        let kind = parameters.kind();
        Self {
            id: format!("{}-{}", target.to_string().replace(' ', "-"), kind.name()),
            target,
            kind,
            parameters,
            by,
            stage: stage.into(),
            why: why.into(),
            locked: false,
            on: true,
            at: None,
        }
    }

    pub(crate) fn holds_in_sections_only(&self) -> bool {
        matches!(self.at, Some(At::Sections(_)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Delay, Group};

    fn check(target: Target, parameters: Parameters, json: &str) {
        let step = Move::new(target, parameters, By::Cupel, "rest", "too soft");
        assert_eq!(serde_json::to_string(&step).unwrap(), json);
    }

    /// The keys are those the job lists for a move, no more and no fewer.
    #[test]
    fn json_has_the_agreed_keys() {
        check(
            Target::Track("lead".into()),
            Parameters::Fader { gain_db: 1.5 },
            r#"{"id":"lead-fader","target":"lead","kind":"fader","parameters":{"gain_db":1.5},"by":"cupel","stage":"rest","why":"too soft","locked":false,"on":true}"#,
        );
        check(
            Target::Group(Group::LowEnd),
            Parameters::LowCut {
                cutoff_hz: 30.0,
                slope_db_per_octave: 12,
            },
            r#"{"id":"group-low-end-low-cut","target":"group low end","kind":"low-cut","parameters":{"cutoff_hz":30.0,"slope_db_per_octave":12},"by":"cupel","stage":"rest","why":"too soft","locked":false,"on":true}"#,
        );
        check(
            Target::Track("kick".into()),
            Parameters::Polarity {},
            r#"{"id":"kick-polarity","target":"kick","kind":"polarity","parameters":{},"by":"cupel","stage":"rest","why":"too soft","locked":false,"on":true}"#,
        );
    }

    #[test]
    fn json_of_places_and_delays() {
        let mut step = Move::new(
            Target::Track("bass".into()),
            Parameters::Offset(Delay::Samples { delay_samples: -12 }),
            By::Hand,
            "hand",
            "",
        );
        step.at = Some(At::Sections(vec!["drop".into()]));
        let json = serde_json::to_value(&step).unwrap();
        assert_eq!(
            json["parameters"],
            serde_json::json!({"delay_samples": -12})
        );
        assert_eq!(json["at"], serde_json::json!(["drop"]));
        step.at = Some(At::Breakpoints(vec![Breakpoint {
            time_s: 12.0,
            gain_db: -2.0,
        }]));
        let json = serde_json::to_value(&step).unwrap();
        assert_eq!(
            json["at"],
            serde_json::json!([{"time_s": 12.0, "gain_db": -2.0}])
        );
    }

    #[test]
    fn stages_in_the_order_to_do() {
        let order = [
            "anchor", "low end", "core", "rest", "lean", "check", "other", "hand",
        ];
        assert!(order.is_sorted_by_key(|stage| stage_rank(stage)));
    }
}
