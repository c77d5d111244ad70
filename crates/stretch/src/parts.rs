//! The parts between onsets, and how each is laid into the output.

use crate::plan::Passage;
use crate::time_map::TimeMap;

/// How long a hit passes at its own speed, in seconds; less where hits are dense.
const HIT_S: f64 = 0.05;

/// The most of a part that passes at its own speed.
const HIT_SHARE: f64 = 0.5;

/// After the hit, the time in which the grid is reached again, in seconds.
const CATCH_UP_S: f64 = 0.25;

/// Parts overlap by this much before a boundary, in seconds.
const FADE_S: f64 = 0.003;

/// Overlap of end and start where no hit marks the start, in seconds.
const SEAM_FADE_S: f64 = 0.02;

/// A hit this close to the start of the loop marks it, in seconds.
const SEAM_S: f64 = 0.012;

/// Parts are at least this long, in seconds.
const SHORTEST_S: f64 = 0.02;

/// One stretch of sound from an onset to the next; all places in frames.
///
/// It fades in over the `fade_in` frames before its start and out over the
/// `fade_out` frames before its end, where the next part fades in.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Part {
    pub input: (i64, i64),
    pub output: (i64, i64),
    pub fade_in: i64,
    pub fade_out: i64,
    /// Whether a low hit begins it.
    pub low: bool,
}

impl Part {
    /// How much of a place in the passage the part hears: its own sound alone. The root
    /// of what sounds, because frames are gated twice: before and after they are turned.
    pub fn heard(&self, place: i64) -> f64 {
        self.gate(place, self.input).sqrt()
    }

    /// How much of the part sounds at a place in the output.
    pub fn sounds(&self, place: i64) -> f64 {
        self.gate(place, self.output)
    }

    fn gate(&self, place: i64, (start, end): (i64, i64)) -> f64 {
        fade(place - start + self.fade_in, self.fade_in)
            * (1.0 - fade(place - end + self.fade_out, self.fade_out))
    }
}

/// 0 at 0 and below, 1 from `length` on.
fn fade(place: i64, length: i64) -> f64 {
    match place {
        _ if place <= 0 => 0.0,
        _ if place >= length => 1.0,
        _ => 0.5 - 0.5 * libm::cos(std::f64::consts::PI * place as f64 / length as f64),
    }
}

/// All parts of a loop in order, with the map between them.
pub(crate) struct Parts<'a> {
    map: &'a TimeMap,
    hit: f64,
    catch_up: f64,
    pub parts: Vec<Part>,
}

impl<'a> Parts<'a> {
    /// Lays out a passage that is cut at `boundaries` (places in its channels).
    pub fn new(
        map: &'a TimeMap,
        boundaries: &[i64],
        lows: &[i64],
        passage: &Passage,
        rate_hz: f64,
    ) -> Self {
        let frames = passage.output_frames() as i64;
        let near = SEAM_S * rate_hz;
        let seam = boundaries
            .iter()
            .map(|&place| map.output(place as f64))
            .filter(|place| place.abs() <= near)
            .min_by(|a, b| a.abs().total_cmp(&b.abs()));
        let room = passage.before as i64;
        let fade = (FADE_S * rate_hz) as i64;
        let (first, seam_fade) = match seam {
            Some(place) => (place.round() as i64, fade),
            None => (0, (SEAM_FADE_S * rate_hz) as i64),
        };
        let shortest = (SHORTEST_S * rate_hz) as i64;
        let last = first + frames;
        let mut cuts = vec![first];
        for &place in boundaries {
            let cut = map.output(place as f64).round() as i64;
            if cut >= cuts[cuts.len() - 1] + shortest && cut <= last - shortest {
                cuts.push(cut);
            }
        }
        cuts.push(last);
        let start = map.input(first as f64).round() as i64;
        let seam_fade = seam_fade.min(room + start - passage.origin as i64).max(8);
        let parts = cuts
            .iter()
            .zip(cuts.iter().skip(1))
            .map(|(&from, &to)| Part {
                low: lows
                    .iter()
                    .any(|&low| (map.output(low as f64) - from as f64).abs() < shortest as f64),
                input: (
                    map.input(from as f64).round() as i64,
                    map.input(to as f64).round() as i64,
                ),
                output: (from, to),
                fade_in: if from == first { seam_fade } else { fade },
                fade_out: if to == last { seam_fade } else { fade },
            })
            .collect();
        Self {
            map,
            hit: HIT_S * rate_hz,
            catch_up: CATCH_UP_S * rate_hz,
            parts,
        }
    }

    /// What the lows hear as one part, from part `index` on; none where the part does
    /// not begin with a low hit.
    pub fn low_part(&self, index: usize) -> Option<Part> {
        let first = self
            .parts
            .get(index)
            .filter(|part| part.low || index == 0)?;
        let rest = self.parts.iter().skip(index + 1);
        let last = rest.take_while(|part| !part.low).last().unwrap_or(first);
        Some(Part {
            input: (first.input.0, last.input.1),
            output: (first.output.0, last.output.1),
            fade_out: last.fade_out,
            ..*first
        })
    }

    /// Where frames stand in a part after its start, about `hop` apart, the last at its
    /// end.
    pub fn middles(&self, part: &Part, hop: i64) -> Vec<(i64, i64)> {
        let length = part.output.1 - part.output.0;
        let steps = ((length + hop - 1) / hop).max(1);
        let inner = (1..steps).map(|step| part.output.0 + length * step / steps);
        inner
            .map(|place| (self.input_at(part, place), place))
            .chain([(part.input.1, part.output.1)])
            .collect()
    }

    /// Which place of the passage sounds at a place within a part.
    ///
    /// The hit passes at its own speed; then the place returns to the grid, within
    /// the part or within [`CATCH_UP_S`].
    fn input_at(&self, part: &Part, output: i64) -> i64 {
        let length = (part.output.1 - part.output.0).min(part.input.1 - part.input.0) as f64;
        let hit = self.hit.min(length * HIT_SHARE);
        let since = (output - part.output.0) as f64;
        let start = part.input.0 as f64;
        if since <= hit {
            return (start + since).round() as i64;
        }
        let off = start + hit - self.map.input(part.output.0 as f64 + hit);
        let back = ((part.output.1 - part.output.0) as f64 - hit).min(self.catch_up);
        let left = (1.0 - (since - hit) / back).max(0.0);
        (self.map.input(output as f64) + off * left).round() as i64
    }
}
