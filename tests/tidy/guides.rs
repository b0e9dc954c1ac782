//! Both guides can be read by a tired person: short sentences, short paragraphs.

use super::root;

/// The most words of a sentence, and of a paragraph or item.
const SENTENCE: usize = 30;
const PARAGRAPH: usize = 130;

/// Paragraphs and items of a guide, with the lines on which they begin; code, tables and headings
/// are left out.
fn paragraphs(text: &str) -> Vec<(usize, String)> {
    let mut found: Vec<(usize, String)> = Vec::new();
    let mut in_code = false;
    let mut goes_on = false;
    for (index, line) in text.lines().enumerate() {
        let line = line.trim();
        in_code ^= line.starts_with("```");
        let skipped = in_code || line.is_empty() || line.starts_with(['#', '|', '<', '`']);
        let item = line.starts_with("- ") || line.starts_with(|c: char| c.is_ascii_digit());
        match found.last_mut() {
            _ if skipped => {}
            Some((_, last)) if goes_on && !item => *last += &format!(" {line}"),
            _ => found.push((index + 1, line.to_string())),
        }
        goes_on = !skipped;
    }
    found
}

fn sentences(paragraph: &str) -> Vec<String> {
    let ended = [". ", "? ", ": "]
        .iter()
        .fold(paragraph.to_string(), |text, end| text.replace(end, &format!("{}\n", end.trim())));
    ended.lines().map(String::from).collect()
}

/// What is too long in a text, by line.
fn too_long(name: &str, text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (line, paragraph) in paragraphs(text) {
        let words = |text: &str| text.split_whitespace().count();
        if words(&paragraph) > PARAGRAPH {
            found.push(format!("{name}:{line}: a paragraph of {} words", words(&paragraph)));
        }
        for sentence in sentences(&paragraph) {
            if words(&sentence) > SENTENCE {
                found.push(format!("{name}:{line}: {} words: {sentence}", words(&sentence)));
            }
        }
    }
    found
}

#[test]
fn guides_are_made_of_short_sentences() {
    let mut found = Vec::new();
    for name in ["README.md", "DEVELOPERS.md"] {
        let text = std::fs::read_to_string(root().join(name)).unwrap();
        assert!(paragraphs(&text).len() > 20, "{name} was not read");
        found.extend(too_long(name, &text));
    }
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn the_guide_for_developers_stays_under_two_hundred_lines() {
    let text = std::fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    assert!(text.lines().count() < 200, "{} lines", text.lines().count());
}

#[test]
fn a_long_sentence_is_seen() {
    let long = "word ".repeat(SENTENCE + 1);
    let text = format!(
        "# {long}\n\n```\n{long}\n```\n\nShort. Then\n{long}end. Short.\n\n- one\n- {long}\n"
    );
    let lines: Vec<String> = too_long("x", &text).iter().map(|l| l[..4].to_string()).collect();
    assert_eq!(lines, ["x:7:", "x:11"]);
}
