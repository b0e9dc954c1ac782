//! What every command's JSON holds, field by field: the table of `assets/json.txt`, which the help
//! prints and a test compares with what the commands print.

/// The table.
const TABLE: &str = include_str!("../../assets/json.txt");

/// One field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JsonField {
    /// Where it stands: `stocks[].level.mean`.
    pub path: String,
    /// Its unit or form.
    pub unit: &'static str,
    /// What it means.
    pub meaning: &'static str,
}

/// The commands of the table, in its order.
pub fn commands() -> Vec<&'static str> {
    TABLE.lines().filter_map(|line| line.strip_prefix('[')?.strip_suffix(']')).collect()
}

/// The fields of a command's JSON; none for one that prints none.
pub fn fields(command: &str) -> Vec<JsonField> {
    section(&format!("[{command}]"), "")
}

/// The fields of a section, each behind `prefix`.
fn section(head: &str, prefix: &str) -> Vec<JsonField> {
    let lines = TABLE.lines().skip_while(|line| *line != head).skip(1);
    let own = lines.take_while(|line| !line.starts_with(['[', '(']));
    let mut fields = Vec::new();
    for line in own.filter(|line| !line.is_empty()) {
        if let Some((path, group)) = line.split_once(" < ") {
            fields.extend(section(&format!("({group})"), &format!("{prefix}{path}.")));
        } else if let [path, unit, meaning] = line.splitn(3, " | ").collect::<Vec<_>>()[..] {
            fields.push(JsonField { path: format!("{prefix}{path}"), unit, meaning });
        }
    }
    fields
}

/// All of it, or one command's, as lines of help.
pub(super) fn help() -> String {
    let mut text = "Every command takes --json where there is a result. Fields, by command; [] is every \
                    item\nof a list. Times are RFC 3339, shares 0 to 1. What is not known or not asked \
                    is null.\nFields are added, never renamed or removed.\n"
        .to_string();
    for command in commands() {
        text += &format!("\nwaystock {command} --json\n");
        for JsonField { path, unit, meaning } in fields(command) {
            text += &format!("  {path} ({unit}): {meaning}\n");
        }
    }
    text
}
