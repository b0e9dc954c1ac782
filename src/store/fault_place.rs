//! Where a path of field names leads in a file, and how to call what is there.

use super::fault_words::brief;
use super::ron_text::{Node, Shape};
use crate::domain::fault::{Path, PathStep};

/// Where a path leads in a file.
pub(super) struct FileSpot {
    /// Byte offset; of the nearest thing around it where the path does not lead all the way.
    pub(super) at: usize,
    /// `capacity in stock "fresh"`.
    pub(super) words: String,
    /// The number, word or text that stands there.
    pub(super) value: Option<String>,
}

impl FileSpot {
    pub(super) fn of(root: &Node, text: &str, path: &Path) -> FileSpot {
        let mut place = FileSpot { at: root.span.start, words: String::new(), value: None };
        let (mut node, mut list, mut owners) = (root, "", Vec::new());
        for (depth, step) in path.steps().iter().enumerate() {
            let last = depth + 1 == path.steps().len();
            let next = node.at(text, step);
            let words = match step {
                PathStep::Field(name) => {
                    list = name;
                    (*name).to_owned()
                }
                PathStep::Item(index) => owner(next, text, list, *index),
            };
            let is_list = next.is_some_and(|n| matches!(n.shape, Shape::List(_)));
            if last || !is_list {
                owners.push(words);
            }
            let Some(next) = next else { break };
            node = next;
            let scalar = matches!(node.shape, Shape::Text | Shape::Word);
            place.value = (last && scalar).then(|| brief(node.slice(text)));
        }
        owners.reverse();
        place.words = owners.join(" in ");
        place.at = node.span.start;
        place
    }
}

/// An item of a list in words: by its name where it has one.
fn owner(item: Option<&Node>, text: &str, list: &str, index: usize) -> String {
    let of = |field: &str| item.and_then(|n| n.field(text, field)).and_then(|n| n.string(text));
    let (kind, name) = match list {
        "stocks" => ("stock", of("name")),
        "activities" => ("activity", of("name")),
        "base" => ("base use", of("name")),
        "places" => ("place", of("name")),
        "changes" => ("the change from", of("from")),
        "panels" => ("panel", None),
        "sources" => ("source of heat", of("name")),
        "prices" => ("the price of", of("stock")),
        other => (other, of("stock")),
    };
    match name {
        Some(name) => format!("{kind} \"{}\"", brief(&name)),
        None if ["also", "services", "removed", "hours", "closed"].contains(&list) => {
            format!("item {} of {list}", index + 1)
        }
        None if list == "changes" => format!("change {}", index + 1),
        None => format!("{kind} {}", index + 1),
    }
}
