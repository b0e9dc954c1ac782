//! From arguments and environment to the front that answers them.

use crate::cli;
use crate::cli::args::{Args, Command, Common};
use crate::cli::{CommandResult, Failure, Output, Session};
use crate::dashboard::Stage;
use crate::domain::Moment;
use crate::forecast::Options;
use crate::store::data_folder::FolderFault;
use crate::store::demo;
use crate::store::real_disk::{self, RealDisk};
use crate::tui;
use crate::tui::Theme;
use directories::ProjectDirs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What the program is started in.
#[derive(Debug, Clone)]
pub struct Environment {
    /// Reads the clock.
    pub clock: fn() -> Moment,
    /// `WAYSTOCK_DIR`.
    pub dir: Option<PathBuf>,
    /// `NO_COLOR`.
    pub no_color: Option<String>,
    /// `TERM`.
    pub term: Option<String>,
    /// The first of `LC_ALL`, `LC_CTYPE` and `LANG` that is set.
    pub locale: Option<String>,
    /// Whether keyboard and screen are a terminal.
    pub at_terminal: bool,
    /// The machine's time zone, by its name in the IANA database, where it has one.
    pub zone: fn() -> Option<String>,
}

/// Runs what `args` ask for and returns the exit code.
pub fn run(args: Args, environment: Environment) -> u8 {
    tui::terminal::end_on_panic();
    real_disk::survive_size_limits();
    // Not locked: a thread that panics while the dashboard is open has to get through.
    let (mut out, mut err) = (std::io::stdout(), std::io::stderr());
    let mut output = Output::new(&mut out, &mut err).to_terminals();
    let done = match args.command {
        Some(Command::Demo) => open_demo(&args.common, &environment, &mut output),
        command => session(&args.common, &environment).and_then(|mut session| match command {
            Some(command) => {
                // What is wrong with the settings is for `check` to say.
                let looks = session.folder.settings().unwrap_or_default();
                output.write_hours(looks.hours);
                Ok(cli::run(command, &mut session, &mut output))
            }
            None => open(session, &environment, &mut output),
        }),
    };
    done.unwrap_or_else(|failure| cli::report(&failure, &mut output))
}

/// The data folder and what this machine remembers of it.
fn session(common: &Common, environment: &Environment) -> Result<Session, Failure> {
    let platform = ProjectDirs::from("", "", "waystock");
    let nowhere = || {
        Failure::new(66, "this machine names no home folder")
            .hint("Say where the data folder is: --dir DIR, or WAYSTOCK_DIR.")
    };
    let given = common.dir.clone().or(environment.dir.clone());
    let dir = match given {
        Some(dir) => dir,
        None => platform.as_ref().ok_or_else(nowhere)?.data_dir().to_path_buf(),
    };
    let state_dir = platform
        .as_ref()
        .map(|dirs| dirs.state_dir().unwrap_or(dirs.data_local_dir()).join("devices"))
        .ok_or_else(nowhere)?;
    Ok(at(&dir, &state_dir, common, environment))
}

fn at(dir: &Path, state_dir: &Path, common: &Common, environment: &Environment) -> Session {
    Session {
        common: common.clone(),
        interactive: environment.at_terminal,
        zone: (environment.zone)(),
        ..Session::of(dir, state_dir, Arc::new(RealDisk), (environment.clock)())
    }
}

/// The dashboard on a throw-away copy of the demo, which goes when it is left.
fn open_demo(common: &Common, environment: &Environment, output: &mut Output) -> CommandResult {
    let copy = tempfile::tempdir()
        .map_err(|error| Failure::new(73, format!("cannot make a throw-away folder: {error}")))?;
    let dir = copy.path().join("demo");
    demo::unpack(&RealDisk, &dir)?;
    open(at(&dir, &copy.path().join("state"), common, environment), environment, output)
}

/// The dashboard, or its answer in plain lines where no screen can be drawn.
fn open(mut session: Session, environment: &Environment, output: &mut Output) -> CommandResult {
    let drawable = environment.term.as_deref().is_none_or(|term| term != "dumb");
    if !environment.at_terminal || !drawable {
        return Ok(cli::run(Command::Forecast, &mut session, output));
    }
    // Without a rig file the screen asks for what it needs.
    let now = match session.folder.load_rig() {
        Ok((rig, _)) => rig.now(session.common.at, session.clock),
        Err(FolderFault::NoRig(_)) => session.clock,
        Err(fault) => return Err(fault.into()),
    };
    let colourless = environment.no_color.as_deref();
    let look =
        Theme::of(environment.locale.as_deref(), colourless, session.common.ascii.then_some(true));
    let look = Theme { own: session.folder.settings().unwrap_or_default(), ..look };
    let Common { seed, lives, .. } = session.common;
    let options = Options { seed, lives: lives as usize, ..Options::at(now) };
    let stage = Stage::new(session, environment.clock);
    tui::terminal::run(Arc::new(stage), options, look)
        .map(|()| 0)
        .map_err(|error| Failure::new(74, format!("the terminal: {error}")))
}
