//! A small session made up of figures, for the tests of rules.

use cupel_harmony::{KickSound, Note};
use cupel_measure::Summary;
use cupel_units::Role;

use crate::evidence::{
    Aims, ElementFacts, Evidence, FileFacts, MixFacts, PassageFacts, Powers, ReferenceFacts,
    TrackFacts, Traits,
};

const SLOTS: usize = 16;
const EDGES_HZ: [f64; 12] = [
    8.0, 37.8, 53.4, 75.6, 106.9, 151.1, 300.0, 600.0, 1200.0, 3000.0, 8000.0, 20000.0,
];

pub(crate) fn summary() -> Summary {
    Summary {
        sample_rate_hz: 48_000,
        channels: 2,
        frames: 48_000 * 60,
        seconds: 60.0,
        unusable_samples: 0,
        integrated_lufs: Some(-14.0),
        loudness_range_lu: None,
        max_momentary_lufs: None,
        max_short_term_lufs: None,
        sample_peak_dbfs: Some(-4.0),
        true_peak_dbtp: Some(-3.9),
        rms_dbfs: Some(-14.0),
        crest_db: Some(10.0),
        peak_to_loudness_lu: Some(10.0),
        third_octaves: Vec::new(),
        broad_bands: Vec::new(),
        low_share: cupel_measure::LowShare::default(),
        lean_db: Some(0.0),
        width_db: Some(-10.0),
        correlation: Some(0.8),
        mono_loss_lu: Some(-0.5),
        bandwidth_hz: None,
    }
}

pub(crate) fn file(name: &str) -> FileFacts {
    FileFacts {
        name: name.into(),
        summary: summary(),
        health: Vec::new(),
        lossy: false,
        traits: Traits::default(),
    }
}

/// A session of silent tracks, each an element, over a passage of 8 bars of 2 s.
pub(crate) fn session(roles: &[Role]) -> Evidence {
    let nothing = || Powers {
        whole: vec![0.0; SLOTS * (EDGES_HZ.len() - 1)],
        side: vec![0.0; SLOTS * (EDGES_HZ.len() - 1)],
    };
    let bands_hz: Vec<(f64, f64)> = EDGES_HZ.windows(2).map(|edge| (edge[0], edge[1])).collect();
    let tracks = roles.iter().enumerate().map(|(place, role)| TrackFacts {
        id: format!("t{place}"),
        file: file(&format!("{} {place}", role.name())),
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
        core: matches!(role, Role::Kick | Role::Bass | Role::Lead),
        lean_db: Some(0.0),
        lean_by_four_bars_db: Vec::new(),
        share_db: Some(-8.0),
        mono_loss_db: Some(0.0),
        heard_part: Some(1.0),
        best: None,
    });
    let of_role = |wanted: &[Role]| -> Vec<usize> {
        (0..roles.len())
            .filter(|&place| wanted.contains(&roles[place]))
            .collect()
    };
    let mut evidence = Evidence {
        tracks: tracks.collect(),
        elements: elements.collect(),
        mix: Some(MixFacts {
            summary: summary(),
            in_passage: Some(summary()),
            kick_peak_dbfs: Some(-12.0),
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
            span_s: (16.0, 32.0),
            bar_s: 2.0,
            slots: SLOTS,
            loudness_weights: vec![1.0 / SLOTS as f64; bands_hz.len()],
            mix: nothing(),
            tracks: vec![nothing(); roles.len()],
            elements: vec![nothing(); roles.len()],
            track_sides: vec![vec![[0.0; 2]; bands_hz.len()]; roles.len()],
            mix_sides: vec![[0.0; 2]; bands_hz.len()],
            bands_hz,
            ..PassageFacts::default()
        }),
        aims: Aims {
            kick_peak_dbfs: -12.0,
            headroom_dbfs: -3.0,
        },
        ..Evidence::default()
    };
    evidence.low_end.kick = of_role(&[Role::Kick]);
    evidence.low_end.bass = of_role(&[Role::Bass, Role::Sub]);
    evidence
}

/// Adds power to a track, its element and the mix, in the bands whose middle lies
/// within two frequencies and in some sixteenths: left and right as given, of which
/// `side` is half the difference.
pub(crate) fn add(
    evidence: &mut Evidence,
    track: usize,
    band_hz: (f64, f64),
    slots: &[usize],
    ([left, right], side): ([f64; 2], f64),
) {
    let Some(passage) = &mut evidence.passage else {
        return;
    };
    for band in passage.bands_within(band_hz.0, band_hz.1) {
        for slot in slots {
            let cell = band * SLOTS + slot;
            for powers in [
                &mut passage.mix,
                &mut passage.tracks[track],
                &mut passage.elements[track],
            ] {
                powers.whole[cell] += 0.5 * (left + right);
                powers.side[cell] += side;
            }
            for (n, power) in [left, right].into_iter().enumerate() {
                passage.track_sides[track][band][n] += power / SLOTS as f64;
                passage.mix_sides[band][n] += power / SLOTS as f64;
            }
        }
    }
}

/// A reference as the session itself, another song.
pub(crate) fn reference() -> ReferenceFacts {
    ReferenceFacts {
        file: file("reference"),
        is_print: false,
        in_passage: Some(summary()),
        passage_s: Some((16.0, 32.0)),
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

pub(crate) fn kick(fundamental_hz: f64, length_ms: f64) -> KickSound {
    KickSound {
        fundamental_hz,
        note: "G1".into(),
        cents_off: 0.0,
        start_hz: 3.0 * fundamental_hz,
        fall_ms: 60.0,
        length_ms,
        click_db: -20.0,
        hits: 32,
        sure: 0.95,
    }
}

/// Notes one after another, each `seconds` long, from `start_s` on.
pub(crate) fn notes(start_s: f64, seconds: f64, midis: &[i32]) -> Vec<Note> {
    let note = |(place, midi): (usize, &i32)| Note {
        start_s: start_s + seconds * place as f64,
        end_s: start_s + seconds * (place as f64 + 1.0),
        midi: *midi,
        name: format!("note {midi}"),
        cents_off: 0.0,
        level_db: -12.0,
        sure: 0.95,
    };
    midis.iter().enumerate().map(note).collect()
}
