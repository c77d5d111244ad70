//! Sureness: rows and reliability tables.

use serde::Serialize;

use crate::prove::judge::beats::beats_f;
use crate::prove::judge::key::score_of;
use crate::prove::judge::roles::role_is_right;
use crate::prove::judge::sections::boundary_f;
use crate::prove::judge::sureness::{Bin, Claims};
use crate::prove::judge::tempo::{DOWNBEAT_S, downbeat_error_s, octave};
use crate::prove::row::{Goal, Row};
use crate::prove::rows::form::RIGHT_F;
use crate::prove::rows::{Asked, Look, looks, whole_looks};
use crate::prove::session::{Names, RoleCase};

/// Answers of one kind by how sure they were.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Table {
    pub of: &'static str,
    pub bins: Vec<Bin>,
}

/// All promises.
pub(crate) fn rows(asked: &Asked) -> (Vec<Row>, Vec<Table>) {
    let pieces = looks(&asked.pieces);
    let arrangements = looks(&asked.arrangements);
    let shared = asked.shared.as_deref().map(whole_looks).unwrap_or_default();
    let all: Vec<Look<'_>> = pieces.iter().chain(&shared).copied().collect();
    let with_form: Vec<Look<'_>> = arrangements.iter().chain(&shared).copied().collect();
    let sessions = asked.made.iter().chain(asked.shared.iter().flatten());
    let roles: Vec<&RoleCase> = sessions
        .chain(&asked.one_shots)
        .flat_map(|case| &case.roles)
        .collect();
    let kinds = [
        ("tempo", tempo(&all)),
        ("downbeat", downbeat(&all)),
        ("key", key(&all)),
        ("sections", sections(&with_form)),
        ("roles", of_roles(&roles)),
    ];
    let mut rows = Vec::new();
    let mut tables = Vec::new();
    for (of, claims) in kinds {
        let (sure, right) = claims.right_of_sure();
        let (answerable, share) = claims.sure_of_answerable();
        // never sure is a promise not given
        let judged = sure.max(usize::from(answerable > 0));
        rows.push(Row::new(
            "sureness",
            format!("{of}: of answers called sure, right"),
            Goal::AtLeast(0.95),
            right,
            judged,
        ));
        rows.push(Row::new(
            "sureness",
            format!("{of}: of what can be answered, called sure"),
            Goal::AtLeast(0.7),
            share,
            answerable,
        ));
        tables.push(Table {
            of,
            bins: claims.table(),
        });
    }
    (rows, tables)
}

/// With and without a range; drifting beats are right by their F-measure.
fn tempo(looks: &[Look<'_>]) -> Claims {
    let mut claims = Claims::default();
    for look in looks {
        for answer in [look.plain, look.ranged] {
            let given = answer.tempo_bpm.is_some();
            let sure = answer.sure.tempo;
            if look.truth.beatless {
                claims.add_unanswerable(sure, given);
            } else if look.truth.drifts() {
                claims.add(sure, given, beats_f(look.truth, answer) >= RIGHT_F);
            } else {
                claims.add(sure, given, octave(look.truth, answer).is_some());
            }
        }
    }
    claims
}

fn downbeat(looks: &[Look<'_>]) -> Claims {
    let mut claims = Claims::default();
    for look in looks {
        let answer = look.ranged;
        let (sure, given) = (answer.sure.downbeat, answer.first_downbeat_s.is_some());
        if look.truth.beatless {
            claims.add_unanswerable(sure, given);
        } else if look.truth.is_steady() {
            let error = downbeat_error_s(look.truth, answer);
            claims.add(sure, given, error.is_some_and(|s| s <= DOWNBEAT_S));
        }
    }
    claims
}

fn key(looks: &[Look<'_>]) -> Claims {
    let mut claims = Claims::default();
    // a piece of noise alone has no key to be told
    let tonal = looks.iter().filter(|look| !look.truth.beatless);
    for look in tonal {
        let key = look.plain.key.as_deref();
        let right = score_of(&look.truth.key, key) == 1.0;
        claims.add(look.plain.sure.key, key.is_some(), right);
    }
    claims
}

fn sections(looks: &[Look<'_>]) -> Claims {
    let mut claims = Claims::default();
    let known = looks.iter().filter(|look| look.truth.sections.len() > 1);
    for look in known {
        let right = boundary_f(look.truth, look.ranged) >= RIGHT_F;
        let given = look.ranged.sections.is_some();
        claims.add(look.ranged.sure.sections, given, right);
    }
    claims
}

/// With names hidden and with wrong ones; own names make it too easy.
fn of_roles(cases: &[&RoleCase]) -> Claims {
    let mut claims = Claims::default();
    for case in cases.iter().filter(|case| case.names != Names::Own) {
        let role = case.role.as_deref();
        claims.add(case.sure, role.is_some(), role_is_right(&case.word, role));
    }
    claims
}
