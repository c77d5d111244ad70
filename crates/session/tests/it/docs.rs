//! The example in the documentation is a session file.

use cupel_session::{Group, MoveKind, Role, Session};

#[test]
fn the_documented_example_is_read() {
    let page = include_str!("../../../../docs/session-file.md");
    let example = page
        .split("```toml\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .unwrap();
    let session = Session::parse(example).unwrap();
    assert_eq!(session.to_toml(), example);
    for kind in MoveKind::ALL {
        assert!(
            session.moves.iter().any(|step| step.kind == kind),
            "{}",
            kind.name()
        );
        assert!(page.contains(&format!("`{}`", kind.name())));
        for key in kind.parameter_keys() {
            assert!(page.contains(key), "{key}");
        }
    }
    for role in Role::ALL {
        assert!(page.contains(&format!("`{role}`")), "{role}");
    }
    for group in Group::ALL {
        assert!(page.contains(&format!("`{}`", group.name())));
    }
}
