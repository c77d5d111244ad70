//! The grid of a bar map: sixteenths across, rows upwards, beats marked.

use super::frame::Frame;
use crate::svg::{Anchor, Runs, Svg};
use crate::view::BarMapRow;

/// Room above a grid for its title, and below it for the beats.
pub(super) const TITLE: f64 = 26.0;
pub(super) const BEATS: f64 = 22.0;
/// Room below a panel.
const BELOW: f64 = 12.0;
/// Height of a line of words under a grid.
const CAPTION: f64 = 16.0;
/// Gap between the rows that move with notes and the bands above them.
const GAP: f64 = 8.0;

/// Where the cells of one panel lie.
pub(super) struct Grid {
    pub left: f64,
    /// Upper edge of the highest row.
    pub top: f64,
    pub cell_width: f64,
    pub row_height: f64,
    pub slots: usize,
    /// Upper edge of every row, in the rows' order.
    tops: Vec<f64>,
}

impl Grid {
    /// A grid whose title starts at `top`.
    pub fn new(
        rows: &[BarMapRow],
        slots: usize,
        left: f64,
        top: f64,
        width: f64,
        frame: &Frame,
    ) -> Self {
        let row_height = row_height(frame);
        let top = top + TITLE;
        let bands = rows.iter().filter(|row| !row.by_note).count();
        let (mut next_band, mut next_note) = (bands, rows.len());
        let tops = rows
            .iter()
            .map(|row| {
                let (next, gap) = if row.by_note {
                    (&mut next_note, if bands > 0 { GAP } else { 0.0 })
                } else {
                    (&mut next_band, 0.0)
                };
                *next -= 1;
                top + *next as f64 * row_height + gap
            })
            .collect();
        Self {
            left,
            top,
            cell_width: width / slots.max(1) as f64,
            row_height,
            slots,
            tops,
        }
    }

    /// Height of a whole panel with title, beats and lines of words.
    pub fn height(rows: &[BarMapRow], lines: usize, frame: &Frame) -> f64 {
        let mixed = rows.iter().any(|row| row.by_note) && rows.iter().any(|row| !row.by_note);
        let gap = if mixed { GAP } else { 0.0 };
        let grid = rows.len() as f64 * row_height(frame) + gap;
        TITLE + grid + BEATS + lines as f64 * CAPTION + BELOW
    }

    /// Words under the beats; on phones from the left end.
    pub fn caption(&self, svg: &mut Svg, lines: &[String], frame: &Frame) {
        let left = if frame.narrow { 0.0 } else { self.left };
        for (line, words) in lines.iter().enumerate() {
            let y = self.bottom() + BEATS + 10.0 + line as f64 * CAPTION;
            svg.text("quiet", Anchor::Start, (left, y), words);
        }
    }

    pub fn right(&self) -> f64 {
        self.left + self.slots as f64 * self.cell_width
    }

    /// Says that the bar runs across it.
    pub fn place(&self, svg: &mut Svg) {
        svg.place(
            Runs::Bar,
            (self.left, self.right()),
            (self.top, self.bottom()),
        );
    }

    fn bottom(&self) -> f64 {
        self.tops
            .iter()
            .fold(self.top, |most, &top| most.max(top + self.row_height))
    }

    /// Left and upper edge of a cell.
    pub fn corner(&self, row: usize, slot: usize) -> (f64, f64) {
        (self.left + slot as f64 * self.cell_width, self.tops[row])
    }

    pub fn centre(&self, row: usize, slot: usize) -> (f64, f64) {
        let (left, top) = self.corner(row, slot);
        (left + self.cell_width / 2.0, top + self.row_height / 2.0)
    }

    /// Side of the largest mark that fits a cell.
    pub fn largest(&self) -> f64 {
        self.cell_width.min(self.row_height) - 1.5
    }

    /// Title, beat lines and figures, and the names of the rows where `named`.
    pub fn paint(&self, svg: &mut Svg, title: &str, rows: &[BarMapRow], named: bool) {
        svg.text("strong", Anchor::Start, (self.left, self.top - 9.0), title);
        let bottom = self.bottom();
        for beat in 0..=self.slots / 4 {
            let x = self.left + (4 * beat) as f64 * self.cell_width;
            svg.line("hair", (x, self.top), (x, bottom));
        }
        let note_top = rows
            .iter()
            .zip(&self.tops)
            .filter(|(row, _)| row.by_note)
            .map(|(_, top)| *top)
            .reduce(f64::min);
        for y in [Some(self.top), note_top, Some(bottom)]
            .into_iter()
            .flatten()
        {
            svg.line("hair", (self.left, y), (self.right(), y));
        }
        for beat in 0..self.slots / 4 {
            let x = self.left + (4.0 * beat as f64 + 0.5) * self.cell_width;
            svg.text(
                "quiet",
                Anchor::Middle,
                (x, bottom + 15.0),
                &format!("{}", beat + 1),
            );
        }
        if named {
            for (row, top) in rows.iter().zip(&self.tops) {
                let y = top + self.row_height / 2.0 + 4.3;
                svg.text("quiet", Anchor::End, (self.left - 6.0, y), &row.label);
            }
        }
    }
}

fn row_height(frame: &Frame) -> f64 {
    if frame.narrow { 15.0 } else { 17.0 }
}
