//! An invented session of fourteen tracks beside an invented reference.

use cupel_report::*;

#[path = "sample_bar_map.rs"]
mod bar_map;
#[path = "sample_more.rs"]
mod more;

/// Name, role, group, loudness, peak over loudness, lean, width, middle of its
/// spectrum in hertz, its width in octaves, gain of the moves.
type Sketch = (
    &'static str,
    &'static str,
    &'static str,
    f64,
    f64,
    f64,
    f64,
    f64,
    f64,
    f64,
);

const SKETCHES: [Sketch; 14] = [
    (
        "Kick", "kick", "drums", -17.2, 11.0, 0.0, -90.0, 58.0, 0.7, 0.0,
    ),
    (
        "Clap wide",
        "clap",
        "drums",
        -24.6,
        17.5,
        0.4,
        -4.1,
        1900.0,
        1.2,
        1.5,
    ),
    (
        "Shaker L", "hat", "drums", -36.0, 14.0, -4.8, -9.0, 7800.0, 0.7, 0.0,
    ),
    (
        "Shaker R", "hat", "drums", -36.4, 14.2, 4.1, -9.0, 8200.0, 0.7, 0.0,
    ),
    (
        "Open hat", "hat", "drums", -30.1, 15.0, 1.9, -14.0, 9500.0, 0.8, -2.5,
    ),
    (
        "Toms",
        "percussion",
        "drums",
        -33.0,
        16.0,
        -2.4,
        -12.0,
        170.0,
        0.9,
        0.0,
    ),
    (
        "Sub", "sub", "low end", -22.9, 5.0, 0.0, -90.0, 46.0, 0.4, -3.1,
    ),
    (
        "Bass", "bass", "low end", -20.1, 9.0, 0.0, -28.0, 105.0, 1.0, -1.4,
    ),
    (
        "Chords", "chords", "music", -25.5, 12.0, -0.3, -6.0, 520.0, 1.0, 1.0,
    ),
    (
        "Pad warm", "pad", "music", -28.8, 9.0, 0.2, -1.5, 330.0, 1.4, 0.0,
    ),
    (
        "Pad air (printed with the hall)",
        "pad",
        "music",
        -33.7,
        10.0,
        0.1,
        0.8,
        3400.0,
        1.3,
        2.0,
    ),
    (
        "Piano", "piano", "music", -38.2, 18.0, -1.1, -7.0, 700.0, 1.2, 3.5,
    ),
    (
        "Voice", "voice", "voice", -23.0, 14.0, 0.0, -30.0, 1300.0, 1.4, 1.5,
    ),
    (
        "Riser & noise",
        "effect",
        "effects",
        -40.5,
        13.0,
        0.9,
        -2.0,
        5200.0,
        1.8,
        0.0,
    ),
];

/// Third-octave centres, 10^(n/10) Hz, IEC 61260-1.
fn centres_hz() -> Vec<f64> {
    (13..=43).map(|n| 10f64.powf(f64::from(n) / 10.0)).collect()
}

fn track_power(sketch: &Sketch, hertz: f64, gain_db: f64) -> f64 {
    let octaves = (hertz / sketch.7).log2() / sketch.8;
    10f64.powf((sketch.3 + gain_db - 2.0 * octaves * octaves) / 10.0)
}

fn band(hertz: f64) -> SpectrumBand {
    let sum = |moved: f64| {
        SKETCHES
            .iter()
            .map(|s| track_power(s, hertz, moved * s.9))
            .sum::<f64>()
    };
    let (before, after) = (sum(0.0), sum(1.0));
    let octaves = (hertz / 60.0).log2();
    let ripple = 1.1 * (2.3 * octaves).sin() + 0.8 * (5.1 * octaves).cos();
    let roll = if octaves < 0.0 {
        5.0 * octaves * octaves
    } else {
        1.75 * octaves
    };
    SpectrumBand {
        low_hz: hertz * 10f64.powf(-0.05),
        high_hz: hertz * 10f64.powf(0.05),
        before_db: Some(10.0 * before.log10()),
        after_db: Some(10.0 * after.log10()),
        reference_db: Some(-17.0 - roll + ripple),
        owners: SKETCHES
            .iter()
            .map(|s| Owner {
                track: s.0.into(),
                share: track_power(s, hertz, s.9) / after,
            })
            .collect(),
    }
}

fn curve(levels: &[(f64, f64)], seconds: f64, offset_db: f64) -> Vec<Option<f64>> {
    (0..(seconds * 10.0) as usize)
        .map(|step| {
            let time_s = step as f64 / 10.0;
            let level = levels
                .iter()
                .rev()
                .find(|(start_s, _)| *start_s <= time_s)?
                .1;
            let beat = 0.9 * (time_s * 2.9).sin() + 0.5 * (time_s * 0.37).cos();
            (level > -70.0).then_some(level + beat + offset_db)
        })
        .collect()
}

fn track(sketch: &Sketch) -> TrackView {
    let (name, role, group, loudness, peak, lean, width, hertz, _, gain) = *sketch;
    TrackView {
        name: name.into(),
        role: Some(role.into()),
        group: Some(group.into()),
        integrated_lufs: Some(loudness),
        sample_peak_dbfs: Some(loudness + peak),
        true_peak_dbtp: Some(loudness + peak + 0.2),
        lean_db: Some(lean),
        width_db: Some(width),
        mono_loss_lu: Some(if width > -3.0 { -2.2 } else { -0.1 }),
        below_120_share: Some(if hertz < 120.0 { 0.9 } else { 0.03 }),
        peak_share: Some(if name == "Kick" { 0.58 } else { 0.03 }),
        net_gain_db: Some(gain),
        notes: vec![],
    }
}

fn step(
    order: usize,
    target: &str,
    in_words: &str,
    why: &str,
    expected: &str,
    stage: &str,
) -> MoveView {
    MoveView {
        order,
        target: target.into(),
        in_words: in_words.into(),
        why: why.into(),
        expected: expected.into(),
        stage: stage.into(),
        large: false,
        on: order < 7,
        locked: order == 5,
        by: if order == 5 { "hand" } else { "cupel" }.into(),
    }
}

fn moves() -> Vec<MoveView> {
    vec![
        step(
            1,
            "All tracks",
            "trim -4.5 dB",
            "The kick peaks at -7.5 dBFS; its anchor is -12 dBFS.",
            "kick at -12.0 dBFS, the drop near -18 LUFS",
            "anchor",
        ),
        step(
            2,
            "Sub",
            "fader -3.1 dB",
            "Below 60 Hz the mix lies 3.4 dB above the reference, and the sub owns most of it.",
            "25-63 Hz within 0.8 dB of the reference",
            "kick and bass",
        ),
        step(
            3,
            "Bass",
            "fader -1.4 dB",
            "From 80 to 125 Hz it stands 1.6 dB over its relation to the kick in the reference.",
            "bass to kick as in the reference",
            "kick and bass",
        ),
        step(
            4,
            "Clap wide",
            "fader +1.5 dB",
            "The clap is 2 dB quieter against the kick than the reference's.",
            "1-3 kHz up by 0.7 dB on the backbeat",
            "core",
        ),
        step(5, "Voice", "fader +1.5 dB", "Set by hand.", "", "core"),
        step(
            6,
            "Piano",
            "fader +3.5 dB",
            "It is not audible in the drop.",
            "audible in 40 percent of the frames where it plays",
            "the rest",
        ),
        step(
            7,
            "Pad air (printed with the hall)",
            "fader +2.0 dB",
            "3-6 kHz lies 1.2 dB under the reference.",
            "",
            "the rest",
        ),
    ]
}

fn standing(name: &str, unit: &str, values: [f64; 3], better: Option<bool>) -> Standing {
    let [before, after, reference] = values.map(Some);
    Standing {
        name: name.into(),
        unit: unit.into(),
        before,
        after,
        reference,
        better,
    }
}

fn trust() -> TrustView {
    let band = |label: &str, db| BandResidual {
        label: label.into(),
        residual_db: Some(db),
    };
    TrustView {
        verdict: TrustVerdict::WithCare,
        sentence: "The files rebuild the bounce to -31 dB; what is missing sits above 2 kHz in the breaks, as a reverb return would.".into(),
        residual_db: Some(-31.2),
        by_band: vec![band("below 120 Hz", -44.0), band("120 Hz to 2 kHz", -33.1), band("above 2 kHz", -22.6)],
        worst_places: vec![WorstPlace { start_s: 92.0, end_s: 96.0, residual_db: -14.2 }],
        gains: vec![TrackGain { track: "Piano".into(), gain_db: -4.0 }],
        left_out: vec![LeftOut { track: "Drums bus.wav".into(), why: "it is the sum of `Kick`, `Clap wide` and `Toms`".into() }],
        how_to_export: vec![],
    }
}

fn matters() -> Vec<Matter> {
    let matter = |sentence: &str, number: &str, track: &str, mend: &str| Matter {
        sentence: sentence.into(),
        number: number.into(),
        track: (!track.is_empty()).then(|| track.into()),
        time: Some("2:08-2:38".into()),
        mend: (!mend.is_empty()).then(|| mend.into()),
    };
    vec![
        matter(
            "The lowest octave stands above the reference's below 60 Hz.",
            "+3.4 dB",
            "Sub",
            "fader -3.1 dB",
        ),
        matter(
            "The clap is quieter against the kick than in the reference.",
            "-2.0 dB",
            "Clap wide",
            "fader +1.5 dB",
        ),
        matter(
            "The piano cannot be heard in the drop.",
            "4 percent",
            "Piano",
            "fader +3.5 dB",
        ),
        matter(
            "From 250 to 500 Hz the chords and the warm pad play the same notes; no fader mends that.",
            "+2.6 dB",
            "",
            "",
        ),
    ]
}

fn files() -> Vec<FileNotes> {
    let mut files: Vec<FileNotes> = SKETCHES
        .iter()
        .map(|sketch| FileNotes {
            file: format!("{}.wav", sketch.0),
            facts: "48 kHz, 24 bit, stereo, 4:00".into(),
            notes: vec![],
        })
        .collect();
    files[0].notes.push(FileNote {
        weight: NoteWeight::Remark,
        text: "flat tops at -6.2 dBFS on every hit, as a driven kick has".into(),
        mend: Some("nothing to do if it is meant".into()),
    });
    files[9].notes.push(FileNote {
        weight: NoteWeight::Fault,
        text: "the header promises 4:00, the file holds 3:12".into(),
        mend: Some("export `Pad warm.wav` again".into()),
    });
    files
}

/// The whole report.
pub fn report() -> Report {
    let sections = [
        (0.0, "Intro"),
        (30.0, "Build"),
        (62.0, "Drop"),
        (94.0, "Break"),
        (128.0, "Drop"),
        (192.0, "Outro"),
    ];
    let mix = [
        (0.0, -26.0),
        (30.0, -22.5),
        (62.0, -18.2),
        (94.0, -25.0),
        (128.0, -17.8),
        (192.0, -23.0),
    ];
    let reference = [
        (0.0, -16.0),
        (45.0, -9.6),
        (90.0, -15.0),
        (120.0, -8.4),
        (200.0, -80.0),
    ];
    Report {
        title: "Night river".into(),
        made_by: "Cupel 0.1.0".into(),
        date: Some("3 May 2026".into()),
        reference: Some("reference.flac".into()),
        trust: trust(),
        matters: matters(),
        findings: Vec::new(),
        fine: vec![
            "Nothing leans: the whole mix is 0.2 dB to the right.".into(),
            "Mono costs 0.4 LU; the reference loses 0.6 LU.".into(),
            "Voice, chords and hats sit within 1 dB of the reference.".into(),
        ],
        moves: moves(),
        standing: vec![
            standing(
                "Loudness of the passage",
                "LUFS",
                [-15.6, -18.1, -8.6],
                None,
            ),
            standing("Sample peak", "dBFS", [-0.4, -3.6, -0.2], None),
            standing("Bar map, distance", "dB", [3.2, 1.4, 0.0], Some(true)),
            standing("Spectrum, distance", "dB", [2.7, 1.2, 0.0], Some(true)),
            standing("Low end, distance", "dB", [3.4, 0.8, 0.0], Some(true)),
            standing("Width above 2 kHz", "dB", [-7.1, -8.0, -6.2], Some(false)),
            standing("Lean", "dB", [0.2, 0.2, -0.1], None),
        ],
        worse: vec![
            "Width above 2 kHz went from -7.1 to -8.0 dB; the reference has -6.2 dB.".into(),
        ],
        music: vec![
            MusicFact {
                name: "Tempo".into(),
                session: "124.00 BPM".into(),
                reference: Some("126.00 BPM".into()),
            },
            MusicFact {
                name: "Key".into(),
                session: "D minor".into(),
                reference: Some("E minor or G major (not sure)".into()),
            },
        ],
        layers: vec![
            LayerRow {
                standing: "in both".into(),
                reference: Some("kick on every beat".into()),
                session: Some("Kick".into()),
            },
            LayerRow {
                standing: "only in the reference".into(),
                reference: Some("shaker in sixteenths, right".into()),
                session: None,
            },
        ],
        passage: Some(PassageView {
            mix_s: (128.0, 158.0),
            reference_s: Some((120.0, 150.0)),
            sentence: "They are the 30 s of highest short-term loudness in each.".into(),
        }),
        spectrum: Some(SpectrumView {
            title_sentence: "The bass sits 3.1 dB above the reference's below 80 Hz".into(),
            bands: centres_hz().into_iter().map(band).collect(),
        }),
        loudness: Some(LoudnessView {
            sentence: String::new(),
            hop_s: 0.1,
            before: curve(&mix, 240.0, 2.5),
            after: Some(curve(&mix, 240.0, 0.0)),
            reference: Some(curve(&reference, 214.0, 0.0)),
            reference_gain_db: -9.4,
            passage_s: Some((128.0, 158.0)),
            reference_passage_s: Some((120.0, 150.0)),
            sections: sections
                .map(|(start_s, label)| SectionMark {
                    label: label.into(),
                    start_s,
                })
                .to_vec(),
            reference_sections: vec![SectionMark {
                label: "Drop".into(),
                start_s: 120.0,
            }],
        }),
        tracks: SKETCHES.iter().map(track).collect(),
        bar_map: Some(bar_map::view()),
        low_end: Some(more::low_end()),
        peaks: Some(more::peaks()),
        path: Some(more::path()),
        unmended: more::unmended(),
        lean: Some(LeanView {
            sentence: String::new(),
            rows: SKETCHES
                .iter()
                .map(|s| LeanRow {
                    name: s.0.into(),
                    before_db: Some(s.5),
                    after_db: (s.0 == "Open hat").then_some(0.4),
                })
                .collect(),
            mix: Some(LeanRow {
                name: "Whole mix".into(),
                before_db: Some(0.2),
                after_db: None,
            }),
            reference_db: Some(-0.1),
        }),
        files: files(),
        notes: vec![
            "Mix and reference are compared at equal loudness of their passages.".into(),
            "Differences under 3 LU between single tracks are not called faults.".into(),
        ],
        next: "make the six moves, export again, and run `cupel assay`.".into(),
    }
}
