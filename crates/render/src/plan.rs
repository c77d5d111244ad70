//! From a session and its moves to the settings of every track and group.

use std::path::{Path, PathBuf};

use cupel_process::{Breakpoint, GainCurve, GroupSettings, LowCutSettings, Slope, StripSettings};
use cupel_session::{At, Group, Move, Parameters, Session, Target};
use cupel_units::seconds_to_frames;

/// How long a gain takes to change at the border of a section, in seconds.
const SECTION_RAMP_S: f64 = 0.02;

/// A section of the session with its place, for moves that hold in some only.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedSection {
    /// Its name.
    pub name: String,
    /// Where it starts, in seconds.
    pub start_s: f64,
    /// Where it ends, in seconds.
    pub end_s: f64,
}

/// One track of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedTrack {
    /// Id in the session.
    pub id: String,
    /// The audio file.
    pub path: PathBuf,
    /// Where the file begins, in frames at the session's rate.
    pub start_frames: i64,
    /// Settings of its strip; `mono` is set when the file is opened.
    pub strip: StripSettings,
    /// Index of its group in the plan.
    pub group: Option<usize>,
}

/// What is to be rendered.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Rate of the session, in hertz.
    pub sample_rate_hz: u32,
    /// The tracks that are part of the sum, in session order.
    pub tracks: Vec<PlannedTrack>,
    /// The groups that have tracks.
    pub groups: Vec<(Group, GroupSettings)>,
    /// What could not be planned, in words.
    pub notes: Vec<String>,
}

impl Plan {
    /// The session's tracks as they came: no moves.
    pub fn untouched(session: &Session, folder: &Path, sample_rate_hz: u32) -> Self {
        let included = || session.tracks.iter().filter(|track| track.include);
        let groups: Vec<_> = Group::ALL
            .iter()
            .filter(|&&group| included().any(|track| track.group == Some(group)))
            .map(|&group| (group, GroupSettings::default()))
            .collect();
        let tracks = included()
            .map(|track| PlannedTrack {
                id: track.id.clone(),
                path: folder.join(&track.file),
                start_frames: start_frames(track.start_s, sample_rate_hz),
                strip: StripSettings::default(),
                group: groups
                    .iter()
                    .position(|(group, _)| track.group == Some(*group)),
            })
            .collect();
        Self {
            sample_rate_hz,
            tracks,
            groups,
            notes: Vec::new(),
        }
    }

    /// The session with its moves that are on. `sections` places the sections
    /// that moves may name.
    pub fn of(
        session: &Session,
        folder: &Path,
        sample_rate_hz: u32,
        sections: &[PlacedSection],
    ) -> Self {
        let mut plan = Self::untouched(session, folder, sample_rate_hz);
        for step in session.moves.iter().filter(|step| step.on) {
            plan.apply(step, sections);
        }
        plan
    }

    fn apply(&mut self, step: &Move, sections: &[PlacedSection]) {
        let curve = match self.curve_of(step, sections) {
            Ok(curve) => curve,
            Err(note) => return self.notes.push(note),
        };
        // The fader of a group acts on the group's sum; everything else acts
        // on its tracks, which is the same for linear processing.
        if let (Target::Group(group), Parameters::Fader { gain_db }, None) =
            (&step.target, &step.parameters, &curve)
        {
            let planned = self.groups.iter_mut().find(|(name, _)| name == group);
            planned
                .into_iter()
                .for_each(|(_, settings)| settings.gain_db += gain_db);
            return;
        }
        let rate_hz = self.sample_rate_hz;
        let groups: Vec<Group> = self.groups.iter().map(|(group, _)| *group).collect();
        let reached = self.tracks.iter_mut().filter(|track| {
            step.target
                .reaches(&track.id, track.group.and_then(|g| groups.get(g).copied()))
        });
        for track in reached {
            set(track, &step.parameters, curve.as_ref(), rate_hz);
        }
    }

    /// The gain over time of a move that is not the same everywhere.
    fn curve_of(
        &self,
        step: &Move,
        sections: &[PlacedSection],
    ) -> Result<Option<GainCurve>, String> {
        let gain_db = step.parameters.gain_db();
        match (&step.at, gain_db) {
            (None, _) => Ok(None),
            (Some(_), None) => Err(format!(
                "move `{}` is left out: only a gain can hold in a part of the session",
                step.id
            )),
            (Some(At::Breakpoints(points)), Some(gain_db)) => Ok(Some(GainCurve::new(
                points
                    .iter()
                    .map(|point| self.point(point.time_s, gain_db + point.gain_db))
                    .collect(),
            ))),
            (Some(At::Sections(names)), Some(gain_db)) => {
                self.section_curve(names, gain_db, sections).ok_or_else(|| {
                    format!("move `{}` is left out: its sections are not known", step.id)
                })
            }
            .map(Some),
        }
    }

    fn section_curve(
        &self,
        names: &[String],
        gain_db: f64,
        sections: &[PlacedSection],
    ) -> Option<GainCurve> {
        let mut places: Vec<_> = sections
            .iter()
            .filter(|section| names.contains(&section.name))
            .collect();
        places.sort_by(|a, b| a.start_s.total_cmp(&b.start_s));
        let mut points = Vec::new();
        for (index, place) in places.iter().enumerate() {
            let joined = |other: Option<&&&PlacedSection>, at: f64, end: bool| {
                other.is_some_and(|o| (if end { o.start_s } else { o.end_s } - at).abs() < 1e-3)
            };
            let before = index.checked_sub(1).and_then(|i| places.get(i));
            if !joined(before.as_ref(), place.start_s, false) {
                points.push(self.point(place.start_s - SECTION_RAMP_S, 0.0));
                points.push(self.point(place.start_s, gain_db));
            }
            if !joined(places.get(index + 1).as_ref(), place.end_s, true) {
                points.push(self.point(place.end_s - SECTION_RAMP_S, gain_db));
                points.push(self.point(place.end_s, 0.0));
            }
        }
        (!points.is_empty()).then(|| GainCurve::new(points))
    }

    fn point(&self, time_s: f64, gain_db: f64) -> Breakpoint {
        Breakpoint {
            frame: seconds_to_frames(time_s, self.sample_rate_hz),
            gain_db,
        }
    }
}

fn set(track: &mut PlannedTrack, parameters: &Parameters, curve: Option<&GainCurve>, rate_hz: u32) {
    match *parameters {
        Parameters::Trim { gain_db } | Parameters::Fader { gain_db } => match curve {
            Some(curve) => track.strip.curves.push(curve.clone()),
            None => track.strip.gain_db += gain_db,
        },
        Parameters::Pan { position, .. } => track.strip.pan = position,
        Parameters::Polarity {} => track.strip.inverted = !track.strip.inverted,
        Parameters::Offset(delay) => track.start_frames += delay.samples(f64::from(rate_hz)),
        Parameters::LowCut {
            cutoff_hz,
            slope_db_per_octave,
        } => {
            let slope = if slope_db_per_octave >= 24 {
                Slope::Db24PerOctave
            } else {
                Slope::Db12PerOctave
            };
            track
                .strip
                .low_cuts
                .push(LowCutSettings { cutoff_hz, slope });
        }
    }
}

fn start_frames(start_s: f64, sample_rate_hz: u32) -> i64 {
    (start_s * f64::from(sample_rate_hz)).round() as i64
}

#[cfg(test)]
mod tests {
    use super::*;
    use cupel_session::{By, Delay, Track};

    fn session(moves: Vec<Move>) -> Session {
        let mut session = Session::new("test");
        for (id, group) in [
            ("kick", Group::Drums),
            ("clap", Group::Drums),
            ("lead", Group::Music),
        ] {
            let mut track = Track::new(id, format!("{id}.wav"));
            track.group = Some(group);
            session.tracks.push(track);
        }
        session.tracks[1].start_s = 0.5;
        session.moves = moves;
        session
    }

    fn plan(moves: Vec<Move>) -> Plan {
        let sections = [
            PlacedSection {
                name: "drop".into(),
                start_s: 1.0,
                end_s: 2.0,
            },
            PlacedSection {
                name: "outro".into(),
                start_s: 2.0,
                end_s: 3.0,
            },
        ];
        Plan::of(&session(moves), Path::new("x"), 1000, &sections)
    }

    fn step(target: Target, parameters: Parameters) -> Move {
        Move::new(target, parameters, By::Hand, "hand", "")
    }

    #[test]
    fn gains_add_up_and_groups_keep_theirs() {
        let mut off = step(Target::All, Parameters::Trim { gain_db: 5.0 });
        off.on = false;
        let plan = plan(vec![
            step(Target::All, Parameters::Trim { gain_db: -6.0 }),
            step(
                Target::Track("lead".into()),
                Parameters::Fader { gain_db: 2.0 },
            ),
            step(
                Target::Group(Group::Drums),
                Parameters::Fader { gain_db: -1.0 },
            ),
            off,
        ]);
        let gains: Vec<f64> = plan.tracks.iter().map(|t| t.strip.gain_db).collect();
        assert_eq!(gains, [-6.0, -6.0, -4.0]);
        assert_eq!(
            plan.groups[0],
            (Group::Drums, GroupSettings { gain_db: -1.0 })
        );
        assert_eq!(
            plan.groups[1],
            (Group::Music, GroupSettings { gain_db: 0.0 })
        );
        assert_eq!(plan.tracks[1].start_frames, 500);
        assert_eq!(plan.tracks[2].group, Some(1));
    }

    #[test]
    fn other_moves_reach_the_strip() {
        let plan = plan(vec![
            step(Target::Track("kick".into()), Parameters::Polarity {}),
            step(
                Target::Group(Group::Drums),
                Parameters::LowCut {
                    cutoff_hz: 30.0,
                    slope_db_per_octave: 24,
                },
            ),
            step(
                Target::Track("kick".into()),
                Parameters::Offset(Delay::Milliseconds { delay_ms: -2.0 }),
            ),
        ]);
        assert!(plan.tracks[0].strip.inverted);
        assert_eq!(plan.tracks[0].start_frames, -2);
        assert_eq!(plan.tracks[1].strip.low_cuts.len(), 1);
        assert!(plan.tracks[2].strip.low_cuts.is_empty());
    }

    #[test]
    fn a_section_move_holds_in_its_sections() {
        let mut drop = step(
            Target::Track("lead".into()),
            Parameters::Fader { gain_db: -3.0 },
        );
        drop.at = Some(At::Sections(vec!["drop".into(), "outro".into()]));
        let mut lost = drop.clone();
        lost.at = Some(At::Sections(vec!["bridge".into()]));
        let plan = plan(vec![drop, lost]);
        let curve = &plan.tracks[2].strip.curves[0];
        let at = |frame| curve.gain_db_at(frame);
        assert_eq!(
            (at(0), at(1000), at(2000), at(2900), at(3100)),
            (0.0, -3.0, -3.0, -3.0, 0.0)
        );
        assert_eq!(plan.tracks[2].strip.curves.len(), 1);
        assert_eq!(plan.notes.len(), 1);
    }
}
