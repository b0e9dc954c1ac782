//! `waystock check`: validate the folder, and say where everything lies.

use super::args::CheckOptions;
use super::{CommandResult, Output, Session, list, object};
use crate::domain::journal::possible_twins;
use crate::domain::standing;
use crate::forecast::season;
use crate::plan::stops::unmatched::unmatched;
use crate::store::data_folder::{Contents, FolderFault, describe};
use crate::store::journal::FindingKind;
use crate::store::rig_file::FaultKind;
use crate::text::{counted, quantity, stops};
use serde_json::Value;

/// Prints what was found; exit code 1 when something is at fault, 76 when the rig is written for a
/// newer version and so cannot be judged.
pub fn run(options: &CheckOptions, session: &mut Session, out: &mut Output) -> CommandResult {
    if options.restore {
        let written = session.folder.journal.restore()?;
        session.after_saving(out);
        out.say(&format!("written again: {}", counted(written.len(), "entry")));
    } else if options.settle {
        session.folder.journal.settle()?;
    }
    let contents = match session.load_without_places() {
        Ok(contents) => contents,
        Err(FolderFault::Rig(faults)) => {
            let newer = faults.iter().any(|fault| fault.kind == FaultKind::Newer);
            let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
            tell(session, out, &faults, None);
            return Ok(if newer { 76 } else { 1 });
        }
        Err(other) => return Err(other.into()),
    };
    let at_fault = |kind: FindingKind| {
        use FindingKind::{Arriving, Torn, Unknown};
        !matches!(kind, Arriving | Torn | Unknown)
    };
    let findings = &contents.journal.findings;
    let places = contents.places_faults.iter().map(ToString::to_string);
    let journal = findings.iter().filter(|f| at_fault(f.kind)).map(describe);
    let maps = FolderFault::in_file(session.folder.maps(&contents.rig))?;
    let settings = FolderFault::in_file(session.folder.settings())?;
    let beside = maps.iter().chain(&settings).map(ToString::to_string);
    let faults: Vec<String> = places.chain(beside).chain(journal).collect();
    tell(session, out, &faults, Some(&contents));
    Ok(u8::from(!faults.is_empty()))
}

fn tell(session: &Session, out: &mut Output, faults: &[String], contents: Option<&Contents>) {
    if session.common.json {
        out.json(&as_json(session, faults, contents));
        return;
    }
    out.lines(faults);
    if let Some(contents) = contents {
        let now = session.now(&contents.rig);
        let parts = contents.rig.parts_on(contents.rig.zone(now).date(now));
        let unmatched = unmatched(&parts, &contents.rig.places);
        out.lines(unmatched.iter().map(|each| format!("note: {}", stops::unmatched(each))));
        let all = standing(&contents.journal.entries, now);
        for file in &contents.journal.files {
            out.line(&format!(
                "{}: {}, {} skipped, {} conflicting",
                file.file,
                counted(file.good as usize, "record"),
                counted(file.skipped as usize, "line"),
                file.conflicting
            ));
        }
        let rest = contents.journal.findings.iter().map(describe);
        out.lines(rest.filter(|text| !faults.contains(text)));
        let twins = possible_twins(&all).len();
        out.line(&format!(
            "entries: {}; perhaps written twice (`waystock journal` marks them): {twins}",
            all.len()
        ));
        let rig = &contents.rig;
        let odd = season::odd(rig, rig.zone(now).date(now));
        out.lines(odd.map(|odd| quantity::odd_season(&odd, rig.home.latitude, rig.show)));
        out.lines(quantity::far_from_zone(rig, now));
        if session.folder.journal.is_exposed() {
            out.line("the journal can be read by other users of this machine");
        }
    }
    out.line(&format!("data folder: {}", session.folder.dir().display()));
    out.line(&format!("what this machine remembers: {}", session.state_dir.display()));
    let device = session.folder.journal.device();
    out.lines(device.map(|device| format!("this device writes as: {device}")));
    let faulty = counted(faults.len(), "fault");
    let nowhere = contents.map_or(Vec::new(), |contents| unserved(session, contents));
    out.lines(&nowhere);
    out.line(match (faults.is_empty(), nowhere.is_empty()) {
        (false, _) => &faulty,
        (true, true) => "all is well",
        (true, false) => "all is well, but no place offers anything: `waystock stops` needs one",
    });
}

/// Where places are written down and none offers anything, which are meant. Each may be there for
/// its name alone, so that this is no fault.
fn unserved(session: &Session, contents: &Contents) -> Vec<String> {
    let faults = session.folder.places_without_services();
    let places = &contents.rig.places;
    match !places.is_empty() && faults.len() == places.len() {
        true => faults.iter().map(ToString::to_string).collect(),
        false => Vec::new(),
    }
}

fn as_json(session: &Session, faults: &[String], contents: Option<&Contents>) -> Value {
    let files = contents.map_or(&[][..], |contents| &contents.journal.files);
    object!(session;
        schema = "waystock.check/1", faults = faults.to_vec(),
        nowhere_to_stop = contents.map_or(Vec::new(), |contents| unserved(session, contents)),
        files = list(files, |file| object!(file; file, good, skipped, conflicting)),
        dir = session.folder.dir().display().to_string(),
        state_dir = session.state_dir.display().to_string(),
        device = session.folder.journal.device())
}
