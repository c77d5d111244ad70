//! The colours, each with its light and its dark form.

use std::fmt::Write;

/// One colour of the page, as `#RRGGBB`.
pub(crate) struct Colour {
    /// Name of the CSS variable, without its dashes.
    pub name: &'static str,
    /// On light paper.
    pub light: &'static str,
    /// On dark paper.
    pub dark: &'static str,
}

/// All colours. Marks differ in shape and dash too; none is told by colour alone.
pub(crate) const PALETTE: [Colour; 10] = [
    colour("paper", "#FAF6EE", "#191612"),
    colour("wash", "#F1E6D3", "#2C251C"),
    colour("ink", "#221D17", "#F1EADD"),
    colour("quiet", "#645C50", "#B3A998"),
    colour("hair", "#D8CFBF", "#3A342B"),
    colour("mix", "#A34712", "#F09A5B"),
    colour("mix-pale", "#BF7750", "#8F5B3A"),
    colour("reference", "#235A7D", "#86BCE0"),
    colour("mend", "#8C1C3C", "#F28BA2"),
    colour("right", "#33622F", "#94C98A"),
];

const fn colour(name: &'static str, light: &'static str, dark: &'static str) -> Colour {
    Colour { name, light, dark }
}

/// The style sheet's variables: light, then dark where the reader prefers it.
///
/// Paper is always light: a printed page takes the light colours.
pub(crate) fn variables() -> String {
    let light = declarations(|colour| colour.light);
    let dark = declarations(|colour| colour.dark);
    format!(
        ":root{{color-scheme:light dark;{light}}}\n\
         @media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
    )
}

fn declarations(pick: impl Fn(&Colour) -> &'static str) -> String {
    PALETTE.iter().fold(String::new(), |mut css, colour| {
        let _ = write!(css, "--{}:{};", colour.name, pick(colour));
        css
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance, WCAG 2.2, definition of "relative luminance".
    fn luminance(hex: &str) -> f64 {
        let channel = |at: usize| {
            let value = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0;
            if value <= 0.04045 {
                value / 12.92
            } else {
                ((value + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    /// Contrast ratio, WCAG 2.2, definition of "contrast ratio".
    fn contrast(one: &str, other: &str) -> f64 {
        let (one, other) = (luminance(one), luminance(other));
        (one.max(other) + 0.05) / (one.min(other) + 0.05)
    }

    fn named(name: &str) -> &'static Colour {
        PALETTE.iter().find(|colour| colour.name == name).unwrap()
    }

    /// At least `least` on paper and on the wash, light and dark.
    fn check(name: &str, least: f64) {
        for ground in [named("paper"), named("wash")] {
            let ink = named(name);
            let light = contrast(ink.light, ground.light);
            let dark = contrast(ink.dark, ground.dark);
            assert!(light >= least, "{name} on {}: {light:.2}", ground.name);
            assert!(dark >= least, "{name} on {}, dark: {dark:.2}", ground.name);
        }
    }

    #[test]
    fn contrast_of_black_on_white_is_21() {
        assert!((contrast("#000000", "#FFFFFF") - 21.0).abs() < 1e-9);
        assert!((contrast("#777777", "#FFFFFF") - 4.48).abs() < 0.01);
    }

    #[test]
    fn text_meets_aa() {
        // WCAG 2.2, success criterion 1.4.3.
        for name in ["ink", "quiet", "mix", "reference", "mend", "right"] {
            check(name, 4.5);
        }
    }

    #[test]
    fn pale_marks_meet_the_ratio_for_drawings() {
        // WCAG 2.2, success criterion 1.4.11; pale marks stand on plain paper.
        let (mark, paper) = (named("mix-pale"), named("paper"));
        assert!(contrast(mark.light, paper.light) >= 3.0);
        assert!(contrast(mark.dark, paper.dark) >= 3.0);
    }
}
