//! What the program says of itself.

use crate::support::Folder;

const COMMANDS: [&str; 11] = [
    "measure", "open", "assay", "explain", "balance", "render", "report", "loop", "listen", "demo",
    "cache",
];

#[test]
fn every_command_has_an_example_and_exit_codes() {
    let folder = Folder::new();
    for command in COMMANDS {
        let help = folder.run(&[command, "--help"]).expect(0);
        assert!(
            help.out.contains(&format!("Example: cupel {command} ")),
            "{}",
            help.out
        );
        let codes = help.out.split_once("Exit codes: 0 done").unwrap().1;
        for code in ["1 ", "2 ", "3 ", "4 ", "130 "] {
            assert!(codes.contains(code), "{codes}");
        }
        narrow(&help.out);
    }
    let help = folder.run(&["--help"]).expect(0).out;
    assert!(
        help.contains("Example: cupel ") && help.contains("Exit codes: "),
        "{help}"
    );
    for command in COMMANDS {
        assert!(help.contains(&format!("\n  {command} ")), "{help}");
    }
    narrow(&help);
}

/// Every line fits into 80 columns.
fn narrow(text: &str) {
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}

#[test]
fn the_version_is_that_of_the_package() {
    let run = Folder::new().run(&["--version"]).expect(0);
    assert_eq!(run.out.trim(), concat!("cupel ", env!("CARGO_PKG_VERSION")));
}

#[test]
fn a_wrong_word_is_wrong_use() {
    let run = Folder::new().run(&["asay"]).expect(2);
    assert_eq!(run.out, "");
    assert!(
        run.talk.contains("asay") && run.talk.contains("assay"),
        "{}",
        run.talk
    );
}

#[test]
fn summaries_fit_eighty_columns() {
    let folder = Folder::of_four();
    crate::support::write(&folder.path("reference.wav"), &Folder::reference());
    let steps: [&[&str]; 7] = [
        &[],
        &["measure", "01 Kick.wav", "02 Bass.wav"],
        &["open", "."],
        &["assay"],
        &["balance"],
        &["render"],
        &[],
    ];
    for step in steps {
        let run = folder.run(step).expect(0);
        assert!(!run.out.is_empty());
        assert!(!run.out.contains('\u{1b}'), "no colour: {}", run.out);
        narrow(&run.out);
        assert!(!run.out.contains("\n\n\n"), "{}", run.out);
    }
}
