//! The written answer: one self-contained page that leads with words.
//!
//! [`page`] takes a [`Report`], plain data that others measured and judged, and
//! returns one HTML file: no script, no outside address, light and dark, for
//! desktop, phone and A4. It computes nothing but layout and opens no files.
//! The same report gives the same bytes.

mod drawing;
mod page;
mod palette;
mod part;
mod stretch;
mod style;
mod svg;
mod view;

pub use page::{drawings, page, sheet};
pub use view::{
    BandResidual, BarMapRow, BarMapView, Cause, FileNote, FileNotes, FindingPicture, FindingView,
    LayerRow, LeanRow, LeanView, LeftOut, LoudnessView, LowEndView, LowLine, LowNoteBand, Matter,
    MoveView, MusicFact, NoteWeight, Owner, PassageView, PathPart, PathView, PeakMark, PeakRow,
    PeaksView, PlayedNote, Report, SectionMark, SpectrumBand, SpectrumView, Standing, TrackGain,
    TrackView, TrustVerdict, TrustView, Unmended, WorstPlace,
};
