//! A session file as a person would leave it.

/// With comments everywhere, in two styles of table.
pub const BY_HAND: &str = r#"# my session
format = 1
written_by = "cupel 0.1.0"
name = "River" # working title

kick = "kick"

[reference]
file = "../records/reference.flac"   # the loud one
passage = { start_s = 61.5, end_s = 91.5 }

[targets]
kick_peak_dbfs = -12     # as always
# headroom stays at its default

# ---- tracks ----
[[tracks]]
id = "kick"
file = "01 Kick.flac"
group = "drums"
content = "aa"

[[tracks]] # the sub is in here too
id = "bass"
file = "02 Bass.flac"
group = "low end"
content = "bb"

# ---- moves ----
[[moves]]
id = "all-trim"
target = "all"
kind = "trim"
parameters = { gain_db = -3.5 } # from the anchor
by = "cupel"
stage = "anchor"
why = "the kick peaks at -8.5 dBFS"

# I like the bass here
[[moves]]
id = "bass-fader"
target = "bass"
kind = "fader"
by = "cupel"
stage = "low end"
locked = true

[moves.parameters]
gain_db = 1.5 # tried 2

[[moves]]
id = "bass-pan"
target = "bass"
kind = "pan"
parameters = { position = -0.2 }
on = false
at = ["drop"]
# end of my session
"#;
