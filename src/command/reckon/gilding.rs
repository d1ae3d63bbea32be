//! Topics of size, leaf and coats: equivalent hours, tack, leaves and books, litres.

use std::path::PathBuf;

use clap::Args;

use super::flag::{ReckonTrouble, plain_number, refused, taken, taken_if_given};
use super::trace_file::{air_in, trace_in};
use super::{Answer, Files};
use crate::reckon::equivalent::PLAIN_LAW;
use crate::reckon::leaf::USUAL_LAP;
use crate::reckon::{
    Air, Celsius, LeafJob, LeafPlace, Micrometres, Pace, Percent, SizeClass, SquareMetresPerLitre,
    SumTrouble, count_leaves, equivalent_hours, litres_for, nearest, spread_for_film, tack,
    wet_film_for, wet_film_of,
};

/// Flags of `reckon equivalent`.
#[derive(Debug, Clone, Args)]
pub struct EquivalentArgs {
    /// A CSV file of hour and temperature
    #[arg(long)]
    pub trace: PathBuf,
    /// The temperature of the stated hours, such as 20C
    #[arg(long)]
    pub reference: String,
    /// How many times faster it goes 10 °C warmer
    #[arg(long, default_value = "2")]
    pub q10: String,
}

/// Flags of `reckon tack`.
#[derive(Debug, Clone, Args)]
pub struct TackArgs {
    /// Class of the size: quick, `three_hour`, slow or `old_gold`
    #[arg(long)]
    pub class: String,
    /// A CSV file of hour, temperature and, if it is known, humidity, from the moment of laying
    #[arg(long)]
    pub trace: PathBuf,
    /// Relative humidity, such as 75%; without it that of the file, else 50 %
    #[arg(long)]
    pub humidity: Option<String>,
}

/// Flags of `reckon leaf`.
#[derive(Debug, Clone, Args)]
pub struct LeafArgs {
    /// Area as measured flat, such as 0.35m2
    #[arg(long)]
    pub area: String,
    /// Side of a leaf, such as 80mm
    #[arg(long)]
    pub leaf: String,
    /// How far a leaf lies over the next; without it 3mm
    #[arg(long)]
    pub lap: Option<String>,
    /// What is lost on top, such as 20%
    #[arg(long)]
    pub waste: Option<String>,
    /// Carved surface over the flat measure, such as 1.3
    #[arg(long)]
    pub relief: Option<String>,
}

/// Flags of `reckon coat`.
#[derive(Debug, Clone, Args)]
pub struct CoatArgs {
    /// Area, such as 3.9m2
    #[arg(long)]
    pub area: String,
    /// Spreading rate on this surface, such as 8m2/L; may be left out with solids and dry film
    #[arg(long, required_unless_present_all = ["solids", "dry_film"])]
    pub spread: Option<String>,
    /// How many coats
    #[arg(long, default_value_t = 1)]
    pub coats: u32,
    /// Volume solids, such as 50%
    #[arg(long, requires = "dry_film")]
    pub solids: Option<String>,
    /// Dry film of one coat, such as 30um
    #[arg(long, requires = "solids")]
    pub dry_film: Option<String>,
}

/// Answers `reckon equivalent`.
///
/// # Errors
/// A trace or flags that cannot be read; temperatures beyond the rule.
pub(super) fn answer_equivalent(
    args: &EquivalentArgs,
    files: Files<'_>,
) -> Result<Answer, ReckonTrouble> {
    let reference: Celsius = taken("--reference", &args.reference)?;
    let q10 = plain_number("--q10", &args.q10, "2")?;
    let pace = Pace::even(reference, q10).map_err(refused("equivalent"))?;
    let trace = trace_in(&args.trace, files)?;
    trace.hold(PLAIN_LAW).map_err(refused("equivalent"))?;
    if trace.points().len() < 2 {
        return Err(refused("equivalent")(SumTrouble::TooFew {
            what: "readings of the trace",
            given: trace.points().len(),
            needed: 2,
        }));
    }
    let (from, to) = (trace.first().0, trace.last().0);
    let worth = equivalent_hours(&trace, &pace, from, to);
    Ok(Answer::new()
        .number("equivalent_h", worth.0, ("worth", 2, "h"))
        .number("elapsed_h", to.0 - from.0, ("by the clock", 2, "h"))
        .note(
            "because",
            format!("factor {q10} per 10 °C, stated for {} °C", reference.0),
        )
        .note("holds", "0–45 °C; straight between readings")
        .note(
            "safe_side",
            "a likely value: promises take the factor's band, see tack and pot-life",
        )
        .note(
            "source",
            "10 °C doubles the rate: technical articles on epoxy; size: common practice",
        ))
}

/// Answers `reckon tack`.
///
/// # Errors
/// A class that is not listed; a trace or flags that cannot be read; a room that stays too cold.
pub(super) fn answer_tack(args: &TackArgs, files: Files<'_>) -> Result<Answer, ReckonTrouble> {
    let class = class_named(&args.class).map_err(refused("tack"))?;
    let given = taken_if_given("--humidity", args.humidity.as_deref())?;
    let night = air_in(&args.trace, files)?;
    // A humidity that is given counts for the whole night; else each bound takes its own side.
    let [driest, mean, dampest] = match (given, night.damp) {
        (Some(given), _) => [Some(given); 3],
        (None, Some(read)) => read.map(Some),
        (None, None) => [None; 3],
    };
    let trace = &night.trace;
    let at = |place, humidity| {
        let air = Air { trace, humidity };
        tack(&class.times(), place, air, trace.first().0).map_err(refused("tack"))
    };
    let early = at(LeafPlace::Flat, driest)?;
    let likely = at(LeafPlace::Flat, mean)?;
    let late = at(LeafPlace::Flat, dampest)?;
    let edge = at(LeafPlace::Edge, driest)?;
    let hollow = at(LeafPlace::Hollow, dampest)?;
    let hours = |hours: crate::reckon::Hours, words| (hours.0, (words, 2, "h"));
    let answer = [
        (
            "ready_early_h",
            hours(early.ready.do_before(), "ready, early"),
        ),
        (
            "ready_likely_h",
            hours(likely.ready.likely(), "ready, likely"),
        ),
        (
            "ready_late_h",
            hours(late.ready.wait_until(), "ready, late"),
        ),
        ("dead_early_h", hours(early.dead.do_before(), "dead, early")),
        (
            "edge_dead_early_h",
            hours(edge.dead.do_before(), "edges dead, early"),
        ),
        (
            "hollow_ready_late_h",
            hours(hollow.ready.wait_until(), "hollows ready, late"),
        ),
    ]
    .into_iter()
    .fold(Answer::new(), |answer, (key, (value, shown))| {
        answer.number(key, value, shown)
    });
    let damp = match (given, night.damp) {
        (None, Some([driest, _, dampest])) => {
            format!(", humidity {:.0}–{:.0} % in the file", driest.0, dampest.0)
        }
        _ => String::new(),
    };
    Ok(answer
        .note("because", format!("{}{damp}", late.ready.because()))
        .note(
            "holds",
            "hours after laying; after its last reading the trace stays as it is",
        )
        .note(
            "safe_side",
            "wait for ready late, be done by dead early; lay a witness chip",
        )
        .note(
            "source",
            "times of the classes: trade leaflets; factor 1.6–2.4 per 10 °C: from memory",
        ))
}

/// Answers `reckon leaf`.
///
/// # Errors
/// Flags that cannot be read; sums that refuse.
pub(super) fn answer_leaf(args: &LeafArgs) -> Result<Answer, ReckonTrouble> {
    let relief = args.relief.as_deref();
    let job = LeafJob {
        area: taken("--area", &args.area)?,
        leaf: taken("--leaf", &args.leaf)?,
        lap: taken_if_given("--lap", args.lap.as_deref())?.unwrap_or(USUAL_LAP),
        waste: taken_if_given("--waste", args.waste.as_deref())?.unwrap_or_default(),
        relief: relief.map_or(Ok(1.0), |text| plain_number("--relief", text, "1.3"))?,
    };
    let count = count_leaves(&job).map_err(refused("leaf"))?;
    let answer = Answer::new()
        .count("leaves", count.leaves, "leaves")
        .count("books", count.books, "books of 25")
        .number(
            "books_exact",
            count.books_exact,
            ("before rounding up", 2, "books"),
        )
        .count("books_with_spare", count.books + 1, "with one spare book")
        .note(
            "because",
            format!(
                "lap {} mm, waste {} %, relief {}",
                job.lap.0, job.waste.0, job.relief
            ),
        );
    let answer = if job.waste == Percent(0.0) {
        answer.note(
            "caution",
            "no waste is counted: flats 10 %, mouldings 15–20 %, ornament 30–50 %",
        )
    } else {
        answer
    };
    Ok(answer
        .note(
            "safe_side",
            "up; the spare book from the same lot, for shades differ",
        )
        .note(
            "source",
            "area over (side − lap)², within a published leaf specification",
        ))
}

/// Answers `reckon coat`.
///
/// # Errors
/// Flags that cannot be read; sums that refuse.
pub(super) fn answer_coat(args: &CoatArgs) -> Result<Answer, ReckonTrouble> {
    let area = taken("--area", &args.area)?;
    let given: Option<SquareMetresPerLitre> = taken_if_given("--spread", args.spread.as_deref())?;
    let solids: Option<Percent> = taken_if_given("--solids", args.solids.as_deref())?;
    let dry: Option<Micrometres> = taken_if_given("--dry-film", args.dry_film.as_deref())?;
    let no = refused("coat");
    let film = match (solids, dry) {
        (Some(solids), Some(dry)) => Some((
            spread_for_film(solids, dry).map_err(&no)?,
            wet_film_for(dry, solids, Percent(0.0)).map_err(&no)?,
        )),
        _ => None,
    };
    let spread = match (given, film) {
        (Some(given), Some((best, _))) if best < given => best,
        (Some(given), _) => given,
        (None, Some((best, _))) => best,
        (None, None) => SquareMetresPerLitre(f64::NAN),
    };
    let litres = litres_for(area, spread, args.coats).map_err(&no)?;
    let wet = match film {
        Some((_, wet)) => wet,
        None => wet_film_of(spread).map_err(&no)?,
    };
    let answer = Answer::new()
        .number("litres", litres.0, ("litres", 2, "L"))
        .number("wet_film_um", wet.0, ("wet film of one coat", 0, "µm"))
        .number("spread_m2_per_l", spread.0, ("reckoned with", 1, "m²/L"));
    let answer = match (given, film) {
        (Some(given), Some((best, _))) if best < given => answer.note(
            "caution",
            format!(
                "{:.1} m²/L cannot leave this dry film: at most {:.1} m²/L does",
                given.0, best.0
            ),
        ),
        _ => answer,
    };
    Ok(answer
        .note(
            "because",
            format!("coats: {}, each at {:.1} m²/L", args.coats, spread.0),
        )
        .note(
            "safe_side",
            "on carving about two thirds of the rate on a flat: give that rate",
        )
        .note(
            "source",
            "10 × volume solids % / dry film µm: printed estimating table of a coatings bulletin",
        ))
}

fn class_named(word: &str) -> Result<SizeClass, SumTrouble> {
    let known = ["quick", "three_hour", "slow", "old_gold"];
    let word = word.trim().to_lowercase().replace(['-', ' '], "_");
    SizeClass::named(&word).ok_or_else(|| SumTrouble::Unknown {
        kind: "class of size",
        near: nearest(&word, known.into_iter()).map(str::to_owned),
        known: known.join(", "),
        name: word,
    })
}
