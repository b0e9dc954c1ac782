//! Files cut off, and files with flipped bits.

use super::fake_disk::FakeDisk;
use super::{draft, folder, numbers, rounds};
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use waystock::domain::entry::{Body, Draft, Event};
use waystock::store::journal::{self, FindingKind, SourceFile};
use waystock::store::rig_file;
use waystock::store::templates::TEMPLATES;

/// How the records of a file were saved.
#[derive(Clone, Copy, PartialEq)]
enum Saved {
    OneByOne,
    InOneGo,
}

/// A device's file with `count` records, and its name.
fn file(count: usize, saved: Saved) -> (String, Vec<u8>) {
    let disk = FakeDisk::new();
    let mut folder = folder(&disk);
    // Short records, since every cut is read from the start.
    let short = |n| Draft { body: Body::Happened(Event::DayClosed), ..draft(n) };
    let drafts: Vec<_> = (0..count).map(short).collect();
    match saved {
        Saved::InOneGo => drop(folder.append(&drafts, super::recorded()).unwrap()),
        Saved::OneByOne => drafts.iter().for_each(|one| {
            folder.append(std::slice::from_ref(one), super::recorded()).unwrap();
        }),
    }
    let name = folder.device().unwrap().to_string();
    let bytes = disk.bytes(&format!("/data/journal/{name}.ron"));
    (name, bytes)
}

fn source(bytes: &[u8], own: bool) -> [SourceFile; 1] {
    [SourceFile { file: "journal/other.ron".into(), bytes: bytes.to_vec(), own }]
}

#[test]
fn a_file_cut_anywhere_keeps_its_whole_lines() {
    let (_, bytes) = file(300, Saved::OneByOne);
    (0..=bytes.len()).into_par_iter().for_each(|cut| {
        let whole = bytes[..cut].iter().filter(|b| **b == b'\n').count();
        let journal = journal::read(&source(&bytes[..cut], false));
        // The last line may lack its newline alone: all of it is there, and it counts.
        let unended = usize::from(bytes.get(cut) == Some(&b'\n'));
        assert_eq!(numbers(&journal.entries), (0..whole + unended).collect::<Vec<_>>(), "{cut}");
        let torn = cut > 0 && bytes[cut - 1] != b'\n' && unended == 0;
        assert_eq!(journal.findings.len(), usize::from(torn), "{cut}");
        assert!(journal.findings.iter().all(|f| f.kind == FindingKind::Arriving));
    });
}

/// Of entries that were saved in one go, all count or none: however the file is cut, and whatever
/// is written after it.
#[test]
fn a_group_cut_anywhere_counts_whole_or_not_at_all() {
    let (_, bytes) = file(12, Saved::InOneGo);
    let (_, after) = file(2, Saved::InOneGo);
    let after = String::from_utf8(after).unwrap();
    // What is appended to a file whose end is not known to be whole begins with a newline.
    let after = format!("\n{after}").into_bytes();
    (1..bytes.len()).into_par_iter().for_each(|cut| {
        let all = cut + 1 == bytes.len();
        let count = if all { 12 } else { 0 };
        for own in [true, false] {
            let journal = journal::read(&source(&bytes[..cut], own));
            assert_eq!(journal.entries.len(), count, "{cut}");
            let kind = if own { FindingKind::Torn } else { FindingKind::Arriving };
            assert_eq!(journal.findings.is_empty(), all, "{cut}");
            assert!(
                journal.findings.iter().all(|f| f.kind == kind),
                "{cut}: {:?}",
                journal.findings
            );
        }
        let journal = journal::read(&source(&[&bytes[..cut], &after].concat(), true));
        assert_eq!(journal.entries.len(), count + 2, "{cut}");
        assert!(journal.findings.iter().all(|f| f.kind == FindingKind::Torn), "{cut}");
    });
}

/// 250 MiB of zeros came with exit code 0 and "still arriving"; so does no beginning of a record.
#[test]
fn only_the_beginning_of_a_record_is_still_arriving() {
    let kind = |bytes: &[u8]| journal::read(&source(bytes, false)).findings[0].kind;
    assert_eq!(kind(b"(v:1,id:\"lumo-1"), FindingKind::Arriving);
    assert_eq!(
        kind("(v:1,id:\"lumo-1\",note:\"\u{e9}".as_bytes().split_last().unwrap().1),
        FindingKind::Arriving
    );
    assert_eq!(kind(&[0; 5000]), FindingKind::Damaged);
    assert_eq!(kind(b"(v:1,id:\"lumo-1\0\0\0"), FindingKind::Damaged);
    assert_eq!(kind(b"shopping list"), FindingKind::Damaged);
}

#[test]
fn an_append_after_any_cut_loses_the_cut_record_at_most() {
    for saved in [Saved::OneByOne, Saved::InOneGo] {
        append_after_any_cut(&file(3, saved));
    }
}

fn append_after_any_cut((name, bytes): &(String, Vec<u8>)) {
    let path = format!("/data/journal/{name}.ron");
    for cut in 0..=bytes.len() {
        let disk = FakeDisk::new();
        // A first append makes the folders; its file is the one that gets cut here, as the power
        // would, before the device noted its length.
        let mut folder = folder(&disk);
        folder.append(&[draft(99)], super::recorded()).unwrap();
        disk.put(&path, &bytes[..cut]);
        let whole = folder.load().unwrap().entries.len();
        let memory = format!("(v:1,device:{name:?},promised:3,length:0,tail:0");
        let memory = format!("{memory},crc:0x{:08x})\n", crc32fast::hash(memory.as_bytes()));
        let states = disk.calls().into_iter().map(|(_, path)| path);
        let state =
            states.filter(|p| p.starts_with("/state")).find(|p| p.extension().unwrap() == "ron");
        disk.set_bytes(state.unwrap().to_str().unwrap(), memory.as_bytes());
        assert_eq!(&folder.append(&[draft(50)], super::recorded()).unwrap()[0].id.device, name);
        let journal = folder.load().unwrap();
        assert_eq!(journal.entries.len(), whole + 1, "{cut}");
        assert!(disk.bytes(&path).starts_with(&bytes[..cut]), "reading and appending keep bytes");
    }
}

#[test]
fn a_flipped_bit_costs_one_record_and_is_found() {
    for saved in [Saved::OneByOne, Saved::InOneGo] {
        let (_, bytes) = file(12, saved);
        flip_bits(&bytes, 0..bytes.len() * 8);
    }
}

fn flip_bits(bytes: &[u8], bits: impl IntoParallelIterator<Item = usize>) {
    let before = numbers(&journal::read(&source(bytes, true)).entries);
    bits.into_par_iter().for_each(|bit| {
        let mut broken = bytes.to_vec();
        broken[bit / 8] ^= 1 << (bit % 8);
        let journal = journal::read(&source(&broken, true));
        let kept = numbers(&journal.entries);
        // A broken newline joins two lines, and both are lost; nothing else is.
        let lost = if bytes[bit / 8] == b'\n' { 2 } else { 1 };
        assert!(kept.len() + lost >= before.len(), "bit {bit}: {kept:?}");
        assert!(kept.iter().all(|n| before.contains(n)), "bit {bit}");
        let last_newline = bit / 8 == bytes.len() - 1;
        assert!(last_newline || !journal.findings.is_empty(), "bit {bit} is not noticed");
        assert!(journal.findings.iter().all(|f| f.line >= 1 && f.column >= 1));
    });
}

/// Every bit of `bytes` in a long run; a few of them, spread over all, in a usual one.
fn some_bits(bytes: &[u8], usual: usize) -> Vec<usize> {
    let all = bytes.len() * 8;
    (0..all).step_by((all / rounds(usual)).max(1)).collect()
}

#[test]
fn a_flipped_bit_in_a_long_journal_costs_one_record() {
    let (_, bytes) = file(220, Saved::OneByOne);
    assert!(bytes.len() > 20 * 1024, "{} bytes", bytes.len());
    flip_bits(&bytes, some_bits(&bytes, 400));
}

/// A rig with a flipped bit is a rig, or refused with what is wrong.
#[test]
fn a_flipped_bit_in_a_rig_is_survived() {
    let rig = TEMPLATES[0].text.as_bytes();
    some_bits(rig, 600).into_par_iter().for_each(|bit| {
        let mut broken = rig.to_vec();
        broken[bit / 8] ^= 1 << (bit % 8);
        if let Ok(text) = std::str::from_utf8(&broken)
            && let Err(faults) = rig_file::parse(text, "rig.ron".as_ref())
        {
            assert!(!faults.is_empty(), "bit {bit}");
        }
    });
}

/// A device whose memory has a flipped bit goes on, as itself or under a new name, and nothing is
/// lost or doubled.
#[test]
fn a_flipped_bit_in_the_memory_loses_nothing() {
    let disk = FakeDisk::new();
    let mut before = folder(&disk);
    (0..3).for_each(|n| drop(before.append(&[draft(n)], super::recorded()).unwrap()));
    let paths: Vec<_> = disk.calls().into_iter().map(|(_, path)| path).collect();
    let is_memory = |path: &&std::path::PathBuf| {
        path.starts_with("/state") && path.extension().is_some_and(|end| end == "ron")
    };
    let memory = paths.iter().find(is_memory).unwrap().to_str().unwrap();
    let bytes = disk.bytes(memory);
    for bit in some_bits(&bytes, 300) {
        let copy = disk.after_power_loss(&mut |_| 1);
        let mut broken = bytes.clone();
        broken[bit / 8] ^= 1 << (bit % 8);
        copy.set_bytes(memory, &broken);
        let mut folder = folder(&copy);
        folder.append(&[draft(3)], super::recorded()).unwrap();
        let journal = folder.load().unwrap();
        assert_eq!(numbers(&journal.entries), [0, 1, 2, 3], "bit {bit}");
        assert!(journal.findings.iter().all(|f| f.kind != FindingKind::Conflicting), "bit {bit}");
    }
}

#[test]
fn hostile_bytes_are_refused_in_bounds() {
    let long = vec![b'x'; 300_000];
    let rows: [(&[u8], usize); 5] = [
        (&[0; 100_000], 1),
        (&long, 1),
        (&[b'\n'; 1_000_000], 0),
        (&b"x\n".repeat(100_000), 101),
        (&[0xff; 50], 1),
    ];
    for (bytes, findings) in rows {
        let journal = journal::read(&source(bytes, true));
        assert!(journal.entries.is_empty());
        assert_eq!(journal.findings.len(), findings);
        assert!(journal.findings.iter().all(|f| f.message.len() < 200));
    }
}
