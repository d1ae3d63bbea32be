//! How far one colour lies from another, in numbers and in words.

use palette::color_difference::Ciede2000;
use palette::white_point::D65;
use palette::{FromColor, Lab, Srgb};

use super::limits::{Limits, SumTrouble};
use super::readings::middle_of;

/// Lightness in CIELAB: its definition, CIE 15.
pub const LIGHTNESS: Limits = Limits {
    quantity: "lightness L*",
    low: 0.0,
    high: 100.0,
    unit: "(no unit)",
    reason: "0 is black, 100 is white",
};

/// The two colour axes of CIELAB: our own choice, wider than any pigment.
pub const AXIS: Limits = Limits {
    quantity: "colour axis a* or b*",
    low: -200.0,
    high: 200.0,
    unit: "(no unit)",
    reason: "no pigment lies beyond",
};

/// Differences smaller than this are not worth a word: about what a trained eye just sees side by
/// side, *common practice*.
const SEEN: f64 = 1.0;
/// From here on a difference is plain and no longer "a little", *common practice*.
const PLAIN: f64 = 2.0;
/// From here on it is "much", *common practice*.
const MUCH: f64 = 5.0;
/// Half of √3, the sine of 60°: orange, the warmest hue, lies at about 60° in CIELAB (*common
/// practice* of painters to call orange warm and blue cool).
const WARM: (f64, f64) = (0.5, 0.866_025_403_784_438_6);

/// A colour in CIELAB under daylight D65.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Colour {
    /// Lightness, 0 black to 100 white.
    pub l: f64,
    /// Green (−) to red (+).
    pub a: f64,
    /// Blue (−) to yellow (+).
    pub b: f64,
}

impl Colour {
    /// Returns the colour of three CIELAB numbers.
    ///
    /// # Errors
    /// [`SumTrouble::Outside`] for lightness outside 0–100 or axes beyond ± 200.
    pub fn lab(l: f64, a: f64, b: f64) -> Result<Self, SumTrouble> {
        Ok(Self {
            l: LIGHTNESS.hold(l)?,
            a: AXIS.hold(a)?,
            b: AXIS.hold(b)?,
        })
    }

    /// Returns the colour of an sRGB triple, as screens and cameras give it.
    ///
    /// IEC 61966-2-1 to XYZ under D65, then CIELAB. A camera's triple is a pointer, not a measurement.
    ///
    /// ```
    /// use knuckle::reckon::colour::Colour;
    /// let red = Colour::srgb([255, 0, 0]); // 53.24, 80.09, 67.20 in every text on sRGB
    /// assert!((red.l - 53.24).abs() < 0.01 && (red.a - 80.09).abs() < 0.01);
    /// ```
    pub fn srgb(triple: [u8; 3]) -> Self {
        let rgb: Srgb<f64> = Srgb::<u8>::from(triple).into_format();
        let lab: Lab<D65, f64> = Lab::from_color(rgb);
        Self {
            l: lab.l,
            a: lab.a,
            b: lab.b,
        }
    }

    /// Returns the nearest sRGB triple, for a swatch on a screen. A colour that no screen shows
    /// is cut to the nearest edge, so a swatch is a pointer and never a measurement.
    ///
    /// CIELAB under D65 to XYZ, then IEC 61966-2-1.
    ///
    /// ```
    /// use knuckle::reckon::colour::Colour;
    /// for triple in [[255, 0, 0], [18, 52, 86], [240, 230, 220]] {
    ///     assert_eq!(Colour::srgb(triple).to_srgb(), triple);
    /// }
    /// ```
    pub fn to_srgb(self) -> [u8; 3] {
        let lab = Lab::<D65, f64>::new(self.l, self.a, self.b);
        let rgb: Srgb<f64> = Srgb::from_color(lab);
        rgb.into_format::<u8>().into()
    }

    /// Returns the chroma: how strong the colour is, 0 for a grey.
    pub fn chroma(self) -> f64 {
        self.a.hypot(self.b)
    }
}

/// How a sample differs from what is wanted; each is sample less wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ColourDifference {
    /// The CIEDE2000 difference, never negative.
    pub delta_e_2000: f64,
    /// Lightness: negative is darker.
    pub delta_l: f64,
    /// Chroma: negative is duller.
    pub delta_c: f64,
    /// Metric hue difference ΔH*ₐᵦ = 2 √(C₁C₂) sin(Δh/2): positive turns from red towards yellow,
    /// green, blue.
    pub delta_h: f64,
    /// How much warmer along the way from blue to orange: negative is cooler.
    pub warmer: f64,
}

/// Returns how `sample` differs from `wanted`.
///
/// CIEDE2000 with kL = kC = kH = 1, and the CIELAB differences of 1976 in lightness, chroma and hue.
///
/// Holds for two readings under the same light and geometry, both dry and varnished alike. Safe
/// side: a small number is no match by itself (metamerism, gloss, wet against dry): look under two
/// lights; the person decides.
///
/// Source: Sharma, Wu, Dalal, Color Res. Appl. 30 (2005) 21–30, Table 1, pair 25: 1.2644.
///
/// ```
/// use knuckle::reckon::colour::{Colour, difference};
/// let wanted = Colour::lab(60.2574, -34.0099, 36.2677).unwrap();
/// let sample = Colour::lab(60.4626, -34.1751, 39.4387).unwrap();
/// assert!((difference(wanted, sample).delta_e_2000 - 1.2644).abs() < 5.1e-5);
/// ```
pub fn difference(wanted: Colour, sample: Colour) -> ColourDifference {
    let lab = |it: Colour| Lab::<D65, f64>::new(it.l, it.a, it.b);
    let (a, b) = (sample.a - wanted.a, sample.b - wanted.b);
    let cross = wanted.a * sample.b - wanted.b * sample.a;
    let along = wanted.a * sample.a + wanted.b * sample.b;
    // 2 √(C₁C₂) sin(Δh/2) without angles: sin²(Δh/2) = (1 − cos Δh)/2, sign from the cross product.
    let halved = (2.0 * (wanted.chroma() * sample.chroma() - along)).max(0.0);
    ColourDifference {
        delta_e_2000: lab(wanted).difference(lab(sample)),
        delta_l: sample.l - wanted.l,
        delta_c: sample.chroma() - wanted.chroma(),
        delta_h: if cross < 0.0 {
            -halved.sqrt()
        } else {
            halved.sqrt()
        },
        warmer: a * WARM.0 + b * WARM.1,
    }
}

impl ColourDifference {
    /// Returns the difference in a painter's words about the sample, such as
    /// `too cool, a little dark`; the largest first.
    pub fn words(&self) -> String {
        self.said(
            [["warm", "cool"], ["light", "dark"], ["strong", "dull"]],
            worded,
        )
    }

    /// Returns in words how one colour went over time, such as `duller, a little lighter`; the
    /// largest first. A colour that drifted is not too much of anything.
    pub fn drift_words(&self) -> String {
        let sides = [
            ["warmer", "cooler"],
            ["lighter", "darker"],
            ["stronger", "duller"],
        ];
        self.said(sides, drifted)
    }

    fn said(
        &self,
        [warmth, light, strength]: [[&str; 2]; 3],
        worded: fn(f64, [&str; 2]) -> String,
    ) -> String {
        let mut said: Vec<(f64, String)> = [
            (self.warmer, warmth),
            (self.delta_l, light),
            (self.delta_c, strength),
        ]
        .into_iter()
        .filter(|(size, _)| SEEN <= size.abs())
        .map(|(size, sides)| (size.abs(), worded(size, sides)))
        .collect();
        // The sort is stable, so equals keep the painter's order: warmth, light, strength.
        said.sort_by(|one, other| other.0.total_cmp(&one.0));
        let words: Vec<String> = said.into_iter().map(|it| it.1).collect();
        if !words.is_empty() {
            words.join(", ")
        } else if self.delta_e_2000 < SEEN {
            "no difference worth a word".to_owned()
        } else {
            "a little off in hue".to_owned()
        }
    }
}

fn drifted(size: f64, [more, less]: [&str; 2]) -> String {
    let word = if size < 0.0 { less } else { more };
    match size.abs() {
        it if it < PLAIN => format!("a little {word}"),
        it if it < MUCH => word.to_owned(),
        _ => format!("much {word}"),
    }
}

fn worded(size: f64, [more, less]: [&str; 2]) -> String {
    let word = if size < 0.0 { less } else { more };
    let degree = match size.abs() {
        it if it < PLAIN => "a little",
        it if it < MUCH => "too",
        _ => "much too",
    };
    format!("{degree} {word}")
}

/// Returns the median of at least three readings of one patch, axis by axis, and the largest
/// CIEDE2000 difference of a reading from it.
///
/// A spread above about 1 says that the patch or the seat of the instrument is uneven
/// (*common practice*): clean, dry and read again.
///
/// # Errors
/// [`SumTrouble::TooFew`] below three readings.
pub fn middle_colour(readings: &[Colour]) -> Result<(Colour, f64), SumTrouble> {
    let axis = |pick: fn(&Colour) -> f64| -> Result<f64, SumTrouble> {
        let along: Vec<f64> = readings.iter().map(pick).collect();
        Ok(middle_of(&along)?.median)
    };
    let middle = Colour {
        l: axis(|it| it.l)?,
        a: axis(|it| it.a)?,
        b: axis(|it| it.b)?,
    };
    let off = |it: &Colour| difference(middle, *it).delta_e_2000;
    Ok((middle, readings.iter().map(off).fold(0.0, f64::max)))
}

/// Returns the readings that stand in a line of text: every `L,a,b` and every `#rrggbb`, in
/// their order; words around them are passed over, and what is no colour is no reading.
///
/// ```
/// use knuckle::reckon::colour::colours_in;
/// let found = colours_in("ochre 62.1,8.4,21.0 and 61.9, 8.3, 20.8, dry");
/// assert_eq!(found.len(), 2);
/// assert_eq!(found[1].b, 20.8);
/// ```
pub fn colours_in(text: &str) -> Vec<Colour> {
    // A comma with a space after it still parts the numbers of one reading.
    let joined = text.replace(", ", ",");
    joined
        .split([' ', ';', '|', '\t'])
        .filter_map(|word| colour_of(word.trim_matches([',', '.', '(', ')', ':'])))
        .collect()
}

fn colour_of(word: &str) -> Option<Colour> {
    if let Some(hex) = word.strip_prefix('#') {
        let is_hex = hex.len() == 6 && hex.chars().all(|it| it.is_ascii_hexdigit());
        let [_, red, green, blue] = is_hex
            .then(|| u32::from_str_radix(hex, 16).ok())
            .flatten()?
            .to_be_bytes();
        return Some(Colour::srgb([red, green, blue]));
    }
    let mut numbers = word.split(',').map(|part| part.parse::<f64>().ok());
    let (l, a, b) = (numbers.next()??, numbers.next()??, numbers.next()??);
    // More than three numbers may be followed by a word of the sentence, not by a number.
    if numbers.next().is_some_and(|more| more.is_some()) {
        return None;
    }
    Colour::lab(l, a, b).ok()
}

#[cfg(test)]
mod tests {
    use super::{Colour, difference, middle_colour};

    #[track_caller]
    fn said(wanted: [f64; 3], sample: [f64; 3], words: &str) {
        let lab = |[l, a, b]: [f64; 3]| Colour::lab(l, a, b).unwrap();
        assert_eq!(difference(lab(wanted), lab(sample)).words(), words);
    }

    #[test]
    fn the_difference_is_said_in_a_painters_words() {
        // Strength falls by 31.62 − 28.79, warmth by 0.866 · 3.
        said(
            [50.0, 10.0, 30.0],
            [48.5, 10.0, 27.0],
            "too dull, too cool, a little dark",
        );
        said([50.0, 0.0, 0.0], [57.0, 0.0, 0.0], "much too light");
        said(
            [50.0, 10.0, 10.0],
            [50.0, 10.0, 10.0],
            "no difference worth a word",
        );
        said([50.0, 0.0, 20.0], [50.0, 1.4, 20.0], "a little off in hue");
    }

    #[test]
    fn hue_and_chroma_differences_make_up_the_whole_of_1976() {
        // ΔE² = ΔL² + ΔC² + ΔH², by definition of ΔH* (CIE 15).
        let wanted = Colour::lab(40.0, -20.0, 35.0).unwrap();
        let sample = Colour::lab(46.0, -28.0, 11.0).unwrap();
        let it = difference(wanted, sample);
        let whole = it.delta_l.powi(2) + it.delta_c.powi(2) + it.delta_h.powi(2);
        assert!((whole - (36.0 + 64.0 + 576.0)).abs() < 1e-9);
        assert!(it.delta_h > 0.0, "from yellow towards green is positive");
        assert!((difference(sample, wanted).delta_h + it.delta_h).abs() < 1e-12);
    }

    #[test]
    fn the_middle_of_three_readings_ignores_the_one_that_slipped() {
        let read = [[60.0, 5.0, 20.0], [60.2, 5.1, 20.2], [75.0, 0.0, 3.0]];
        let read = read.map(|[l, a, b]| Colour::lab(l, a, b).unwrap());
        let (middle, spread) = middle_colour(&read).unwrap();
        assert_eq!(middle, Colour::lab(60.2, 5.0, 20.0).unwrap());
        assert!(10.0 < spread);
        assert!(middle_colour(&read[..2]).is_err());
    }
}
