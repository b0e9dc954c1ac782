//! The one table of keys. The dispatcher, the footer, the help screen and the palette read it,
//! so that none of them can tell a different story.

use super::message::PAGE;
use super::values::Turn;
use super::{Action, Context, Key};
use std::collections::BTreeSet;

/// One row of the table.
#[derive(Debug, Clone, Copy)]
pub struct Binding {
    /// Where it holds.
    pub contexts: &'static [Context],
    /// The keys that do it, the one to show first.
    pub keys: &'static [Key],
    /// What it does.
    pub action: Action,
    /// Its name in the palette.
    pub name: &'static str,
    /// A word for the footer; empty = not in the footer.
    pub label: &'static str,
    /// A sentence for the help screen.
    pub help: &'static str,
}

macro_rules! bindings {
    ($([$($context:ident)+] $([$key:expr])+ $action:ident $(($with:expr))? $name:literal $label:literal $help:literal;)+) => {
        &[$(Binding {
            contexts: &[$(Context::$context),+],
            keys: &[$($key),+],
            action: Action::$action $(($with))?,
            name: $name,
            label: $label,
            help: $help,
        }),+]
    };
}

use Key::{
    Backspace, Char, ClearLine, Delete, Down, Enter, Esc, Left, PageDown, PageUp, Right, Tab, Up,
};

/// Every key, those of a screen first. In the footer they stand in this order, and what does
/// not fit is dropped from the end; help is always kept.
pub(super) const BINDINGS: &[Binding] = bindings![
    [Horizon] [Enter][Char('l')] Log "log" "log" "Write down what happened: 2 showers, fresh 60%";
    [Horizon] [Right][Char('o')] Open(Context::Stock) "open stock" "open" "Show the selected stock: history, future, what was learned";
    [Horizon] [Char('y')] PlanDone "plan done" "" "The plan that is asked about was done as planned";
    [Horizon] [Char('c')] PlanOtherwise "plan done otherwise" "" "Something else was done than planned: change the plan's words in the line";
    [Horizon] [Char('n')] PlanNotDone "plan not done" "" "The plan that is asked about was not done";
    [Horizon] [Char('t')] Open(Context::Follow) "follow the plan" "" "The stop that is planned next, as a list to tick";
    [Setup] [Enter][Char('l')] Log "go on" "go on" "Go on with the questions about the van";
    [Stock Spent] [Left][Esc][Char('h')] Back "back to horizon" "back" "Back to all stocks";
    [Horizon Stock Spent] [Up][Char('k')] Step(-1) "stock before" "" "The stock above, which is more urgent";
    [Horizon] [Down][Char('j')] Step(1) "stock after" "" "The stock below, which is less urgent";
    [Stock Spent] [Down][Char('j')] Step(1) "stock after" "next stock" "The stock that is less urgent";
    [Round] [Char('0')][Char('1')][Char('2')][Char('3')][Char('4')][Char('5')][Char('6')][Char('7')][Char('8')][Char('9')] Digit "number" "" "How much, as the question says, in digits or words: half, none, twelve; Enter takes it";
    [Round] [Enter] Usual "take" "take, save" "Take what was typed, or what is usual; at the end, save it all";
    [Round] [Char('y')] Yes "yes" "yes" "Done as planned; the same again";
    [Round] [Char('n')] No "no" "no" "Not done; not the same; none of it today, which is not written down";
    [Round] [Char(' ')][Down] Skip "leave out" "leave out" "Leave it out; Down takes what was typed";
    [Round] [Char('f')] Full "full" "" "Full to the brim";
    [Round] [Backspace][Up] Step(-1) "question before" "" "One question back, to answer it anew; Backspace erases what is typed first";
    [Round] [Char('o')] PlanOtherwise "plan done otherwise" "" "Something else was done than the plan that is asked about: change its words in the line";
    [Round] [Char('c')] CloseDay "close day" "" "Say that nothing else happened today, when the round is saved; c again takes that back";
    [Round] [Esc][Left] Back "leave round" "back" "Back to the screen before; what was answered is kept";
    [Follow] [Char(' ')][Enter] Tick "tick" "tick" "The chosen thing is done: just now, or at its planned time if that was hours ago; twice more takes that back";
    [Follow] [Char('n')] SkipThis "skip" "skip" "The chosen thing is left out at this stop";
    [Follow] [Char('c')] Correct "other amount" "amount" "Something else was done than the chosen thing: change its words in the line";
    [Follow] [Char('w')] MoveStop "move stop" "when" "Move what is left to another day or hour";
    [Follow] [Char('a')] Elsewhere "another place" "place" "Do what is left at another place";
    [Follow] [Char('x')] SkipStop "skip stop" "" "The stop is not made: take back all that is left of it";
    [Follow] [Esc][Left][Char('h')] Back "leave stop" "back" "Back to the screen before";
    [Rig] [Enter][Char('t')] Edit "change value" "change" "Change the selected value; what that does is shown before anything is saved";
    [Rig] [Char('0')][Char('1')][Char('2')][Char('3')][Char('4')][Char('5')][Char('6')][Char('7')][Char('8')][Char('9')] Digit "new number" "" "Type the selected number anew";
    [Rig] [Char('w')] SaveRig "save rig" "save" "Save the changes as if it had always been so";
    [Rig] [Char('D')] DateRig "date change" "from a day" "Save the changes as new kit from a day on; old readings keep their meaning";
    [Rig] [Char('a')] Add "add part" "add" "Add a stock, an activity, a panel or a second container";
    [Rig] [Char('/')] Search "find value" "find" "Show only values with these words: fresh, gauge, heating";
    [Rig] [Backspace] UnEdit "take change back" "" "Take the last change back; after a change elsewhere, take the file as it is";
    [Rig] [Esc][Left][Char('h')] Back "leave rig" "back" "Back to the screen before; changes are kept and not saved";
    [Journal] [Esc][Left][Char('h')] Back "leave journal" "back" "Back to the screen before";
    [Journal] [Char('x')] Retract "take back entry" "take back" "Take back the selected entry; put back one that is gone";
    [Journal] [Enter][Char('c')] Correct "correct entry" "correct" "Write the selected entry anew; the first words stay in the file";
    [Journal] [Char('/')] Search "search journal" "search" "Show only entries with these words: a stock, a kind, a day, gone for what was taken back";
    [Journal] [Char('n')] Remark "remark on entry" "" "Put a remark on the selected entry";
    [Journal] [Char('t')] KeepThis "keep this one" "keep this one" "Two entries marked twin? may be one thing written twice: keep this one, take the other back";
    [Stretch] [Esc][Char('h')] Back "leave stretch" "back" "Back to the screen before";
    [Stops] [Esc][Char('h')] Back "leave stops" "back" "Stop a search that is running, else back to the screen before";
    [Stretch Stops] [Char('+')][Right] Turn(Turn::Up) "value up" "more" "The chosen value goes up";
    [Stretch Stops] [Char('-')][Left] Turn(Turn::Down) "value down" "less" "The chosen value goes down";
    [Stretch Stops] [Char(']')][PageDown][Char(' ')] Step(PAGE) "answer down" "down" "A screen down in the answer";
    [Stretch Stops] [Char('[')][PageUp] Step(-PAGE) "answer up" "" "A screen up in the answer";
    [Stops] [Char('w')] SaveSchedule "save schedule" "save" "Save the schedule as planned entries; says first what is written";
    [Stops] [Char('=')] Compare "other plans" "" "Other plans beside it: surer, a stop more, a day longer, a place closed";
    [Stretch Stops] [Down][Char('j')][Enter] Step(1) "value after" "next value" "What was typed holds; choose the value below";
    [Stretch Stops] [Up][Char('k')] Step(-1) "value before" "" "Choose the value above";
    [Stretch Stops] [Char('0')][Char('1')][Char('2')][Char('3')][Char('4')][Char('5')][Char('6')][Char('7')][Char('8')][Char('9')] Digit "type value" "" "Type the chosen value";
    [Stretch Stops] [Char('t')] TypeIn "type in words" "type" "Type the chosen value: a number, a day, a place, degrees";
    [Stretch Stops] [Backspace][Delete] AsAtFirst "value as at first" "" "The chosen value as it was at first";
    [Stops] [Char('x')] DropSchedule "drop schedule" "" "Take back the planned entries of schedules saved before";
    [LookBack] [Esc][Left][Char('h')] Back "leave look back" "back" "Stop the looking back, else back to the screen before";
    [LookBack] [Tab][Right][Char('o')] OtherPage "other page" "other page" "The selected evening's readings, then each stock's record, then all evenings";
    [Confirm] [Char('y')][Char('w')] Confirm "yes" "yes, write" "Write what is listed to the journal";
    [Confirm] [Esc][Char('n')] Back "no" "no" "Write nothing, back to the screen before";
    [Help Cautions] [Esc][Left][Char('h')] Back "close" "back" "Back to the screen before";
    [Rig Journal LookBack Follow] [Down][Char('j')] Step(1) "row after" "" "Select the row below";
    [Rig Journal LookBack Follow] [Up][Char('k')] Step(-1) "row before" "" "Select the row above";
    [Rig Journal LookBack] [Char('g')] Step(isize::MIN / 2) "first row" "" "To the first row; looking back, to the latest evening";
    [Rig Journal LookBack] [Char('G')] Step(isize::MAX / 2) "last row" "" "To the last row; looking back, to the earliest evening";
    [Confirm Help Cautions] [Down][Char('j')] Step(1) "line down" "down" "A line down";
    [Confirm Help Cautions] [Up][Char('k')] Step(-1) "line up" "" "A line up";
    [Horizon Stock Spent Rig LookBack Confirm Help Cautions] [Char(']')][PageDown][Char(' ')] Step(PAGE) "page down" "" "A screen down in the text or the list";
    [Round Journal Follow] [Char(']')][PageDown] Step(PAGE) "page down" "" "A screen down";
    [Horizon Stock Spent Rig LookBack Confirm Help Cautions Round Journal Follow] [Char('[')][PageUp] Step(-PAGE) "page up" "" "A screen up";
    [Stock Spent LookBack] [Enter][Char('l')] Log "log" "" "Write down what happened";
    [Stretch Stops Rig Journal Follow] [Char('l')] Log "log" "" "Write down what happened";
    [Line] [Enter] Submit "save line" "save" "Save what the line says; nothing is saved while a word is not understood";
    [Line] [Tab] Complete "complete word" "complete" "Complete the word; again for the next way";
    [Line] [ClearLine] Clear "clear line" "" "Clear the line";
    [Line] [Up] Earlier "line before" "" "The line said before; in questions, the question before";
    [Line] [Down] Later "line after" "" "The line said after; in questions, takes all that is left as offered";
    [Line] [Esc] Back "leave line" "leave" "Leave the line; Up brings its words back";
    [Everywhere] [Char('d')] Open(Context::Round) "tonight's round" "tonight" "The evening's round: the readings that would make the next date surer, and what was done today";
    [Everywhere] [Char('u')] Undo "undo" "undo" "Take back what this device saved last: says first what that is, u again does it; again for the one before; after x, put that back";
    [Everywhere] [Char('U')] Redo "redo" "" "Put back what was taken back last";
    [Everywhere] [Char('e')] Open(Context::Journal) "journal" "entries" "The journal: all entries, to correct or take back";
    [Everywhere] [Char('s')] Open(Context::Stretch) "stretch" "stretch" "The stretch planner: can you stay so many nights without a stop";
    [Everywhere] [Char('p')] Open(Context::Stops) "stops" "stops" "The stops of a trip over the known places: which, when, what to do there";
    [Everywhere] [Char('i')] Open(Context::Spent) "where it goes" "use" "Where the selected stock goes: by cause, week by week, the battery by the hour";
    [Everywhere] [Char('v')] Open(Context::Rig) "rig" "van" "The van: every part and number of the rig file, to change and to add to";
    [Everywhere] [Char(':')] Palette "palette" "" "Find an action by its name, or type log and a line";
    [Everywhere] [Char('!')] Open(Context::Cautions) "cautions" "" "Cautions: burning fuel, batteries, drinking water, waste";
    [Everywhere] [Char('r')] Reload "reload" "" "Read the data folder again";
    [Everywhere] [Char('m')] Mouse "mouse" "" "Turn the mouse on or off (off lets the terminal select text)";
    [Everywhere] [Char('q')] Quit "quit" "quit" "Leave; what was saved is on disk";
    [Everywhere] [Char('b')] Open(Context::LookBack) "look back" "look back" "How good earlier forecasts were, judged by your own journal";
    [Everywhere] [Char('?')] Open(Context::Help) "keys" "keys" "This list";
];

/// What `key` does in `context`, if anything.
pub(super) fn action(context: Context, key: Key) -> Option<Action> {
    let here = in_context(context).find(|b| b.keys.contains(&key));
    let anywhere = || in_context(Context::Everywhere).find(|b| b.keys.contains(&key));
    let binding = match context {
        // In the line, letters are text, and a question is answered first: only their own keys
        // do anything.
        Context::Line | Context::Confirm => here,
        Context::Round => here.or_else(|| anywhere().filter(|b| of_questions(b.action))),
        _ => here.or_else(anywhere),
    };
    binding.map(|b| b.action)
}

/// What can be done everywhere that can be done while questions are asked.
fn of_questions(action: Action) -> bool {
    action == Action::Open(Context::Help)
}

/// The rows of one context, in the table's order.
pub(super) fn in_context(context: Context) -> impl Iterator<Item = &'static Binding> {
    BINDINGS.iter().filter(move |b| b.contexts.contains(&context))
}

/// Actions that the palette offers in `context`: those of the screen, then those of everywhere.
pub(super) fn palette(context: Context) -> impl Iterator<Item = &'static Binding> {
    in_context(context)
        .chain(in_context(Context::Everywhere))
        .filter(|b| b.action != Action::Palette)
}

/// Palette rows that `typed` may mean, best first: names that begin with it, then names that
/// have its letters in order. Nobody leaves by a guess.
pub fn matching(context: Context, typed: &str) -> Vec<&'static Binding> {
    let typed = typed.trim().to_lowercase();
    let begins = palette(context).filter(|b| b.name.starts_with(&typed));
    let guessed = |b: &&Binding| b.action != Action::Quit && has_in_order(b.name, &typed);
    let scattered = palette(context).filter(|b| !b.name.starts_with(&typed)).filter(guessed);
    begins.chain(scattered).collect()
}

fn has_in_order(name: &str, letters: &str) -> bool {
    let mut rest = name.chars();
    letters.chars().all(|wanted| rest.any(|c| c == wanted))
}

/// Keys for the footer of `context` within `columns`: dropped from the end where they do not
/// fit, but the way to the keys is always there, and so is the way back if it can be.
pub(super) fn footer(context: Context, columns: usize) -> Vec<(String, &'static str)> {
    let own = in_context(context);
    // Before there is a van nothing else can be done.
    let of_use = |b: &&Binding| match context {
        Context::Line | Context::Confirm => false,
        Context::Setup => b.action == Action::Quit || of_questions(b.action),
        Context::Round => of_questions(b.action),
        _ => true,
    };
    let rows: Vec<&Binding> = own
        .chain(in_context(Context::Everywhere).filter(of_use))
        .filter(|b| !b.label.is_empty())
        .collect();
    let back = rows.iter().position(|b| b.action == Action::Back);
    let first = rows.len().checked_sub(1).into_iter().chain(back);
    let (mut left, mut kept) = (columns + 2, BTreeSet::new());
    for place in first.chain(0..rows.len()) {
        let needs = rows[place].keys[0].to_string().len() + 1 + rows[place].label.len() + 2;
        if kept.contains(&place) {
            continue;
        } else if needs > left && !kept.is_empty() {
            break;
        }
        left = left.saturating_sub(needs);
        kept.insert(place);
    }
    kept.into_iter().map(|place| (rows[place].keys[0].to_string(), rows[place].label)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    const SCREENS: [Context; 13] = [
        Context::Rig,
        Context::Follow,
        Context::Horizon,
        Context::Setup,
        Context::Stock,
        Context::Round,
        Context::Journal,
        Context::Stretch,
        Context::Stops,
        Context::LookBack,
        Context::Help,
        Context::Cautions,
        Context::Spent,
    ];
    const ALONE: [Context; 3] = [Context::Line, Context::Confirm, Context::Everywhere];

    #[test]
    fn no_key_means_two_things_in_one_place() {
        for context in SCREENS.into_iter().chain(ALONE) {
            let mut seen = HashSet::new();
            for binding in in_context(context) {
                for key in binding.keys {
                    assert!(seen.insert(*key), "{key} twice in {context:?}");
                }
            }
        }
    }

    #[test]
    fn no_screen_hides_a_key_of_everywhere() {
        for context in SCREENS {
            for binding in in_context(Context::Everywhere) {
                // Where questions are asked letters are words.
                let is_shut = context == Context::Round && !of_questions(binding.action);
                let wanted = (!is_shut).then_some(binding.action);
                for key in binding.keys {
                    assert_eq!(action(context, *key), wanted, "{key} {context:?}");
                }
            }
        }
    }

    #[test]
    fn every_row_works_and_is_found_by_its_name() {
        for binding in BINDINGS {
            for key in binding.keys {
                for context in binding.contexts {
                    assert_eq!(action(*context, *key), Some(binding.action));
                }
            }
            assert!(!binding.help.is_empty() && !binding.help.ends_with('.'));
            for context in binding.contexts.iter().filter(|context| !ALONE[..2].contains(context)) {
                if binding.action != Action::Palette {
                    let found = matching(*context, binding.name);
                    assert_eq!(found[0].action, binding.action, "{}", binding.name);
                }
            }
        }
        assert_eq!(matching(Context::Horizon, "jrnl")[0].action, Action::Open(Context::Journal));
        assert_eq!(matching(Context::Horizon, "q")[0].action, Action::Quit);
        assert!(matching(Context::Horizon, "it").iter().all(|b| b.action != Action::Quit));
    }

    #[test]
    fn the_footer_fits_and_keeps_the_way_to_the_keys() {
        for context in SCREENS {
            for columns in 0..120 {
                let rows = footer(context, columns);
                assert_eq!(rows.last().unwrap().1, "keys");
                let wide: usize = rows.iter().map(|(k, l)| k.len() + l.len() + 3).sum();
                assert!(rows.len() == 1 || wide - 2 <= columns);
                let leaves = in_context(context).any(|b| b.action == Action::Back);
                let back = rows.iter().any(|(_, label)| *label == "back");
                assert!(!leaves || back || columns < 17, "{context:?} {columns}");
            }
        }
    }
}
