//! What is found: sections, their names, the busiest passage.

use serde::{Deserialize, Serialize};

/// The trade's word for a section.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SectionName {
    /// The piece's beginning, thinner than what it leads to.
    Intro,
    /// What leads up to a drop, or stands between thin and full.
    Build,
    /// Most layers at once, the loudest.
    Drop,
    /// The thin part between fuller ones, mostly without kick or bass.
    Break,
    /// The piece's end, thinner than what came before.
    Outro,
}

impl SectionName {
    /// The word as it is printed.
    pub fn name(self) -> &'static str {
        match self {
            SectionName::Intro => "intro",
            SectionName::Build => "build",
            SectionName::Drop => "drop",
            SectionName::Break => "break",
            SectionName::Outro => "outro",
        }
    }
}

/// A run of bars that belong together; times in seconds from the file's start.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Section {
    /// What it is called.
    pub name: SectionName,
    /// A bar line, or the start of the file.
    pub start_s: f64,
    /// A bar line, or the end of the file.
    pub end_s: f64,
    /// Most layers play here and it is among the loudest.
    pub busiest: bool,
}

/// A stretch of the file, in seconds from its start.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Passage {
    /// A bar line where there is a grid.
    pub start_s: f64,
    /// A bar line where there is a grid.
    pub end_s: f64,
}

/// The form of a file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Form {
    /// In order, each beginning where the last one ends; empty without a grid.
    pub sections: Vec<Section>,
    /// The busiest passage; `None` for an empty or silent file.
    pub passage: Option<Passage>,
    /// Chance that the section boundaries are right (F of those inside the file of
    /// 0.8 and more at a tolerance of one bar), 0 to 1; 0 without sections.
    pub sure: f64,
}
