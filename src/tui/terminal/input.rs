//! Keys, pastes, the mouse and signals, turned into what the dashboard understands.

use super::wake::{Pace, Wake};
use crate::tui::view::Seen;
use crate::tui::{Action, Context, Key, Message, keymap};
use ratatui::crossterm::event::{
    self, Event, KeyCode, KeyEvent, KeyModifiers, MouseButton, MouseEvent, MouseEventKind,
};
use ratatui::layout::Position;
use std::io;
use std::sync::mpsc::Sender;
use std::thread;
use std::time::{Duration, Instant};

/// What an event means.
#[derive(Debug, PartialEq)]
pub enum Meant {
    /// A key.
    Key(Key),
    /// A message ready to apply.
    Message(Message),
    /// Leave at once.
    Leave,
    /// Stop until continued.
    Pause,
    /// Nothing but that something may look different.
    Nothing,
}

/// Reads the terminal on a thread of its own, until it ends.
pub(in crate::tui) fn read_keys(wake: Sender<Wake>) {
    thread::spawn(move || {
        let mut last_burst: Option<Instant> = None;
        loop {
            let mut together = Vec::new();
            let mut ended = None;
            // What is there already when something is read came with it.
            while together.is_empty()
                || together.len() < MOST_TOGETHER && event::poll(AT_ONCE).unwrap_or(false)
            {
                match event::read() {
                    Ok(event) => together.push(event),
                    Err(error) => {
                        ended = Some(error);
                        break;
                    }
                }
            }
            let pace = pace(together.len(), last_burst.map(|at| at.elapsed()));
            if pace == Pace::Burst {
                last_burst = Some(Instant::now());
            }
            let mut events = together.into_iter().map(|event| Wake::Input(event, pace));
            let told = events.all(|event| wake.send(event).is_ok());
            if let Some(error) = ended {
                let _ = wake.send(Wake::InputEnded(error));
                return;
            }
            if !told {
                return;
            }
        }
    });
}

/// Events that are looked at together at most.
const MOST_TOGETHER: usize = 4096;
/// What is there within this time came at once; a hand takes ten times as long between two keys.
const AT_ONCE: Duration = Duration::from_millis(1);
/// So many events at once are more than a hand types on a slow line.
const BURST: usize = 4;
/// What follows a burst within this time belongs to it.
const TAIL: Duration = Duration::from_millis(60);

/// How `count` events came that were there at once, so long after the last burst.
fn pace(count: usize, since_burst: Option<Duration>) -> Pace {
    let is_tail = since_burst.is_some_and(|since| since < TAIL);
    if count >= BURST || is_tail { Pace::Burst } else { Pace::Typed }
}

/// The meaning of an event, given what was drawn where.
pub fn heard(event: Event, seen: &Seen) -> Meant {
    match event {
        Event::Key(key) if event::Event::Key(key).is_key_press() => key_heard(key),
        Event::Paste(text) => Meant::Message(Message::Paste(text)),
        Event::Mouse(mouse) => mouse_heard(mouse, seen),
        _ => Meant::Nothing,
    }
}

fn key_heard(key: KeyEvent) -> Meant {
    let chord = key.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT);
    let key = match key.code {
        KeyCode::Char('c') if key.modifiers.contains(KeyModifiers::CONTROL) => return Meant::Leave,
        KeyCode::Char('z') if key.modifiers.contains(KeyModifiers::CONTROL) => return Meant::Pause,
        KeyCode::Char('u') if key.modifiers == KeyModifiers::CONTROL => Key::ClearLine,
        KeyCode::Char('w') if key.modifiers == KeyModifiers::CONTROL => Key::EraseWord,
        KeyCode::Char('a') if key.modifiers == KeyModifiers::CONTROL => Key::Home,
        KeyCode::Char('e') if key.modifiers == KeyModifiers::CONTROL => Key::End,
        KeyCode::Char('b') if key.modifiers == KeyModifiers::ALT => Key::WordLeft,
        KeyCode::Char('f') if key.modifiers == KeyModifiers::ALT => Key::WordRight,
        KeyCode::Left if chord => Key::WordLeft,
        KeyCode::Right if chord => Key::WordRight,
        KeyCode::Backspace if chord => Key::EraseWord,
        KeyCode::Char(_) if chord => return Meant::Nothing,
        KeyCode::Char(c) => Key::Char(c),
        KeyCode::Up => Key::Up,
        KeyCode::Down => Key::Down,
        KeyCode::Left => Key::Left,
        KeyCode::Right => Key::Right,
        KeyCode::Enter => Key::Enter,
        KeyCode::Esc => Key::Esc,
        KeyCode::Tab => Key::Tab,
        KeyCode::Backspace => Key::Backspace,
        KeyCode::Delete => Key::Delete,
        KeyCode::Home => Key::Home,
        KeyCode::End => Key::End,
        KeyCode::PageUp => Key::PageUp,
        KeyCode::PageDown => Key::PageDown,
        _ => return Meant::Nothing,
    };
    Meant::Key(key)
}

fn mouse_heard(mouse: MouseEvent, seen: &Seen) -> Meant {
    let act = |action| Meant::Message(Message::Act(action));
    match mouse.kind {
        MouseEventKind::ScrollUp => act(Action::Step(-1)),
        MouseEventKind::ScrollDown => act(Action::Step(1)),
        MouseEventKind::Down(MouseButton::Left) => {
            let place = Position { x: mouse.column, y: mouse.row };
            let row = seen.rows.iter().find(|(area, _)| area.contains(place));
            row.map_or(Meant::Nothing, |(_, row)| act(Action::Select(*row)))
        }
        _ => Meant::Nothing,
    }
}

/// Whether `key` writes something, or leaves: what a burst of keys must not do.
pub(in crate::tui) fn writes(context: Context, key: Key) -> bool {
    let by_line = matches!(
        keymap::action(context, key),
        Some(
            Action::Submit
                | Action::Confirm
                | Action::Usual
                | Action::SaveRig
                | Action::Tick
                | Action::SkipThis
                | Action::SkipStop
                | Action::PlanDone
                | Action::PlanNotDone
                | Action::Quit
        )
    );
    by_line || appends(context, key)
}

/// Whether `key` writes to the journal at once, without a line to fill in first.
pub fn appends(context: Context, key: Key) -> bool {
    matches!(
        keymap::action(context, key),
        Some(
            Action::Undo | Action::Redo | Action::Retract | Action::KeepThis | Action::DropSchedule
        )
    )
}

/// A key that writes to the journal and is held down writes once, and none writes as a letter of a
/// word. Terminals tell a held key from many presses only by their pace.
#[derive(Debug, Default)]
pub(in crate::tui) struct Repeat {
    last: Option<(Key, Instant)>,
}

impl Repeat {
    /// Slower than this, it is pressed anew: above the usual delay before a key repeats.
    const PACE: Duration = Duration::from_millis(700);

    /// How this press goes on from the last one, in `context`.
    pub(in crate::tui) fn going(&mut self, context: Context, key: Key, now: Instant) -> Going {
        let before = self.last.replace((key, now));
        let letter = |key| matches!(key, Key::Char(c) if c.is_alphabetic());
        // A row is chosen, then something is done to it.
        let chooses = |key| matches!(keymap::action(context, key), Some(Action::Step(_)));
        // It asks before it does anything.
        let asks = keymap::action(context, key) == Some(Action::Undo);
        match before {
            Some((k, at)) if now - at >= Repeat::PACE || !letter(key) && k != key => Going::Anew,
            Some((k, _)) if k == key => Going::Held,
            Some((k, _)) if letter(k) && !(asks || chooses(k) || appends(context, k)) => {
                Going::Word
            }
            _ => Going::Anew,
        }
    }
}

/// How a key press goes on from the one before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::tui) enum Going {
    /// Not at all.
    Anew,
    /// It is the same one, held.
    Held,
    /// Both are letters of a word.
    Word,
}

#[cfg(unix)]
pub(in crate::tui) use unix::{meaning, stop_process, watch_signals};

#[cfg(unix)]
mod unix {
    use super::*;
    use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP};
    use signal_hook::iterator::Signals;

    /// From now on signals wake the loop instead of ending the program on the spot.
    pub(in crate::tui) fn watch_signals(wake: Sender<Wake>) -> io::Result<()> {
        let mut signals = Signals::new([SIGTERM, SIGHUP, SIGINT, SIGQUIT, SIGTSTP, SIGCONT])?;
        thread::spawn(move || {
            for signal in signals.forever() {
                if wake.send(Wake::Signal(signal)).is_err() {
                    return;
                }
            }
        });
        Ok(())
    }

    /// What a signal asks for; [`Meant::Nothing`] = going on after a stop.
    pub fn meaning(signal: i32) -> Meant {
        match signal {
            SIGTSTP => Meant::Pause,
            SIGCONT => Meant::Nothing,
            _ => Meant::Leave,
        }
    }

    /// Stops this process as Ctrl-Z does by default; returns when it is continued.
    pub(in crate::tui) fn stop_process() -> io::Result<()> {
        signal_hook::low_level::emulate_default_handler(SIGTSTP)
    }
}

#[cfg(not(unix))]
pub(in crate::tui) use elsewhere::{meaning, stop_process, watch_signals};

#[cfg(not(unix))]
mod elsewhere {
    use super::*;

    /// No such signals here.
    pub(in crate::tui) fn watch_signals(_: Sender<Wake>) -> io::Result<()> {
        Ok(())
    }

    /// No such signals here.
    pub fn meaning(_: i32) -> Meant {
        Meant::Leave
    }

    /// Programs are not stopped here.
    pub(in crate::tui) fn stop_process() -> io::Result<()> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::crossterm::event::KeyEventKind;
    use ratatui::layout::Rect;

    #[test]
    fn a_press_and_its_release_are_one_key() {
        let mut key = KeyEvent::new(KeyCode::Char('u'), KeyModifiers::NONE);
        assert_eq!(heard(Event::Key(key), &Seen::default()), Meant::Key(Key::Char('u')));
        key.kind = KeyEventKind::Release;
        assert_eq!(heard(Event::Key(key), &Seen::default()), Meant::Nothing);
    }

    #[test]
    fn keys_that_come_at_once_are_a_paste() {
        let ms = Duration::from_millis;
        assert_eq!(pace(1, None), Pace::Typed);
        assert_eq!(pace(3, Some(ms(200))), Pace::Typed);
        assert_eq!(pace(4, None), Pace::Burst);
        // The last piece of a long one comes alone.
        assert_eq!(pace(1, Some(ms(20))), Pace::Burst);
        assert!(writes(Context::Line, Key::Enter) && writes(Context::Horizon, Key::Char('u')));
        assert!(!writes(Context::Line, Key::Char('u')) && !writes(Context::Horizon, Key::Enter));
    }

    #[test]
    fn a_held_key_writes_once() {
        let mut repeat = Repeat::default();
        let start = Instant::now();
        let at = |ms| start + Duration::from_millis(ms);
        let mut written = 0;
        for n in 0..50 {
            // Repeats begin after half a second, thirty a second.
            let ms = if n == 0 { 0 } else { 500 + 33 * n };
            let going = repeat.going(Context::Horizon, Key::Char('u'), at(ms));
            written += u32::from(going == Going::Anew);
        }
        assert_eq!(written, 1);
        let mut going = |key, ms| repeat.going(Context::Journal, Key::Char(key), at(ms));
        assert_eq!(going('u', 4000), Going::Anew);
        assert_eq!(going('j', 4001), Going::Anew);
        assert_eq!(going('j', 4002), Going::Held);
        // Down, down, and this one goes.
        assert_eq!(going('x', 4200), Going::Anew);
    }

    /// "extra dishes", typed where no line is open: the journal opens, and nothing is taken back.
    #[test]
    fn a_letter_of_a_word_writes_nothing() {
        let mut repeat = Repeat::default();
        let start = Instant::now();
        let mut going = |key, ms| {
            repeat.going(Context::Journal, Key::Char(key), start + Duration::from_millis(ms))
        };
        assert_eq!(going('e', 0), Going::Anew);
        assert_eq!(going('x', 300), Going::Word);
        assert_eq!(going('x', 1200), Going::Anew);
    }

    #[test]
    fn a_click_selects_the_row_under_it() {
        let seen = Seen {
            rows: vec![(Rect::new(0, 5, 40, 1), 0), (Rect::new(0, 6, 40, 1), 1)],
            ..Seen::default()
        };
        let click = |row| MouseEvent {
            kind: MouseEventKind::Down(MouseButton::Left),
            column: 3,
            row,
            modifiers: KeyModifiers::NONE,
        };
        let select = Meant::Message(Message::Act(Action::Select(1)));
        assert_eq!(heard(Event::Mouse(click(6)), &seen), select);
        assert_eq!(heard(Event::Mouse(click(9)), &seen), Meant::Nothing);
    }
}
