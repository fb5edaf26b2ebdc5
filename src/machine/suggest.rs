//! "Did you mean": the known word nearest to a misspelt one.

use super::kind::also_called;

/// Most known words listed in one message.
const MOST_LISTED: usize = 24;

/// The word of `known` nearest to `typed`, if one is near enough to be worth offering.
pub fn nearest<'a>(typed: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let typed = typed.to_lowercase();
    let letters = typed.chars().count();
    let mut near: Option<(usize, &str)> = None;
    for word in known {
        let length = word.chars().count();
        let most = (letters.max(length) / 3).max(1);
        if letters.abs_diff(length) > most {
            continue;
        }
        let distance = distance(&typed, &word.to_lowercase());
        if distance <= most && near.is_none_or(|(nearest, _)| distance < nearest) {
            near = Some((distance, word));
        }
    }
    near.map(|(_, word)| word)
}

/// The kind of element that comes nearest to what is called `typed`, by its letters or by what it does.
pub fn nearest_kind(typed: &str, kinds: &[&str]) -> String {
    let word = typed.to_lowercase().replace(['_', ' '], "-");
    match (nearest(typed, kinds.iter().copied()), also_called(&word)) {
        (None, Some((kind, written))) => {
            format!("the nearest kind is `{kind}`, as in `{kind}: {written}`")
        }
        _ => did_you_mean(typed, kinds.iter().copied()),
    }
}

/// "Did you mean `x`?" or else the list of what is known.
pub fn did_you_mean<'a>(typed: &str, known: impl IntoIterator<Item = &'a str> + Clone) -> String {
    match nearest(typed, known.clone()) {
        Some(word) => format!("did you mean `{word}`?"),
        None => {
            let mut all: Vec<_> = known.into_iter().map(|word| format!("`{word}`")).collect();
            let more = all.len().saturating_sub(MOST_LISTED);
            if more > 0 {
                all.truncate(MOST_LISTED);
                all.push(format!("and {more} more"));
            }
            format!("known here: {}", all.join(", "))
        }
    }
}

/// Edit distance with insertions, deletions, substitutions and swaps of neighbours
/// (optimal string alignment).
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) =
        (a.chars().take(64).collect(), b.chars().take(64).collect());
    let mut before: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let change = usize::from(a[i - 1] != b[j - 1]);
            let mut best = (above[j] + 1)
                .min(row[j - 1] + 1)
                .min(above[j - 1] + change);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(before[j - 2] + 1);
            }
            row.push(best);
        }
        before = std::mem::replace(&mut above, row);
    }
    above[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_words_are_offered_and_far_ones_are_not() {
        assert_eq!(
            nearest("tilt-gate", ["flip-gate", "bowl"]),
            Some("flip-gate")
        );
        assert_eq!(nearest("pokcets", ["pockets", "depth"]), Some("pockets"));
        assert_eq!(nearest("zebra", ["pockets", "depth"]), None);
    }
}
