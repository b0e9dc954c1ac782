//! The event loop: waits on everything that can wake it, updates, carries out effects, draws.
//!
//! This is the only part of the front that touches the terminal, threads and the monotonic
//! clock. It draws after an event and when the minute changes, never on a frame timer.

mod input;
mod modes;
#[cfg(all(test, unix))]
mod tests;
mod wake;
mod workers;

use super::update::update;
use super::{Context, Effect, Host, Key, Message, State, Theme, Tone};
use crate::forecast::Options;
use crate::tui::view::{Seen, view};
use chrono::Timelike;
use input::{Going, Meant, Repeat};
pub use modes::end_on_panic;
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use std::io;
use std::mem::ManuallyDrop;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};
use wake::{Pace, Wake};
use workers::Workers;
#[cfg(test)]
pub(super) use workers::{answer, kept};

/// How long a save that is under way is waited for when leaving: longer than it waits for another
/// program's, behind a look at a long journal on a slow disk.
const LAST_SAVE: Duration = Duration::from_secs(15);

/// Opens the dashboard and returns when it is left, with the terminal as it was before.
/// `options.at` is replaced by the host's clock.
///
/// # Errors
/// When the terminal cannot be used, or the last save failed while leaving. A panic, in whatever
/// thread, ends the program: see [`end_on_panic`].
pub fn run(host: Arc<dyn Host>, options: Options, look: Theme) -> io::Result<()> {
    let (wake, woken) = channel();
    input::watch_signals(wake.clone())?;
    modes::end_on_panic();
    let modes = modes::Modes::enter()?;
    let terminal = screen()?;
    input::read_keys(wake.clone());
    let options = Options { at: host.now(), ..options };
    let mut running = Running {
        state: State::beginning(options, look, host.missing()),
        seen: Seen::default(),
        stamp: host.stamp(),
        workers: Workers::start(host.clone(), wake),
        repeat: Repeat::default(),
        host,
        terminal,
        barred: false,
        over: false,
    };
    let outcome = running.until_over(&woken);
    drop(modes);
    // Whatever ended it, a save that is under way is brought to its end.
    let saved = running.last_save(&woken);
    outcome.and(saved)
}

struct Running {
    state: State,
    seen: Seen,
    host: Arc<dyn Host>,
    workers: Workers,
    repeat: Repeat,
    stamp: u64,
    terminal: Screen,
    /// Whether a key of the burst that goes on was left.
    barred: bool,
    over: bool,
}

/// Never dropped: when it is, it shows the cursor again and panics where the terminal has gone
/// away. [`modes::leave`] does that as well, and takes no for an answer.
type Screen = ManuallyDrop<Terminal<CrosstermBackend<io::Stdout>>>;

fn screen() -> io::Result<Screen> {
    Terminal::new(CrosstermBackend::new(io::stdout())).map(ManuallyDrop::new)
}

/// Said of a key that would write, typed as a letter of a word.
const AS_A_WORD: &str = "typed as a word: nothing is written or taken back; Enter opens the line";

impl Running {
    fn until_over(&mut self, woken: &Receiver<Wake>) -> io::Result<()> {
        self.carry_out(Effect::Load)?;
        while !self.over {
            self.draw()?;
            match woken.recv_timeout(self.until_next_minute()) {
                Ok(wake) => self.wake(wake)?,
                Err(RecvTimeoutError::Timeout) => self.tick()?,
                Err(RecvTimeoutError::Disconnected) => return Ok(()),
            }
            // What has piled up meanwhile is worth one drawing only.
            while !self.over
                && let Ok(wake) = woken.try_recv()
            {
                self.wake(wake)?;
            }
        }
        Ok(())
    }

    fn draw(&mut self) -> io::Result<()> {
        if let Some(_drawing) = modes::drawing() {
            let (state, seen) = (&self.state, &mut self.seen);
            self.terminal.draw(|frame| view(state, seen, frame))?;
            // A text is not scrolled past its end, or the way back would be long.
            self.state.scroll = self.state.scroll.min(self.seen.last);
            self.state.page = self.seen.page;
        }
        Ok(())
    }

    fn until_next_minute(&self) -> Duration {
        let second = self.host.now().second().min(59);
        Duration::from_secs(u64::from(60 - second))
    }

    fn tick(&mut self) -> io::Result<()> {
        let stamp = self.host.stamp();
        if stamp != self.stamp {
            self.stamp = stamp;
            self.apply(Message::FolderChanged)?;
        }
        self.apply(Message::Tick(self.host.now()))
    }

    /// Whether a key erases in the evening's round, where nothing is left of what was typed.
    fn erased(&self, context: Context, key: Key) -> bool {
        context == Context::Round && key == Key::Backspace && self.state.round.typed.is_empty()
    }

    fn wake(&mut self, wake: Wake) -> io::Result<()> {
        match wake {
            Wake::Input(event, pace) => match input::heard(event, &self.seen) {
                Meant::Key(key) if pace == Pace::Burst => self.pasted(key),
                Meant::Key(key) => {
                    self.barred = false;
                    let context = self.state.context();
                    let going = self.repeat.going(context, key, Instant::now());
                    match going {
                        Going::Held if input::appends(context, key) => Ok(()),
                        // Held to erase what is typed, it takes no answer before that away.
                        Going::Held if self.erased(context, key) => Ok(()),
                        Going::Word if input::appends(context, key) => {
                            self.state.say(AS_A_WORD);
                            Ok(())
                        }
                        _ => self.apply(Message::Key(key)),
                    }
                }
                Meant::Message(message) => self.apply(message),
                Meant::Leave => {
                    self.over = true;
                    Ok(())
                }
                Meant::Pause => self.pause(),
                Meant::Nothing => Ok(()),
            },
            Wake::Done(message) => {
                // Our own save changes the folder, which is read again anyway.
                if matches!(message, Message::Appended { .. }) {
                    self.stamp = self.host.stamp();
                }
                self.apply(message)
            }
            Wake::Signal(signal) => self.signal(signal),
            Wake::InputEnded(error) => Err(error),
        }
    }

    /// A key that came as a paste comes, with others at once. The end of a line is a comma in it, and
    /// what would write elsewhere is left.
    fn pasted(&mut self, key: Key) -> io::Result<()> {
        let barred = input::writes(self.state.context(), key);
        match barred {
            false => self.apply(Message::Key(key))?,
            true if self.state.line.open => {
                self.apply(Message::Key(Key::Char(',')))?;
                self.apply(Message::Key(Key::Char(' ')))?;
            }
            true => {}
        }
        self.barred |= barred;
        if self.barred {
            let why = "many keys at once, as in a paste: nothing is saved; Enter saves the line";
            self.state.say(why);
        }
        Ok(())
    }

    fn signal(&mut self, signal: i32) -> io::Result<()> {
        match input::meaning(signal) {
            Meant::Pause => self.pause(),
            // Continued after a stop that could not be caught.
            Meant::Nothing => self.resume(),
            _ => {
                self.over = true;
                Ok(())
            }
        }
    }

    /// Gives the terminal back, stops, and takes it again when the program goes on.
    fn pause(&mut self) -> io::Result<()> {
        modes::leave();
        input::stop_process()?;
        self.resume()
    }

    fn resume(&mut self) -> io::Result<()> {
        modes::take()?;
        if self.state.mouse {
            modes::hear_mouse()?;
        }
        // A new terminal knows nothing of what was drawn, so everything is drawn again.
        self.terminal = screen()?;
        self.apply(Message::Tick(self.host.now()))?;
        self.carry_out(Effect::Load)
    }

    fn apply(&mut self, message: Message) -> io::Result<()> {
        let effects = update(&mut self.state, message);
        effects.into_iter().try_for_each(|effect| self.carry_out(effect))
    }

    fn carry_out(&mut self, effect: Effect) -> io::Result<()> {
        match effect {
            Effect::Ask(job) => self.workers.ask(job),
            Effect::Cancel(question) => self.workers.cancel(question),
            Effect::Mouse(true) => modes::hear_mouse()?,
            Effect::Mouse(false) => modes::ignore_mouse()?,
            Effect::Quit => self.over = true,
            folder => self.workers.keep(folder),
        }
        Ok(())
    }

    /// A save that is under way while leaving is waited for, and its failure is not kept quiet.
    fn last_save(&mut self, woken: &Receiver<Wake>) -> io::Result<()> {
        let until = Instant::now() + LAST_SAVE;
        while self.state.saving {
            let left = until.saturating_duration_since(Instant::now());
            match woken.recv_timeout(left) {
                Ok(Wake::Done(message @ Message::Appended { .. })) => {
                    update(&mut self.state, message);
                }
                Ok(_) => {}
                Err(_) => return Err(io::Error::other("left before the last entry was saved")),
            }
            if let Some(status) = &self.state.status
                && status.tone == Tone::Bad
            {
                return Err(io::Error::other(status.text.clone()));
            }
        }
        Ok(())
    }
}
