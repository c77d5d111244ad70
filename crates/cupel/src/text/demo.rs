//! What `demo` says around the steps.

use crate::text::notes;

/// Said where the files are only made.
pub(crate) fn made(folder: &str, mistakes: &[&str]) -> String {
    format!(
        "{}Next: cupel open {folder}/tracks --session {folder}/session.toml --reference \
         {folder}/reference.wav --rough {folder}/bounce.wav",
        introduction(folder, mistakes)
    )
}

/// Said where one mix is made alone.
pub(crate) fn mix(folder: &str, file: &str) -> String {
    format!(
        "An invented mix is in {folder}/{file}; {folder}/truth.json says what is true of it.\n\n\
         Next: cupel measure {folder}/{file}"
    )
}

/// Said before the steps.
pub(crate) fn introduction(folder: &str, mistakes: &[&str]) -> String {
    let mut text = format!("An invented session and its reference are in {folder}.\n");
    if !mistakes.is_empty() {
        let lines: Vec<String> = mistakes.iter().map(|&m| m.to_owned()).collect();
        text.push_str(&format!(
            "Its maker made these mistakes:\n{}",
            notes(&lines)
        ));
    }
    text.push('\n');
    text
}
