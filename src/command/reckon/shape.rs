//! Topics of measure: colour, surface, fit.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::flag::{ReckonTrouble, plain_number, refused, taken};
use super::{Answer, Files, Sheet};
use crate::reckon::Millimetres;
use crate::reckon::approach::{Start, approach};
use crate::reckon::colour::{Colour, difference, middle_colour};
use crate::reckon::line::straight_line;
use crate::reckon::solid::Solid;

/// Flags of `reckon colour`.
#[derive(Debug, Clone, Args)]
pub struct ColourArgs {
    /// The colour that is wanted: L,a,b under D65, or #rrggbb; three times or more for the median
    #[arg(
        long,
        required = true,
        allow_hyphen_values = true,
        value_name = "L,a,b"
    )]
    pub from: Vec<String>,
    /// The colour of the sample: L,a,b under D65, or #rrggbb; three times or more for the median
    #[arg(
        long,
        required = true,
        allow_hyphen_values = true,
        value_name = "L,a,b"
    )]
    pub to: Vec<String>,
}

/// Flags of `reckon surface`.
#[derive(Debug, Clone, Args)]
pub struct SurfaceArgs {
    /// The plain solid
    #[arg(long, value_enum)]
    pub solid: SolidKind,
    /// Its sizes with commas between: radii and half-lengths, not diameters
    #[arg(long)]
    pub size: String,
}

/// The plain solids, as a flag.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SolidKind {
    /// Three half-lengths: 400mm,300mm,200mm
    Ellipsoid,
    /// Radius and height: 60mm,900mm
    Cylinder,
    /// Radius and upright height: 60mm,200mm
    Cone,
    /// Two radii and upright height: 80mm,50mm,400mm
    Frustum,
    /// Radius: 90mm
    HalfBall,
    /// Radius of the ball and height of the cap: 90mm,30mm
    Cap,
    /// Radius of the ring and of its tube: 200mm,20mm
    Ring,
}

/// Flags of `reckon fit`.
#[derive(Debug, Clone, Args)]
#[group(skip)]
pub struct FitArgs {
    /// Fit a straight line to the x,y of this CSV file
    #[arg(
        long,
        conflicts_with = "approach",
        required_unless_present = "approach"
    )]
    pub line: Option<PathBuf>,
    /// Fit an approach to an end to the x,y of this CSV file
    #[arg(long)]
    pub approach: Option<PathBuf>,
    /// The value at x = 0 when it is known; goes with --approach
    #[arg(long, requires = "approach", allow_hyphen_values = true)]
    pub start: Option<String>,
}

/// Answers `reckon colour`. Differences are sample less wanted.
///
/// # Errors
/// Colours that cannot be read or do not exist.
pub(super) fn answer_colour(args: &ColourArgs) -> Result<Answer, ReckonTrouble> {
    let (wanted, wanted_spread) = read_colour("--from", &args.from)?;
    let (sample, sample_spread) = read_colour("--to", &args.to)?;
    let off = difference(wanted, sample);
    let mut answer = Answer::new()
        .number(
            "delta_e_2000",
            off.delta_e_2000,
            ("difference (CIEDE2000)", 2, ""),
        )
        .number(
            "delta_l",
            off.delta_l,
            ("lightness", 2, "(minus is darker)"),
        )
        .number("delta_c", off.delta_c, ("strength", 2, "(minus is duller)"))
        .number(
            "delta_h",
            off.delta_h,
            ("hue", 2, "(plus turns from red to yellow to green)"),
        )
        .word("words", &off.words(), "the sample is");
    if let Some(spread) = wanted_spread {
        answer = answer.number(
            "from_spread",
            spread,
            ("readings of the wanted differ by", 2, ""),
        );
    }
    if let Some(spread) = sample_spread {
        answer = answer.number(
            "to_spread",
            spread,
            ("readings of the sample differ by", 2, ""),
        );
    }
    Ok(answer
        .note("because", "the sample, --to, less what is wanted, --from")
        .note(
            "safe_side",
            "a small number is no match by itself: dry, varnished alike, under two lights; the person decides",
        )
        .note(
            "source",
            "Sharma, Wu, Dalal, Color Res. Appl. 30 (2005) 21; CIELAB of 1976, daylight D65; IEC 61966-2-1 for #rrggbb",
        ))
}

/// Returns the one reading, or the median of three or more and how far a reading lies from it.
fn read_colour(
    flag: &'static str,
    texts: &[String],
) -> Result<(Colour, Option<f64>), ReckonTrouble> {
    let readings = texts
        .iter()
        .map(|text| colour(flag, text))
        .collect::<Result<Vec<Colour>, ReckonTrouble>>()?;
    match readings.as_slice() {
        [only] => Ok((*only, None)),
        several => {
            let (middle, spread) = middle_colour(several).map_err(refused("colour"))?;
            Ok((middle, Some(spread)))
        }
    }
}

fn colour(flag: &'static str, text: &str) -> Result<Colour, ReckonTrouble> {
    let shape = || ReckonTrouble::Shape {
        flag,
        what: format!("`{}` is not a colour", text.trim()),
        remedy: "write L,a,b like 62.1,8.4,21.0, or #rrggbb".to_owned(),
    };
    if let Some(hex) = text.trim().strip_prefix('#') {
        let bytes = (hex.len() == 6 && hex.chars().all(|it| it.is_ascii_hexdigit()))
            .then(|| u32::from_str_radix(hex, 16).ok())
            .flatten()
            .map(u32::to_be_bytes)
            .ok_or_else(shape)?;
        let [_, red, green, blue] = bytes;
        return Ok(Colour::srgb([red, green, blue]));
    }
    let parts: Vec<&str> = text.split(',').collect();
    let [l, a, b] = parts.as_slice() else {
        return Err(shape());
    };
    let number = |part: &str| plain_number(flag, part, "62.1,8.4,21.0");
    Colour::lab(number(l)?, number(a)?, number(b)?).map_err(refused("colour"))
}

/// Answers `reckon surface`: the curved side, and with the flat ends.
///
/// # Errors
/// Sizes that cannot be read, too many or too few, or that make no solid.
pub(super) fn answer_surface(args: &SurfaceArgs) -> Result<Answer, ReckonTrouble> {
    let solid = solid(args.solid, &args.size)?;
    let area = solid.area().map_err(refused("surface"))?;
    let ends = solid.ends().map_err(refused("surface"))?;
    Ok(Answer::new()
        .number("area_m2", area.0, ("curved side", 4, "m²"))
        .number("with_ends_m2", area.0 + ends.0, ("with flat ends", 4, "m²"))
        .note("because", format!("sizes are: {}", solid.sizes()))
        .note(
            "safe_side",
            "carving adds 15–60 % by its relief (common practice); multiply before ordering leaf or paint",
        )
        .note(
            "source",
            "solid geometry; ellipsoid by B. C. Carlson's symmetric integrals, Numer. Algorithms 10 (1995) 13",
        ))
}

fn solid(kind: SolidKind, text: &str) -> Result<Solid, ReckonTrouble> {
    let lengths = text
        .split([',', ';', '×', 'x'])
        .map(|part| taken::<Millimetres>("--size", part).map(|it| it.0))
        .collect::<Result<Vec<f64>, ReckonTrouble>>()?;
    match (kind, lengths.as_slice()) {
        (SolidKind::Ellipsoid, [a, b, c]) => Ok(Solid::Ellipsoid([*a, *b, *c])),
        (SolidKind::Cylinder, [r, h]) => Ok(Solid::Cylinder([*r, *h])),
        (SolidKind::Cone, [r, h]) => Ok(Solid::Cone([*r, *h])),
        (SolidKind::Frustum, [one, other, h]) => Ok(Solid::Frustum([*one, *other, *h])),
        (SolidKind::HalfBall, [r]) => Ok(Solid::HalfBall([*r])),
        (SolidKind::Cap, [r, h]) => Ok(Solid::Cap([*r, *h])),
        (SolidKind::Ring, [around, tube]) => Ok(Solid::Ring([*around, *tube])),
        (kind, lengths) => Err(ReckonTrouble::Shape {
            flag: "--size",
            what: format!("{} sizes do not make this solid", lengths.len()),
            remedy: format!("give {}, with commas between", sizes_of(kind)),
        }),
    }
}

fn sizes_of(kind: SolidKind) -> &'static str {
    match kind {
        SolidKind::Ellipsoid => Solid::Ellipsoid([1.0; 3]),
        SolidKind::Cylinder => Solid::Cylinder([1.0; 2]),
        SolidKind::Cone => Solid::Cone([1.0; 2]),
        SolidKind::Frustum => Solid::Frustum([1.0; 3]),
        SolidKind::HalfBall => Solid::HalfBall([1.0]),
        SolidKind::Cap => Solid::Cap([1.0; 2]),
        SolidKind::Ring => Solid::Ring([1.0; 2]),
    }
    .sizes()
}

/// Answers `reckon fit`.
///
/// # Errors
/// A file that cannot be read or holds no numbers; points that make no line or no approach.
pub(super) fn answer_fit(args: &FitArgs, files: Files<'_>) -> Result<Answer, ReckonTrouble> {
    match (&args.line, &args.approach) {
        (Some(path), _) => line(&points(&Sheet::read(path, 2, files)?)),
        (None, Some(path)) => {
            let start = match &args.start {
                Some(text) => Start::Held(plain_number("--start", text, "0")?),
                None => Start::Free,
            };
            curve(&points(&Sheet::read(path, 2, files)?), start)
        }
        (None, None) => Err(ReckonTrouble::Shape {
            flag: "--line",
            what: "no file to fit".to_owned(),
            remedy: "give --line FILE.csv or --approach FILE.csv".to_owned(),
        }),
    }
}

/// Returns x and y of each row; a head of `y,x` turns the columns round.
fn points(sheet: &Sheet) -> Vec<(f64, f64)> {
    let turned =
        matches!(sheet.names.as_slice(), [first, second, ..] if first == "y" && second == "x");
    let pair = |cells: &[f64]| match cells {
        [first, second, ..] if turned => Some((*second, *first)),
        [first, second, ..] => Some((*first, *second)),
        _ => None,
    };
    sheet
        .rows
        .iter()
        .filter_map(|row| pair(&row.cells))
        .collect()
}

/// Adds a standard error, or says that it takes more points.
fn error_of(answer: Answer, key: &'static str, error: Option<f64>, label: &str) -> Answer {
    match error {
        Some(error) => answer.number(key, error, (label, 6, "")),
        None => answer.missing(key, label, "unknown: it takes more points"),
    }
}

fn line(points: &[(f64, f64)]) -> Result<Answer, ReckonTrouble> {
    let fit = straight_line(points).map_err(refused("fit"))?;
    let factor = |place: usize| fit.factors.get(place).copied().unwrap_or(f64::NAN);
    let error = |place: usize| {
        fit.standard_errors
            .as_ref()
            .and_then(|it| it.get(place).copied())
    };
    let mut answer = Answer::new()
        .number("slope", factor(1), ("slope", 6, ""))
        .number("intercept", factor(0), ("intercept", 6, ""));
    answer = match fit.r_squared {
        Some(share) => answer.number("r_squared", share, ("explained (r squared)", 4, "")),
        None => answer.missing(
            "r_squared",
            "explained (r squared)",
            "unknown: y does not vary",
        ),
    };
    answer = error_of(
        answer,
        "slope_standard_error",
        error(1),
        "standard error of the slope",
    );
    answer = error_of(
        answer,
        "intercept_standard_error",
        error(0),
        "standard error of the intercept",
    );
    answer = error_of(
        answer,
        "residual_sd",
        fit.residual_sd,
        "standard deviation left",
    );
    Ok(answer
        .count("points", points.len(), "points")
        .note("because", "y = intercept + slope · x by least squares")
        .note("safe_side", "never read a line beyond its points")
        .note(
            "source",
            "tried against the Statistical Reference Datasets of NIST",
        ))
}

fn curve(points: &[(f64, f64)], start: Start) -> Result<Answer, ReckonTrouble> {
    let fit = approach(points, start).map_err(refused("fit"))?;
    let error = |pick: fn([f64; 3]) -> f64| fit.standard_errors.map(pick);
    let mut answer = Answer::new()
        .number("start", fit.start, ("start, at x = 0", 6, ""))
        .number("end", fit.end, ("end", 6, ""))
        .number("rate", fit.rate, ("rate, per unit of x", 6, ""));
    answer = error_of(
        answer,
        "start_standard_error",
        error(|[it, _, _]| it),
        "standard error of the start",
    );
    answer = error_of(
        answer,
        "end_standard_error",
        error(|[_, it, _]| it),
        "standard error of the end",
    );
    answer = error_of(
        answer,
        "rate_standard_error",
        error(|[_, _, it]| it),
        "standard error of the rate",
    );
    answer = error_of(
        answer,
        "residual_sd",
        fit.residual_sd,
        "standard deviation left",
    );
    Ok(answer
        .count("points", points.len(), "points")
        .note(
            "because",
            "y = end + (start − end) · e^(−rate · x) by least squares",
        )
        .note(
            "safe_side",
            "the end is read from the part that was seen: mind its standard error",
        )
        .note(
            "source",
            "tried against the Statistical Reference Datasets of NIST",
        ))
}
