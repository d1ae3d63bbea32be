//! The letters of the PDF: Helvetica and its bold, two of the fourteen fonts that every reader
//! of PDF brings along (ISO 32000-1, 9.6.2.2), in the encoding of `WinAnsi` (annex D.2). What that
//! encoding cannot show is written with letters that it can.

/// The two faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Face {
    /// Helvetica.
    Plain,
    /// Helvetica-Bold.
    Bold,
}

/// Widths of the signs 32 to 126 of Helvetica, thousandths of the height (Adobe, Core 14 AFM
/// files, version 002.000, `WX`).
const PLAIN: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];

/// Widths of the signs 32 to 126 of Helvetica-Bold, thousandths of the height (Adobe, Core 14
/// AFM files, version 002.000, `WX`).
const BOLD: [u16; 95] = [
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611, 975, 722, 722, 722, 722, 667,
    611, 778, 722, 278, 556, 722, 611, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 333, 278, 333, 584, 556, 333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556,
    278, 889, 611, 611, 611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584,
];

impl Face {
    /// Returns the name of the font.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Plain => "Helvetica",
            Self::Bold => "Helvetica-Bold",
        }
    }

    /// Returns the width of a sign of `WinAnsi`, thousandths of the height.
    pub(super) fn width(self, sign: u8) -> u16 {
        let of = match self {
            Self::Plain => &PLAIN,
            Self::Bold => &BOLD,
        };
        let ascii = |sign: u8| {
            let place = usize::from(sign).checked_sub(32);
            place.and_then(|place| of.get(place)).copied()
        };
        if let Some(width) = ascii(sign) {
            return width;
        }
        if let Some(base) = base(sign) {
            return ascii(base).unwrap_or_default();
        }
        self.upper(sign)
    }

    /// Returns the width of a line in `WinAnsi` at a height, points.
    pub(super) fn wide(self, signs: &[u8], height: f64) -> f64 {
        let sum: u32 = signs.iter().map(|sign| u32::from(self.width(*sign))).sum();
        f64::from(sum) * height / 1000.0
    }

    /// Widths of the signs from 127 on that have no letter below them (the same AFM files).
    fn upper(self, sign: u8) -> u16 {
        let by_face = |plain, bold| match self {
            Self::Plain => plain,
            Self::Bold => bold,
        };
        match sign {
            0x82 | 0x91 | 0x92 => by_face(222, 278),
            0x84 | 0x93 | 0x94 => by_face(333, 500),
            0x85 | 0x89 | 0x97 | 0x99 | 0x8c | 0xc6 => 1000,
            0x88 | 0x8b | 0x98 | 0x9b | 0xa1 | 0xa8 | 0xad | 0xaf | 0xb2 | 0xb3 | 0xb4 | 0xb8
            | 0xb9 => 333,
            0x95 => 350,
            0x9c => 944,
            0xa0 | 0xb7 => 278,
            0xa6 => by_face(260, 280),
            0xa9 | 0xae => 737,
            0xaa => 370,
            0xac | 0xb1 | 0xd7 | 0xf7 => 584,
            0xb0 => 400,
            0xb6 => by_face(537, 556),
            0xba => 365,
            0xbc..=0xbe => 834,
            0xbf | 0xdf | 0xf8 => 611,
            0xd8 => 778,
            0xe6 => 889,
            0xb5 | 0xf0 | 0xfe => by_face(556, 611),
            0xd0 => 722,
            0xde => 667,
            // Euro, florin, daggers, en dash, cent, sterling, currency, yen, section, guillemets.
            _ => 556,
        }
    }
}

/// Returns the letter below the accent of a sign; it is as wide as the sign.
fn base(sign: u8) -> Option<u8> {
    Some(match sign {
        0xc0..=0xc5 => b'A',
        0xc7 => b'C',
        0xc8..=0xcb => b'E',
        // A small i with an accent is as wide as the capital.
        0xcc..=0xcf | 0xec..=0xef => b'I',
        0xd1 => b'N',
        0xd2..=0xd6 => b'O',
        0xd9..=0xdc => b'U',
        0x9f | 0xdd => b'Y',
        0x8a => b'S',
        0x8e => b'Z',
        0xe0..=0xe5 => b'a',
        0xe7 => b'c',
        0xe8..=0xeb => b'e',
        0xf1 => b'n',
        0xf2..=0xf6 => b'o',
        0xf9..=0xfc => b'u',
        0xfd | 0xff => b'y',
        0x9a => b's',
        0x9e => b'z',
        _ => return None,
    })
}

/// The signs of `WinAnsi` from 0x80 to 0x9f (ISO 32000-1, annex D.2); the others are those of
/// Unicode below U+0100.
const MIDDLE: [(char, u8); 27] = [
    ('€', 0x80),
    ('‚', 0x82),
    ('ƒ', 0x83),
    ('„', 0x84),
    ('…', 0x85),
    ('†', 0x86),
    ('‡', 0x87),
    ('ˆ', 0x88),
    ('‰', 0x89),
    ('Š', 0x8a),
    ('‹', 0x8b),
    ('Œ', 0x8c),
    ('Ž', 0x8e),
    ('‘', 0x91),
    ('’', 0x92),
    ('“', 0x93),
    ('”', 0x94),
    ('•', 0x95),
    ('–', 0x96),
    ('—', 0x97),
    ('˜', 0x98),
    ('™', 0x99),
    ('š', 0x9a),
    ('›', 0x9b),
    ('œ', 0x9c),
    ('ž', 0x9e),
    ('Ÿ', 0x9f),
];

/// Signs that the trade's sums and European names bring along, and how they are written where
/// they cannot be shown.
const SPELT: [(&str, &str); 13] = [
    ("▲", "(!)"),
    ("→", "->"),
    ("←", "<-"),
    ("≤", "<="),
    ("≥", ">="),
    ("≈", "~"),
    ("−", "-"),
    ("Δ", "delta "),
    ("√", "root "),
    ("∞", "without end"),
    ("‑", "-"),
    ("′", "'"),
    ("″", "\""),
];

/// Letters with accents outside `WinAnsi`, and the letters below them.
const BARE: [(&str, &str); 2] = [
    (
        "ĀāĂăĄąĆćĈĉĊċČčĎďĐđĒēĔĕĖėĘęĚěĜĝĞğĠġĢģĤĥĦħĨĩĪīĬĭĮįİĴĵĶķĹĺĻļĽľŁłŃńŅņŇňŌōŎŏŐő",
        "AaAaAaCcCcCcCcDdDdEeEeEeEeEeGgGgGgGgHhHhIiIiIiIiIJjKkLlLlLlLlNnNnNnOoOoOo",
    ),
    (
        "ŔŕŖŗŘřŚśŜŝŞşŢţŤťŦŧŨũŪūŬŭŮůŰűŲųŴŵŶŷŹźŻżȘșȚț",
        "RrRrRrSsSsSsTtTtTtUuUuUuUuUuUuWwYyZzZzSsTt",
    ),
];

/// Returns a text in `WinAnsi`. What it cannot show is spelt (`->`), loses its accent, or is
/// shown by its number (`‹U+4E2D›`); nothing is left out and nothing acts.
pub(super) fn winansi(text: &str) -> Vec<u8> {
    let mut signs = Vec::with_capacity(text.len());
    for sign in text.chars() {
        match single(sign) {
            Some(known) => signs.push(known),
            None => signs.extend(spelt(sign).chars().filter_map(single)),
        }
    }
    signs
}

/// Returns whether a letter is written with others here.
pub(super) fn is_rewritten(sign: char) -> bool {
    sign.is_alphabetic() && single(sign).is_none()
}

fn single(sign: char) -> Option<u8> {
    match u32::from(sign) {
        code @ (0x20..=0x7e | 0xa0..=0xff) => u8::try_from(code).ok(),
        // Thin and other spaces.
        0x2000..=0x200a | 0x202f | 0x205f | 0x3000 => Some(b' '),
        _ => MIDDLE
            .iter()
            .find(|(known, _)| *known == sign)
            .map(|(_, code)| *code),
    }
}

fn spelt(sign: char) -> String {
    let code = u32::from(sign);
    if let Some((_, words)) = SPELT.iter().find(|(known, _)| known.contains(sign)) {
        return (*words).to_owned();
    }
    for (letters, bare) in BARE {
        if let Some((_, base)) = letters
            .chars()
            .zip(bare.chars())
            .find(|(known, _)| *known == sign)
        {
            return base.to_string();
        }
    }
    // The pictures of controls (block U+2400) stand for the control itself.
    let shown = if (0x2400..=0x241f).contains(&code) {
        code - 0x2400
    } else if code == 0x2421 {
        0x7f
    } else {
        code
    };
    format!("‹U+{shown:04X}›")
}

#[cfg(test)]
mod tests {
    use super::{BARE, Face, winansi};

    #[test]
    fn what_the_encoding_lacks_is_spelt_and_nothing_is_left_out() {
        let shown = |text| {
            winansi(text)
                .into_iter()
                .map(|sign| match sign {
                    0x8b => '‹',
                    0x9b => '›',
                    0x96 => '–',
                    sign => char::from(sign),
                })
                .collect::<String>()
        };
        assert_eq!(shown("20 °C – ü"), "20 °C – ü");
        assert_eq!(shown("≤ 12 → 9"), "<= 12 -> 9");
        assert_eq!(shown("Łódź, Dvořák"), "Lódz, Dvorák");
        assert_eq!(shown("␛[2J"), "‹U+001B›[2J");
        assert_eq!(shown("木"), "‹U+6728›");
        assert_eq!(shown("▲ at risk"), "(!) at risk");
    }

    #[test]
    fn every_accented_letter_has_its_bare_one() {
        for (letters, bare) in BARE {
            assert_eq!(letters.chars().count(), bare.chars().count());
        }
    }

    #[test]
    fn a_line_is_as_wide_as_its_signs() {
        // Adobe Core 14 AFM: A 667, i 222 in Helvetica; A 722, i 278 in Helvetica-Bold.
        assert!((Face::Plain.wide(b"Ai", 10.0) - 8.89).abs() < 1e-9);
        assert!((Face::Bold.wide(b"Ai", 10.0) - 10.0).abs() < 1e-9);
    }
}
