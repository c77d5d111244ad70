//! A small writer of SVG: lines, marks and words, rounded to tenths of a pixel.

use std::fmt::Write;

/// A drawing in the making. Coordinates are in pixels from the top left.
pub(crate) struct Svg {
    width: f64,
    height: f64,
    body: String,
}

/// What the horizontal of a field stands for.
#[derive(Clone, Copy)]
pub(crate) enum Runs {
    /// Seconds of the mix, from and to.
    Mix(f64, f64),
    /// Seconds of the reference, from and to.
    Reference(f64, f64),
    /// One bar of the mix.
    Bar,
}

/// Which end of a text stands at its position.
#[derive(Clone, Copy)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

impl Svg {
    pub fn new(width: f64, height: f64) -> Self {
        let body = String::new();
        Self {
            width,
            height,
            body,
        }
    }

    /// Says where time runs, for a page that shows a position there: left and right,
    /// top and bottom. Nothing is drawn.
    pub fn place(&mut self, runs: Runs, (left, right): (f64, f64), (top, bottom): (f64, f64)) {
        let (of, from, to) = match runs {
            Runs::Mix(from, to) => ("mix", from, to),
            Runs::Reference(from, to) => ("reference", from, to),
            Runs::Bar => ("bar", 0.0, 1.0),
        };
        let _ = writeln!(
            self.body,
            "<g class=\"place\" data-of=\"{of}\" data-from=\"{from:.3}\" data-to=\"{to:.3}\" \
             data-left=\"{}\" data-right=\"{}\" data-top=\"{}\" data-bottom=\"{}\"></g>",
            px(left),
            px(right),
            px(top),
            px(bottom)
        );
    }

    /// A straight line from one point to another.
    pub fn line(&mut self, class: &str, from: (f64, f64), to: (f64, f64)) {
        let path = format!("M{} {}L{} {}", px(from.0), px(from.1), px(to.0), px(to.1));
        self.path(class, &path);
    }

    /// A line through points; it breaks where one is missing.
    pub fn polyline(&mut self, class: &str, points: &[Option<(f64, f64)>]) {
        let mut path = String::new();
        let mut pen_down = false;
        for point in points {
            if let Some((x, y)) = point {
                let letter = if pen_down { 'L' } else { 'M' };
                let _ = write!(path, "{letter}{} {}", px(*x), px(*y));
            }
            pen_down = point.is_some();
        }
        self.path(class, &path);
    }

    /// Boxes of one class, each as left, top, width, height.
    pub fn boxes(&mut self, class: &str, boxes: &[[f64; 4]]) {
        let mut path = String::new();
        for [left, top, width, height] in boxes {
            let (width, height) = (px(*width), px(*height));
            let _ = write!(
                path,
                "M{} {}h{width}v{height}h-{width}z",
                px(*left),
                px(*top)
            );
        }
        self.path(class, &path);
    }

    /// Straight lines of one class, each from one point to another.
    pub fn lines(&mut self, class: &str, lines: &[[(f64, f64); 2]]) {
        let mut path = String::new();
        for [from, to] in lines {
            let (x, y) = (px(from.0), px(from.1));
            let _ = write!(path, "M{x} {y}L{} {}", px(to.0), px(to.1));
        }
        self.path(class, &path);
    }

    /// Triangles of one class.
    pub fn triangles(&mut self, class: &str, triangles: &[[(f64, f64); 3]]) {
        let mut path = String::new();
        for [a, b, c] in triangles {
            let _ = write!(
                path,
                "M{} {}L{} {}L{} {}z",
                px(a.0),
                px(a.1),
                px(b.0),
                px(b.1),
                px(c.0),
                px(c.1)
            );
        }
        self.path(class, &path);
    }

    /// A round mark.
    pub fn disc(&mut self, class: &str, centre: (f64, f64), radius: f64) {
        let (x, y, radius) = (px(centre.0), px(centre.1), px(radius));
        let _ = writeln!(
            self.body,
            r#"<circle class="{class}" cx="{x}" cy="{y}" r="{radius}"/>"#
        );
    }

    /// A line of text, escaped; `at` is on its baseline.
    pub fn text(&mut self, class: &str, anchor: Anchor, at: (f64, f64), text: &str) {
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => r#" text-anchor="middle""#,
            Anchor::End => r#" text-anchor="end""#,
        };
        let (x, y, text) = (px(at.0), px(at.1), escape(text));
        let _ = writeln!(
            self.body,
            r#"<text class="{class}" x="{x}" y="{y}"{anchor}>{text}</text>"#
        );
    }

    fn path(&mut self, class: &str, path: &str) {
        if !path.is_empty() {
            let _ = writeln!(self.body, r#"<path class="{class}" d="{path}"/>"#);
        }
    }

    /// The finished element, named and described for those who cannot see it.
    /// `id` must be unique on the page.
    pub fn finish(self, id: &str, title: &str, description: &str) -> String {
        let (width, height) = (px(self.width), px(self.height));
        let (title, description, body) = (escape(title), escape(description), self.body);
        format!(
            "<svg viewBox=\"0 0 {width} {height}\" role=\"img\" aria-labelledby=\"{id}-t\" aria-describedby=\"{id}-d\">\n\
             <title id=\"{id}-t\">{title}</title>\n<desc id=\"{id}-d\">{description}</desc>\n\
             {body}</svg>"
        )
    }
}

/// A coordinate to a tenth of a pixel, without needless digits.
fn px(value: f64) -> f64 {
    let rounded = (value * 10.0).round() / 10.0;
    if rounded == 0.0 || !rounded.is_finite() {
        return 0.0; // never `-0`, which would print its sign
    }
    rounded
}

fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            other if other.is_control() => escaped.push(' '),
            other => escaped.push(other),
        }
    }
    escaped
}

/// Shortens a name in its middle so that it takes about `width` pixels at 13 px.
///
/// Exported tracks often share their beginning, so the end is kept too.
pub(crate) fn fit_name(name: &str, width: f64) -> String {
    let characters: Vec<char> = name.chars().collect();
    if text_width(name) <= width {
        return name.to_owned();
    }
    let mut kept = characters.len();
    loop {
        kept = kept.saturating_sub(1);
        let head = kept.div_ceil(2);
        let tail = characters.len() - (kept - head);
        let short: String = characters[..head]
            .iter()
            .chain(&['…'])
            .chain(&characters[tail..])
            .collect();
        if kept == 0 || text_width(&short) <= width {
            return short;
        }
    }
}

/// Rough width of a text at 13 px.
pub(crate) fn text_width(text: &str) -> f64 {
    text.chars().map(character_width).sum()
}

/// Rough width at 13 px of the sans-serif fonts that systems bring, from their
/// average advance; wide scripts take a full square.
fn character_width(character: char) -> f64 {
    match character {
        'm' | 'w' | 'M' | 'W' | '@' | '%' | '…' => 11.5,
        'i' | 'l' | 'j' | 't' | 'f' | 'r' | 'I' | ' ' | '.' | ',' | '\'' | '|' | '-' => 4.8,
        'A'..='Z' => 9.2,
        character if character < '\u{1100}' => 7.6,
        _ => 13.5,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_and_never_minus_zero() {
        assert_eq!(px(12.345).to_string(), "12.3");
        assert_eq!(px(-0.04).to_string(), "0");
        assert_eq!(px(f64::NAN).to_string(), "0");
    }

    #[test]
    fn words_are_escaped() {
        let mut svg = Svg::new(10.0, 10.0);
        svg.text("", Anchor::Start, (0.0, 0.0), "<b>&\"\u{7}");
        let text = svg.finish("x", "<title>", "a & b");
        assert!(text.contains("&lt;b&gt;&amp;&quot; </text>"));
        assert!(text.contains("<title id=\"x-t\">&lt;title&gt;</title>"));
        assert!(text.contains("<desc id=\"x-d\">a &amp; b</desc>"));
    }

    #[test]
    fn a_line_breaks_where_a_point_is_missing() {
        let mut svg = Svg::new(10.0, 10.0);
        let points = [Some((0.0, 1.0)), Some((1.0, 2.0)), None, Some((3.0, 4.0))];
        svg.polyline("mix-line", &points);
        assert!(svg.finish("x", "", "").contains(r#"d="M0 1L1 2M3 4""#));
    }

    #[test]
    fn long_names_keep_both_ends() {
        assert_eq!(fit_name("Kick", 90.0), "Kick");
        let short = fit_name("Night Drive v7 Bounce - 03 Pad Left", 110.0);
        assert!(short.starts_with("Night"), "{short}");
        assert!(short.ends_with("Left") && short.contains('…'), "{short}");
        assert_eq!(fit_name("Kick", 1.0), "…");
    }
}
