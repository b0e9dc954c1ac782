use super::*;
use proptest::prelude::*;

const FULL: &str = include_str!("../../../tests/fixtures/rig/full.ron");

/// Every comment of a text, in order.
fn comments(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut quote = false;
    let bytes: Vec<char> = text.chars().collect();
    let mut i = 0;
    while i < bytes.len() {
        match bytes[i] {
            '\\' if quote => i += 1,
            '"' => quote = !quote,
            '/' if !quote && bytes.get(i + 1) == Some(&'/') => {
                let comment: String = bytes[i..].iter().take_while(|c| **c != '\n').collect();
                i += comment.chars().count();
                found.push(comment);
            }
            _ => {}
        }
        i += 1;
    }
    found
}

#[test]
fn awkward_files_keep_their_shape() {
    for (text, path, value, expected) in [
        ("(a: 1,)", "b", "2", "(a: 1, b: 2,)"),
        ("()", "b", "2", "(b: 2)"),
        ("(a: \"x: 9, b: 1\", b: 1)", "b", "2", "(a: \"x: 9, b: 1\", b: 2)"),
        ("(/* b: 1 */ b: 1 // b: 1\n)", "b", "2", "(/* b: 1 */ b: 2 // b: 1\n)"),
        ("(\r\n  a: 1, // one\r\n)", "a", "2", "(\r\n  a: 2, // one\r\n)"),
        ("(\n  a: 1 // last\n)", "b", "2", "(\n  a: 1,\n  b: 2 // last\n)"),
        (
            "(l: [(name: \"7\"), (name: \"x\")])",
            "l/1/name",
            "\"y\"",
            "(l: [(name: \"7\"), (name: \"y\")])",
        ),
        ("(s: r#\"a \" b: 1\"#, b: 1)", "b", "2", "(s: r#\"a \" b: 1\"#, b: 2)"),
    ] {
        assert_eq!(set(text, path, value).as_deref(), Ok(expected), "{text}");
    }
    for (text, value, expected) in [
        ("(l: [])", "1", "(l: [1])"),
        ("(l: [1, 2 /* two */,])", "3", "(l: [1, 2, 3 /* two */,])"),
        ("(l: [\n    1,\n    2, // two\n])", "3", "(l: [\n    1,\n    2,\n    3, // two\n])"),
        ("(a: 1)", "3", "(a: 1, l: [\n        3,\n    ])"),
    ] {
        assert_eq!(append(text, "l", value).as_deref(), Ok(expected), "{text}");
    }
}

#[test]
fn what_would_break_the_file_is_refused() {
    for value in ["", "1, b: 2", "1)", "1 // gone", "\"open", "(1", "[1"] {
        assert!(set("(a: 1)", "a", value).unwrap_err().starts_with("found "), "{value}");
    }
    assert_eq!(set("(a: 1)", "b/c", "1"), Err("the rig file has no b".to_owned()));
    assert_eq!(set("(a: [1])", "a/5", "1"), Err("the rig file has no 5".to_owned()));
    assert!(set("(a: 1", "a", "1").unwrap_err().contains("to close the bracket"));
}

proptest! {
    #[test]
    fn one_number_changes_and_nothing_else(
        which in 0..5usize,
        number in (1..100_000u32).prop_map(|n| f64::from(n) / 8.0),
    ) {
        let path = [
            "crew",
            "stocks/grey/capacity",
            "stocks/nights here/headroom",
            "electrics/panels/0/rated_w",
            "activities/shower/takes/0/amount",
        ][which];
        let edited = set(FULL, path, &number.to_string()).unwrap();
        prop_assert_eq!(get(&edited, path).map(str::parse), Some(Ok(number)));
        prop_assert_eq!(comments(&edited), comments(FULL));
        // Putting the old value back gives the old file; a field that was not there stays.
        if let Some(old) = get(FULL, path) {
            let back = set(&edited, path, old).unwrap();
            prop_assert_eq!(back, FULL);
        } else {
            let added = format!(", headroom: {number}");
            prop_assert_eq!(edited.replacen(&added, "", 1), FULL);
        }
    }

    #[test]
    fn any_name_can_be_written(name in "\\PC{0,30}") {
        let edited = set(FULL, "van", &quoted(&name)).unwrap();
        let node = scan(&edited).unwrap();
        let read = node.field(&edited, "van").and_then(|n| n.string(&edited));
        prop_assert_eq!(read, Some(name));
        prop_assert_eq!(comments(&edited).len(), comments(FULL).len());
    }

    #[test]
    fn scanning_never_panics(text in "[\\[\\]()\"'/*a1:, r#\\\\\n.é-]{0,60}") {
        let _ = scan(&text);
        let _ = set(&text, "a", "1");
    }
}
