//! Lists without repeats.

/// Everything once, in the order in which it comes first.
pub fn once_each<T: PartialEq>(all: impl IntoIterator<Item = T>) -> Vec<T> {
    all.into_iter().fold(Vec::new(), |mut kept, next| {
        if !kept.contains(&next) {
            kept.push(next);
        }
        kept
    })
}
