//! Changes single values of a hand-written RON file and leaves every other byte as it was:
//! comments, order, spacing and number formats are their author's.
//!
//! A place is named by a path such as `stocks/fresh/capacity` or `electrics/panels/0/rated_w`:
//! field names, and for an item of a list its `name` or its number from 0.

use super::ron_text::{Node, Shape, scan};
use std::ops::Range;

/// `text` with the value at `path` replaced by the RON `value`. A field that its struct does
/// not have yet is added after the last one.
///
/// ```
/// use waystock::store::rig_edit::set;
/// let text = "(crew: 2, // two of us\n stocks: [(name: \"fresh\", capacity: 60 /* new */)])";
/// let text = set(text, "stocks/fresh/capacity", "75").unwrap();
/// let text = set(&text, "stocks/fresh/keep", "5").unwrap();
/// assert_eq!(
///     text,
///     "(crew: 2, // two of us\n stocks: [(name: \"fresh\", capacity: 75, keep: 5 /* new */)])"
/// );
/// ```
///
/// # Errors
/// If file or value are not RON, or the path leads nowhere.
pub fn set(text: &str, path: &str, value: &str) -> Result<String, String> {
    let value = one_value(value)?;
    let root = scan(text).map_err(|fault| fault.to_string())?;
    let (before, last) = path.rsplit_once('/').unwrap_or(("", path));
    let owner = walk(&root, text, before)?;
    match step(owner, text, last) {
        Some(node) => Ok(spliced(text, node.span.clone(), value)),
        None => added(text, owner, last, value),
    }
}

/// `text` with the RON `value` added at the end of the list at `path`. A list that its struct
/// does not have yet is added to it.
///
/// # Errors
/// If file or value are not RON, or the path leads to no list.
pub fn append(text: &str, path: &str, value: &str) -> Result<String, String> {
    let value = one_value(value)?;
    let root = scan(text).map_err(|fault| fault.to_string())?;
    let Ok(list) = walk(&root, text, path) else {
        return set(text, path, &format!("[\n        {value},\n    ]"));
    };
    let Shape::List(items) = &list.shape else {
        return Err(no_place(path));
    };
    let Some(last) = items.last() else {
        let start = list.span.start + 1;
        return Ok(spliced(text, start..start, value));
    };
    Ok(behind(text, list, last.span.clone(), value))
}

/// `text` without the item at `path`, or the field, and the comma behind it, or before it.
///
/// # Errors
/// If the file is not RON, or the path leads nowhere.
pub fn removed(text: &str, path: &str) -> Result<String, String> {
    let Range { start, end: own } = span(text, path)?;
    let behind = &text[own..];
    let blank = behind.len() - behind.trim_start().len();
    if let Some(rest) = behind.trim_start().strip_prefix(',') {
        let end = own + blank + 1;
        // What follows on the same line moves up; a line that is left blank goes.
        let end = end + (rest.len() - rest.trim_start_matches([' ', '\t']).len());
        return Ok(spliced(text, start..end, ""));
    }
    let ahead = text[..start].trim_end();
    let start = if ahead.ends_with(',') { ahead.len() - 1 } else { start };
    Ok(spliced(text, start..own, ""))
}

/// The same, with the comments right above it, and behind it on its line.
///
/// # Errors
/// As [`removed`].
pub fn removed_with_comments(text: &str, path: &str) -> Result<String, String> {
    let Range { start, end } = span(text, path)?;
    let line = text[..start].rfind('\n').map_or(0, |at| at + 1);
    let alone = text[line..start].trim().is_empty();
    let above = text[..line].split_inclusive('\n').rev();
    let above = above.take_while(|line| alone && line.trim_start().starts_with("//"));
    let from = line - above.map(str::len).sum::<usize>();
    let rest = text[end..].trim_start_matches([',', ' ']);
    let comment = text.len() - rest.len();
    let until =
        comment + if rest.starts_with("//") { rest.find('\n').unwrap_or(rest.len()) } else { 0 };
    let bare = format!("{}{}{}", &text[..from], &text[line..comment], &text[until..]);
    removed(&bare, path)
}

/// Where the item or the field at `path` stands.
fn span(text: &str, path: &str) -> Result<Range<usize>, String> {
    let root = scan(text).map_err(|fault| fault.to_string())?;
    let (before, last) = path.rsplit_once('/').unwrap_or(("", path));
    let owner = walk(&root, text, before)?;
    let node = step(owner, text, last).ok_or_else(|| no_place(last))?;
    let member = owner.members().iter().find(|member| member.value.span == node.span);
    let name = member.and_then(|member| member.name.clone());
    Ok(name.map_or(node.span.start, |name| name.start)..node.span.end)
}

/// The value at `path` as it is written; `None` if there is none.
pub fn get<'t>(text: &'t str, path: &str) -> Option<&'t str> {
    let root = scan(text).ok()?;
    let node = walk(&root, text, path).ok()?;
    Some(&text[node.span.clone()])
}

/// Text as a RON string.
pub fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars().filter(|c| !c.is_control()) {
        if matches!(c, '"' | '\\') {
            quoted.push('\\');
        }
        quoted.push(c);
    }
    quoted.push('"');
    quoted
}

fn no_place(step: &str) -> String {
    format!("the rig file has no {step}")
}

fn one_value(value: &str) -> Result<&str, String> {
    let value = value.trim();
    let node = scan(value).map_err(|fault| fault.to_string())?;
    if node.span == (0..value.len()) {
        return Ok(value);
    }
    Err(format!("found {value:?}, expected one value without comments around it"))
}

fn walk<'n>(root: &'n Node, text: &str, path: &str) -> Result<&'n Node, String> {
    let mut node = root;
    for name in path.split('/').filter(|name| !name.is_empty()) {
        let next = step(node, text, name);
        node = next.ok_or_else(|| no_place(name))?;
    }
    Ok(node)
}

fn step<'n>(node: &'n Node, text: &str, name: &str) -> Option<&'n Node> {
    match &node.shape {
        Shape::Group { .. } => node.field(text, name),
        Shape::List(items) => {
            let named = |item: &&Node| {
                item.field(text, "name").and_then(|n| n.string(text)).as_deref() == Some(name)
            };
            let at = || name.parse::<usize>().ok().and_then(|i| items.get(i));
            items.iter().find(named).or_else(at)
        }
        _ => None,
    }
}

fn added(text: &str, owner: &Node, field: &str, value: &str) -> Result<String, String> {
    let is_name = field.starts_with(|c: char| c.is_alphabetic() || c == '_')
        && field.chars().all(|c| c.is_alphanumeric() || c == '_');
    let members = owner.members();
    let is_struct = matches!(owner.shape, Shape::Group { .. });
    if !is_name || !is_struct || members.iter().any(|m| m.name.is_none()) {
        return Err(no_place(field));
    }
    let Some(last) = members.last() else {
        let end = owner.span.end - 1;
        return Ok(spliced(text, end..end, &format!("{field}: {value}")));
    };
    let end = last.value.span.end;
    let start = last.name.as_ref().map_or(end, |name| name.start);
    Ok(behind(text, owner, start..end, &format!("{field}: {value}")))
}

/// `text` with a value behind the last one in `owner`. What stands on a line of its own gets one
/// with the same indent.
fn behind(text: &str, owner: &Node, last: Range<usize>, value: &str) -> String {
    let line = text[..last.start].rfind('\n').map_or(0, |i| i + 1);
    let indent = &text[line..last.start];
    let separator = match indent.trim().is_empty() && line > owner.span.start {
        true => format!(",\n{indent}"),
        false => ", ".to_owned(),
    };
    spliced(text, last.end..last.end, &format!("{separator}{value}"))
}

fn spliced(text: &str, span: Range<usize>, value: &str) -> String {
    format!("{}{value}{}", &text[..span.start], &text[span.end..])
}

#[cfg(test)]
mod tests;
