//! Every message, as people read it.

use cupel_session::{Session, SessionError};

#[track_caller]
fn check(text: &str, message: &str) {
    let error = Session::parse(text).unwrap_err();
    assert_eq!(error.to_string(), message);
}

/// A session with two tracks and the given lines after them, from line 8 on.
fn with(lines: &str) -> String {
    format!(
        "format = 1\n[[tracks]]\nid = \"kick\"\nfile = \"kick.wav\"\n\
         [[tracks]]\nid = \"bass\"\nfile = \"bass.wav\"\n{lines}"
    )
}

/// A move in lines 8 to 11, with `rest` from line 12 on.
fn with_move(kind: &str, target: &str, rest: &str) -> String {
    with(&format!(
        "[[moves]]\nid = \"m\"\nkind = \"{kind}\"\ntarget = \"{target}\"\n{rest}"
    ))
}

#[test]
fn nothing_in_it() {
    let message = "cannot use `session.toml`: it is empty; put the earlier text back, or remove it and run \
         `cupel open`";
    check("", message);
    check("\u{feff} \r\n\n", message);
}

#[test]
fn newer_formats_are_left_untouched() {
    let version = env!("CARGO_PKG_VERSION");
    check(
        "# hi\nformat = 2\nwritten_by = \"cupel 3.1.0\"\nunheard_of = true\n",
        &format!(
            "cannot use `session.toml`, line 2: `format` is 2, written by cupel 3.1.0; this is \
             cupel {version}, which reads `format` 1: use the newer version; the file is left \
             untouched"
        ),
    );
    check(
        "format = 7\n",
        &format!(
            "cannot use `session.toml`, line 1: `format` is 7, written by a newer version; this is \
             cupel {version}, which reads `format` 1: use the newer version; the file is left \
             untouched"
        ),
    );
}

#[test]
fn the_format_itself() {
    check(
        "name = \"x\"\n",
        "cannot use `session.toml`, line 1: `format` is missing in the session: write for example \
         `format = 1`",
    );
    check(
        "format = 0\n",
        "cannot use `session.toml`, line 1: `format` is 0: allowed is 1",
    );
    check(
        "format = \"1\"\n",
        "cannot use `session.toml`, line 1: `format` is text: it must be a whole number",
    );
}

#[test]
fn what_is_not_toml() {
    check(
        "format = 1\nname = \n",
        "cannot use `session.toml`, line 2: not valid TOML: string values must be quoted, expected \
         literal string",
    );
    check(
        "format = 1\n[[tracks]]\nid = \"a\"\nfile = \"a.wav\"\ngroup = \"drums\"\ngroup = \"voice\"\n",
        "cannot use `session.toml`, line 6: `group` is given twice: keep one of them",
    );
}

#[test]
fn unknown_keys() {
    check(
        "format = 1\ncolour = \"red\"\n",
        "cannot use `session.toml`, line 2: unknown key `colour` in the session: allowed are \
         `format`, `written_by`, `name`, `sample_rate_hz`, `kick`, `reference`, `rough`, \
         `targets`, `music`, `passage`, `tracks`, `moves`",
    );
    check(
        "format = 1\n[targets]\nheadrom_dbfs = -3\n",
        "cannot use `session.toml`, line 3: unknown key `headrom_dbfs` in `[targets]`: did you \
         mean `headroom_dbfs`? allowed are `kick_peak_dbfs`, `headroom_dbfs`, `limit_db`",
    );
    check(
        &with_move("fader", "kick", "parameters = { gian_db = 1 }\n"),
        "cannot use `session.toml`, line 12: unknown key `gian_db` in `parameters` of the move \
         (`fader`): did you mean `gain_db`? allowed is `gain_db`",
    );
    check(
        &with_move("polarity", "kick", "parameters = { gain_db = 1 }\n"),
        "cannot use `session.toml`, line 12: unknown key `gain_db` in `parameters` of the move \
         (`polarity`): allowed is none",
    );
}

#[test]
fn types() {
    check(
        "format = 1\nname = 3\n",
        "cannot use `session.toml`, line 2: `name` is a number: it must be text in quotes",
    );
    check(
        &with_move(
            "fader",
            "kick",
            "on = \"yes\"\nparameters = { gain_db = 1 }\n",
        ),
        "cannot use `session.toml`, line 12: `on` is text: it must be `true` or `false`",
    );
    check(
        &with_move("fader", "kick", "parameters = { gain_db = \"1\" }\n"),
        "cannot use `session.toml`, line 12: `gain_db` is text: it must be a number",
    );
    check(
        &with_move("fader", "kick", "parameters = 1\n"),
        "cannot use `session.toml`, line 12: `parameters` is a number: it must be a table",
    );
    check(
        "format = 1\ntracks = [{ id = \"kick\" }]\n",
        "cannot use `session.toml`, line 2: `tracks` is a list: it must be a list of tables, each \
         under a line `[[tracks]]`",
    );
    check(
        "format = 1\n[tracks]\nid = \"kick\"\n",
        "cannot use `session.toml`, line 2: `tracks` is a table: it must be a list of tables, each \
         under a line `[[tracks]]`",
    );
    check(
        &with_move("fader", "kick", "at = 3\nparameters = { gain_db = 1 }\n"),
        "cannot use `session.toml`, line 12: `at` is a number: it must be a list",
    );
    check(
        "format = 1\nname = 2025-11-02\n",
        "cannot use `session.toml`, line 2: `name` is a date: it must be text in quotes",
    );
}

#[test]
fn numbers_out_of_range() {
    check(
        &with_move("fader", "kick", "parameters = { gain_db = 99 }\n"),
        "cannot use `session.toml`, line 12: `gain_db` is 99: allowed are -96 to 24",
    );
    check(
        &with_move("fader", "kick", "parameters = { gain_db = nan }\n"),
        "cannot use `session.toml`, line 12: `gain_db` is NaN: allowed are -96 to 24",
    );
    check(
        &with_move("pan", "kick", "parameters = { position = -inf }\n"),
        "cannot use `session.toml`, line 12: `position` is -inf: allowed are -1 to 1",
    );
    check(
        "format = 1\nsample_rate_hz = 44\n",
        "cannot use `session.toml`, line 2: `sample_rate_hz` is 44: allowed are 8000 to 384000",
    );
    check(
        &with_move("offset", "kick", "parameters = { delay_samples = 1.5 }\n"),
        "cannot use `session.toml`, line 12: `delay_samples` is a number with a fraction: it must \
         be a whole number",
    );
    check(
        "format = 1\n[passage]\nstart_s = 90\nend_s = 60\n",
        "cannot use `session.toml`, line 4: `end_s` is 60: it must be later than `start_s`, which \
         is 90",
    );
}

#[test]
fn words_that_are_not_in_the_list() {
    check(
        &with_move("fadr", "kick", ""),
        "cannot use `session.toml`, line 10: `kind` is `fadr`: did you mean `fader`? allowed are \
         `trim`, `fader`, `pan`, `polarity`, `offset`, `low-cut`",
    );
    check(
        &with_move("reverb", "kick", ""),
        "cannot use `session.toml`, line 10: `kind` is `reverb`: allowed are `trim`, `fader`, \
         `pan`, `polarity`, `offset`, `low-cut`",
    );
    check(
        "format = 1\n[[tracks]]\nid = \"a\"\nfile = \"a.wav\"\ngroup = \"low-end\"\n",
        "cannot use `session.toml`, line 5: `group` is `low-end`: did you mean `low end`? allowed \
         are `drums`, `low end`, `music`, `voice`, `effects`",
    );
    check(
        &with_move(
            "fader",
            "kick",
            "by = \"me\"\nparameters = { gain_db = 1 }\n",
        ),
        "cannot use `session.toml`, line 12: `by` is `me`: allowed are `cupel`, `hand`",
    );
    check(
        &with_move(
            "low-cut",
            "kick",
            "parameters = { cutoff_hz = 30, slope_db_per_octave = 18 }\n",
        ),
        "cannot use `session.toml`, line 12: `slope_db_per_octave` is 18: allowed are `12`, `24`",
    );
}

#[test]
fn targets() {
    check(
        &with_move("fader", "kik", "parameters = { gain_db = 1 }\n"),
        "cannot use `session.toml`, line 11: `target` is `kik`: did you mean `kick`? allowed for \
         `fader` are `mix`, `group drums`, `group low end`, `group music`, `group voice`, \
         `group effects`, `kick`, `bass`",
    );
    check(
        &with_move("trim", "kick", "parameters = { gain_db = 1 }\n"),
        "cannot use `session.toml`, line 11: `target` is `kick`: allowed for `trim` is `all`",
    );
    check(
        &with_move("offset", "group brass", "parameters = { delay_ms = 1 }\n"),
        "cannot use `session.toml`, line 11: `target` is `group brass`: allowed for `offset` are \
         `kick`, `bass`",
    );
    check(
        "format = 1\nkick = \"kcik\"\n[[tracks]]\nid = \"kick\"\nfile = \"a.wav\"\n",
        "cannot use `session.toml`, line 2: `kick` is `kcik`: did you mean `kick`? allowed is \
         `kick`",
    );
    check(
        "format = 1\nkick = \"kick\"\n",
        "cannot use `session.toml`, line 2: `kick` is `kick`: allowed is none",
    );
}

/// With very many tracks the list ends somewhere.
#[test]
fn long_lists_are_cut() {
    let tracks: String = (0..50)
        .map(|n| format!("[[tracks]]\nid = \"t{n}\"\nfile = \"{n}.wav\"\n"))
        .collect();
    let text = format!("format = 1\nkick = \"nothing-like-it\"\n{tracks}");
    let message = Session::parse(&text).unwrap_err().to_string();
    assert!(message.ends_with("`t38`, `t39` and 10 more"), "{message}");
}

#[test]
fn what_is_missing_or_empty() {
    check(
        "format = 1\n[[tracks]]\nid = \"kick\"\n",
        "cannot use `session.toml`, line 2: `file` is missing in `[[tracks]]`: write for example \
         `file = \"kick.wav\"`",
    );
    check(
        &with_move("pan", "kick", ""),
        "cannot use `session.toml`, line 8: `parameters` is missing in `[[moves]]`: write for \
         example `parameters = { position = -0.2 }`",
    );
    check(
        &with_move("fader", "kick", "parameters = {}\n"),
        "cannot use `session.toml`, line 12: `gain_db` is missing in `parameters` of the move \
         (`fader`): write for example `gain_db = -1.5`",
    );
    check(
        "format = 1\n[reference]\n",
        "cannot use `session.toml`, line 2: `file` is missing in `[reference]`: write for example \
         `file = \"record.wav\"`",
    );
    check(
        "format = 1\n[rough]\nfile = \" \"\n",
        "cannot use `session.toml`, line 3: `file` is empty: write something, or remove the line",
    );
}

#[test]
fn ids_and_files() {
    check(
        "format = 1\n[[tracks]]\nid = \"big kick\"\nfile = \"a.wav\"\n",
        "cannot use `session.toml`, line 3: `id` is `big kick`: allowed are letters, digits, `-` \
         and `_`, but not the words `all`, `mix`",
    );
    check(
        "format = 1\n[[tracks]]\nid = \"mix\"\nfile = \"a.wav\"\n",
        "cannot use `session.toml`, line 3: `id` is `mix`: allowed are letters, digits, `-` and \
         `_`, but not the words `all`, `mix`",
    );
    check(
        &with("[[tracks]]\nid = \"kick\"\nfile = \"other.wav\"\n"),
        "cannot use `session.toml`, line 9: the id `kick` is given twice, first in line 3: give \
         one of them another id",
    );
    check(
        &with("[[tracks]]\nid = \"kick-2\"\nfile = \"kick.wav\"\n"),
        "cannot use `session.toml`, line 10: the file `kick.wav` is given twice, first in line 4: \
         remove one of the tracks",
    );
    let one = "[[moves]]\nid = \"m\"\nkind = \"polarity\"\ntarget = \"kick\"\n";
    check(
        &with(&format!("{one}{one}")),
        "cannot use `session.toml`, line 13: the id `m` is given twice, first in line 9: give one \
         of them another id",
    );
    for file in ["/music/kick.wav", "C:/music/kick.wav"] {
        check(
            &format!("format = 1\n[[tracks]]\nid = \"kick\"\nfile = \"{file}\"\n"),
            &format!(
                "cannot use `session.toml`, line 4: `file` is `{file}`: it must be relative to the \
                 session's folder, with `/`"
            ),
        );
    }
}

#[test]
fn delays() {
    for (given, words) in [
        ("{ delay_ms = 1, delay_samples = 2 }", "both delays"),
        ("{}", "no delay"),
    ] {
        check(
            &with_move("offset", "kick", &format!("parameters = {given}\n")),
            &format!(
                "cannot use `session.toml`, line 12: `parameters` of an offset has {words}: write \
                 one of `delay_ms`, `delay_samples`"
            ),
        );
    }
}

#[test]
fn places() {
    let fader = |at: &str| {
        with_move(
            "fader",
            "kick",
            &format!("at = {at}\nparameters = {{ gain_db = 1 }}\n"),
        )
    };
    for (at, given) in [
        ("[]", "empty"),
        ("[3]", "a list of something else"),
        ("[\"drop\", { time_s = 1, gain_db = 1 }]", "a list of both"),
    ] {
        check(
            &fader(at),
            &format!(
                "cannot use `session.toml`, line 12: `at` is {given}: write sections, such as \
                 `[\"drop\"]`, or breakpoints, such as `[{{ time_s = 12.0, gain_db = -2.0 }}]`"
            ),
        );
    }
    check(
        &fader("[\n{ time_s = 5, gain_db = 1 },\n{ time_s = 3, gain_db = 1 }]"),
        "cannot use `session.toml`, line 14: `time_s` is 3: breakpoints come in order of time, the \
         one before is at 5",
    );
    check(
        &fader("[{ time_s = 5, gain = 1 }]"),
        "cannot use `session.toml`, line 12: unknown key `gain` in a breakpoint of `at`: allowed \
         are `time_s`, `gain_db`",
    );
    check(
        &with_move(
            "trim",
            "all",
            "at = [\"drop\"]\nparameters = { gain_db = 1 }\n",
        ),
        "cannot use `session.toml`, line 12: a `trim` cannot have sections in `at`: it holds \
         everywhere, remove the line",
    );
    check(
        &with_move(
            "pan",
            "kick",
            "at = [{ time_s = 1, gain_db = 1 }]\nparameters = { position = 0 }\n",
        ),
        "cannot use `session.toml`, line 12: a `pan` cannot have breakpoints in `at`: only sections",
    );
}

#[test]
fn columns_count_characters_from_one() {
    let error = Session::parse("format = 1\nname = \"Fähre\"\n[targets]\nlimit_db = 99\n");
    let Err(SessionError::Content { line, column, .. }) = error else {
        panic!("no content error: {error:?}");
    };
    assert_eq!((line, column), (4, 12));
    let error = Session::parse("\u{feff}format = 1\r\n[targets]\r\n  \"ä\" = 3\r\n");
    let Err(SessionError::Content { line, column, .. }) = error else {
        panic!("no content error: {error:?}");
    };
    assert_eq!((line, column), (3, 3));
}

/// Ways to break TOML itself: each is an error with a line, never a panic.
#[test]
fn deep_nesting_is_an_error() {
    let deep = format!(
        "format = 1\nname = {}{}\n",
        "[".repeat(5000),
        "]".repeat(5000)
    );
    assert!(Session::parse(&deep).is_err());
    let dotted = format!("format = 1\n{}x = 1\n", "a.".repeat(5000));
    assert!(Session::parse(&dotted).is_err());
}

#[test]
fn a_range_of_tempo_has_an_order() {
    check(
        "format = 1\nmusic.lowest_bpm = 120\nmusic.highest_bpm = 90\n",
        "cannot use `session.toml`, line 3: `highest_bpm` is 90: allowed are 120 to 400",
    );
}
