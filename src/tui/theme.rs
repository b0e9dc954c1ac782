//! Looks: styles from the terminal's own 16 colours on its own background, and glyphs with a
//! 7-bit fallback. Colour only repeats what a word and a sign already say.

use crate::text::Urgency;
use crate::text::looks::{Colour, Looks};
use ratatui::style::{Color, Modifier, Style};

/// How the dashboard may look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Theme {
    /// Only 7-bit characters.
    pub ascii: bool,
    /// Whether colours may be used (bold and reverse video always are).
    pub colour: bool,
    /// Colours and hours as a person chose them.
    pub own: Looks,
}

impl Default for Theme {
    fn default() -> Theme {
        Theme { ascii: false, colour: true, own: Looks::default() }
    }
}

macro_rules! glyphs {
    ($($(#[$doc:meta])+ $name:ident $drawn:literal $plain:literal;)+) => {
        /// Characters that the widgets draw with; each is one column wide.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub(super) struct Glyphs {
            $($(#[$doc])+ pub $name: &'static str,)+
        }

        const DRAWN: Glyphs = Glyphs { $($name: $drawn,)+ };
        const PLAIN: Glyphs = Glyphs { $($name: $plain,)+ };
        #[cfg(test)]
        const ALL: &[(&str, &str)] = &[$(($drawn, $plain),)+];
    };
}

glyphs! {
    /// Horizontal rule.
    rule "─" "-";
    /// Where a band begins (P10).
    band_from "╞" "[";
    /// Inside of a band.
    band "═" "=";
    /// Median of a band.
    band_mid "╪" "+";
    /// End of a band (P90).
    band_to "╡" "]";
    /// The band goes on past the axis.
    beyond "»" ">";
    /// Midnight on the axis.
    midnight "·" ".";
    /// Night near the limit.
    dip "v" "v";
    /// Night on which more than one life in ten is out.
    deep_dip "V" "V";
    /// Selected row.
    marker "›" ">";
    /// Done.
    tick "✓" "x";
    /// Inside of a fan, P10 to P90.
    fan "░" ":";
    /// Median of a fan.
    fan_mid "━" "*";
    /// A reading: the interval that it can stand for.
    reading "│" "|";
    /// A fill or an emptying.
    service "◆" "#";
    /// A limit that was met.
    met "X" "X";
    /// The limit of a stock.
    limit "┄" "-";
    /// The present.
    now "┊" "|";
    /// Points at a word.
    caret "^" "^";
}

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
            own: Looks::default(),
        }
    }

    /// The glyphs of this look.
    pub(super) fn glyphs(self) -> &'static Glyphs {
        if self.ascii { &PLAIN } else { &DRAWN }
    }

    /// `text` with its hours as wanted, and with what is not 7-bit replaced by its nearest plain form,
    /// if this look needs it.
    pub fn plain(self, text: &str) -> String {
        let text = self.own.hours.written(text);
        if !self.ascii {
            return text;
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

    fn coloured(self, colour: Colour, style: Style) -> Style {
        // ECMA-48's order, by the names that ratatui reads.
        const SIXTEEN: &str = "black red green yellow blue magenta cyan gray darkgray lightred \
                               lightgreen lightyellow lightblue lightmagenta lightcyan white";
        let named = |n: u8| SIXTEEN.split(' ').nth(usize::from(n % 16))?.parse().ok();
        match colour {
            Colour::Numbered(n) if self.colour => style.fg(named(n).unwrap_or(Color::Reset)),
            _ => style,
        }
    }

    /// How pressing: red and bold, yellow and bold, or plain.
    pub fn urgency(self, urgency: Urgency) -> Style {
        let bold = Style::new().add_modifier(Modifier::BOLD);
        match urgency {
            Urgency::Out => self.coloured(self.own.out, bold),
            Urgency::Soon => self.coloured(self.own.soon, bold),
            Urgency::Fine => Style::new(),
        }
    }

    /// Something went well.
    pub fn good(self) -> Style {
        self.coloured(self.own.good, Style::new())
    }

    /// Something went wrong.
    pub fn bad(self) -> Style {
        self.coloured(self.own.out, Style::new().add_modifier(Modifier::BOLD))
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
        self.coloured(self.own.band, Style::new())
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

    #[test]
    fn every_glyph_takes_one_column_and_plain_ones_are_7_bit() {
        for (drawn, plain) in ALL {
            assert_eq!((width(drawn), width(plain)), (1, 1), "{drawn} {plain}");
            assert!(plain.is_ascii());
        }
        assert!(
            Theme { ascii: true, colour: true, ..Theme::default() }
                .plain("3 ±1 °C, Fjæra")
                .is_ascii()
        );
    }

    #[test]
    fn the_environment_is_heeded() {
        let looks = |ascii, colour| Theme { ascii, colour, ..Theme::default() };
        assert_eq!(Theme::of(Some("pt_PT.UTF-8"), None, None), looks(false, true));
        assert_eq!(Theme::of(Some("C"), Some(""), None), looks(true, true));
        assert_eq!(Theme::of(None, Some("1"), None), looks(true, false));
        assert_eq!(Theme::of(Some("nb_NO.utf8"), None, Some(true)), looks(true, true));
    }

    #[test]
    fn colours_and_hours_of_ones_own_are_used() {
        use crate::text::looks::Hours;
        let own = Looks {
            out: Colour::Numbered(3),
            band: Colour::Plain,
            hours: Hours::HalfDay,
            ..Looks::default()
        };
        let look = Theme { own, ..Theme::default() };
        assert_eq!((look.bad().fg, look.band().fg), (Some(Color::Yellow), None));
        assert_eq!(look.plain("by 15:30"), "by 3:30pm");
    }

    #[test]
    fn without_colour_no_style_has_one() {
        let look = Theme { ascii: false, colour: false, ..Theme::default() };
        let styles = [look.good(), look.bad(), look.faint(), look.band(), look.selected()];
        let urgent = [Urgency::Out, Urgency::Soon, Urgency::Fine].map(|u| look.urgency(u));
        for style in styles.into_iter().chain(urgent) {
            assert_eq!((style.fg, style.bg), (None, None));
        }
    }
}
