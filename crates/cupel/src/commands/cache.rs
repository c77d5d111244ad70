//! `cupel cache`: what is kept of what was measured.

use cupel_store::LIMIT_BYTES;
use serde::Serialize;

use crate::args::Common;
use crate::commands::open_store;
use crate::exit::Exit;
use crate::output::{Failure, print_json, print_text};

#[derive(Serialize)]
struct Document {
    schema: &'static str,
    version: u32,
    records: usize,
    bytes: u64,
    limit_bytes: u64,
    cleared: bool,
}

pub(crate) fn run(clear: bool, common: &Common) -> Result<Exit, Failure> {
    let store = open_store(common)?;
    let contents = if clear {
        store.clear()
    } else {
        store.contents()
    };
    let contents = contents.map_err(|error| Failure::new(&error, None))?;
    if common.json {
        print_json(&Document {
            schema: "cupel/cache",
            version: 1,
            records: contents.records,
            bytes: contents.bytes,
            limit_bytes: LIMIT_BYTES,
            cleared: clear,
        })?;
        return Ok(Exit::Done);
    }
    let megabytes = contents.bytes as f64 / 1e6;
    let what = if clear { "removed" } else { "kept" };
    print_text(&format!(
        "{what}: {} records, {megabytes:.1} MB, of at most {:.0} MB, in {}",
        contents.records,
        LIMIT_BYTES as f64 / 1e6,
        store.folder().display()
    ))?;
    Ok(Exit::Done)
}
