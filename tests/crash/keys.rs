//! Keys, mouse reports, pastes and rubbish at random, through a terminal, into the dashboard that
//! people use. It neither panics nor freezes: it takes all of it, and then ends when it is asked to.

use super::rounds;
use super::screen::PATIENCE;
use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use std::io::{Read, Write};
use std::path::Path;
use std::sync::mpsc;
use std::time::{Duration, Instant};

/// Bytes of one storm; 500 storms are ten million.
const STORM: usize = 20_000;

/// Something that a terminal may send. Not `q`, Ctrl-C, Ctrl-Z and Ctrl-\, which end or pause the
/// program.
fn piece(random: &mut Xoshiro256PlusPlus) -> Vec<u8> {
    let number = |random: &mut Xoshiro256PlusPlus| random.random_range(0..300);
    match random.random_range(0..14) {
        0..4 => {
            let letter = random.random_range(b' '..=b'~');
            vec![if letter.eq_ignore_ascii_case(&b'q') { b'?' } else { letter }]
        }
        4 => vec![[b'\r', b'\t', 0x7f, 0x1b, 0x01, 0x04, 0x0c, 0x15][random.random_range(0..8)]],
        5 => format!("\x1b[{}", ["A", "B", "C", "D", "H", "F", "Z", "I", "O"][number(random) % 9])
            .into_bytes(),
        6 => format!("\x1b[{};{}~", number(random) % 40, number(random) % 9).into_bytes(),
        7 | 8 => {
            let end = if random.random_range(0..3) == 0 { 'm' } else { 'M' };
            let [kind, column, row] = [(); 3].map(|()| number(random));
            format!("\x1b[<{};{column};{row}{end}", kind % 100).into_bytes()
        }
        9 => [b"\x1b[M".to_vec(), [(); 3].map(|()| random.random_range(b' '..=255)).to_vec()]
            .concat(),
        10 => format!("\x1b[200~2 showers\n{}\x1b[201~", number(random)).into_bytes(),
        11 => [": fresh 40%\r", "l2 showers\r", "\x1b\x1b", "j", "k", "?", "\x1b[5~", "\x1b[6~"]
            [number(random) % 8]
            .into(),
        12 => "\u{e9}\u{1f6bf}\u{202e}\u{301}".as_bytes()[..1 + number(random) % 11].to_vec(),
        _ => [(); 6].map(|()| random.random_range(0x80..=255)).to_vec(),
    }
}

/// How long the threads of a process have waited for a processor, all together: on a machine that is
/// busy with other things, that is no freeze.
fn starved(process: u32) -> Duration {
    let threads = std::fs::read_dir(format!("/proc/{process}/task"));
    let waited = threads.into_iter().flatten().flatten().filter_map(|thread| {
        let times = std::fs::read_to_string(thread.path().join("schedstat")).ok()?;
        times.split(' ').nth(1)?.parse::<u64>().ok()
    });
    Duration::from_nanos(waited.sum())
}

/// One storm over a copy of the demo; how many bytes it took.
fn storm(seed: u64) -> usize {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
    let root = tempfile::tempdir().unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    std::fs::create_dir_all(root.path().join("data/journal")).unwrap();
    for file in ["rig.ron", "places.ron", "journal/phone.ron", "journal/laptop.ron"] {
        std::fs::copy(demo.join(file), root.path().join("data").join(file)).unwrap();
    }
    let (rows, cols) = [(24, 80), (20, 40), (50, 160)][seed as usize % 3];
    let size = PtySize { rows, cols, pixel_width: 0, pixel_height: 0 };
    let pair = native_pty_system().openpty(size).unwrap();
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_waystock"));
    command.args(["--lives", "100", "--dir"]);
    command.arg(root.path().join("data"));
    command.env("XDG_STATE_HOME", root.path().join("state"));
    command.env("TERM", "xterm");
    let mut child = pair.slave.spawn_command(command).unwrap();
    drop(pair.slave);
    // It draws; until then the keys are not its own.
    let mut reader = pair.master.try_clone_reader().unwrap();
    let (drew, drawn) = mpsc::channel();
    std::thread::spawn(move || {
        let mut bytes = [0; 65536];
        while let Ok(count @ 1..) = reader.read(&mut bytes) {
            let _ = drew.send(String::from_utf8_lossy(&bytes[..count]).into_owned());
        }
    });
    while !drawn.recv_timeout(PATIENCE).expect("a first picture").contains("\x1b[?1049h") {}
    let mut keys = pair.master.take_writer().unwrap();
    let (took, taken) = mpsc::channel();
    std::thread::spawn(move || {
        let mut sent = 0;
        while sent < STORM {
            let bytes: Vec<u8> = (0..64).flat_map(|_| piece(&mut random)).collect();
            if keys.write_all(&bytes).is_err() {
                break;
            }
            sent += bytes.len();
            let _ = took.send(sent);
        }
        // Out of whatever is open, a paste without its end too; and the end. A key that arrives
        // right behind a half report may be taken for a part of it, so it is pressed again.
        let _ = keys.write_all(b"\x1b[201~");
        let _ = took.send(sent);
        while keys.write_all(b"\x03").is_ok() {
            std::thread::sleep(Duration::from_millis(500));
        }
    });
    let process = child.process_id().unwrap();
    let (mut sent, mut moved, mut waited) = (0, Instant::now(), starved(process));
    loop {
        match taken.try_recv() {
            Ok(now) => (sent, moved, waited) = (now, Instant::now(), starved(process)),
            Err(_) => std::thread::sleep(Duration::from_millis(5)),
        }
        if let Some(status) = child.try_wait().unwrap() {
            let last: String = drawn.try_iter().collect();
            assert_eq!(status.exit_code(), 0, "seed {seed}: {last}");
            // What was taken while this thread had no turn.
            return taken.try_iter().last().unwrap_or(sent);
        }
        if moved.elapsed() > PATIENCE + starved(process).saturating_sub(waited) {
            child.kill().unwrap();
            panic!("seed {seed}: frozen after {sent} bytes");
        }
    }
}

#[test]
fn a_storm_of_keys_neither_freezes_nor_fells_it() {
    let storms = rounds(2).min(500);
    let taken: usize = (0..storms as u64).map(storm).sum();
    println!("keys: {taken} bytes in {storms} storms");
    assert!(taken >= storms * STORM * 9 / 10, "{taken} bytes in {storms} storms");
}
