//! The parts of a line that puts something right: its first sentence, and what holds and what does not.

/// The first sentence, and what is said behind it; where that holds a number, all is one.
pub(super) fn sentence(line: &str) -> (&str, &str) {
    let ends = line.find(". ").or_else(|| line.find(", i ")).or_else(|| line.find(", I "));
    match ends.map(|at| line.split_at(at + 1)) {
        Some((first, rest)) if !rest.contains(|c: char| c.is_ascii_digit()) => {
            (first.trim_end_matches(['.', ',']), rest)
        }
        _ => (line.trim_end_matches(['.', '!']), ""),
    }
}

/// What holds, and what does not: `not 60 but 40`, `40 not 60`, `40 instead of 60`.
pub(super) fn halves(all: &[&str]) -> (String, Option<String>) {
    let join = |part: &[&str]| part.join(" ");
    let not = all.iter().position(|w| *w == "not");
    if let (Some(at), Some(but)) = (not, all.iter().position(|w| *w == "but"))
        && at < but
    {
        let before = join(&all[..at]);
        return (
            format!("{before} {}", join(&all[but + 1..])).trim().into(),
            Some(join(&all[at + 1..but])),
        );
    }
    let pair = |one: &str, other: &str| {
        all.windows(2).position(|pair| pair[0] == one && pair[1] == other).map(|at| (at, at + 2))
    };
    let parts = not.map(|at| (at, at + 1)).or(pair("instead", "of")).or(pair("rather", "than"));
    match parts.filter(|(at, behind)| *at > 0 && *behind < all.len()) {
        Some((at, behind)) => {
            let mut new = all[..at].to_vec();
            if new.last() == Some(&"and") {
                new.pop();
            }
            // `90 not 80 for the water`.
            let of = all[behind..].iter().position(|w| ["for", "on"].contains(w));
            let old = &all[behind..of.map_or(all.len(), |of| behind + of)];
            let named = of.map(|of| join(&all[behind + of + 1..])).unwrap_or_default();
            (format!("{named} {}", join(&new)).trim().to_string(), Some(join(old)))
        }
        None => (join(all), None),
    }
}
