//! From features to the form of a file.

use cupel_measure::{BandFrames, LoudnessCurve};
use cupel_rhythm::Grid;

use crate::bar_frames::Bars;
use crate::busiest::{busiest, loudest_stretch, passage};
use crate::certainty::{expected_f, sure};
use crate::features::Features;
use crate::form::{Form, Passage, Section};
use crate::music_end::music_end;
use crate::naming::name;
use crate::semi_markov::Lattice;
use crate::{weights_mix, weights_tracks};

/// Fewest bars that have a form.
const FEWEST_BARS: usize = 4;

/// What the form of a file is read from.
#[derive(Clone, Copy, Debug)]
pub struct FormInput<'a> {
    /// Its beats and bars.
    pub grid: &'a Grid,
    /// Its loudness over time.
    pub loudness: &'a LoudnessCurve,
    /// Its critical bands over time.
    pub bands: &'a BandFrames,
    /// Loudness of the tracks it was made of, on its clock; empty where they are
    /// not known.
    pub layers: &'a [&'a LoudnessCurve],
    /// Its length.
    pub seconds: f64,
}

/// Finds sections and the busiest passage.
///
/// Sections begin and end on bar lines of the grid and leave no holes; the first
/// begins with the file and the last ends with it, save that silence or a last
/// decay of more than a bar belongs to no section. Without bar lines (or with
/// fewer than 4 bars) there are no sections, and the passage is the loudest 25 s.
pub fn find_form(input: &FormInput<'_>) -> Form {
    form_on_bars(input).unwrap_or_else(|| Form {
        sections: Vec::new(),
        passage: loudest_stretch(input.loudness, input.seconds)
            .map(|(start_s, end_s)| Passage { start_s, end_s }),
        sure: 0.0,
    })
}

/// The bars of a file up to the music's end; `None` where there are too few, or
/// silence.
pub(crate) fn read(input: &FormInput<'_>) -> Option<(Bars, Features)> {
    let mut lines_s = input.grid.bars_s(input.seconds);
    lines_s.push(input.seconds);
    if lines_s.len() <= FEWEST_BARS || input.loudness.k_power.iter().all(|&p| p <= 0.0) {
        return None;
    }
    let bars = Bars::read(lines_s, input.bands, input.loudness, input.layers);
    let count = music_end(&bars.lines_s, input.loudness);
    let features = (count >= FEWEST_BARS).then(|| Features::of(&bars, count))?;
    Some((bars, features))
}

fn form_on_bars(input: &FormInput<'_>) -> Option<Form> {
    let (bars, features) = read(input)?;
    let weights = if input.layers.is_empty() {
        &weights_mix::WEIGHTS
    } else {
        &weights_tracks::WEIGHTS
    };
    let lattice = Lattice::of(&features, weights);
    let cut = lattice.best();
    let busy = busiest(&bars, &cut);
    let expected_f = expected_f(&cut, &lattice.boundaries());
    let time_s = |bar: usize| bars.lines_s[bar].max(0.0);
    let sections = cut.iter().zip(&busy).map(|(run, &busiest)| Section {
        name: name(*run),
        start_s: if run.from == 0 { 0.0 } else { time_s(run.from) },
        end_s: if run.to == features.count() {
            end_s(&bars, run.to)
        } else {
            time_s(run.to)
        },
        busiest,
    });
    let passage = passage(&bars, &cut, &busy).map(|range| Passage {
        start_s: time_s(range.start),
        end_s: time_s(range.end),
    });
    Some(Form {
        sections: sections.collect(),
        passage,
        sure: sure(expected_f, input.grid),
    })
}

/// Where the last section ends: with the music, or with the file where that lies
/// less than a bar later.
fn end_s(bars: &Bars, count: usize) -> f64 {
    let lines = &bars.lines_s;
    let file_s = lines[lines.len() - 1];
    if file_s - lines[count] <= lines[1] - lines[0] {
        file_s
    } else {
        lines[count]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cupel_measure::{Meter, MeterSettings};
    use cupel_rhythm::GridKind;

    const RATE_HZ: f64 = 32_000.0;
    const BAR_S: f64 = 2.0;

    /// A low tone in every bar, a high one in the bars that are loud, and half a
    /// bar of silence at the end of every bar.
    fn tones(loud: &[bool]) -> (BandFrames, LoudnessCurve, f64) {
        let bar = (BAR_S * RATE_HZ) as usize;
        let samples: Vec<f64> = (0..loud.len() * bar)
            .map(|n| {
                let tone = |hz: f64| (std::f64::consts::TAU * hz * n as f64 / RATE_HZ).sin();
                let high = if loud[n / bar] { 0.3 } else { 0.0 };
                let plays = n % bar < bar / 2;
                f64::from(u8::from(plays)) * (0.1 * tone(220.0) + high * tone(3000.0))
            })
            .collect();
        let settings = MeterSettings {
            sample_rate_hz: RATE_HZ as u32,
            channels: 1,
        };
        let mut meter = Meter::new(settings).unwrap();
        meter.push(&[&samples]);
        let features = meter.finish();
        let seconds = samples.len() as f64 / RATE_HZ;
        (features.bands, features.curve, seconds)
    }

    fn grid(kind: GridKind) -> Grid {
        let known = (kind == GridKind::Steady).then_some(());
        Grid {
            tempo_bpm: known.map(|()| 120.0),
            beat_offset_s: known.map(|()| 0.0),
            kind,
            beats_s: Vec::new(),
            beats_per_bar: known.map(|()| 4),
            first_downbeat_s: known.map(|()| 0.0),
            swing: None,
            sure_tempo: 1.0,
            sure_downbeat: 1.0,
        }
    }

    fn form(loud: &[bool], kind: GridKind) -> Form {
        let (bands, loudness, seconds) = tones(loud);
        find_form(&FormInput {
            grid: &grid(kind),
            loudness: &loudness,
            bands: &bands,
            layers: &[],
            seconds,
        })
    }

    #[test]
    fn a_loud_middle_is_cut_out_and_is_the_busiest() {
        let loud: Vec<bool> = (0..32).map(|bar| (8..24).contains(&bar)).collect();
        let form = form(&loud, GridKind::Steady);
        let found: Vec<_> = form
            .sections
            .iter()
            .map(|s| (s.name.name(), s.start_s, s.end_s, s.busiest))
            .collect();
        let expected = [
            ("intro", 0.0, 16.0, false),
            ("drop", 16.0, 48.0, true),
            ("outro", 48.0, 64.0, false),
        ];
        assert_eq!(found, expected);
        let passage = form.passage.unwrap();
        assert_eq!((passage.start_s, passage.end_s), (16.0, 48.0));
    }

    #[test]
    fn without_bars_the_loudest_seconds_stand_for_the_passage() {
        let loud: Vec<bool> = (0..32).map(|bar| bar >= 16).collect();
        let form = form(&loud, GridKind::CannotTell);
        assert!(form.sections.is_empty());
        assert_eq!(form.sure, 0.0);
        let passage = form.passage.unwrap();
        assert!(passage.start_s >= 31.5, "{passage:?}");
        assert!((20.0..=30.0).contains(&(passage.end_s - passage.start_s)));
    }

    #[test]
    fn a_short_file_is_its_own_passage_and_silence_has_none() {
        let form_of = |loud: &[bool]| form(loud, GridKind::CannotTell);
        let passage = form_of(&[true; 3]).passage.unwrap();
        assert_eq!((passage.start_s, passage.end_s), (0.0, 6.0));
        let (bands, _, seconds) = tones(&[false; 8]);
        let silent = LoudnessCurve {
            hop_s: 0.1,
            momentary_lufs: vec![f32::NEG_INFINITY; 160],
            short_term_lufs: vec![f32::NEG_INFINITY; 160],
            k_power: vec![0.0; 160],
        };
        let form = find_form(&FormInput {
            grid: &grid(GridKind::Steady),
            loudness: &silent,
            bands: &bands,
            layers: &[],
            seconds,
        });
        assert_eq!((form.passage, form.sections.len()), (None, 0));
    }
}
