//! A session made of figures, for the tests of rules.

use cupel_measure::{BandLevel, LowShare, Summary};
use cupel_units::Role;

use crate::evidence::{
    ElementFacts, Evidence, FileFacts, MixFacts, PassageFacts, Powers, ReferenceFacts,
    SectionFacts, TrackFacts, Traits, ratio_db,
};

const SLOTS: usize = 16;
/// All sixteenths.
pub(crate) const ALWAYS: std::ops::Range<usize> = 0..SLOTS;
/// As wide as the passage's bands.
pub(crate) const FULL_HZ: (f64, f64) = (20.0, 20_000.0);

/// Third octaves from 25 Hz to 16 kHz.
fn bands_hz() -> Vec<(f64, f64)> {
    (-16..=12)
        .map(|x: i32| {
            let middle = 1000.0 * 10f64.powf(f64::from(x) / 10.0);
            (middle * 10f64.powf(-0.05), middle * 10f64.powf(0.05))
        })
        .collect()
}

pub(crate) fn summary() -> Summary {
    Summary {
        sample_rate_hz: 48_000,
        channels: 2,
        frames: 48_000 * 60,
        seconds: 60.0,
        unusable_samples: 0,
        integrated_lufs: Some(-20.0),
        loudness_range_lu: None,
        max_momentary_lufs: None,
        max_short_term_lufs: None,
        sample_peak_dbfs: Some(-6.0),
        true_peak_dbtp: Some(-5.9),
        rms_dbfs: Some(-20.0),
        crest_db: Some(14.0),
        peak_to_loudness_lu: Some(14.0),
        third_octaves: Vec::new(),
        broad_bands: Vec::new(),
        low_share: LowShare::default(),
        lean_db: Some(0.0),
        width_db: Some(-10.0),
        correlation: Some(0.8),
        mono_loss_lu: Some(-0.4),
        bandwidth_hz: None,
    }
}

/// Third octaves of a file, each at the level that is given for its middle.
pub(crate) fn third_octaves(level_dbfs: impl Fn(f64) -> f64) -> Vec<BandLevel> {
    (-17..=13)
        .map(|x: i32| {
            let middle = 1000.0 * 10f64.powf(f64::from(x) / 10.0);
            BandLevel {
                nominal_hz: middle,
                low_hz: middle * 10f64.powf(-0.05),
                high_hz: middle * 10f64.powf(0.05),
                level_dbfs: Some(level_dbfs(middle)),
                lean_db: Some(0.0),
                width_db: None,
                correlation: None,
            }
        })
        .collect()
}

pub(crate) fn section(name: &str, span_s: (f64, f64), lufs: f64) -> SectionFacts {
    SectionFacts {
        name: name.into(),
        span_s,
        busiest: false,
        lufs: Some(lufs),
        third_octaves_db: Vec::new(),
    }
}

fn file(name: &str) -> FileFacts {
    FileFacts {
        name: name.into(),
        summary: summary(),
        health: Vec::new(),
        lossy: false,
        traits: Traits::default(),
    }
}

fn silence() -> Powers {
    Powers {
        whole: vec![0.0; SLOTS * bands_hz().len()],
        side: vec![0.0; SLOTS * bands_hz().len()],
    }
}

/// Silent tracks, each an element, and what is played on them.
pub(crate) struct Trial(pub(crate) Evidence);

impl Trial {
    pub(crate) fn of(roles: &[Role]) -> Self {
        let tracks = roles.iter().enumerate().map(|(place, role)| TrackFacts {
            id: format!("t{place}"),
            file: file(&format!("{role} {place}")),
            role: Some(*role),
            group: Some(role.group()),
            role_sure: 1.0,
            is_kick: *role == Role::Kick,
            start_s: 0.0,
            in_passage: Some(summary()),
            section_lufs: Vec::new(),
            sounds_s: vec![(0.0, 60.0)],
            level: None,
        });
        let elements = roles.iter().enumerate().map(|(place, role)| ElementFacts {
            name: role.name().into(),
            role: *role,
            tracks: vec![place],
            core: matches!(
                role,
                Role::Kick | Role::Snare | Role::Bass | Role::Lead | Role::Voice | Role::ClosedHat
            ),
            lean_db: None,
            lean_by_four_bars_db: Vec::new(),
            share_db: None,
            mono_loss_db: None,
            heard_part: None,
            best: None,
        });
        let bands_hz = bands_hz();
        let count = bands_hz.len();
        Self(Evidence {
            tracks: tracks.collect(),
            elements: elements.collect(),
            mix: Some(MixFacts {
                summary: summary(),
                in_passage: Some(summary()),
                kick_peak_dbfs: None,
                peak_shares: Vec::new(),
                highest_peak_s: None,
                sections: Vec::new(),
                tempo_bpm: Some(120.0),
                bar_s: Some(2.0),
                key: None,
                bass: Vec::new(),
                kick: None,
                kick_place: None,
                layers: Vec::new(),
            }),
            passage: Some(PassageFacts {
                span_s: (60.0, 76.0),
                bar_s: 2.0,
                bands_hz,
                slots: SLOTS,
                loudness_weights: vec![1.0; count],
                mix: silence(),
                tracks: vec![silence(); roles.len()],
                elements: vec![silence(); roles.len()],
                reference: None,
                track_sides: vec![vec![[0.0; 2]; count]; roles.len()],
                mix_sides: vec![[0.0; 2]; count],
                remains: Vec::new(),
                elsewhere_hz: Vec::new(),
            }),
            ..Evidence::default()
        })
    }

    pub(crate) fn passage(&mut self) -> &mut PassageFacts {
        self.0.passage.get_or_insert_default()
    }

    /// Plays a track: power of left and right in every cell of the bands whose middle
    /// lies within two frequencies, and how far the two are alike (-1 to 1).
    pub(crate) fn play(
        mut self,
        track: usize,
        (low_hz, high_hz): (f64, f64),
        slots: std::ops::Range<usize>,
        [left, right]: [f64; 2],
        alike: f64,
    ) -> Self {
        let passage = self.passage();
        let side = 0.25 * (left + right - 2.0 * alike * (left * right).sqrt());
        for band in passage.bands_within(low_hz, high_hz) {
            for slot in slots.clone() {
                let cell = band * SLOTS + slot;
                for powers in [
                    &mut passage.mix,
                    &mut passage.tracks[track],
                    &mut passage.elements[track],
                ] {
                    powers.whole[cell] += 0.5 * (left + right);
                    powers.side[cell] += side;
                }
                let sides = [
                    &mut passage.track_sides[track][band],
                    &mut passage.mix_sides[band],
                ];
                for sides in sides {
                    sides[0] += left / SLOTS as f64;
                    sides[1] += right / SLOTS as f64;
                }
            }
        }
        self
    }

    /// Fills in what follows from what was played: leans, shares, losses.
    pub(crate) fn done(mut self) -> Evidence {
        let passage = self.passage().clone();
        let sum = |sides: &[[f64; 2]]| {
            let cells = sides.iter();
            cells.fold([0.0; 2], |sum, side| [sum[0] + side[0], sum[1] + side[1]])
        };
        let all: f64 = sum(&passage.mix_sides).iter().sum();
        for (place, element) in self.0.elements.iter_mut().enumerate() {
            let [left, right] = sum(&passage.track_sides[place]);
            if left + right <= 0.0 {
                continue;
            }
            let lean_db = ratio_db(right, left).clamp(-60.0, 60.0);
            element.lean_db = Some(lean_db);
            element.share_db = Some(ratio_db(left + right, all));
            let whole: f64 = passage.elements[place].whole.iter().sum();
            let side: f64 = passage.elements[place].side.iter().sum();
            element.mono_loss_db = Some(ratio_db(whole - side, whole));
            self.0.tracks[place].file.summary.lean_db = Some(lean_db);
        }
        self.0
    }

    /// Takes what was played so far for the reference's, too.
    pub(crate) fn taken_as_reference(mut self) -> Self {
        self.passage().reference = Some(self.passage().mix.clone());
        self.0.reference = Some(reference());
        self
    }
}

pub(crate) fn reference() -> ReferenceFacts {
    ReferenceFacts {
        file: file("reference"),
        is_print: false,
        in_passage: Some(summary()),
        passage_s: Some((60.0, 76.0)),
        sections: Vec::new(),
        tempo_bpm: Some(122.0),
        tempo_sure: 0.95,
        key: None,
        bass: Vec::new(),
        kick: None,
        layers: Vec::new(),
        pairs: Vec::new(),
        year: None,
        genre: None,
    }
}

/// Names, grades and tracks of findings.
pub(crate) fn told(findings: &[crate::Finding]) -> Vec<(&str, crate::Grade, Vec<&str>)> {
    findings
        .iter()
        .map(|f| {
            (
                f.name,
                f.grade,
                f.tracks.iter().map(String::as_str).collect(),
            )
        })
        .collect()
}
