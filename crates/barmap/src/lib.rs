//! Energy by sixteenth of the bar and by band.
