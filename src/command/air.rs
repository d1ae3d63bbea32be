//! `air ROOM --temp T --humidity RH`: a reading of a room's air, by hand or from a sensor.

use std::path::Path;

use super::misuse::taken;
use super::opened::Opened;
use super::paper::Paper;
use super::{AirArgs, names};
use crate::deed::HAND;
use crate::reckon::{Celsius, Percent};
use crate::shop::{RoomAir, read_sensors};
use crate::standing::{Intent, Moment};
use crate::trouble::{ExitKind, Trouble};

/// The longest name of a sensor, as of a short name on a card.
const LONGEST_SOURCE: usize = 40;

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
    if args.from_sensors {
        return from_sensors(shop, &args.devices, paper);
    }
    // Without --from-sensors the table asks for all three.
    let given = |word: &Option<String>| word.clone().unwrap_or_default();
    let (room, temp, humidity) = (given(&args.room), given(&args.temp), given(&args.humidity));
    let temp_c = taken::<Celsius>("--temp", &temp)?.0;
    let humidity_percent = taken::<Percent>("--humidity", &humidity)?.0;
    names::room(&shop.cards, &room)?;
    let (mut moment, source) = signed(shop, args.source.as_deref())?;
    if let Some(at) = args.at {
        moment.at = shop.taken_at(at)?;
    }
    let intent = Intent::Air {
        room,
        temp_c,
        humidity_percent,
        source,
    };
    shop.act(&intent, &moment, paper)
}

/// Keeps one reading for each room with a sensor. A sensor that gives none is told beside the
/// answer, and the others are kept all the same; the exit code says that something was wrong.
fn from_sensors(shop: &Opened, devices: &Path, paper: &mut Paper<'_>) -> Result<ExitKind, Trouble> {
    let sensors = &shop.cards.shop.sensors;
    if sensors.is_empty() {
        return Err(
            Trouble::new(ExitKind::Misuse, "no sensor is on the shop card")
                .at("shop.yaml")
                .remedy("add `sensors:` with room, kind and path, or enter the reading by hand"),
        );
    }
    let mut ended = ExitKind::Well;
    for read in read_sensors(shop.disk.as_ref(), devices, sensors) {
        let kept = read
            .map_err(|(room, fault)| (room, fault.to_string()))
            .and_then(|air| keep(shop, air, paper));
        if let Err((room, why)) = kept {
            paper.note(&format!("{room}: {why}"));
            ended = ExitKind::Found;
        }
    }
    Ok(ended)
}

/// Keeps one reading, signed by its sensor; the room and why, when it cannot be kept.
fn keep(shop: &Opened, air: RoomAir, paper: &mut Paper<'_>) -> Result<(), (String, String)> {
    let moment = shop.moment_of(air.source.clone());
    let room = air.room.clone();
    let intent = Intent::Air {
        room: air.room,
        temp_c: air.temp_c,
        humidity_percent: air.humidity_percent,
        source: air.source,
    };
    let kept = shop.act(&intent, &moment, paper);
    kept.map(drop).map_err(|trouble| (room, trouble.what))
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
    let fits = |sign: char| sign.is_alphanumeric() || matches!(sign, '-' | '_' | '.' | ' ');
    let is_name = sensor.len() <= LONGEST_SOURCE && sensor.chars().all(fits);
    if sensor.trim().is_empty() || sensor == HAND || is_person || !is_name {
        return Err(Trouble::new(
            ExitKind::Misuse,
            format!("`{sensor}` is no name for a sensor"),
        )
        .at("--source")
        .remedy(
            "give it a name of letters and digits that no person has; a person signs with --as",
        ));
    }
    let named = shop.has_writer();
    let moment = if named {
        shop.moment()?
    } else {
        shop.moment_of(sensor.to_owned())
    };
    Ok((moment, sensor.to_owned()))
}
