//! The sheet as one page of HTML that needs nothing else: no scripts, no files, no network. It is
//! dark on white, prints on A4 and on Letter, and folds to one column on a phone.

use super::safe;
use super::sheet::{BandRow, HOW_LONG, Horizon, Section, Sheet};

/// Sizes of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PaperSize {
    /// 210 by 297 mm.
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

/// Everything is drawn in black, so that a printer without colour loses nothing.
const STYLE: &str = include_str!("../../assets/sheet.css");

/// The page.
pub fn html(sheet: &Sheet, paper: PaperSize) -> String {
    let mut out = String::new();
    let size = match paper {
        PaperSize::A4 => "A4",
        PaperSize::Letter => "letter",
    };
    out += "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n";
    out += "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n";
    out += "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; \
            style-src 'unsafe-inline'\"/>\n";
    out += &format!("<title>{}</title>\n", escaped(&sheet.title));
    out += &format!("<style>\n@page{{size:{size};margin:14mm 13mm}}\n{STYLE}</style>\n</head>\n");
    out += &format!("<body>\n<h1>{}</h1>\n", escaped(&sheet.title));
    out += &paragraph(&sheet.place);
    let answer: Vec<String> = sheet.answer.iter().map(|line| escaped(line)).collect();
    out += &format!("<p class=\"answer\">{}</p>\n", answer.join("<br/>"));
    out += &horizon(&sheet.horizon);
    sheet.parts.iter().for_each(|part| out += &section(part));
    out += "<footer>\n";
    sheet.cautions.iter().for_each(|line| out += &paragraph(line));
    out + "</footer>\n</body>\n</html>\n"
}

fn horizon(horizon: &Horizon) -> String {
    let mut out = format!(
        "<section class=\"whole\">\n<h2>{HOW_LONG}</h2>\n<p class=\"until\">The box begins where nine in ten still \
         last and ends where one in ten does; the thick line is the middle.</p>\n"
    );
    out += "<div class=\"axis\"><div></div><div class=\"days\">";
    // A name at the very edge would stick out of the page.
    for (begins, name) in horizon.days.iter().filter(|(begins, _)| *begins < 0.96) {
        out += &format!("<span style=\"left:{:.1}%\">{}</span>", 100.0 * begins, escaped(name));
    }
    out += "</div></div>\n";
    for row in &horizon.rows {
        let (name, level, until) = (escaped(&row.name), escaped(&row.level), escaped(&row.until()));
        out += &format!(
            "<div class=\"row\"><div><b>{name}</b> {level}<br/><span class=\"until\">{until}\
             </span></div>{}</div>\n",
            drawing(row, &horizon.days)
        );
    }
    out + "</section>\n"
}

/// A row's band, 1000 units wide.
fn drawing(row: &BandRow, days: &[(f64, String)]) -> String {
    let place = |share: f64| (share.clamp(0.0, 1.0) * 1000.0).round();
    let [from, middle, to] = row.band;
    let label = format!("{}: {}", row.name, row.until());
    let mut out = format!(
        "<svg viewBox=\"0 0 1000 24\" preserveAspectRatio=\"none\" role=\"img\" aria-label=\"{}\">",
        escaped(&label)
    );
    let line = |x: f64, (top, bottom): (u32, u32), width: u32| {
        format!(
            "<path d=\"M{x} {top}V{bottom}\" stroke=\"#111\" stroke-width=\"{width}\" \
             vector-effect=\"non-scaling-stroke\"/>"
        )
    };
    days.iter().for_each(|(begins, _)| out += &line(place(*begins), (9, 15), 1));
    let safe = place(from);
    out += &format!(
        "<path d=\"M0 12H{safe}\" stroke=\"#111\" stroke-width=\"3\" \
         vector-effect=\"non-scaling-stroke\"/>"
    );
    if from <= 1.0 {
        let width = (place(to) - safe).max(4.0);
        out += &format!(
            "<rect x=\"{safe}\" y=\"3\" width=\"{width}\" height=\"18\" fill=\"#fff\" stroke=\"#111\" \
             stroke-width=\"2\" vector-effect=\"non-scaling-stroke\"/>"
        );
    }
    if middle <= 1.0 {
        out += &line(place(middle), (3, 21), 5);
    }
    out + "</svg>"
}

fn section(part: &Section) -> String {
    // A list stays on one page; prose may run on.
    let class = if part.todo.is_empty() { "" } else { " class=\"whole\"" };
    let mut out = format!("<section{class}>\n<h2>{}</h2>\n", escaped(&part.head));
    part.lines.iter().for_each(|line| out += &paragraph(line));
    if !part.todo.is_empty() {
        out += "<ul>\n";
        part.todo.iter().for_each(|thing| out += &format!("<li>{}</li>\n", escaped(thing)));
        out += "</ul>\n";
    }
    out + "</section>\n"
}

fn paragraph(text: &str) -> String {
    format!("<p>{}</p>\n", escaped(text))
}

/// Text that no browser takes for anything but text, within an element or a quoted attribute.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in safe(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}
