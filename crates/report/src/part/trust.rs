//! Whether the tracks can be trusted: the verdict first, its grounds later.

use maud::{Markup, html};

use super::{figure, part, prose, scroll};
use crate::stretch::stretch;
use crate::view::{Report, TrustVerdict, TrustView};

/// The verdict in words and, where it matters, what to do about it.
pub(crate) fn verdict(report: &Report) -> Markup {
    let trust = &report.trust;
    let (class, words) = match trust.verdict {
        TrustVerdict::Trusted => ("verdict good", "Yes: these files are the mix."),
        TrustVerdict::WithCare => ("verdict", "With care: these files are most of the mix."),
        TrustVerdict::CannotJudge => ("verdict bad", "No: balance cannot be judged yet."),
        TrustVerdict::Untold => (
            "verdict",
            "Not known: there is no rough bounce to compare with.",
        ),
    };
    part(
        "trust",
        "Can these tracks be trusted?",
        html! {
            p class=(class) { (words) }
            @if !trust.sentence.is_empty() { p { (prose(&trust.sentence)) } }
            @if !trust.how_to_export.is_empty() {
                p { "An export that can be judged:" }
                ol { @for step in &trust.how_to_export { li { (prose(step)) } } }
            }
            @if has_detail(trust) { p.quiet { a href="#grounds" { "The grounds" } " stand below the drawings." } }
        },
    )
}

fn has_detail(trust: &TrustView) -> bool {
    trust.residual_db.is_some()
        || !(trust.by_band.is_empty()
            && trust.worst_places.is_empty()
            && trust.gains.is_empty()
            && trust.left_out.is_empty())
}

/// Residuals, places, recovered gains and files left out.
pub(crate) fn detail(report: &Report) -> Markup {
    let trust = &report.trust;
    if !has_detail(trust) {
        return html! {};
    }
    part(
        "grounds",
        "Grounds for that trust",
        html! {
            @if let Some(residual_db) = trust.residual_db {
                p { "What the files leave unexplained of the bounce: " (figure(Some(residual_db), 1, false)) " dB against it." }
            }
            @if !trust.by_band.is_empty() { (bands(trust)) }
            @if !trust.worst_places.is_empty() {
                h3 { "Where it fits worst" }
                ul { @for place in &trust.worst_places {
                    li { (stretch((place.start_s, place.end_s))) ": "
                        (figure(Some(place.residual_db), 1, false)) " dB against the bounce" }
                } }
            }
            @if !trust.gains.is_empty() { (gains(trust)) }
            @if !trust.left_out.is_empty() {
                h3 { "Left out of the sum" }
                ul { @for file in &trust.left_out { li { (file.track) ": " (prose(&file.why)) } } }
            }
        },
    )
}

fn bands(trust: &TrustView) -> Markup {
    scroll(
        "Unexplained part by band",
        html! { table.short {
            caption { "Unexplained part by band" }
            thead { tr { th scope="col" { "Band" } th scope="col" { "Against the bounce" small { "dB" } } } }
            tbody { @for band in &trust.by_band {
                tr { th scope="row" { (band.label) } td { (figure(band.residual_db, 1, false)) } }
            } }
        } },
    )
}

fn gains(trust: &TrustView) -> Markup {
    html! {
        h3 { "Gains that rebuild the bounce" }
        p.quiet { "Far from 0 dB where a fader is not in its file." }
        ul { @for gain in &trust.gains { li { (gain.track) ": " (figure(Some(gain.gain_db), 1, true)) " dB" } } }
    }
}
