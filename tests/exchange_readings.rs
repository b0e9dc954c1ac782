//! Exchange files with two readings of one stock at one moment: taken, and told of.

#[path = "fixtures/words_rig.rs"]
#[allow(dead_code, reason = "the rig is shared with other checks of words")]
mod words_rig;

use waystock::domain::entry::Entry;
use waystock::domain::journal::standing;
use waystock::exchange::read;
use waystock::logline::Vocabulary;
use words_rig::moment;

const HEADER: &str = "at,kind,what,amount,unit,step,after,note,recorded";
const AT: &str = "2026-05-10T08:00:00+02:00";

fn vocabulary() -> Vocabulary {
    Vocabulary::new(&words_rig::rig(), words_rig::zone())
}

fn entries(text: &str) -> Vec<Entry> {
    read(text, &vocabulary()).unwrap_or_else(|why| panic!("{text}: {}", why[0])).entries
}

/// Two people may read one gauge: both rows are taken, and the crew is told.
#[test]
fn readings_that_cannot_both_be_right_are_warned_of() {
    let warned = |rows: &str| -> Vec<String> {
        let read = read(&format!("{HEADER}\n{rows}"), &vocabulary()).unwrap();
        assert_eq!(read.entries.len(), rows.lines().count());
        read.warnings.iter().map(ToString::to_string).collect()
    };
    let fresh = |said: &str| format!("{AT},level,fresh,{said},,,,\n");
    let rows = [fresh("60,%"), format!("{AT},use,dishes,1,,,,,\n"), fresh("20,%")].concat();
    assert_eq!(
        warned(&rows),
        ["line 4: column 4 (amount): fresh is 20% here and 60% in line 2, at the very same \
          moment. Both are kept and both count: the level is taken to lie between them, and to be \
          less sure. If one is wrong, take it back"]
    );
    let battery = |said: &str| format!("{AT},level,battery,{said},%,,,,\n");
    let told = warned(&[battery("60"), battery("20")].concat());
    assert!(told[0].contains("Both are kept; this later one counts"), "{told:?}");
    // The same moment in another offset, and the stock by another of its names.
    let rows = [fresh("60,%"), "2026-05-10T06:00:00Z,level,FRESH,30,L,,,,\n".to_string()].concat();
    assert_eq!(warned(&rows).len(), 1);
    for fine in [
        [fresh("50,%"), fresh("50,%")],
        // 44 of 88 L.
        [fresh("50,%"), fresh("44,L")],
        [fresh("50,%"), format!("{AT},level,grey,20,%,,,,\n")],
        [fresh("50,%"), "2026-05-10T08:00:01+02:00,level,fresh,40,%,,,,\n".to_string()],
    ] {
        assert_eq!(warned(&fine.concat()), Vec::<String>::new(), "{fine:?}");
    }
}

/// What the warning says of them is so, of a tank and of the battery.
#[test]
fn of_two_readings_at_one_moment_what_is_said_counts() {
    let rig = words_rig::rig();
    let level = |rows: &[(&str, &str)], stock: &str| {
        let rows = rows.iter().map(|(what, said)| format!("{AT},level,{what},{said},%,,,,\n"));
        let read = entries(&format!("{HEADER}\n{}", rows.collect::<String>()));
        let at = moment("2026-05-10T08:30:00+02:00");
        let standing = standing(&read, at);
        let beliefs = waystock::belief::learn(&rig, &standing, at, 1);
        let (index, known) = beliefs.mechanism.parts.stock(stock).unwrap();
        let level = beliefs.level(index);
        (level.mean / known.capacity, level.sd / known.capacity)
    };
    let (high, low) = (level(&[("fresh", "60")], "fresh"), level(&[("fresh", "20")], "fresh"));
    for both in [[("fresh", "60"), ("fresh", "20")], [("fresh", "20"), ("fresh", "60")]] {
        let (mean, sd) = level(&both, "fresh");
        assert!(mean < high.0 - 0.05 && mean > low.0 + 0.05, "{mean}");
        assert!(sd > high.1.max(low.1), "{sd}");
    }
    for (first, later) in [("61", "20"), ("20", "61")] {
        let (mean, _) = level(&[("battery", first), ("battery", later)], "battery");
        let later = later.parse::<f64>().unwrap() / 100.0;
        assert!((mean - later).abs() < 0.02, "{mean}");
    }
    for (first, later) in [("61", "58"), ("58", "61")] {
        let (mean, _) = level(&[("battery", first), ("battery", later)], "battery");
        assert!((0.583..0.607).contains(&mean), "{mean}");
    }
}
