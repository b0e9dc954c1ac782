//! Reads `settings.ron`: colours of one's own, and how the hour is written. All of it may be left
//! out, and the file as well.

use super::block::Block;
use super::range::Range;
use super::reader::RigFault;
use super::rig_file;
use crate::text::looks::{Colour, Hours, Looks};
use std::path::Path as FilePath;

/// The newest form of `settings.ron` that this program knows.
const FORMAT: u32 = 1;

/// A whole `settings.ron`, to begin from.
pub const EXAMPLE: &str = include_str!("../../assets/help/settings.ron");

/// Words for colours, in the order of their numbers.
const WORDS: &str = "black red green yellow blue magenta cyan white bright_black bright_red \
    bright_green bright_yellow bright_blue bright_magenta bright_cyan bright_white";

/// What `text`, the content of `file`, chooses.
///
/// # Errors
/// Everything that is wrong, in the order of the text; a fault of form stands alone.
pub fn parse(text: &str, file: &FilePath) -> Result<Looks, Vec<RigFault>> {
    rig_file::read(text, file, FORMAT, |root| Block::read(root, chosen).unwrap_or_default())
}

fn chosen(block: &mut Block) -> Looks {
    let mut looks = Looks::default();
    block.number_needed("format", Range::FromZero);
    match block.text_maybe("clock").as_deref() {
        None | Some("24 h") => {}
        Some("12 h") => looks.hours = Hours::HalfDay,
        Some(other) => block.wrong("clock", other, "\"24 h\" or \"12 h\""),
    }
    block.part("colours", |own| {
        let named = WORDS.split(' ').zip(0..).map(|(word, n)| (word, Colour::Numbered(n)));
        let known: Vec<(&str, Colour)> = named.chain([("plain", Colour::Plain)]).collect();
        for (field, place) in [
            ("out", &mut looks.out),
            ("soon", &mut looks.soon),
            ("good", &mut looks.good),
            ("band", &mut looks.band),
        ] {
            *place = own.choice_or(field, &known, *place);
        }
    });
    looks
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Looks, String> {
        parse(text, FilePath::new("settings.ron"))
            .map_err(|faults| faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))
    }

    #[test]
    fn what_is_chosen_is_taken_and_the_rest_is_as_ever() {
        let looks = read(EXAMPLE).unwrap();
        assert_eq!((looks.out, looks.hours), (Colour::Numbered(9), Hours::HalfDay));
        assert_eq!(read("(format: 1)"), Ok(Looks::default()));
        let one = read("(format: 1, colours: (band: plain))").unwrap();
        assert_eq!(one, Looks { band: Colour::Plain, ..Looks::default() });
    }

    #[test]
    fn what_is_wrong_is_named_with_its_place() {
        for (text, words) in [
            ("(format: 1, clock: \"am\")", "expected \"24 h\" or \"12 h\""),
            (
                "(format: 1, colours: (out: mauve))",
                "settings.ron:1:28: out in colours: found mauve, expected black, red",
            ),
            ("(format: 1, color: ())", "color"),
            ("(format: 9)", "settings.ron"),
        ] {
            let wrong = read(text).unwrap_err();
            assert!(wrong.contains(words), "{wrong}");
        }
    }
}
