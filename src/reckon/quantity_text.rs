//! Quantities as people write them: `21C`, `70 °F`, `4.75in`, `0.35m²`. A bare number is refused,
//! for nobody can tell inches from millimetres afterwards. Start reading at [`read`].

use thiserror::Error;

use super::quantity::{
    Celsius, CubicMetres, CubicMetresPerMinute, Grams, GramsPerMillilitre, Hours, Litres,
    Micrometres, Millilitres, Millimetres, Minutes, PartsPerMillion, Percent, SquareMetres,
    SquareMetresPerLitre,
};

/// One unit that is accepted in text; `kept = written × factor + shift`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// The sign in small letters without degree sign or raised digits, such as `m2`.
    pub sign: &'static str,
    /// How many of the kept unit one of these is.
    pub factor: f64,
    /// What is added after scaling; nought for all but °F.
    pub shift: f64,
}

/// A quantity that can be read from text.
pub trait Measured: Sized {
    /// The craft's word for it, such as `temperature`.
    const QUANTITY: &'static str;
    /// The accepted units as they are listed in a message.
    const ACCEPTED: &'static str;
    /// Every accepted unit.
    const UNITS: &'static [Unit];

    /// Returns the quantity of this many kept units.
    fn of(kept: f64) -> Self;
}

/// Why a text is not a quantity. [`QuantityTrouble::remedy`] gives the line that says what to do.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum QuantityTrouble {
    /// The text does not begin with a plain number.
    #[error("`{text}` is not a {quantity}: it does not begin with a number")]
    NotANumber {
        /// The text as given.
        text: String,
        /// What was expected.
        quantity: &'static str,
        /// The units that would be accepted.
        accepted: &'static str,
    },
    /// The number has no unit.
    #[error("`{text}` has no unit, so it could be any {quantity}")]
    NoUnit {
        /// The text as given.
        text: String,
        /// What was expected.
        quantity: &'static str,
        /// The units that would be accepted.
        accepted: &'static str,
    },
    /// The unit is not one of this quantity.
    #[error("`{unit}` in `{text}` is no unit of {quantity}{}", near.map_or_else(String::new, |it| format!("; did you mean `{it}`?")))]
    UnknownUnit {
        /// The text as given.
        text: String,
        /// The part that was taken for the unit.
        unit: String,
        /// What was expected.
        quantity: &'static str,
        /// The units that would be accepted.
        accepted: &'static str,
        /// The accepted unit that comes closest, when one does.
        near: Option<&'static str>,
    },
    /// The number is beyond anything in a workshop.
    #[error("`{text}` is too large for a {quantity}")]
    TooLarge {
        /// The text as given.
        text: String,
        /// What was expected.
        quantity: &'static str,
    },
    /// A comma stands where a decimal point belongs.
    #[error("`{text}` has a comma, which could be a decimal point or a thousands sign")]
    Comma {
        /// The text as given.
        text: String,
    },
}

impl QuantityTrouble {
    /// Returns the line that says what to do.
    pub fn remedy(&self) -> String {
        match self {
            Self::NotANumber { accepted, .. }
            | Self::NoUnit { accepted, .. }
            | Self::UnknownUnit { accepted, .. } => {
                format!("write the number with one of these units: {accepted}")
            }
            Self::TooLarge { .. } => "check the number and its unit".to_owned(),
            Self::Comma { .. } => "write a decimal point and no thousands sign".to_owned(),
        }
    }
}

/// The largest number taken from text, in the kept unit. Nothing at a bench comes near it;
/// it keeps later arithmetic far from overflow (*own choice*).
const LARGEST: f64 = 1.0e9;

/// Returns the quantity written in `text`.
///
/// The number comes first, then the unit, with or without a space. Capitals, degree signs and
/// raised digits do not matter: `21C`, `21 °c`; `0.35m2`, `0.35 m²`.
///
/// ```
/// use knuckle::reckon::{read, Celsius, Millimetres};
/// assert_eq!(read::<Celsius>("50 °F").unwrap(), Celsius(10.0));
/// assert_eq!(read::<Millimetres>("10in").unwrap(), Millimetres(254.0));
/// assert!(read::<Millimetres>("120").is_err());
/// ```
///
/// # Errors
/// [`QuantityTrouble`] when there is no number, no unit, a unit of something else, a comma,
/// or a number beyond ± 10⁹; the caller can ask again.
pub fn read<Q: Measured>(text: &str) -> Result<Q, QuantityTrouble> {
    let plain = plainly(text);
    let (number, sign) = parted(&plain);
    let written = written_number::<Q>(text, number)?;
    if sign.is_empty() {
        return Err(QuantityTrouble::NoUnit {
            text: text.trim().to_owned(),
            quantity: Q::QUANTITY,
            accepted: Q::ACCEPTED,
        });
    }
    let unit = Q::UNITS
        .iter()
        .find(|unit| unit.sign == sign)
        .ok_or_else(|| QuantityTrouble::UnknownUnit {
            text: text.trim().to_owned(),
            unit: sign.to_owned(),
            quantity: Q::QUANTITY,
            accepted: Q::ACCEPTED,
            near: nearest(sign, Q::UNITS.iter().map(|unit| unit.sign)),
        })?;
    let kept = written * unit.factor + unit.shift;
    if kept.abs() <= LARGEST {
        Ok(Q::of(kept))
    } else {
        Err(QuantityTrouble::TooLarge {
            text: text.trim().to_owned(),
            quantity: Q::QUANTITY,
        })
    }
}

/// Returns the listed word that comes closest to `word`, when at most a third of it is wrong.
pub fn nearest<'a>(word: &str, listed: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let allowed = (word.chars().count() / 3).max(1);
    listed
        .map(|it| (slips(word, it), it))
        .filter(|(count, it)| *count <= allowed && *count < it.chars().count())
        .min_by_key(|(count, _)| *count)
        .map(|(_, it)| it)
}

/// Returns how many letters must be changed, added or left out to make one word the other.
fn slips(from: &str, to: &str) -> usize {
    let to: Vec<char> = to.chars().collect();
    let mut row: Vec<usize> = (0..=to.len()).collect();
    for (count, letter) in from.chars().enumerate() {
        let mut next = vec![count + 1];
        for ((other, above), corner) in to.iter().zip(row.iter().skip(1)).zip(&row) {
            let left = next.last().copied().unwrap_or(count);
            let swap = corner + usize::from(*other != letter);
            next.push(swap.min(above + 1).min(left + 1));
        }
        row = next;
    }
    row.last().copied().unwrap_or(0)
}

/// Returns the text without spaces and degree signs, in small letters, raised digits lowered.
fn plainly(text: &str) -> String {
    text.chars()
        .filter(|letter| !letter.is_whitespace() && !matches!(letter, '°' | 'º' | '\u{202f}'))
        .flat_map(char::to_lowercase)
        .map(|letter| match letter {
            'µ' | 'μ' => 'u',
            '²' => '2',
            '³' => '3',
            '−' => '-',
            '″' => '"',
            '′' => '\'',
            other => other,
        })
        .collect()
}

/// Returns the number at the head of the text and the rest.
fn parted(plain: &str) -> (&str, &str) {
    let digits = |text: &str| text.chars().take_while(char::is_ascii_digit).count();
    let mut end = plain
        .find(|it: char| !(it.is_ascii_digit() || matches!(it, '.' | '-' | '+' | ',')))
        .unwrap_or(plain.len());
    // An `e` belongs to the number only when digits follow; no unit begins with `e`.
    if let Some(rest) = plain.get(end..).and_then(|it| it.strip_prefix('e')) {
        let signs = usize::from(rest.starts_with(['+', '-']));
        let count = digits(rest.get(signs..).unwrap_or(""));
        if 0 < count {
            end += 1 + signs + count;
        }
    }
    plain.split_at_checked(end).unwrap_or((plain, ""))
}

fn written_number<Q: Measured>(text: &str, number: &str) -> Result<f64, QuantityTrouble> {
    let text = text.trim().to_owned();
    if number.contains(',') {
        return Err(QuantityTrouble::Comma { text });
    }
    match number.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        Ok(_) => Err(QuantityTrouble::TooLarge {
            text,
            quantity: Q::QUANTITY,
        }),
        Err(_) => Err(QuantityTrouble::NotANumber {
            text,
            quantity: Q::QUANTITY,
            accepted: Q::ACCEPTED,
        }),
    }
}

/// International foot and inch of 1959, in millimetres (exact).
const INCH_MM: f64 = 25.4;
/// One foot in millimetres (exact: 12 inches).
const FOOT_MM: f64 = 12.0 * INCH_MM;
/// One avoirdupois ounce in grams (exact: 0.453 592 37 kg / 16).
const OUNCE_G: f64 = 28.349_523_125;
/// One US gallon in litres (exact: 231 cubic inches).
const GALLON_L: f64 = 3.785_411_784;
/// One cubic foot in cubic metres (exact).
const CUBIC_FOOT_M3: f64 = 0.028_316_846_592;
/// One square foot in square metres (exact).
const SQUARE_FOOT_M2: f64 = 0.092_903_04;

macro_rules! measured {
    ($($name:ident, $quantity:literal, $accepted:literal, [$($sign:literal = $factor:expr),* $(; $shifted:literal = $scale:expr, $shift:expr)?];)*) => {$(
        impl Measured for $name {
            const QUANTITY: &'static str = $quantity;
            const ACCEPTED: &'static str = $accepted;
            const UNITS: &'static [Unit] = &[
                $(Unit { sign: $sign, factor: $factor, shift: 0.0 },)*
                $(Unit { sign: $shifted, factor: $scale, shift: $shift },)?
            ];

            fn of(kept: f64) -> Self {
                Self(kept)
            }
        }
    )*};
}

measured! {
    Celsius, "temperature", "C, F", ["c" = 1.0; "f" = 5.0 / 9.0, -160.0 / 9.0];
    Percent, "percentage", "%", ["%" = 1.0, "%rh" = 1.0, "%mc" = 1.0, "percent" = 1.0, "pct" = 1.0];
    Grams, "weight", "g, kg, mg, oz, lb",
        ["g" = 1.0, "kg" = 1000.0, "mg" = 0.001, "oz" = OUNCE_G, "lb" = 16.0 * OUNCE_G];
    Millimetres, "length", "mm, cm, m, in, ft",
        ["mm" = 1.0, "cm" = 10.0, "m" = 1000.0, "in" = INCH_MM, "\"" = INCH_MM, "ft" = FOOT_MM, "'" = FOOT_MM];
    Micrometres, "film thickness", "um, mm, mil",
        ["um" = 1.0, "mm" = 1000.0, "mil" = INCH_MM, "mils" = INCH_MM];
    SquareMetres, "area", "m2, cm2, mm2, ft2, in2",
        ["m2" = 1.0, "cm2" = 1e-4, "mm2" = 1e-6, "ft2" = SQUARE_FOOT_M2, "in2" = SQUARE_FOOT_M2 / 144.0];
    Litres, "volume", "L, ml, cl, gal, qt, pt (US)",
        ["l" = 1.0, "ml" = 0.001, "cl" = 0.01, "gal" = GALLON_L, "qt" = GALLON_L / 4.0, "pt" = GALLON_L / 8.0];
    Millilitres, "volume", "ml, cl, L, gal, qt, pt (US)",
        ["ml" = 1.0, "cl" = 10.0, "l" = 1000.0, "gal" = GALLON_L * 1000.0, "qt" = GALLON_L * 250.0, "pt" = GALLON_L * 125.0];
    Minutes, "time", "min, h, d, s",
        ["min" = 1.0, "mins" = 1.0, "h" = 60.0, "hr" = 60.0, "hrs" = 60.0, "d" = 1440.0, "day" = 1440.0, "days" = 1440.0, "s" = 1.0 / 60.0];
    Hours, "time", "h, min, d, s",
        ["h" = 1.0, "hr" = 1.0, "hrs" = 1.0, "min" = 1.0 / 60.0, "mins" = 1.0 / 60.0, "d" = 24.0, "day" = 24.0, "days" = 24.0, "s" = 1.0 / 3600.0];
    CubicMetres, "room volume", "m3, ft3, L",
        ["m3" = 1.0, "ft3" = CUBIC_FOOT_M3, "l" = 0.001];
    CubicMetresPerMinute, "airflow", "m3/min, m3/h, m3/s, L/s, cfm",
        ["m3/min" = 1.0, "m3/h" = 1.0 / 60.0, "m3/s" = 60.0, "l/s" = 0.06, "cfm" = CUBIC_FOOT_M3, "ft3/min" = CUBIC_FOOT_M3];
    SquareMetresPerLitre, "spreading rate", "m2/L, ft2/gal, ft2/qt (US)",
        ["m2/l" = 1.0, "ft2/gal" = SQUARE_FOOT_M2 / GALLON_L, "ft2/qt" = 4.0 * SQUARE_FOOT_M2 / GALLON_L];
    GramsPerMillilitre, "density", "g/ml, g/cm3, kg/L, kg/m3",
        ["g/ml" = 1.0, "g/cm3" = 1.0, "kg/l" = 1.0, "kg/m3" = 0.001];
    PartsPerMillion, "share of vapour in air", "ppm, %", ["ppm" = 1.0, "%" = 10_000.0];
}

#[cfg(test)]
mod tests {
    use super::{QuantityTrouble, nearest, read};
    use crate::reckon::{
        Celsius, CubicMetres, CubicMetresPerMinute, Grams, Hours, Litres, Micrometres, Millimetres,
        Minutes, Percent, SquareMetres, SquareMetresPerLitre,
    };

    #[track_caller]
    fn close(value: f64, wanted: f64) {
        assert!(
            (value - wanted).abs() <= 1e-12 * wanted.abs().max(1.0),
            "{value} for {wanted}"
        );
    }

    #[test]
    fn every_way_of_writing_a_quantity_is_read() {
        for text in [
            "21C",
            "21c",
            "21 °C",
            " 21.0 º c ",
            "21\u{a0}°C",
            "+21C",
            "2.1e1C",
        ] {
            close(read::<Celsius>(text).unwrap().0, 21.0);
        }
        close(read::<Celsius>("70F").unwrap().0, 190.0 / 9.0);
        close(read::<Celsius>("−5°C").unwrap().0, -5.0);
        close(read::<Celsius>("-40F").unwrap().0, -40.0);
        close(read::<Percent>("50 %").unwrap().0, 50.0);
        close(read::<Millimetres>("4.75in").unwrap().0, 120.65);
        close(read::<Millimetres>("3ft").unwrap().0, 914.4);
        close(read::<Millimetres>("2M").unwrap().0, 2000.0);
        close(read::<Grams>(".5kg").unwrap().0, 500.0);
        close(read::<Minutes>("2h").unwrap().0, 120.0);
        close(read::<Hours>("45min").unwrap().0, 0.75);
        close(read::<Hours>("2d").unwrap().0, 48.0);
        close(read::<SquareMetres>("0.35m²").unwrap().0, 0.35);
        close(read::<SquareMetres>("3.7ft2").unwrap().0, 0.343_741_248);
        close(read::<Litres>("500ml").unwrap().0, 0.5);
        close(read::<SquareMetresPerLitre>("12m2/L").unwrap().0, 12.0);
        close(read::<CubicMetres>("40 m³").unwrap().0, 40.0);
        close(read::<CubicMetresPerMinute>("60m3/h").unwrap().0, 1.0);
        close(
            read::<CubicMetresPerMinute>("100cfm").unwrap().0,
            2.831_684_659_2,
        );
        for text in ["60um", "60 µm", "60μm", "0.06mm"] {
            close(read::<Micrometres>(text).unwrap().0, 60.0);
        }
    }

    #[test]
    fn a_slow_size_spreads_175_square_feet_to_the_quart_as_its_maker_prints() {
        // 175 ft²/US qt is 17.18 m²/L; trade leaflets print 17.
        let rate = read::<SquareMetresPerLitre>("175ft2/qt").unwrap();
        assert!((rate.0 - 17.18).abs() < 0.005);
    }

    #[track_caller]
    fn refused(text: &str, what: &str, remedy: &str) {
        let trouble: QuantityTrouble = read::<Millimetres>(text).unwrap_err();
        assert_eq!(trouble.to_string(), what);
        assert_eq!(trouble.remedy(), remedy);
    }

    #[test]
    fn what_is_no_quantity_is_refused_with_the_accepted_units() {
        let units = "write the number with one of these units: mm, cm, m, in, ft";
        refused("120", "`120` has no unit, so it could be any length", units);
        refused(
            "120mn",
            "`mn` in `120mn` is no unit of length; did you mean `mm`?",
            units,
        );
        refused("120kg", "`kg` in `120kg` is no unit of length", units);
        for text in [
            "nan", "inf", "-inf", "mm", "", "--5mm", "1.2.3mm", "infmm", "e5mm",
        ] {
            refused(
                text,
                &format!("`{text}` is not a length: it does not begin with a number"),
                units,
            );
        }
        refused(
            "1e400mm",
            "`1e400mm` is too large for a length",
            "check the number and its unit",
        );
        refused(
            "1e9m",
            "`1e9m` is too large for a length",
            "check the number and its unit",
        );
        refused(
            "1,5mm",
            "`1,5mm` has a comma, which could be a decimal point or a thousands sign",
            "write a decimal point and no thousands sign",
        );
    }

    #[test]
    fn the_near_miss_is_offered_and_the_far_miss_is_not() {
        let clocks = ["joint", "cup", "clamps"];
        assert_eq!(nearest("joynt", clocks.into_iter()), Some("joint"));
        assert_eq!(nearest("varnish", clocks.into_iter()), None);
    }
}
