//! The screen's own colours, taken from the trade, and the signs of every state.
//!
//! A [`Tone`] is a pair of text and ground; nothing on the screen has a colour of its own
//! beside these pairs but the pixels of photographs and swatches, so that one test can hold
//! all of them to their contrast. A state is always colour and symbol and word: see [`Sign`].

use ratatui::style::{Color, Modifier, Style};

/// How many colours the terminal shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Depth {
    /// None: `NO_COLOR`, or a terminal without colours.
    Plain,
    /// The sixteen named ones.
    Sixteen,
    /// The cube of 256.
    Many,
    /// 24 bits.
    #[default]
    Full,
}

/// A pair of text and ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Tone {
    /// Chalk on slate: plain text.
    #[default]
    Chalk,
    /// Rubbed chalk on slate: what may wait.
    Rubbed,
    /// Bole red on slate: over, shut, wrong.
    Bole,
    /// Gilt on slate: running, the act, the key to press.
    Gilt,
    /// Verdigris on slate: come, open, done.
    Verdigris,
    /// Chalk on a bole plate: a loud state.
    BolePlate,
    /// Slate on a gilt plate: the one act.
    GiltPlate,
    /// Slate on a verdigris plate: it has come.
    VerdigrisPlate,
    /// Chalk on the bench board: head, rail, foot.
    Board,
    /// Rubbed chalk on the bench board.
    BoardRubbed,
    /// Gilt on the bench board.
    BoardGilt,
    /// Bole red on the bench board.
    BoardBole,
    /// Verdigris on the bench board.
    BoardVerdigris,
}

/// A colour as red, green and blue.
pub type Rgb = [u8; 3];

/// One pigment at each depth: the named colour with the value it has in common terminals,
/// the place in the cube of 256, and the true colour.
#[derive(Debug, Clone, Copy)]
struct Pigment {
    named: Color,
    cube: u8,
    full: Rgb,
}

const SLATE: Pigment = Pigment {
    named: Color::Black,
    cube: 234,
    full: [0x1b, 0x1f, 0x22],
};
const BOARD: Pigment = Pigment {
    named: Color::Black,
    cube: 236,
    full: [0x2c, 0x32, 0x36],
};
const CHALK: Pigment = Pigment {
    named: Color::White,
    cube: 230,
    full: [0xf1, 0xec, 0xe0],
};
const RUBBED: Pigment = Pigment {
    named: Color::Gray,
    cube: 249,
    full: [0xb8, 0xb3, 0xa7],
};
const BOLE: Pigment = Pigment {
    named: Color::LightRed,
    cube: 209,
    full: [0xf2, 0x90, 0x78],
};
const BOLE_GROUND: Pigment = Pigment {
    named: Color::Red,
    cube: 88,
    full: [0x86, 0x2c, 0x1b],
};
const GILT: Pigment = Pigment {
    named: Color::LightYellow,
    cube: 179,
    full: [0xe8, 0xbc, 0x4f],
};
const VERDIGRIS: Pigment = Pigment {
    named: Color::LightCyan,
    cube: 115,
    full: [0x86, 0xc8, 0xb0],
};
impl Tone {
    /// Every pair there is.
    pub const ALL: [Self; 13] = [
        Self::Chalk,
        Self::Rubbed,
        Self::Bole,
        Self::Gilt,
        Self::Verdigris,
        Self::BolePlate,
        Self::GiltPlate,
        Self::VerdigrisPlate,
        Self::Board,
        Self::BoardRubbed,
        Self::BoardGilt,
        Self::BoardBole,
        Self::BoardVerdigris,
    ];

    fn pigments(self) -> (Pigment, Pigment) {
        match self {
            Self::Chalk => (CHALK, SLATE),
            Self::Rubbed => (RUBBED, SLATE),
            Self::Bole => (BOLE, SLATE),
            Self::Gilt => (GILT, SLATE),
            Self::Verdigris => (VERDIGRIS, SLATE),
            Self::BolePlate => (CHALK, BOLE_GROUND),
            Self::GiltPlate => (SLATE, GILT),
            Self::VerdigrisPlate => (SLATE, VERDIGRIS),
            Self::Board => (CHALK, BOARD),
            Self::BoardRubbed => (RUBBED, BOARD),
            Self::BoardGilt => (GILT, BOARD),
            Self::BoardBole => (BOLE, BOARD),
            Self::BoardVerdigris => (VERDIGRIS, BOARD),
        }
    }

    fn modifier(self, depth: Depth) -> Modifier {
        let plain = depth == Depth::Plain;
        match self {
            Self::BolePlate | Self::GiltPlate | Self::VerdigrisPlate => {
                if plain {
                    Modifier::BOLD | Modifier::REVERSED
                } else {
                    Modifier::BOLD
                }
            }
            Self::Bole | Self::Gilt | Self::BoardBole | Self::BoardGilt => Modifier::BOLD,
            _ => Modifier::empty(),
        }
    }

    /// Returns the pair of the same pigment on slate, for marks that are no words.
    #[must_use]
    pub fn on_slate(self) -> Self {
        match self {
            Self::BolePlate | Self::BoardBole => Self::Bole,
            Self::GiltPlate | Self::BoardGilt => Self::Gilt,
            Self::VerdigrisPlate | Self::BoardVerdigris => Self::Verdigris,
            Self::Board => Self::Chalk,
            Self::BoardRubbed => Self::Rubbed,
            other => other,
        }
    }

    /// Returns the pair as text and ground in red, green and blue at a depth; `None` where
    /// the terminal shows no colours.
    pub fn rgb(self, depth: Depth) -> Option<(Rgb, Rgb)> {
        let (text, ground) = self.pigments();
        let value = |pigment: Pigment| match depth {
            Depth::Plain => None,
            Depth::Sixteen => Some(named_rgb(pigment.named)),
            Depth::Many => Some(cube_rgb(pigment.cube)),
            Depth::Full => Some(pigment.full),
        };
        Some((value(text)?, value(ground)?))
    }
}

/// The look of the screen at one depth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Look {
    /// How many colours.
    pub depth: Depth,
}

impl Look {
    /// Returns the style of a pair.
    pub fn style(self, tone: Tone) -> Style {
        let (text, ground) = tone.pigments();
        let style = Style::new().add_modifier(tone.modifier(self.depth));
        match self.depth {
            Depth::Plain => style,
            Depth::Sixteen => style.fg(text.named).bg(ground.named),
            Depth::Many => style
                .fg(Color::Indexed(text.cube))
                .bg(Color::Indexed(ground.cube)),
            Depth::Full => style.fg(true_colour(text)).bg(true_colour(ground)),
        }
    }
}

impl Look {
    /// Returns a colour of a photograph or a swatch as this terminal comes nearest to it;
    /// `None` with sixteen colours or none, where no photograph can be told.
    pub fn paint(self, [red, green, blue]: Rgb) -> Option<Color> {
        match self.depth {
            Depth::Plain | Depth::Sixteen => None,
            Depth::Many => Some(Color::Indexed(nearest_in_cube([red, green, blue]))),
            Depth::Full => Some(Color::Rgb(red, green, blue)),
        }
    }
}

/// Returns the place in the cube of 256 that comes nearest, the named sixteen left out.
fn nearest_in_cube(wanted: Rgb) -> u8 {
    let far = |place: &u8| -> u32 {
        let found = cube_rgb(*place);
        let apart = found.iter().zip(wanted);
        apart
            .map(|(one, other)| u32::from(one.abs_diff(other)).pow(2))
            .sum()
    };
    (16..=255).min_by_key(far).unwrap_or(16)
}

fn true_colour(pigment: Pigment) -> Color {
    let [red, green, blue] = pigment.full;
    Color::Rgb(red, green, blue)
}

/// A state's symbol, word and tone, never one without the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sign {
    /// One cell wide.
    pub symbol: &'static str,
    /// The word.
    pub word: &'static str,
    /// The pair it is shown in.
    pub tone: Tone,
}

impl Sign {
    /// Returns the sign put together.
    pub const fn new(symbol: &'static str, word: &'static str, tone: Tone) -> Self {
        Self { symbol, word, tone }
    }
}

/// Returns red, green and blue of a named colour as the VGA hardware palette had it; other
/// palettes differ a little, and the terminal's owner may have changed them.
pub fn named_rgb(colour: Color) -> Rgb {
    match colour {
        Color::Red => [0xaa, 0, 0],
        Color::Gray => [0xaa, 0xaa, 0xaa],
        Color::LightRed => [0xff, 0x55, 0x55],
        Color::LightYellow => [0xff, 0xff, 0x55],
        Color::LightCyan => [0x55, 0xff, 0xff],
        Color::White => [0xff, 0xff, 0xff],
        _ => [0, 0, 0],
    }
}

/// Returns red, green and blue of a place in the cube of 256 (16–231 a cube of six steps,
/// 232–255 a ramp of greys), as terminals commonly have it.
pub fn cube_rgb(place: u8) -> Rgb {
    if place >= 232 {
        let grey = (place - 232).saturating_mul(10).saturating_add(8);
        return [grey; 3];
    }
    let step = |count: u8| if count == 0 { 0 } else { 55 + count * 40 };
    let cube = place.saturating_sub(16);
    [step(cube / 36), step(cube / 6 % 6), step(cube % 6)]
}

/// Returns the contrast of two colours, 1 to 21.
///
/// `(L1 + 0.05) / (L2 + 0.05)` with the lighter first; relative luminance from linearised
/// sRGB. Source: W3C, Web Content Accessibility Guidelines 2.2, definitions of *contrast
/// ratio* and *relative luminance*.
pub fn contrast(one: Rgb, other: Rgb) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

fn luminance([red, green, blue]: Rgb) -> f64 {
    let linear = |channel: u8| {
        let share = f64::from(channel) / 255.0;
        if share <= 0.04045 {
            share / 12.92
        } else {
            ((share + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)
}

#[cfg(test)]
mod tests {
    use super::{Depth, Tone, contrast};

    #[test]
    fn the_contrast_formula_gives_the_published_ends() {
        // W3C, WCAG 2.2: the ratio runs from 1:1 to 21:1; #767676 on white is the known
        // lightest grey that still reaches 4.5:1 (W3C, Understanding SC 1.4.3).
        assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
        assert!((contrast([9, 9, 9], [9, 9, 9]) - 1.0).abs() < 1e-9);
        assert!(contrast([0x76; 3], [255; 3]) >= 4.5);
        assert!(contrast([0x77; 3], [255; 3]) < 4.5);
    }

    #[test]
    fn every_pair_can_be_read() {
        // W3C, WCAG 2.2, success criterion 1.4.3: at least 4.5:1.
        for tone in Tone::ALL {
            for depth in [Depth::Sixteen, Depth::Many, Depth::Full] {
                let (text, ground) = tone.rgb(depth).unwrap();
                let found = contrast(text, ground);
                assert!(found >= 4.5, "{tone:?} at {depth:?}: {found:.2}");
            }
        }
    }
}
