//! `air ROOM --temp T --humidity RH`: a reading of a room's air, by hand or from a sensor.

use super::opened::Opened;
use super::paper::Paper;
use super::{AirArgs, names};
use crate::reckon::{Celsius, Measured, Percent, read};
use crate::standing::{Intent, Moment};
use crate::trouble::{ExitKind, Trouble};

/// The source of a reading that a person took.
const HAND: &str = "hand";

/// Keeps the reading.
///
/// # Errors
/// When a quantity has no unit or cannot be believed, the room is unknown, neither a person
/// nor a sensor is named, or the line cannot be kept.
pub(super) fn run(
    shop: &Opened,
    args: &AirArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let temp_c = taken::<Celsius>("--temp", &args.temp)?.0;
    let humidity_percent = taken::<Percent>("--humidity", &args.humidity)?.0;
    names::room(&shop.cards, &args.room)?;
    let (moment, source) = signed(shop, args.source.as_deref())?;
    let intent = Intent::Air {
        room: args.room.clone(),
        temp_c,
        humidity_percent,
        source,
    };
    shop.act(&intent, &moment, paper)
}

/// Returns who signs the line, and the source of the reading.
fn signed(shop: &Opened, sensor: Option<&str>) -> Result<(Moment, String), Trouble> {
    let Some(sensor) = sensor else {
        return Ok((shop.moment()?, HAND.to_owned()));
    };
    let is_person = shop
        .cards
        .shop
        .people
        .iter()
        .any(|known| known.id == sensor);
    if sensor.trim().is_empty() || sensor == HAND || is_person {
        return Err(Trouble::new(
            ExitKind::Misuse,
            format!("`{sensor}` is no name for a sensor"),
        )
        .at("--source")
        .remedy("give it a name that no person has; a person signs with --as"));
    }
    let named = shop.has_writer();
    let moment = if named {
        shop.moment()?
    } else {
        shop.moment_of(sensor.to_owned())
    };
    Ok((moment, sensor.to_owned()))
}

fn taken<Q: Measured>(flag: &str, text: &str) -> Result<Q, Trouble> {
    read(text).map_err(|wrong| {
        Trouble::new(ExitKind::Misuse, wrong.to_string())
            .at(flag)
            .remedy(wrong.remedy())
    })
}
