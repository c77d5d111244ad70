//! The nearest allowed word to a misspelt one.

/// The allowed word that is at most a third of its letters (at least one)
/// away from `given`; the first of equals.
pub(crate) fn nearest<'a>(
    given: &str,
    allowed: impl IntoIterator<Item = &'a str>,
) -> Option<String> {
    let given = given.to_lowercase();
    if given.chars().count() > 64 {
        return None;
    }
    allowed
        .into_iter()
        .filter(|word| word.chars().count() <= 64)
        .map(|word| (distance(&given, &word.to_lowercase()), word))
        .filter(|(steps, word)| *steps <= (word.chars().count() / 3).max(1))
        .min_by_key(|(steps, _)| *steps)
        .map(|(_, word)| word.to_owned())
}

/// Optimal string alignment distance: insertions, deletions, substitutions and
/// swaps of neighbours (L. Boytsov, Indexing methods for approximate dictionary
/// searching, ACM JEA 16, 2011, section 2.1.1; cited from memory).
fn distance(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().collect();
    let b: Vec<char> = b.chars().collect();
    let mut rows = vec![vec![0; b.len() + 1]; a.len() + 1];
    for (i, row) in rows.iter_mut().enumerate() {
        row[0] = i;
    }
    rows[0] = (0..=b.len()).collect();
    for i in 1..=a.len() {
        for j in 1..=b.len() {
            let cost = usize::from(a[i - 1] != b[j - 1]);
            let mut best = (rows[i - 1][j] + 1)
                .min(rows[i][j - 1] + 1)
                .min(rows[i - 1][j - 1] + cost);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = best;
        }
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_words_only() {
        let allowed = ["gain_db", "position", "on"];
        assert_eq!(nearest("gian_db", allowed).as_deref(), Some("gain_db"));
        assert_eq!(nearest("gain", allowed), None);
        assert_eq!(nearest("On", allowed).as_deref(), Some("on"));
        assert_eq!(nearest("postion", allowed).as_deref(), Some("position"));
        assert_eq!(nearest("colour", allowed), None);
    }
}
