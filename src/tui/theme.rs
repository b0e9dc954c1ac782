//! Looks: styles from the terminal's own 16 colours on its own background, and glyphs with a
//! 7-bit fallback. Colour only repeats what a word and a sign already say.

use crate::text::answer::Urgency;
use ratatui::style::{Color, Modifier, Style};

/// How the dashboard may look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Theme {
    /// Only 7-bit characters.
    pub ascii: bool,
    /// Whether colours may be used (bold and reverse video always are).
    pub colour: bool,
}

impl Default for Theme {
    fn default() -> Theme {
        Theme { ascii: false, colour: true }
    }
}

/// Characters that the widgets draw with; each is one column wide.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Glyphs {
    /// Horizontal rule.
    pub rule: &'static str,
    /// Where a band begins (P10), runs, has its middle (P50), and ends (P90).
    pub band_from: &'static str,
    /// Inside of a band.
    pub band: &'static str,
    /// Median.
    pub band_mid: &'static str,
    /// End of a band.
    pub band_to: &'static str,
    /// The band goes on past the axis.
    pub beyond: &'static str,
    /// Midnight on the axis.
    pub midnight: &'static str,
    /// Night near the limit.
    pub dip: &'static str,
    /// Night on which more than one life in ten is out.
    pub deep_dip: &'static str,
    /// Selected row.
    pub marker: &'static str,
    /// Plus or minus.
    pub around: &'static str,
    /// Inside of a fan, P10 to P90.
    pub fan: &'static str,
    /// Median of a fan.
    pub fan_mid: &'static str,
    /// A reading: the interval that it can stand for.
    pub reading: &'static str,
    /// A fill or an emptying.
    pub service: &'static str,
    /// A limit that was met.
    pub met: &'static str,
    /// The limit of a stock.
    pub limit: &'static str,
    /// The present.
    pub now: &'static str,
    /// Points at a word.
    pub caret: &'static str,
}

const DRAWN: Glyphs = Glyphs {
    rule: "─",
    band_from: "╞",
    band: "═",
    band_mid: "╪",
    band_to: "╡",
    beyond: "»",
    midnight: "·",
    dip: "v",
    deep_dip: "V",
    marker: "›",
    around: "±",
    fan: "░",
    fan_mid: "━",
    reading: "│",
    service: "◆",
    met: "X",
    limit: "┄",
    now: "┊",
    caret: "^",
};

const PLAIN: Glyphs = Glyphs {
    rule: "-",
    band_from: "[",
    band: "=",
    band_mid: "+",
    band_to: "]",
    beyond: ">",
    midnight: ".",
    dip: "v",
    deep_dip: "V",
    marker: ">",
    around: "+-",
    fan: ":",
    fan_mid: "*",
    reading: "|",
    service: "#",
    met: "X",
    limit: "-",
    now: "|",
    caret: "^",
};

impl Theme {
    /// What the environment asks for: `locale` is the first of `LC_ALL`, `LC_CTYPE`, `LANG` that
    /// is set and not empty, `no_color` the value of `NO_COLOR`, `ascii` what a flag said.
    pub fn of(locale: Option<&str>, no_color: Option<&str>, ascii: Option<bool>) -> Theme {
        let speaks_utf8 = |locale: &str| {
            let locale = locale.to_ascii_lowercase();
            locale.contains("utf-8") || locale.contains("utf8")
        };
        Theme {
            ascii: ascii.unwrap_or(!locale.is_some_and(speaks_utf8)),
            colour: no_color.is_none_or(str::is_empty),
        }
    }

    /// The glyphs of this look.
    pub(super) fn glyphs(self) -> &'static Glyphs {
        if self.ascii { &PLAIN } else { &DRAWN }
    }

    /// `text` with what is not 7-bit replaced by its nearest plain form, if this look needs it.
    pub fn plain(self, text: &str) -> String {
        if !self.ascii {
            return text.to_string();
        }
        let mut plain = String::with_capacity(text.len());
        for c in text.chars() {
            match c {
                '±' => plain.push_str("+-"),
                '°' => plain.push_str("deg "),
                '–' | '—' => plain.push('-'),
                '’' => plain.push('\''),
                c if c.is_ascii() => plain.push(c),
                _ => plain.push('?'),
            }
        }
        plain
    }

    fn coloured(self, colour: Color, style: Style) -> Style {
        if self.colour { style.fg(colour) } else { style }
    }

    /// How pressing: red and bold, yellow and bold, or plain.
    pub fn urgency(self, urgency: Urgency) -> Style {
        let bold = Style::new().add_modifier(Modifier::BOLD);
        match urgency {
            Urgency::Out => self.coloured(Color::Red, bold),
            Urgency::Soon => self.coloured(Color::Magenta, bold),
            Urgency::Fine => Style::new(),
        }
    }

    /// Something went well.
    pub fn good(self) -> Style {
        self.coloured(Color::Green, Style::new())
    }

    /// Something went wrong.
    pub fn bad(self) -> Style {
        self.coloured(Color::Red, Style::new().add_modifier(Modifier::BOLD))
    }

    /// Side matter: rules, axis, hints. Dimmed, not grey: the named greys vanish on some
    /// backgrounds, while a terminal that cannot dim shows plain text.
    pub(super) fn faint(self) -> Style {
        Style::new().add_modifier(Modifier::DIM)
    }

    /// Headings.
    pub fn strong(self) -> Style {
        Style::new().add_modifier(Modifier::BOLD)
    }

    /// A band or a fan.
    pub fn band(self) -> Style {
        self.coloured(Color::Cyan, Style::new())
    }

    /// The selected row, beside its marker.
    pub(super) fn selected(self) -> Style {
        Style::new().add_modifier(Modifier::REVERSED)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::fit::width;

    fn all(glyphs: &Glyphs) -> Vec<&'static str> {
        let g = glyphs;
        vec![
            g.rule,
            g.band_from,
            g.band,
            g.band_mid,
            g.band_to,
            g.beyond,
            g.midnight,
            g.dip,
            g.deep_dip,
            g.marker,
            g.fan,
            g.fan_mid,
            g.reading,
            g.service,
            g.met,
            g.limit,
            g.now,
            g.caret,
        ]
    }

    #[test]
    fn every_glyph_takes_one_column_and_plain_ones_are_7_bit() {
        for glyph in all(&DRAWN).into_iter().chain(all(&PLAIN)) {
            assert_eq!(width(glyph), 1, "{glyph}");
        }
        assert!(all(&PLAIN).into_iter().all(str::is_ascii) && PLAIN.around.is_ascii());
        assert!(Theme { ascii: true, colour: true }.plain("3 ±1 °C, Fjæra").is_ascii());
    }

    #[test]
    fn the_environment_is_heeded() {
        let looks = |ascii, colour| Theme { ascii, colour };
        assert_eq!(Theme::of(Some("pt_PT.UTF-8"), None, None), looks(false, true));
        assert_eq!(Theme::of(Some("C"), Some(""), None), looks(true, true));
        assert_eq!(Theme::of(None, Some("1"), None), looks(true, false));
        assert_eq!(Theme::of(Some("nb_NO.utf8"), None, Some(true)), looks(true, true));
    }

    #[test]
    fn without_colour_no_style_has_one() {
        let look = Theme { ascii: false, colour: false };
        let styles = [look.good(), look.bad(), look.faint(), look.band(), look.selected()];
        let urgent = [Urgency::Out, Urgency::Soon, Urgency::Fine].map(|u| look.urgency(u));
        for style in styles.into_iter().chain(urgent) {
            assert_eq!((style.fg, style.bg), (None, None));
        }
    }
}
