//! Rows of ownership: one row a track, thickness its share.

use super::frame::Frame;
use crate::svg::Svg;
use crate::view::Owner;

/// A track gets a row where it owns at least this much of some band.
pub(super) const SMALLEST_SHARE: f64 = 0.05;

/// A band on the drawing: left and right edge in pixels, and its owners.
pub(super) struct Strip<'a> {
    pub left: f64,
    pub right: f64,
    pub owners: &'a [Owner],
}

/// Share of a track, its entries added; 0 where that is no number.
pub(super) fn share_of(owners: &[Owner], name: &str) -> f64 {
    let shares = owners.iter().filter(|owner| owner.track == name);
    let share: f64 = shares.map(|owner| owner.share).sum();
    if share.is_finite() {
        share.clamp(0.0, 1.0)
    } else {
        0.0
    }
}

/// The strongest owner, the first of equals.
pub(super) fn largest_owner(owners: &[Owner]) -> Option<&str> {
    let mut best: Option<(&str, f64)> = None;
    for owner in owners {
        let share = share_of(owners, &owner.track);
        if share >= SMALLEST_SHARE && best.is_none_or(|(_, most)| share > most) {
            best = Some((&owner.track, share));
        }
    }
    best.map(|(name, _)| name)
}

/// Draws a row for each name from `top` down: dark where it is the largest.
pub(super) fn paint(svg: &mut Svg, strips: &[Strip<'_>], rows: &[String], frame: &Frame, top: f64) {
    for (index, name) in rows.iter().enumerate() {
        let middle = frame.row_name(svg, top + index as f64 * frame.row_height(), name, 0.9);
        svg.line("hair", (frame.left, middle), (frame.right, middle));
        let (mut largest, mut others) = (Vec::new(), Vec::new());
        for strip in strips {
            let share = share_of(strip.owners, name);
            if share < 0.01 {
                continue;
            }
            let height = 20.0 * share;
            let width = (strip.right - strip.left - 1.0).max(0.5);
            let streak = [strip.left, middle - height / 2.0, width, height];
            if largest_owner(strip.owners) == Some(name) {
                largest.push(streak);
            } else {
                others.push(streak);
            }
        }
        svg.boxes("mix-pale", &others);
        svg.boxes("mix-mark", &largest);
    }
}
