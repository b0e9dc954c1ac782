//! The best ways of cutting a run of items into parts.

/// What a way of cutting costs, the gravest first; of two ways the one that costs less is better.
pub(in crate::logline) type Cost = [usize; 4];

/// A way of cutting, by the items that its parts begin with.
pub(in crate::logline) type Way = (Cost, Vec<usize>);

/// The two best ways of cutting so many items into parts of at most `longest`, where `part` says
/// what the part from one item up to another costs; `None` for what is no part.
pub(in crate::logline) fn best(
    items: usize,
    longest: usize,
    part: impl Fn(usize, usize) -> Option<Cost>,
) -> Vec<Way> {
    let mut best: Vec<Vec<Way>> = vec![vec![([0; 4], vec![])]];
    for to in 1..=items {
        let mut ways: Vec<Way> = Vec::new();
        for (from, before) in best.iter().enumerate().skip(to.saturating_sub(longest)) {
            let Some(more) = part(from, to).filter(|_| !before.is_empty()) else { continue };
            for (cost, cuts) in before {
                let cost = std::array::from_fn(|at| cost[at] + more[at]);
                ways.push((cost, [&cuts[..], &[from]].concat()));
            }
        }
        ways.sort();
        ways.truncate(2);
        best.push(ways);
    }
    best.pop().unwrap_or_default()
}

/// The parts of a way, each from one item up to another.
pub(in crate::logline) fn parts(cuts: &[usize], items: usize) -> Vec<(usize, usize)> {
    let ends = cuts.iter().skip(1).copied().chain([items]);
    cuts.iter().copied().zip(ends).collect()
}
