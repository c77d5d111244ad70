//! Key, tuning, bass notes and the sound of the kick.
