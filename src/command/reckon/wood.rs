//! Topics of wood and water: what the air allows, what air it takes, drying, movement.

use clap::Args;

use super::Answer;
use super::flag::{ReckonTrouble, refused, taken};
use super::trace_file::moment_in;
use crate::reckon::drying::{Drying, Reading, drying};
use crate::reckon::moisture::{emc, humidity_for};
use crate::reckon::movement::{Cut, movement};
use crate::reckon::woods::wood_called;
use crate::reckon::{Estimate, Hours, Millimetres, Percent};

/// Flags of `reckon emc`.
#[derive(Debug, Clone, Args)]
pub struct EmcArgs {
    /// Air temperature, such as 21C or 70F
    #[arg(long, allow_hyphen_values = true)]
    pub air: String,
    /// Relative humidity, such as 65%
    #[arg(long)]
    pub humidity: String,
}

/// Flags of `reckon air-for`.
#[derive(Debug, Clone, Args)]
pub struct AirForArgs {
    /// Wood moisture to reach, such as 12%
    #[arg(long)]
    pub moisture: String,
    /// Air temperature, such as 21C or 70F
    #[arg(long, allow_hyphen_values = true)]
    pub air: String,
}

/// Flags of `reckon drying`.
#[derive(Debug, Clone, Args)]
pub struct DryingArgs {
    /// Time and moisture of a reading, and the point's name if there are several, such as
    /// "24h 18.2%", "2031-03-04T08:00 18.2%" or "2d 17.1% left knee"; repeat for each reading
    #[arg(long, required = true, num_args = 1.., value_name = "TIME MC [POINT]")]
    pub reading: Vec<String>,
    /// Air temperature, such as 21C or 70F
    #[arg(long, allow_hyphen_values = true)]
    pub air: String,
    /// Relative humidity, such as 65%
    #[arg(long)]
    pub humidity: String,
    /// Wood moisture to wait for, such as 12%
    #[arg(long)]
    pub target: String,
}

/// Flags of `reckon movement`.
#[derive(Debug, Clone, Args)]
pub struct MovementArgs {
    /// The wood, such as lime or "white oak"
    #[arg(long)]
    pub wood: String,
    /// Width across the grain, such as 120mm or 4.75in
    #[arg(long)]
    pub across: String,
    /// Wood moisture before, such as 12%
    #[arg(long)]
    pub from: String,
    /// Wood moisture after, such as 8%
    #[arg(long)]
    pub to: String,
    /// How the board was sawn
    #[arg(long, value_enum)]
    pub cut: SawnAs,
}

/// How a board was sawn, as a flag.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum SawnAs {
    /// Flat-sawn: the width along the rings
    Flat,
    /// Quarter-sawn: the width along the rays
    Quarter,
}

/// The source of every figure of equilibrium moisture.
const EMC_SOURCE: &str = "Wood Handbook, FPL-GTR-190 (2010), eq. 4-5 and Table 4-2";
/// Where it holds, as shown.
const EMC_HOLDS: &str =
    "-1.1–132.2 °C and 5–95 % humidity; Sitka spruce, other woods differ by about a point";

/// Answers `reckon emc`.
///
/// # Errors
/// Flags that cannot be read; air beyond the table.
pub(super) fn answer_emc(args: &EmcArgs) -> Result<Answer, ReckonTrouble> {
    let air = taken("--air", &args.air)?;
    let humidity = taken("--humidity", &args.humidity)?;
    let moisture = emc(air, humidity).map_err(refused("emc"))?;
    Ok(Answer::new()
        .number("emc_percent", moisture.0, ("wood comes to", 1, "%"))
        .note(
            "because",
            format!(
                "air of {:.1} °C and {:.0} % humidity allows no drier",
                air.0, humidity.0
            ),
        )
        .note("holds", EMC_HOLDS)
        .note("source", EMC_SOURCE))
}

/// Answers `reckon air-for`.
///
/// # Errors
/// Flags that cannot be read; moisture that no air of the table leads to.
pub(super) fn answer_air_for(args: &AirForArgs) -> Result<Answer, ReckonTrouble> {
    let moisture = taken("--moisture", &args.moisture)?;
    let air = taken("--air", &args.air)?;
    let humidity = humidity_for(moisture, air).map_err(refused("air-for"))?;
    Ok(Answer::new()
        .number("humidity_percent", humidity.0, ("humidity at most", 1, "%"))
        .note(
            "because",
            format!(
                "wetter air at {:.1} °C never lets wood come down to {} %",
                air.0, moisture.0
            ),
        )
        .note(
            "safe_side",
            "the last point comes slowly: keep the room some points drier",
        )
        .note("holds", EMC_HOLDS)
        .note("source", EMC_SOURCE))
}

/// Answers `reckon drying`. Hours count on the readings' own scale; `left_…_h` from the newest one.
///
/// # Errors
/// Flags that cannot be read; readings, target or air beyond the limits; nothing that dries.
pub(super) fn answer_drying(args: &DryingArgs) -> Result<Answer, ReckonTrouble> {
    let readings = args
        .reading
        .iter()
        .map(|it| reading(it))
        .collect::<Result<Vec<(When, Reading)>, ReckonTrouble>>()
        .and_then(one_count)?;
    let air = (
        taken("--air", &args.air)?,
        taken("--humidity", &args.humidity)?,
    );
    let target: Percent = taken("--target", &args.target)?;
    let last = readings.iter().map(|it| it.at.0).fold(0.0, f64::max);
    let answer = match drying(&readings, air, target).map_err(refused("drying"))? {
        Drying::Reaches {
            at,
            point,
            doubtful,
            emc,
        } => {
            let mut answer = reached(&at, last, emc);
            if !point.is_empty() {
                answer = answer.word("worst_point", &point, "worst point");
            }
            if doubtful {
                answer.note(
                    "warning",
                    format!(
                        "the target is within half a point of the {:.1} % that this air allows: it may never come; dry the air",
                        emc.0
                    ),
                )
            } else {
                answer
            }
        }
        Drying::Never {
            emc,
            humidity_needed,
        } => never(emc, humidity_needed, target),
    };
    Ok(answer
        .note(
            "safe_side",
            "wait for the late time, then let a reading decide; the worst point counts, never the mean",
        )
        .note("holds", "4–30 % by a corrected pin meter (certain only for 7–28 %), steady air, no leaf or consolidant at the point")
        .note("source", EMC_SOURCE)
        .note(
            "source",
            "Forest Products Laboratory, Unidirectional Drying of Wood (1939): square root of time, then an exponential",
        ))
}

fn reached(at: &Estimate<Hours>, last: f64, emc: Percent) -> Answer {
    let left = at.map(|it| Hours(it.0 - last));
    Answer::new()
        .truth("reaches", true, "reaches the target", ["yes", "no"])
        .number(
            "early_h",
            at.do_before().0,
            ("early", 0, "h on the readings' scale"),
        )
        .number("likely_h", at.likely().0, ("likely", 0, "h"))
        .number("late_h", at.wait_until().0, ("late", 0, "h"))
        .number(
            "left_early_h",
            left.do_before().0,
            ("from the newest reading, early", 0, "h"),
        )
        .number("left_likely_h", left.likely().0, ("likely", 0, "h"))
        .number("left_late_h", left.wait_until().0, ("late", 0, "h"))
        .number("emc_percent", emc.0, ("wood comes to", 1, "%"))
        .note("because", at.because())
}

fn never(emc: Percent, humidity_needed: Option<Percent>, target: Percent) -> Answer {
    let answer = Answer::new()
        .truth(
            "reaches",
            false,
            "reaches the target",
            ["yes", "never in this air"],
        )
        .missing("early_h", "early", "never")
        .missing("likely_h", "likely", "never")
        .missing("late_h", "late", "never")
        .number("emc_percent", emc.0, ("wood comes to", 1, "%"));
    let answer = match humidity_needed {
        Some(humidity) => answer.number(
            "humidity_needed_percent",
            humidity.0,
            ("humidity needed, at most", 0, "%"),
        ),
        None => answer.missing(
            "humidity_needed_percent",
            "humidity needed",
            "drier than the table goes; warm the room",
        ),
    };
    answer.note(
        "because",
        format!(
            "this air allows {:.1} %, and {} % is asked",
            emc.0, target.0
        ),
    )
}

/// Returns the reading in a text such as `24h 18.2% left knee`; spaces before units do not matter.
fn reading(text: &str) -> Result<(When, Reading), ReckonTrouble> {
    let shape = || ReckonTrouble::Shape {
        flag: "--reading",
        what: format!("`{}` is not a time and a moisture", text.trim()),
        remedy: "write it like \"24h 18.2%\", with the point's name behind if there are several"
            .to_owned(),
    };
    let end = text.find('%').ok_or_else(shape)? + 1;
    let (figures, point) = text.split_at_checked(end).ok_or_else(shape)?;
    let point = point.trim_matches([',', ';', ' ']).to_owned();
    let tight = figures.replace(" %", "%");
    let dated = tight.trim().rsplit_once([' ', ',', ';']);
    if let Some((date, moisture)) = dated
        && let Some(hours) = moment_in(date.trim().trim_end_matches([',', ';', ' ']))
    {
        let moisture = taken("--reading", moisture)?;
        let at = Hours(hours);
        return Ok((
            When::Dated,
            Reading {
                at,
                moisture,
                point,
            },
        ));
    }
    let is_unit = |it: char| it.is_alphabetic();
    // The time ends with the last letter of its unit; the moisture has no letters before its sign.
    let (place, letter) = figures
        .char_indices()
        .rfind(|it| is_unit(it.1))
        .ok_or_else(shape)?;
    let (time, moisture) = figures
        .split_at_checked(place + letter.len_utf8())
        .ok_or_else(shape)?;
    let moisture = moisture.trim_start_matches([',', ';', ':', '=', ' ']);
    let reading = Reading {
        at: taken("--reading", time)?,
        moisture: taken("--reading", moisture)?,
        point,
    };
    Ok((When::Counted, reading))
}

/// How the time of a reading was given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum When {
    /// Hours since any beginning.
    Counted,
    /// A date with a time, here in hours since 1970.
    Dated,
}

/// Returns the readings on one count of hours; dates count from the first of them.
fn one_count(readings: Vec<(When, Reading)>) -> Result<Vec<Reading>, ReckonTrouble> {
    let dated = readings.iter().filter(|it| it.0 == When::Dated).count();
    if 0 < dated && dated < readings.len() {
        return Err(ReckonTrouble::Shape {
            flag: "--reading",
            what: "some readings have a date and some have hours".to_owned(),
            remedy: "give all of them a date, or all of them hours".to_owned(),
        });
    }
    let first = readings
        .iter()
        .map(|it| it.1.at.0)
        .fold(f64::INFINITY, f64::min);
    let begin = if 0 < dated { first } else { 0.0 };
    let on_count = readings.into_iter().map(|(_, reading)| Reading {
        at: Hours(reading.at.0 - begin),
        ..reading
    });
    Ok(on_count.collect())
}

/// Answers `reckon movement`.
///
/// # Errors
/// Flags that cannot be read; a wood that is not listed; moisture beyond the limits.
pub(super) fn answer_movement(args: &MovementArgs) -> Result<Answer, ReckonTrouble> {
    let wood = wood_called(&args.wood).map_err(refused("movement"))?;
    let across: Millimetres = taken("--across", &args.across)?;
    let from = taken("--from", &args.from)?;
    let to = taken("--to", &args.to)?;
    let cut = match args.cut {
        SawnAs::Flat => Cut::Flat,
        SawnAs::Quarter => Cut::Quarter,
    };
    let moved = movement(wood, across, [from, to], cut).map_err(refused("movement"))?;
    Ok(Answer::new()
        .number("change_mm", moved.change.0, ("change across the grain", 2, "mm"))
        .number("width_mm", across.0 + moved.change.0, ("width afterwards", 2, "mm"))
        .note("because", moved.because)
        .note("known", moved.known.words())
        .note("holds", "0–30 % moisture; an average tree, straight grain, free to move; single boards differ by a third")
        .note("safe_side", "where two sources differ the larger movement is given; leave room for more")
        .note(
            "source",
            "Wood Handbook, FPL-GTR-190 (2010), eq. 13-2, 13-3, Tables 13-5, 4-3, 4-4; R. B. Hoadley in The Structural Conservation of Panel Paintings (1998), Table 1",
        ))
}
