//! Which few moves do most.

/// Puts candidates in the order in which each, with those before it, leaves the
/// least cost; `cost` is told which are made. Ties go to the first.
pub(crate) fn by_effect(
    candidates: &[usize],
    most: usize,
    cost: &(impl Fn(&[usize]) -> f64 + Sync),
) -> Vec<usize> {
    let mut made: Vec<usize> = Vec::new();
    while made.len() < most {
        let left = candidates.iter().filter(|c| !made.contains(c));
        let best = left
            .map(|&candidate| {
                let with: Vec<usize> = made.iter().copied().chain([candidate]).collect();
                (cost(&with), candidate)
            })
            .reduce(|best, next| if next.0 < best.0 { next } else { best });
        match best {
            Some((_, candidate)) => made.push(candidate),
            None => break,
        }
    }
    made
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_most_telling_come_first() {
        let gain = [1.0, 5.0, 0.5, 3.0];
        let cost = |made: &[usize]| 10.0 - made.iter().map(|&m| gain[m]).sum::<f64>();
        assert_eq!(by_effect(&[0, 1, 2, 3], 3, &cost), [1, 3, 0]);
        assert_eq!(by_effect(&[2], 7, &cost), [2]);
    }

    /// Two that only help together: the second is worth most after the first.
    #[test]
    fn what_helps_together_stays_together() {
        let cost = |made: &[usize]| match (made.contains(&0), made.contains(&1)) {
            (true, true) => 0.0,
            (true, false) => 9.0,
            (false, true) => 11.0,
            _ => 10.0 - 2.0 * f64::from(u8::from(made.contains(&2))),
        };
        assert_eq!(by_effect(&[0, 1, 2], 3, &cost), [2, 0, 1]);
    }
}
