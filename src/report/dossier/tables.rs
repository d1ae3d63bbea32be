//! The tables of a figure's folder: everything that was written down, as rows.

use super::csv::Csv;
use super::joint_record::{gaps_table, joints_table};
use super::layers::{Stack, stacks, tried};
use super::materials::used;
use super::record::Record;
use crate::deed::{Deed, Line};
use crate::report::shown::number;
use crate::report::study::{lights_words, spot_word, state_words};
use crate::report::tell;
use crate::report::tell::work_of;
use crate::standing::{Depth, PhotoSeen, TieSeen, moisture, photos, relation_words};

/// Returns every table with its name.
pub(super) fn all(record: &Record<'_>) -> Vec<(String, Vec<u8>)> {
    let named = |name: &str, csv: Csv| (name.to_owned(), csv.finish());
    vec![
        named("journal.csv", journal(record)),
        named("moisture.csv", wood(record)),
        named("air.csv", air(record)),
        named("layers.csv", layers(record)),
        named("ties.csv", ties(record)),
        named("zones.csv", zones(record)),
        named("colours.csv", colours(record)),
        named("chips.csv", chips(record)),
        named("materials.csv", materials(record)),
        named("photos.csv", photographs(record)),
        named("joints.csv", joints_table(record)),
        named("gaps.csv", gaps_table(record)),
    ]
}

fn journal(record: &Record<'_>) -> Csv {
    let heads = [
        "line",
        "at",
        "by",
        "deed",
        "operation",
        "target",
        "round",
        "text",
        "struck",
        "entered_later",
    ];
    let mut csv = Csv::new(&heads);
    let struck: Vec<u64> = record.struck().map(|line| line.n).collect();
    for line in record.ask.lines {
        let work = work_of(&line.deed);
        csv.row(&[
            line.n.to_string(),
            line.at.to_rfc3339(),
            record.voice.who(&line.by),
            line.deed.tag(),
            work.map(|work| work.operation.clone()).unwrap_or_default(),
            work.and_then(|work| work.target.clone())
                .unwrap_or_default(),
            work.map(|work| work.round.to_string()).unwrap_or_default(),
            record.voice.words(&tell(line, record.cards())),
            if struck.contains(&line.n) { "yes" } else { "" }.to_owned(),
            line.entered_later
                .map(|at| at.to_rfc3339())
                .unwrap_or_default(),
        ]);
    }
    csv
}

fn wood(record: &Record<'_>) -> Csv {
    let mut csv = Csv::new(&["at", "target", "point", "depth", "moisture_percent"]);
    for series in moisture(record.ask.house, &record.ask.figure.id) {
        let depth = match series.depth {
            Depth::Skin => "skin",
            Depth::Core => "core",
        };
        for point in &series.points {
            csv.row(&[
                point.at.to_rfc3339(),
                series.target.clone().unwrap_or_default(),
                series.point.clone(),
                depth.to_owned(),
                number(point.value, 2),
            ]);
        }
    }
    csv
}

/// The air of every room in which the figure stood, while it stood there.
fn air(record: &Record<'_>) -> Csv {
    let mut csv = Csv::new(&["at", "room", "temperature_c", "humidity_percent"]);
    for (room, readings) in rooms(record) {
        for reading in readings {
            csv.row(&[
                reading.at.to_rfc3339(),
                room.clone(),
                number(reading.temp_c, 2),
                number(reading.humidity_percent, 1),
            ]);
        }
    }
    csv
}

/// Returns the rooms in which a figure stood since its first entry, with their readings while
/// it stood there.
pub(super) fn rooms(record: &Record<'_>) -> Vec<(String, Vec<crate::standing::AirReading>)> {
    let Some(first) = record.ask.lines.first() else {
        return Vec::new();
    };
    let mut stays = vec![(first.at, record.ask.figure.room.clone())];
    stays.extend(record.lines().filter_map(moved));
    let ends = stays.iter().skip(1).map(|(at, _)| *at);
    let ends = ends.chain([record.ask.now]);
    let log = &record.ask.house.standing.shop.air;
    stays
        .iter()
        .zip(ends)
        .map(|((from, room), to)| {
            let readings = log.get(room).into_iter().flatten();
            let here = readings.filter(|one| *from <= one.at && one.at <= to);
            (room.clone(), here.copied().collect())
        })
        .collect()
}

fn moved(line: &Line) -> Option<(chrono::DateTime<chrono::FixedOffset>, String)> {
    match &line.deed {
        Deed::Moved(deed) => Some((line.at, deed.room.clone())),
        _ => None,
    }
}

fn layers(record: &Record<'_>) -> Csv {
    let heads = [
        "zone",
        "exposure",
        "layer",
        "colour",
        "l",
        "a",
        "b",
        "munsell",
        "material",
        "metal",
        "on_top",
        "campaign",
        "dug_out",
        "colour_line",
        "line",
    ];
    let mut csv = Csv::new(&heads);
    for Stack {
        zone,
        exposure,
        rows,
    } in stacks(record)
    {
        for row in rows {
            let lab = row.lab.map(|lab| lab.map(|part| number(part, 2)));
            let [l, a, b] = lab.unwrap_or_default();
            csv.row(&[
                zone.clone(),
                exposure.clone(),
                row.number.to_string(),
                row.word,
                l,
                a,
                b,
                row.munsell,
                row.material,
                row.metal,
                row.on_top,
                row.campaign,
                if row.dug_out { "yes" } else { "" }.to_owned(),
                row.colour_line.map_or_else(String::new, |n| n.to_string()),
                row.line.to_string(),
            ]);
        }
    }
    csv
}

/// Every single reading of every layer, so that the middles can be reckoned anew.
fn colours(record: &Record<'_>) -> Csv {
    let heads = [
        "zone", "exposure", "layer", "at", "by", "reading", "l", "a", "b", "light", "spot",
        "dug_out", "line",
    ];
    let mut csv = Csv::new(&heads);
    for stack in stacks(record) {
        for row in &stack.rows {
            for sitting in &row.sittings {
                for (colour, nth) in sitting.readings.iter().zip(1..) {
                    csv.row(&[
                        stack.zone.clone(),
                        stack.exposure.clone(),
                        row.number.to_string(),
                        sitting.stamp.at.to_rfc3339(),
                        record.voice.who(&sitting.stamp.by),
                        nth.to_string(),
                        number(colour.l, 2),
                        number(colour.a, 2),
                        number(colour.b, 2),
                        sitting.light.clone().unwrap_or_default(),
                        sitting.spot.map_or("", spot_word).to_owned(),
                        if sitting.dug_out { "yes" } else { "" }.to_owned(),
                        sitting.stamp.n.to_string(),
                    ]);
                }
            }
        }
    }
    csv
}

fn ties(record: &Record<'_>) -> Csv {
    let heads = [
        "zone",
        "exposure",
        "layer",
        "relation",
        "other_zone",
        "other_exposure",
        "other_layer",
        "by_marker",
        "at",
        "by",
        "line",
    ];
    let mut csv = Csv::new(&heads);
    let known = crate::standing::layers(record.ask.house, &record.ask.figure.id);
    for TieSeen { said, stamp } in known.ties {
        csv.row(&[
            said.one.zone,
            said.one.exposure,
            said.one.layer.to_string(),
            relation_words(said.relation).to_owned(),
            said.other.zone,
            said.other.exposure,
            said.other.layer.to_string(),
            record.voice.words(&said.by_marker),
            stamp.at.to_rfc3339(),
            record.voice.who(&stamp.by),
            stamp.n.to_string(),
        ]);
    }
    csv
}

/// The zones with the numbers that they have on every drawing.
fn zones(record: &Record<'_>) -> Csv {
    let mut csv = Csv::new(&["number", "zone", "name"]);
    for (zone, number) in record.ask.figure.zones.iter().zip(1_usize..) {
        csv.row(&[number.to_string(), zone.id.clone(), zone.name.clone()]);
    }
    csv
}

fn chips(record: &Record<'_>) -> Csv {
    let heads = [
        "zone",
        "repeats_zone",
        "repeats_exposure",
        "repeats_layer",
        "at",
        "by",
        "readings_lab",
        "state",
        "lights",
        "verdict",
        "line",
    ];
    let mut csv = Csv::new(&heads);
    for one in tried(record) {
        let wanted = &one.chip.wanted;
        let readings = one.chip.lab.iter().map(|lab| {
            let parts = lab.map(|part| number(part, 2));
            parts.join(" ")
        });
        csv.row(&[
            one.chip.zone.clone(),
            wanted.zone.clone(),
            wanted.exposure.clone(),
            wanted.layer.to_string(),
            one.stamp.at.to_rfc3339(),
            record.voice.who(&one.stamp.by),
            readings.collect::<Vec<_>>().join("; "),
            state_words(one.chip).to_owned(),
            record.voice.words(&lights_words(one.chip)),
            one.verdict,
            one.stamp.n.to_string(),
        ]);
    }
    csv
}

fn materials(record: &Record<'_>) -> Csv {
    let heads = [
        "material",
        "name",
        "lot",
        "where",
        "first_day",
        "last_day",
        "mixed_g",
        "used_ml",
        "coats",
        "stays",
        "comes_off",
    ];
    let mut csv = Csv::new(&heads);
    for one in used(record) {
        let card = record.cards().materials.get(&one.material);
        let stays = if one.is_passing() { "no" } else { "yes" };
        let [first, last] = one.days.map(|at| record.date(at));
        csv.row(&[
            one.material,
            one.name,
            one.lot,
            one.at.join("; "),
            first,
            last,
            known(one.grams),
            known(one.ml),
            known(f64::from(one.coats)),
            stays.to_owned(),
            card.map(|card| card.comes_off.clone()).unwrap_or_default(),
        ]);
    }
    csv
}

/// A number that was recorded; nothing recorded is an empty cell and no nought.
fn known(value: f64) -> String {
    if 0.0 < value {
        number(value, 1)
    } else {
        String::new()
    }
}

/// Every photograph once: what a hand said and its file stand in one row.
fn photographs(record: &Record<'_>) -> Csv {
    let heads = [
        "target",
        "station",
        "state",
        "asked_by",
        "said_taken",
        "said_by",
        "said_line",
        "file",
        "sha256",
        "taken_by_camera_clock",
        "camera_clock_ahead",
        "taken_in",
        "taken_in_by",
        "taken_in_line",
        "work_there_began_before",
    ];
    let mut csv = Csv::new(&heads);
    let seen = photos(record.ask.house, &record.ask.figure.id);
    let who_and_when = |one: Option<&PhotoSeen>| {
        let said = |one: &PhotoSeen| {
            let who = record.voice.who(&one.by);
            [one.at.to_rfc3339(), who, one.line.to_string()]
        };
        one.map(said).unwrap_or_default()
    };
    for one in seen.list() {
        let kept = one.file();
        let [said_taken, said_by, said_line] = who_and_when(one.said);
        let [taken_in, taken_in_by, taken_in_line] = who_and_when(one.filed);
        let late = one.filed.and_then(|filed| filed.late);
        let ahead = one.filed.and_then(PhotoSeen::is_clock_ahead);
        let ahead = ahead.map(|is_ahead| if is_ahead { "yes" } else { "no" });
        let asked = one.missing.map(|missing| missing.operation.clone());
        csv.row(&[
            one.target.unwrap_or_default().to_owned(),
            one.station.to_owned(),
            one.words().to_owned(),
            asked.unwrap_or_default(),
            said_taken,
            said_by,
            said_line,
            kept.map(|kept| kept.file.clone()).unwrap_or_default(),
            kept.map(|kept| kept.sha256.clone()).unwrap_or_default(),
            kept.and_then(|kept| kept.taken.clone()).unwrap_or_default(),
            ahead.unwrap_or_default().to_owned(),
            taken_in,
            taken_in_by,
            taken_in_line,
            late.map(|late| late.began.to_rfc3339()).unwrap_or_default(),
        ]);
    }
    csv
}
