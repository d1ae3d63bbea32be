//! Reads the shop card.

use super::super::{
    DaysOff, Emergency, Hour, OpenHours, Person, ReportWish, Room, Sensor, SensorKind, Shop,
};
use super::fields::Fields;
use super::node::Node;
use super::within::{BALANCE, CHANGES, PRICE, VOLUME, Within};
use crate::card::near::did_you_mean;

pub(super) fn shop(node: &Node<'_>) -> Shop {
    node.fields(|f| {
        let shop = Shop {
            name: f.line("name", 60),
            address: f.note("address", 120),
            units: f.maybe_word("units").unwrap_or_default(),
            time_zone: time_zone(f),
            practice: f.flag("practice"),
            open: f.maybe("open", open).unwrap_or_default(),
            closed: days_off(f, "closed"),
            hour_price: f.maybe_number("hour_price", &PRICE),
            money: f.note("money", 10),
            rooms: f.each("rooms", room),
            sensors: f.each("sensors", sensor),
            people: f.each("people", person),
            emergency: f.maybe("emergency", emergency).unwrap_or_default(),
            balance_g: f.number("balance_g", &BALANCE),
            report: f.maybe("report", report).unwrap_or_default(),
        };
        f.unique("rooms", "id");
        f.unique("people", "id");
        f.unique("sensors", "room");
        sensed_rooms(f.block());
        shared_air(f.block());
        shop
    })
}

/// Returns a flawed shop card without what nothing may be reckoned by: a number out of its
/// range counts as none, and who has an id and no name is called by it.
pub(super) fn as_far_as_read(mut shop: Shop) -> Shop {
    let within = |number: &mut f64, range: &Within| {
        if !range.holds(*number) {
            *number = 0.0;
        }
    };
    within(&mut shop.balance_g, &BALANCE);
    shop.rooms.retain(|room| !room.id.is_empty());
    for room in &mut shop.rooms {
        within(&mut room.volume_m3, &VOLUME);
        within(&mut room.air_changes_per_h, &CHANGES);
        if room.name.is_empty() {
            room.id.clone_into(&mut room.name);
        }
    }
    shop.people.retain(|person| !person.id.is_empty());
    for person in &mut shop.people {
        if person.name.is_empty() {
            person.id.clone_into(&mut person.name);
        }
    }
    shop
}

fn time_zone(f: &mut Fields<'_>) -> String {
    let zone = f.note("time_zone", 60);
    if !zone.is_empty() && zone.parse::<chrono_tz::Tz>().is_err() {
        let known = chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
        let hint = did_you_mean(&zone, known)
            .or_else(|| Some("write it as `Europe/Lisbon`, or leave it empty".to_owned()));
        if let Some(node) = f.block().at("time_zone") {
            node.slip(format!("`{zone}` is not the name of a time zone"), hint);
        }
    }
    zone
}

fn open(node: &Node<'_>) -> OpenHours {
    node.fields(|f| {
        let mut day = |name| f.may(name).map_or(Hour(None), |node| node.hours());
        OpenHours {
            mon: day("mon"),
            tue: day("tue"),
            wed: day("wed"),
            thu: day("thu"),
            fri: day("fri"),
            sat: day("sat"),
            sun: day("sun"),
        }
    })
}

fn room(node: &Node<'_>) -> Room {
    node.fields(|f| Room {
        id: f.id(),
        name: f.line("name", 60),
        volume_m3: f.number("volume_m3", &VOLUME),
        air_changes_per_h: f.number("air_changes_per_h", &CHANGES),
        shares_air_with: f.lines("shares_air_with", 40),
    })
}

fn sensor(node: &Node<'_>) -> Sensor {
    node.fields(|f| Sensor {
        room: f.line("room", 40),
        kind: f.word("kind", SensorKind::Hwmon),
        path: f.line("path", 200),
    })
}

/// Notes sensors that hang in a room that is not there.
fn sensed_rooms(shop: &Node<'_>) {
    let rooms = shop.all("rooms");
    let ids: Vec<String> = rooms
        .iter()
        .filter_map(|room| room.at("id"))
        .map(|id| id.written().to_owned())
        .collect();
    for sensor in shop.all("sensors") {
        if let Some(room) = sensor.at("room") {
            room.known_as("room", ids.iter().map(String::as_str));
        }
    }
}

/// Notes rooms that share air with a room that is not there, or with themselves.
fn shared_air(shop: &Node<'_>) {
    let rooms = shop.all("rooms");
    let id = |room: &Node<'_>| {
        room.at("id")
            .map(|id| id.written().to_owned())
            .unwrap_or_default()
    };
    let ids: Vec<String> = rooms.iter().map(id).collect();
    for room in &rooms {
        for other in room.all("shares_air_with") {
            other.known_as("room", ids.iter().map(String::as_str));
            if !other.written().is_empty() && other.written() == id(room) {
                other.slip(
                    "a room cannot share air with itself",
                    Some("remove it".to_owned()),
                );
            }
        }
    }
}

fn person(node: &Node<'_>) -> Person {
    node.fields(|f| Person {
        id: f.id(),
        name: f.line("name", 60),
        trade: f.note("trade", 60),
        marks: f.words("marks"),
        away: days_off(f, "away"),
        hour_price: f.maybe_number("hour_price", &PRICE),
    })
}

fn report(node: &Node<'_>) -> ReportWish {
    node.fields(|f| ReportWish {
        names: f.maybe_word("names").unwrap_or_default(),
    })
}

/// Reads days off; a day that cannot be read was noted and is left out.
fn days_off(f: &mut Fields<'_>, name: &'static str) -> Vec<DaysOff> {
    let days = f.each(name, |node| {
        node.fields(|f| {
            let from = f.need("from").and_then(|node| node.date());
            let to = f.need("to").and_then(|node| node.date());
            let off = DaysOff {
                from: from?,
                to: to?,
            };
            if off.to < off.from {
                let hint = "put the earlier day first".to_owned();
                f.block().slip("`to` lies before `from`", Some(hint));
            }
            Some(off)
        })
    });
    days.into_iter().flatten().collect()
}

fn emergency(node: &Node<'_>) -> Emergency {
    node.fields(|f| Emergency {
        ambulance: f.note("ambulance", 60),
        poison: f.note("poison", 60),
        doctor: f.note("doctor", 60),
    })
}
