//! Topics of wood and water: what the air allows, what air it takes, drying, movement.

use clap::Args;

use super::Answer;
use super::flag::{ReckonTrouble, refused, taken};
use crate::reckon::moisture::{emc, humidity_for};

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
            "safe side",
            "the last point comes slowly: keep the room some points drier",
        )
        .note("holds", EMC_HOLDS)
        .note("source", EMC_SOURCE))
}
