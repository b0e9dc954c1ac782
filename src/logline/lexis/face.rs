//! Signs and little pictures that say nothing but a mood.

/// Whether a word is a smile or the like, in signs: `:)`, `<3`.
pub(in crate::logline) fn is_face(word: &str) -> bool {
    let mouth = |c: char| "()DPpOo/|*-'^".contains(c);
    let smiles = word
        .strip_prefix([':', ';', '='])
        .is_some_and(|mouths| (1..=3).contains(&mouths.len()) && mouths.chars().all(mouth));
    smiles || word == "<3"
}

/// Whether it is one of the little pictures of a phone, or joins or colours them.
pub(in crate::logline) fn is_picture(c: char) -> bool {
    matches!(c, '\u{2600}'..='\u{27BF}' | '\u{1F000}'..='\u{1FAFF}' | '\u{FE0F}' | '\u{200D}')
}
