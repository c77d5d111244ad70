//! The bar map: energy by sixteenth of the bar in mix and reference, the
//! difference, and whose it is.

use super::bar_map_grid::Grid;
use super::frame::Frame;
use super::{Drawing, at_both_widths, bar_map_marks, bar_map_owners, bar_map_words, finite};
use crate::svg::Svg;
use crate::view::{BarMapRow, BarMapView, Report};

/// Below this a difference is none.
pub(super) const ALIKE_DB: f64 = 1.0;
/// Names of rows, and figures right of the differences.
const NAMES: f64 = 82.0;
const FIGURES: f64 = 42.0;
/// Between panels that stand abreast.
const BETWEEN: f64 = 12.0;
const MOST_ROWS: usize = 64;
/// What the marks mean, under their panels.
const SQUARES: [&str; 2] = [
    "Full width: the loudest of its row on either",
    "side; each 6 dB less is a quarter narrower.",
];
const WEDGES: [&str; 3] = [
    "Up: the mix has more; down: the reference.",
    "Full size: 12 dB or more. Dot: within 1 dB.",
    "Dotted: a layer one side has not.",
];
const OWNERS: [&str; 2] = [
    "The track with the most energy, shaded where",
    "it has more than half:",
];
const FOLDED: [&str; 2] = [
    "The bars are of different length: the figures",
    "compare whole bars.",
];

pub(crate) fn drawing(report: &Report) -> Option<Drawing> {
    let view = report.bar_map.as_ref()?;
    if !(1..=8).contains(&view.beats) {
        return None;
    }
    let rows: Vec<BarMapRow> = view
        .rows
        .iter()
        .take(MOST_ROWS)
        .map(|row| usable(row, view))
        .collect();
    loudest(&rows, |row| &row.mix_db)?;
    let shown = Shown {
        slots: 4 * view.beats as usize,
        reference_slots: view
            .reference_beats
            .filter(|beats| (1..=8).contains(beats))
            .map(|beats| 4 * beats as usize),
        owners: bar_map_owners::codes(&rows),
        rows,
    };
    Some(Drawing {
        id: "bar-map",
        name: "Energy by sixteenth of the bar",
        heading: if view.sentence.is_empty() {
            bar_map_words::heading(&shown)
        } else {
            view.sentence.clone()
        },
        text: bar_map_words::text(&shown),
        svgs: at_both_widths(|frame| paint(&shown, frame)),
    })
}

/// What is drawn, without numbers that are none.
pub(super) struct Shown {
    pub rows: Vec<BarMapRow>,
    pub slots: usize,
    pub reference_slots: Option<usize>,
    /// Owners with their letters.
    pub owners: Vec<(char, String)>,
}

impl Shown {
    /// Whether some differences are the arrangement's.
    pub fn has_arrangement(&self) -> bool {
        self.rows.iter().any(|row| row.arrangement.contains(&true))
    }

    /// Whether sixteenths can be set beside each other.
    pub fn by_sixteenth(&self) -> bool {
        self.reference_slots == Some(self.slots)
    }
}

/// The row with finite numbers and lists as long as the bar.
fn usable(row: &BarMapRow, view: &BarMapView) -> BarMapRow {
    let slots = 4 * view.beats as usize;
    let reference_slots = 4 * view.reference_beats.unwrap_or(0).min(8) as usize;
    let levels = |list: &[Option<f64>], slots: usize| -> Vec<Option<f64>> {
        (0..slots)
            .map(|slot| {
                list.get(slot)
                    .copied()
                    .flatten()
                    .and_then(|db| finite(Some(db)))
            })
            .collect()
    };
    let mut owners = row.owners.clone();
    owners.resize(slots, None);
    let mut arrangement = row.arrangement.clone();
    arrangement.resize(slots, false);
    BarMapRow {
        label: crate::svg::fit_name(&row.label, NAMES),
        by_note: row.by_note,
        mix_db: levels(&row.mix_db, slots),
        reference_db: levels(&row.reference_db, reference_slots),
        difference_db: levels(&row.difference_db, slots),
        whole_db: finite(row.whole_db),
        arrangement,
        owners,
    }
}

/// The highest level of one side.
fn loudest(rows: &[BarMapRow], pick: impl Fn(&BarMapRow) -> &Vec<Option<f64>>) -> Option<f64> {
    rows.iter()
        .flat_map(|row| pick(row).iter().flatten().copied())
        .reduce(f64::max)
}

fn paint(shown: &Shown, frame: &Frame) -> Svg {
    let panels = panels(shown);
    let width = if frame.narrow {
        frame.width - NAMES - FIGURES
    } else {
        (frame.width - NAMES - FIGURES - BETWEEN) / 2.0
    };
    let words_width = if frame.narrow { frame.width } else { width };
    let words: Vec<Vec<String>> = panels
        .iter()
        .map(|panel| panel.words(shown, words_width))
        .collect();
    // Two abreast, or one below the other on phones.
    let abreast = if frame.narrow { 1 } else { 2 };
    let heights: Vec<f64> = words
        .chunks(abreast)
        .map(|row| row.iter().map(Vec::len).max().unwrap_or(0))
        .map(|lines| Grid::height(&shown.rows, lines, frame))
        .collect();
    let mut svg = Svg::new(frame.width, heights.iter().sum::<f64>());
    for (index, panel) in panels.iter().enumerate() {
        let (across, down) = (index % abreast, index / abreast);
        let left = NAMES + across as f64 * (width + FIGURES + BETWEEN);
        let top = heights[..down].iter().sum();
        let slots = match panel {
            Panel::Reference => shown.reference_slots.unwrap_or(shown.slots),
            _ => shown.slots,
        };
        let grid = Grid::new(&shown.rows, slots, left, top, width, frame);
        grid.paint(&mut svg, panel.title(), &shown.rows, across == 0);
        if *panel != Panel::Reference {
            grid.place(&mut svg);
        }
        grid.caption(&mut svg, &words[index], frame);
        match panel {
            Panel::Mix => bar_map_marks::squares(&mut svg, &grid, shown, false),
            Panel::Reference => bar_map_marks::squares(&mut svg, &grid, shown, true),
            Panel::Difference => bar_map_marks::wedges(&mut svg, &grid, shown, FIGURES),
            Panel::Owners => bar_map_owners::paint(&mut svg, &grid, shown),
        }
    }
    svg
}

/// The parts of the drawing.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Panel {
    Mix,
    Reference,
    Difference,
    Owners,
}

fn panels(shown: &Shown) -> Vec<Panel> {
    let mut panels = vec![Panel::Mix];
    if shown.reference_slots.is_some() {
        panels.extend([Panel::Reference, Panel::Difference]);
    }
    if !shown.owners.is_empty() {
        panels.push(Panel::Owners);
    }
    panels
}

impl Panel {
    fn title(self) -> &'static str {
        match self {
            Self::Mix => "Mix",
            Self::Reference => "Reference, as loud",
            Self::Difference => "Mix less reference",
            Self::Owners => "Whose it is",
        }
    }

    /// What its marks mean, in lines.
    fn words(self, shown: &Shown, width: f64) -> Vec<String> {
        let lines = |lines: &[&str]| lines.iter().map(|&line| line.to_owned()).collect();
        match self {
            Self::Mix => lines(&SQUARES),
            Self::Reference => Vec::new(),
            Self::Difference if !shown.by_sixteenth() => lines(&FOLDED),
            Self::Difference if shown.has_arrangement() => lines(&WEDGES),
            Self::Difference => lines(&WEDGES[..2]),
            Self::Owners => {
                let mut words: Vec<String> = lines(&OWNERS);
                words.extend(bar_map_owners::key_lines(&shown.owners, width));
                words
            }
        }
    }
}
