//! The text a session came from: bytes as read, and as an editable document.

use toml_edit::DocumentMut;

use crate::FORMAT;

/// Byte order mark that some editors write before UTF-8 text.
const BOM: char = '\u{feff}';

/// The text a session came from.
#[derive(Clone, Debug)]
pub(crate) struct Origin {
    /// The text exactly as on disk; `None` if it was never there.
    pub(crate) text: Option<String>,
    /// The same as a document, without mark and with plain line ends.
    pub(crate) document: DocumentMut,
}

/// The version that writes, as it stands in the file.
pub(crate) fn this_version() -> String {
    format!("cupel {}", env!("CARGO_PKG_VERSION"))
}

impl Origin {
    /// The start of a new file.
    pub(crate) fn new() -> Self {
        let mut document = DocumentMut::new();
        document.insert("format", toml_edit::value(FORMAT));
        document.insert("written_by", toml_edit::value(this_version()));
        if let Some(mut key) = document.key_mut("format") {
            key.leaf_decor_mut().set_prefix(
                "# Session file of Cupel. Edit it freely: comments, order and hand edits are kept.\n\
                 # Gains are relative to the tracks as exported. `locked = true` keeps a move as it is.\n",
            );
        }
        Self {
            text: None,
            document,
        }
    }

    /// Gives an edited document the mark and the line ends of the text as read.
    pub(crate) fn dress(&self, edited: String) -> String {
        let Some(text) = &self.text else {
            return edited;
        };
        let lines = text.matches('\n').count();
        let mut dressed = String::with_capacity(edited.len() + 3);
        if text.starts_with(BOM) {
            dressed.push(BOM);
        }
        if 2 * text.matches("\r\n").count() > lines {
            dressed.push_str(&edited.replace('\n', "\r\n"));
        } else {
            dressed.push_str(&edited);
        }
        dressed
    }
}

/// The text without byte order mark, with plain line ends.
pub(crate) fn plain(text: &str) -> String {
    text.strip_prefix(BOM).unwrap_or(text).replace("\r\n", "\n")
}
