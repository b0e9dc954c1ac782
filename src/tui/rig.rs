//! The rig file while somebody changes it: the text as read, as changed, and what that does.

use crate::forecast::Evening;
use crate::setup::parts::{RigField, differences, fields};
use std::sync::Arc;

/// The rig file under the hands.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RigEdit {
    /// The file as it was read.
    pub base: String,
    /// The same with what was changed.
    pub text: String,
    /// Its values that are looked for, those first that a person changes first.
    pub fields: Vec<RigField>,
    /// Words that are looked for in their names and values; empty: all values.
    pub filter: String,
    /// Paths of those that are changed.
    pub changes: Vec<String>,
    /// Index of the selected one.
    pub row: usize,
    /// The texts before each change, the latest last.
    pub history: Vec<String>,
    /// The forecast without the changes.
    pub before: Option<Arc<Evening>>,
    /// The forecast with them, once it is known.
    pub after: Option<Arc<Evening>>,
    /// Number of the forecast that is worked out with them.
    pub asked: Option<u64>,
    /// The file was changed elsewhere while this was: what it says now.
    pub elsewhere: Option<String>,
}

impl RigEdit {
    /// Whether something is changed and not saved.
    pub(super) fn is_changed(&self) -> bool {
        self.text != self.base
    }

    /// Whether the value at `path`, or a part that it is in, is changed.
    pub(super) fn is_other(&self, path: &str) -> bool {
        let behind = |part: &String| path.strip_prefix(part.as_str());
        self.changes.iter().filter_map(behind).any(|rest| rest.is_empty() || rest.starts_with('/'))
    }

    /// Takes a text; the selection stays on its value, or goes to `path`.
    pub(super) fn take(&mut self, text: String, path: Option<&str>) {
        let own = self.fields.get(self.row).map(|field| field.path.clone());
        self.fields = listed(&text, &self.filter);
        self.changes = differences(&self.base, &text);
        self.text = text;
        // What was changed just now is shown, whatever is looked for.
        if path.is_some_and(|path| !self.fields.iter().any(|field| field.path == path)) {
            self.filter.clear();
            self.fields = listed(&self.text, "");
        }
        let wanted = path.map(str::to_string).or(own);
        let place = self.fields.iter().position(|field| Some(&field.path) == wanted.as_ref());
        self.row = place.unwrap_or(self.row).min(self.fields.len().saturating_sub(1));
    }

    /// Looks for words; nothing is changed.
    pub(super) fn look_for(&mut self, words: &str) {
        self.filter = words.to_lowercase();
        self.fields = listed(&self.text, &self.filter);
        self.row = 0;
    }

    /// The file was read: it is taken unless there are changes, which it would drop.
    pub(super) fn read(&mut self, text: &str) {
        if text == self.base {
            return;
        }
        if self.is_changed() {
            self.elsewhere = Some(text.to_string());
        } else {
            self.base = text.to_string();
            self.take(text.to_string(), None);
        }
    }
}

/// What a person changes first, by the last word of its path.
const FIRST: [&str; 9] =
    ["van", "crew", "show", "capacity", "gauge", "keep", "headroom", "usual", "rated_w"];

/// Values with all these words, those that a person changes first before the rest.
fn listed(text: &str, words: &str) -> Vec<RigField> {
    let has = |field: &RigField| {
        let all = format!("{} {}", field.path.replace('/', " "), field.value).to_lowercase();
        words.split_whitespace().all(|word| all.contains(word))
    };
    let is_first = |field: &RigField| FIRST.contains(&field.path.rsplit('/').next().unwrap_or(""));
    let found = fields(text).into_iter().filter(has);
    let (first, rest): (Vec<RigField>, Vec<RigField>) = found.partition(is_first);
    [first, rest].concat()
}
