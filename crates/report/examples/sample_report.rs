//! Writes the page of an invented session, to look at.
//!
//! ```text
//! cargo run --example sample_report -- sample.html
//! ```

#[path = "../tests/it/sample.rs"]
mod sample;

fn main() -> std::io::Result<()> {
    let path = std::env::args()
        .nth(1)
        .unwrap_or_else(|| "sample.html".to_owned());
    std::fs::write(&path, cupel_report::page(&sample::report()))?;
    println!("wrote {path}");
    Ok(())
}
