//! Parses text of any kind as a session file.

#![no_main]

use cupel_session::Session;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let _ = Session::parse(text);
});
