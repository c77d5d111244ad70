//! The session file: tracks, targets and moves, with hand edits kept.
