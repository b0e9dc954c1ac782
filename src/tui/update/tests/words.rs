//! Words that are typed where no line is open.

use super::{noticed, pressed};

#[test]
fn a_line_begun_anywhere_starts_nothing_and_is_kept() {
    let rows = [
        // Words are words wherever they are typed, and a number is one where digits are no keys.
        ("sfresh 40", "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights line:fresh 40|8"),
        ("s2dishes", "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights line:2dishes|7"),
        ("s2 sho", "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights line:2 sho|5"),
        ("s9<Down>empt", "Stretch grey row0 asks:9,0,0,0,90 No, 9 nights line:empt|4"),
        (
            "pempt",
            "Stops grey row0 asks:14,0,90,0,0,0 2 stops carry you through 14 days line:empt|4",
        ),
        (
            "pdiesel 9",
            "Stops grey row0 asks:14,0,90,0,0,0 2 stops carry you through 14 days line:diesel 9|8",
        ),
        ("egas 4", "Journal grey row3 line:gas 4|5"),
        ("e40", "Journal grey row3 line:40|2"),
        ("dishes", "Horizon grey row0 line:dishes|6"),
        ("2 sh", "Horizon grey row0 line:2 sh|4"),
        ("plugged", "Horizon grey row0 line:plugged|7"),
        ("lost fresh", "Horizon grey row0 line:lost fresh|10"),
        ("liquids 4", "Horizon grey row0 line:liquids 4|9"),
        ("late out", "Horizon grey row0 line:ate out|7"),
        ("lone shower", "Horizon grey row0 line:one shower|10"),
        ("filled fresh", "Horizon grey row0 line:filled fresh|12"),
        ("lfresh", "Horizon grey row0 line:fresh|5"),
        ("slfresh", "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights line:fresh|5"),
        ("dumped", "Horizon grey row0 line:dumped|6"),
        ("we had", "Horizon grey row0 line:we had|6"),
        // Keys are keys; an answer behind the one that opens the round is an answer.
        ("da third", "Round grey row0"),
        ("done", "Round grey row0"),
        ("done shower", "Round grey row0"),
        ("da quar", "Round grey row0"),
        ("sho", "Stock grey row0"),
        ("s14<Esc>", "Horizon grey row0"),
    ];
    for (keys, expected) in rows {
        assert_eq!(noticed(&pressed(keys).0), expected, "after {keys}");
    }
}
