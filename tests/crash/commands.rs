//! The real program, killed while it writes: a logged line, an imported file, a saved
//! schedule, a line in the dashboard, a change of the rig. What it said is saved is there, once;
//! what was saved in one go is there whole or not at all.

use super::rounds;
use super::screen::Screen;
use chrono::{DateTime, Duration as Span, FixedOffset};
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use std::collections::{HashMap, HashSet};
use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};
use waystock::domain::entry::Entry;
use waystock::store::data_folder::DataFolder;
use waystock::store::real_disk::RealDisk;
use waystock::store::templates::TEMPLATES;

/// Kills that one folder goes through, each after what the last one left.
const KILLS: usize = 20;
/// Rows of one import.
const ROWS: usize = 40;

const PLACES: &str = "(format: 1, places: [(name: \"Withy Lock\", latitude: 47.1, longitude: -1.6,
    services: [\"water\", \"grey\", \"liquids\", \"solids\", \"diesel\", \"food\", \"shore\"])])\n";

/// A folder of its own, and what was done in it.
struct World {
    root: tempfile::TempDir,
    random: Xoshiro256PlusPlus,
    /// How long a whole run takes.
    usual: Duration,
    /// Bytes in all files when the last run began.
    before: u64,
}

impl World {
    fn new(seed: u64) -> World {
        let root = tempfile::tempdir().unwrap();
        let random = Xoshiro256PlusPlus::seed_from_u64(seed);
        std::fs::create_dir(root.path().join("data")).unwrap();
        let world = World { root, random, usual: Duration::from_millis(20), before: 0 };
        std::fs::write(world.file("rig.ron"), TEMPLATES[0].text).unwrap();
        std::fs::write(world.file("places.ron"), PLACES).unwrap();
        world
    }

    fn file(&self, name: &str) -> std::path::PathBuf {
        self.root.path().join("data").join(name)
    }

    fn command(&self, words: &[&str], at: &str) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_waystock"));
        command.args(words).args(["--lives", "100", "--at", at]);
        command.envs(self.surroundings()).stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    fn surroundings(&self) -> [(&'static str, std::path::PathBuf); 3] {
        let root = self.root.path();
        [
            ("HOME", root.into()),
            ("XDG_STATE_HOME", root.join("state")),
            ("WAYSTOCK_DIR", root.join("data")),
        ]
    }

    /// Lets a whole run pass; what it printed.
    fn whole(&mut self, words: &[&str], at: &str) -> String {
        let begun = Instant::now();
        let output = self.command(words, at).output().unwrap();
        self.usual = self.usual.max(begun.elapsed());
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        let (out, err) = (text(&output.stdout), text(&output.stderr));
        assert!(output.status.success(), "{words:?}: {out}{err}");
        out + &err
    }

    /// The run of a round, of which only the first one is whole; what it printed.
    fn run(&mut self, words: &[&str], round: usize) -> String {
        let run = if round == 0 { World::whole } else { World::killed };
        run(self, words, &at(round))
    }

    /// Starts a run and kills it; what it had printed by then.
    fn killed(&mut self, words: &[&str], at: &str) -> String {
        self.before = bytes_in(self.root.path());
        let mut child = self.command(words, at).spawn().unwrap();
        self.wait_for_the_kill(child.id());
        child.kill().unwrap();
        let mut printed = String::new();
        child.stdout.take().unwrap().read_to_string(&mut printed).unwrap();
        child.wait().unwrap();
        printed
    }

    /// A moment to kill a process at: a third of them anywhere in its run, the others once the
    /// first byte of its save is on its way, at a distance of any order of magnitude: what it saves
    /// goes through several writes and syncs, and is then told. A search before it may take a
    /// hundred times as long, so that hardly any kill at random would hit the save.
    fn wait_for_the_kill(&mut self, process: u32) {
        if self.random.random_range(0..3) == 0 {
            return std::thread::sleep(self.usual.mul_f64(self.random.random_range(0.0..1.1)));
        }
        let begun = Instant::now();
        // A run that is over before it was seen to write is not waited for.
        while !self.has_begun_to_save() && is_running(process) && begun.elapsed() < self.usual * 20
        {
            std::thread::sleep(Duration::from_micros(20));
        }
        let order: f64 = self.random.random_range(0.0..3.5);
        std::thread::sleep(Duration::from_micros(10_f64.powf(order) as u64));
    }

    /// Whether any file has grown, shrunk or come since the run began.
    fn has_begun_to_save(&self) -> bool {
        bytes_in(self.root.path()) != self.before
    }

    /// The entries that count, read by a device that wrote none of them.
    fn entries(&self) -> Vec<Entry> {
        let (data, state) = (self.root.path().join("data"), self.root.path().join("reader"));
        let journal = DataFolder::at(&data, &state, Arc::new(RealDisk)).load().unwrap().journal;
        journal.entries
    }

    /// How many entries that count have each note.
    fn noted(&self) -> HashMap<String, usize> {
        let notes = self.entries().into_iter().filter_map(|entry| entry.note);
        notes.fold(HashMap::new(), |mut noted, note| {
            *noted.entry(note).or_default() += 1;
            noted
        })
    }

    /// After all its kills the folder is sound, at the latest once something is saved again.
    fn ends_well(&mut self, at: &str) {
        self.whole(&["log", "dishes"], at);
        self.whole(&["check"], at);
        let told = self.whole(&["check"], at);
        assert!(!told.contains("damaged") && !told.contains("gone"), "{told}");
    }
}

/// Bytes in all files of a folder and of those in it.
fn bytes_in(folder: &Path) -> u64 {
    let Ok(files) = std::fs::read_dir(folder) else { return 0 };
    let bytes = |file: std::fs::DirEntry| match file.metadata() {
        Ok(what) if what.is_dir() => bytes_in(&file.path()),
        Ok(what) => what.len(),
        Err(_) => 0,
    };
    files.flatten().map(bytes).sum()
}

/// Whether a process is there and not yet over.
fn is_running(process: u32) -> bool {
    let status = std::fs::read_to_string(format!("/proc/{process}/stat")).unwrap_or_default();
    !status.is_empty() && !status.contains(") Z ")
}

fn at(round: usize) -> String {
    at_minute(10 * round)
}

fn at_minute(minute: usize) -> String {
    let first: DateTime<FixedOffset> = "2026-10-03T18:00:00+02:00".parse().unwrap();
    (first + Span::minutes(minute as i64)).to_rfc3339()
}

/// How kills came out.
#[derive(Default, Clone, Copy)]
struct Tally {
    kills: usize,
    /// The first byte of the save was on its way, and nothing was said yet.
    within: usize,
    /// The program said that it is saved.
    told: usize,
    /// All is there, though nothing was said of it.
    untold: usize,
}

impl Tally {
    fn count(&mut self, world: &World, told: bool, there: bool) {
        self.kills += 1;
        self.within += usize::from(world.has_begun_to_save() && !told);
        self.told += usize::from(told);
        self.untold += usize::from(there && !told);
    }
}

/// A fifth of all kills, `KILLS` in each folder; says how they came out.
fn kill(what: &str, batch: impl Fn(World, usize) -> Tally + Sync) {
    let (all, one) = (rounds(50) / 5, KILLS.min(rounds(50) / 5));
    let batches = (0..all.div_ceil(one)).into_par_iter();
    let sum = |a: Tally, b: Tally| Tally {
        kills: a.kills + b.kills,
        within: a.within + b.within,
        told: a.told + b.told,
        untold: a.untold + b.untold,
    };
    let Tally { kills, within, told, untold } =
        batches.map(|seed| batch(World::new(seed as u64), one)).reduce(Tally::default, sum);
    println!(
        "{what}: {kills} kills, {within} within the save (of those {untold} between disk and \
         telling), {told} after it was told"
    );
    assert!(kills < 40 || within > kills / 10, "{what}: {within} of {kills} hit the save");
}

/// The same for runs whose entries carry notes. `run` makes one, killed but for the first, and gives
/// back whether it said that all is saved, and of which notes how many entries there are to be; of
/// each all are there or none, and what was told once is there after every later kill.
fn kill_noted(what: &str, run: impl Fn(&mut World, usize) -> (bool, Vec<(String, usize)>) + Sync) {
    kill(what, |mut world, kills| {
        let (mut tally, mut seen, mut owed) = (Tally::default(), HashMap::new(), HashSet::new());
        for round in 0..=kills {
            let (told, notes) = run(&mut world, round);
            owed.extend(told.then_some(notes.clone()).into_iter().flatten().map(|(note, _)| note));
            let newest = notes.last().expect("a note").0.clone();
            seen.extend(notes);
            let noted = world.noted();
            let is_there = |note: &String| all_or_none(noted.get(note), seen[note], note);
            let there: HashSet<&String> = seen.keys().filter(|note| is_there(note)).collect();
            let gone: Vec<&String> = owed.iter().filter(|note| !there.contains(note)).collect();
            assert!(gone.is_empty(), "told and gone: {gone:?}");
            if round > 0 {
                tally.count(&world, told, there.contains(&newest));
            }
        }
        world.ends_well(&at(kills + 1));
        tally
    });
}

/// Whether all of `whole` or none are there; a part, or more, is a fault.
fn all_or_none(found: Option<&usize>, whole: usize, what: &str) -> bool {
    let found = found.copied().unwrap_or(0);
    assert!(found == 0 || found == whole, "{what}: {found} of {whole} are there");
    found == whole
}

#[test]
fn a_logged_line_outlives_a_kill() {
    kill_noted("log", |world, round| {
        let note = format!("n{round}");
        let line = format!("dishes ({note}), 2 showers ({note}), cooked ({note})");
        let told = world.run(&["log", &line], round).contains("saved:");
        (told, vec![(note, 3)])
    });
}

#[test]
fn an_import_outlives_a_kill() {
    let row = |round: usize, row: usize| {
        let (day, hour) = (1 + row / 20, row % 20);
        format!("2026-09-{day:02}T{hour:02}:00:00+02:00,use,dishes,1,times,,,f{round},\n")
    };
    kill_noted("import", |world, round| {
        // The rows of the last file come once more: what is there already must not come twice.
        let files = round.saturating_sub(1)..=round;
        let rows = files.clone().flat_map(|round| (0..ROWS).map(move |one| row(round, one)));
        let head = "at,kind,what,amount,unit,step,after,note,recorded\n".to_string();
        let file = world.file("rows.csv");
        std::fs::write(&file, head + &rows.collect::<String>()).unwrap();
        let told = world.run(&["import", file.to_str().unwrap()], round).contains("imported");
        (told, files.map(|round| (format!("f{round}"), ROWS)).collect())
    });
}

#[test]
fn a_saved_schedule_outlives_a_kill() {
    kill("schedule", |mut world, kills| {
        let mut tally = Tally::default();
        let levels = "fresh 80%, grey 10%, liquids 10%, solids 1 use, food 8 person-days, \
            gas 60%, diesel 60%, battery 80%";
        world.whole(&["log", levels], &at(0));
        world.whole(&["stops", "--days", "5"], &at(0));
        let mut sizes: Vec<(usize, usize)> = Vec::new();
        for round in 1..=kills {
            let printed = world.killed(&["stops", "--days", "5", "--save"], &at(round));
            let saved = printed.lines().find_map(|line| line.strip_prefix("saved: "));
            let told: Option<usize> =
                saved.map(|rest| rest.split(' ').next().unwrap().parse().unwrap());
            let (there, size) = schedule(&world, round);
            assert!(told.is_none_or(|told| there && told == size), "{told:?} of {size}: {there}");
            tally.count(&world, told.is_some(), there);
            if there {
                // Beside stops that are saved none would be needed.
                world.whole(&["undo"], &at_minute(10 * round + 5));
                sizes.push((round, size));
            }
            let whole = |(round, size): &(usize, usize)| schedule(&world, *round) == (true, *size);
            assert!(sizes.iter().all(whole), "{sizes:?}");
        }
        world.ends_well(&at(kills + 1));
        tally
    });
}

/// Whether the schedule of a round is there, and of how many entries: as many as its first line in
/// the file says will follow it, and itself.
fn schedule(world: &World, round: usize) -> (bool, usize) {
    let recorded: DateTime<FixedOffset> = at(round).parse().unwrap();
    let found = world.entries().iter().filter(|entry| entry.recorded == recorded).count();
    let files = std::fs::read_dir(world.file("journal")).unwrap().flatten();
    let text: String = files
        .map(|file| String::from_utf8_lossy(&std::fs::read(file.path()).unwrap()).into_owned())
        .collect();
    let more = |line: &str| line.split_once(",more:")?.1.split(',').next()?.parse::<usize>().ok();
    let lines = text.lines().filter(|line| line.contains(&format!("recorded:\"{}\"", at(round))));
    let whole = lines.filter_map(more).max().map_or(1, |more| more + 1);
    (all_or_none(Some(&found), whole, "a schedule"), whole)
}

impl World {
    /// Opens the dashboard, presses `keys` and kills it; whether `told` stood on its screen.
    fn dashboard_killed(&mut self, keys: &str, told: &str, round: usize) -> bool {
        let arguments = ["--lives", "100", "--at", &at(round)];
        let mut screen = Screen::open((24, 80), &arguments, &self.surroundings());
        screen.sees("Enter: say");
        self.before = bytes_in(self.root.path());
        let killer = screen.killer();
        // A key that asks first is pressed again so late that it is no key held down.
        let last = keys.rsplit_once('|').map_or(keys, |(first, last)| {
            screen.press(first);
            std::thread::sleep(Duration::from_millis(900));
            last
        });
        let begun = Instant::now();
        screen.press(last);
        if round == 0 {
            screen.sees(told);
            self.usual = begun.elapsed();
        } else {
            self.wait_for_the_kill(screen.process());
        }
        screen.killed(killer).contains(told)
    }
}

#[test]
fn a_line_in_the_dashboard_outlives_a_kill() {
    kill_noted("dashboard", |world, round| {
        let note = format!("n{round}");
        let keys = format!("\rdishes ({note}), 2 showers ({note})\r");
        (world.dashboard_killed(&keys, "saved: ", round), vec![(note, 2)])
    });
}

#[test]
fn a_change_of_the_rig_outlives_a_kill() {
    kill("rig", |mut world, kills| {
        let mut tally = Tally::default();
        let with =
            |crew: usize| TEMPLATES[0].text.replacen("crew: 2,", &format!("crew: {crew},"), 1);
        let mut there = with(2);
        for round in 0..kills {
            let crew = 3 + round % 5;
            let keys = format!("vj\r\x15{crew}\rw|w");
            let told = world.dashboard_killed(&keys, "saved: rig.ron", round);
            let text = std::fs::read_to_string(world.file("rig.ron")).unwrap();
            let saved = text == with(crew);
            assert!(saved || (!told && text == there), "told: {told}\n{text}");
            tally.count(&world, told, saved);
            there = text;
        }
        world.ends_well(&at(kills + 1));
        tally
    });
}
