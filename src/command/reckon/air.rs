//! Topics of air: dew, purge, airflow.

use clap::Args;

use super::Answer;
use super::flag::{ReckonTrouble, plain_number, refused, taken, taken_if_given};
use crate::reckon::dew::{COATING_MARGIN_C, dew_point};
use crate::reckon::dilution::{
    DRAW_OFF_BELOW_PPM, GivenOff, HAZARDOUS_LEL_PERCENT, POOREST_MIXING, dilution,
};
use crate::reckon::exposure::{Solvent, solvent_called};
use crate::reckon::purge::{AirChanges, USUAL_MIXING, purge};
use crate::reckon::{Celsius, Grams, Hours, Millilitres, Minutes, PartsPerMillion, Percent, read};

/// Flags of `reckon dew`.
#[derive(Debug, Clone, Args)]
pub struct DewArgs {
    /// Air temperature, such as 21C or 70F
    #[arg(long, allow_hyphen_values = true)]
    pub air: String,
    /// Relative humidity, such as 65%
    #[arg(long)]
    pub humidity: String,
    /// Temperature of the figure's own surface, such as 18C
    #[arg(long, allow_hyphen_values = true)]
    pub surface: Option<String>,
}

/// Flags of `reckon purge`.
#[derive(Debug, Clone, Args)]
pub struct PurgeArgs {
    /// Volume of the room, such as 60m3 or 2100ft3; goes with --airflow
    #[arg(long)]
    pub room: Option<String>,
    /// Air drawn off, such as 12m3/min, 700m3/h or 400cfm
    #[arg(long, conflicts_with = "changes", required_unless_present = "changes")]
    pub airflow: Option<String>,
    /// Air changes per hour, such as 6
    #[arg(long)]
    pub changes: Option<String>,
    /// What share of the vapour may be left, such as 1% or 0.01
    #[arg(long)]
    pub to: String,
    /// Mixing factor from 1 (perfect) to 10 (poor); 3 when left out
    #[arg(long)]
    pub mixing: Option<String>,
}

/// Flags of `reckon airflow`.
#[derive(Debug, Clone, Args)]
pub struct AirflowArgs {
    /// The solvent, such as "white spirit"
    #[arg(long)]
    pub solvent: String,
    /// How fast it evaporates, such as 0.5L/h, 8ml/min or 7g/min
    #[arg(long)]
    pub evaporates: String,
    /// Mixing factor from 1 (perfect) to 10 (poor); 10 when left out
    #[arg(long)]
    pub mixing: Option<String>,
    /// Concentration to hold, such as 20ppm; the strictest listed limit when left out
    #[arg(long)]
    pub limit: Option<String>,
}

/// What stands under every sum about air to breathe.
const BREATHING: &str = "an estimate for planning: only measurement shows what is in the air; the safety data sheet, local codes and licensed practice win";

/// Answers `reckon dew`. Without a surface the margin is not known, for a figure from a cold store
/// sweats in good air.
///
/// # Errors
/// Flags that cannot be read; air beyond the formula.
pub(super) fn answer_dew(args: &DewArgs) -> Result<Answer, ReckonTrouble> {
    let air: Celsius = taken("--air", &args.air)?;
    let humidity: Percent = taken("--humidity", &args.humidity)?;
    let surface: Option<Celsius> = taken_if_given("--surface", args.surface.as_deref())?;
    let point = dew_point(air, humidity).map_err(refused("dew"))?;
    let mut answer = Answer::new().number("dew_point_c", point.dew.0, ("dew point", 1, "°C"));
    if let Some(frost) = point.frost {
        answer = answer.number("frost_point_c", frost.0, ("frost point", 1, "°C"));
    }
    answer = match surface {
        Some(surface) => answer
            .number("margin_c", point.margin(surface).0, ("surface above it by", 1, "°C"))
            .truth(
                "fit_to_coat",
                point.is_fit_to_coat(surface),
                "fit to coat",
                ["yes", "no"],
            )
            .note(
                "because",
                format!("a surface is coated {COATING_MARGIN_C} °C or more above the dew point"),
            ),
        None => answer
            .missing("margin_c", "surface above it by", "unknown")
            .missing("fit_to_coat", "fit to coat", "unknown")
            .note(
                "because",
                "no --surface given: measure the figure, not the room; a cold figure sweats in good air",
            ),
    };
    if 85.0 < humidity.0 {
        answer = answer.note(
            "caution",
            "above 85 % humidity many sheets forbid coating whatever the margin",
        );
    }
    if point.frost.is_some() {
        answer = answer.note(
            "caution",
            "below 0 °C the dew point is over water; hoar frost forms first, at the frost point",
        );
    }
    Ok(answer
        .note("holds", "-40–50 °C, 1–100 % humidity; within 0.03 °C above freezing")
        .note("source", "Alduchov & Eskridge, J. Appl. Meteor. 35 (1996) 601; the 3 °C rule as texts cite it from ISO 8502-4"))
}

/// Answers `reckon purge`.
///
/// # Errors
/// Flags that cannot be read or do not go together; shares and factors beyond the limits.
pub(super) fn answer_purge(args: &PurgeArgs) -> Result<Answer, ReckonTrouble> {
    let changes = air_changes(args)?;
    let left = share_left(&args.to)?;
    let mixing = match &args.mixing {
        Some(text) => plain_number("--mixing", text, "3")?,
        None => USUAL_MIXING,
    };
    let time = purge(changes, left, mixing).map_err(refused("purge"))?;
    let Minutes(minutes) = time.wait_until();
    let said = if args.mixing.is_some() {
        "as given"
    } else {
        "the safe choice when none is given; --mixing 1 gives the published table"
    };
    Ok(Answer::new()
        .number("minutes", minutes, ("wait", 1, "min"))
        .number(
            "minutes_if_mixed_perfectly",
            time.do_before().0,
            ("if mixed perfectly", 1, "min"),
        )
        .number("mixing", mixing, ("mixing factor", 1, &format!("({said})")))
        .number("changes_per_h", changes.value(), ("air changes", 1, "per hour"))
        .note("because", format!("until {} % of the vapour is left", crate::reckon::limits::shown(left * 100.0)))
        .note("safe_side", "counts only once the source is removed or covered and clean air comes in; fan off, clock stopped")
        .note("caution", BREATHING)
        .note("source", "Centers for Disease Control, Environmental Infection Control (2003), App. B, Table B.1 (perfect mixing)"))
}

fn air_changes(args: &PurgeArgs) -> Result<AirChanges, ReckonTrouble> {
    match (&args.changes, &args.airflow, &args.room) {
        (Some(changes), _, _) => {
            let plain = changes.to_lowercase();
            let bare = ["/h", "ach", "per hour"]
                .iter()
                .find_map(|sign| plain.trim().strip_suffix(sign))
                .unwrap_or(&plain);
            AirChanges::per_hour(plain_number("--changes", bare, "6")?)
        }
        (None, Some(airflow), Some(room)) => {
            AirChanges::of_room(taken("--room", room)?, taken("--airflow", airflow)?)
        }
        _ => {
            return Err(ReckonTrouble::Shape {
                flag: "--airflow",
                what: "an airflow alone does not say how often the room's air changes".to_owned(),
                remedy: "give --room with --airflow, or --changes alone".to_owned(),
            });
        }
    }
    .map_err(refused("purge"))
}

/// Returns the share of a text such as `1%` or `0.01`; a share has no unit, so either will do.
fn share_left(text: &str) -> Result<f64, ReckonTrouble> {
    match text.trim().strip_suffix('%') {
        Some(percent) => Ok(plain_number("--to", percent, "1% or 0.01")? / 100.0),
        None => plain_number("--to", text, "1% or 0.01"),
    }
}

/// Answers `reckon airflow`.
///
/// # Errors
/// Flags that cannot be read; a solvent that is not listed, or has no limit and none is given.
pub(super) fn answer_airflow(args: &AirflowArgs) -> Result<Answer, ReckonTrouble> {
    let solvent = solvent_called(&args.solvent).map_err(refused("airflow"))?;
    let given_off = given_off(&args.evaporates)?;
    let mixing = match &args.mixing {
        Some(text) => plain_number("--mixing", text, "5")?,
        None => POOREST_MIXING,
    };
    let (held, whence) = limit_to_hold(solvent, args.limit.as_deref())?;
    let air = dilution(solvent, given_off, held, mixing).map_err(refused("airflow"))?;
    let mut answer = Answer::new()
        .number(
            "airflow_m3_per_min",
            air.airflow.0,
            ("clean air needed", 1, "m³/min"),
        )
        .number(
            "share_of_lel_percent",
            air.share_of_lel_percent,
            ("share of the explosive limit", 3, "%"),
        )
        .number("limit_ppm", held.0, ("held at", 0, "ppm"))
        .number(
            "mixing",
            mixing,
            ("mixing factor", 1, "(1 perfect, 10 poor)"),
        )
        .note("because", whence)
        .note(
            "known",
            format!(
                "lower explosive limit {} % of air: {}",
                solvent.lel_percent,
                solvent.lel_known.words()
            ),
        );
    if held.0 < DRAW_OFF_BELOW_PPM || solvent.name == "methylene chloride" {
        answer = answer.note(
            "caution",
            "at so low a limit dilution is the wrong way: draw the vapour off where it arises",
        );
    }
    if HAZARDOUS_LEL_PERCENT <= air.share_of_lel_percent {
        answer = answer.note(
            "caution",
            "from 10 % of the explosive limit on air counts as hazardous: hold less, no sparks, no flame",
        );
    }
    Ok(answer
        .note("caution", BREATHING)
        .note("holds", "steady evaporation at 20 °C, clean supply air")
        .note(
            "source",
            "ACGIH, Industrial Ventilation, dilution formula, as quoted in a university handout",
        ))
}

fn limit_to_hold(
    solvent: &Solvent,
    given: Option<&str>,
) -> Result<(PartsPerMillion, String), ReckonTrouble> {
    if let Some(held) = taken_if_given("--limit", given)? {
        return Ok((held, "the limit as given".to_owned()));
    }
    let limit = solvent.strictest().ok_or_else(|| ReckonTrouble::Shape {
        flag: "--limit",
        what: format!("no limit is listed for {}", solvent.name),
        remedy: "give the one of its safety data sheet, such as --limit 10ppm".to_owned(),
    })?;
    Ok((
        PartsPerMillion(limit.ppm),
        format!(
            "strictest listed limit: {} {} ppm, {} ({})",
            limit.authority,
            limit.ppm,
            limit.source,
            limit.known.words()
        ),
    ))
}

/// Returns the amount per minute in a text such as `0.5L/h`, `8ml/min`, `7 g/min`.
fn given_off(text: &str) -> Result<GivenOff, ReckonTrouble> {
    let shape = || ReckonTrouble::Shape {
        flag: "--evaporates",
        what: format!("`{}` is not an amount in a time", text.trim()),
        remedy: "write it like 0.5L/h, 8ml/min or 7g/min".to_owned(),
    };
    let (amount, time) = text.split_once('/').ok_or_else(shape)?;
    let span: Hours = read(&format!("1{}", time.trim())).or(Err(shape()))?;
    let minutes = Minutes::from(span).0;
    match read::<Millilitres>(amount) {
        Ok(volume) => Ok(GivenOff::Volume(Millilitres(volume.0 / minutes))),
        Err(_volume) => {
            let weight: Grams = read(amount).or(Err(shape()))?;
            Ok(GivenOff::Weight(Grams(weight.0 / minutes)))
        }
    }
}
