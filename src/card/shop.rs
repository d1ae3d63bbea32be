//! The shop card: rooms, people, hours, emergency lines.

use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};

use super::{OpenHours, Span};

/// The shop.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Shop {
    /// Name over the door.
    pub name: String,
    /// Where its owners' letters and calls go, for the care sheet of a figure; may be empty.
    pub address: String,
    /// Units shown.
    pub units: Units,
    /// Time zone by its database name; empty means the machine's.
    pub time_zone: String,
    /// A practice shop: a fixed or sped clock may write to it.
    pub practice: bool,
    /// Opening hours by day of the week.
    pub open: OpenHours,
    /// Days on which it is closed besides.
    pub closed: Vec<DaysOff>,
    /// What an hour of hands costs where a person has no price of their own; plans and pages
    /// show no cost without it.
    pub hour_price: Option<f64>,
    /// The word for the money, such as `EUR`.
    pub money: String,
    /// Rooms.
    pub rooms: Vec<Room>,
    /// Sensors that the system shows as files.
    pub sensors: Vec<Sensor>,
    /// People and what they may do.
    pub people: Vec<Person>,
    /// Emergency lines; empty ones are shown as SET YOUR NUMBER.
    pub emergency: Emergency,
    /// Resolution of the mixing balance, grams.
    pub balance_g: f64,
    /// What reports show.
    pub report: ReportWish,
}

/// What reports show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ReportWish {
    /// How people are named on them.
    pub names: PeopleShown,
}

/// How people are named on a page that may leave the shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PeopleShown {
    /// By their trade: `joiner`, `supervisor`.
    #[default]
    Outward,
    /// By their names.
    Inward,
}

/// Units on the screen. Journals are always metric.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Units {
    /// Metric.
    #[default]
    Metric,
    /// Inches, °F, ounces.
    Inch,
}

/// A room.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Room {
    /// Short name.
    pub id: String,
    /// Name as a person says it.
    pub name: String,
    /// Volume of air, cubic metres.
    pub volume_m3: f64,
    /// Air changes per hour with the fan on.
    pub air_changes_per_h: f64,
    /// Rooms it shares air with.
    pub shares_air_with: Vec<String>,
}

/// A thermometer and hygrometer that hangs in a room.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sensor {
    /// Room id.
    pub room: String,
    /// How the system shows it.
    pub kind: SensorKind,
    /// Its folder below the system's folder of devices, such as `bus/iio/devices/iio:device0`;
    /// a `*` in a name stands for anything.
    pub path: String,
}

/// How the system shows a sensor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SensorKind {
    /// Industrial input and output: raw values with their scale.
    Iio,
    /// Hardware monitoring: finished values.
    Hwmon,
}

/// Days on which nobody, or one person, is there; both ends count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DaysOff {
    /// First day.
    pub from: NaiveDate,
    /// Last day.
    pub to: NaiveDate,
}

impl DaysOff {
    /// Returns whether a day is among them.
    pub fn holds(self, day: NaiveDate) -> bool {
        self.from <= day && day <= self.to
    }
}

/// A person.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Person {
    /// Short name used in journals.
    pub id: String,
    /// Name.
    pub name: String,
    /// Trade as a word.
    pub trade: String,
    /// What this person may do.
    pub marks: Vec<Mark>,
    /// Days on which this person is not there.
    pub away: Vec<DaysOff>,
    /// What an hour of this person costs, instead of the shop's price.
    pub hour_price: Option<f64>,
}

impl Person {
    /// Returns whether this person is away on a day.
    pub fn is_away(&self, day: NaiveDate) -> bool {
        self.away.iter().any(|off| off.holds(day))
    }
}

impl Shop {
    /// Returns the hours of a day on which the shop is open; `None` on any other.
    pub fn open_on(&self, day: NaiveDate) -> Option<Span> {
        let is_closed = self.closed.iter().any(|off| off.holds(day));
        self.open.on(day.weekday()).0.filter(|_| !is_closed)
    }
}

/// What a person may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// Anybody.
    #[default]
    Any,
    /// Surveys, photographs, layer study.
    Study,
    /// Strippers and washes.
    Strip,
    /// Joints, epoxy, splices, fills.
    Join,
    /// Primer, colour, varnish.
    Paint,
    /// Size and leaf.
    Gild,
    /// Signs hold points, answers deviations.
    Sign,
    /// May be the second person of an overrule.
    Overrule,
}

/// Emergency lines, as the shop set them.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Emergency {
    /// Ambulance and fire.
    pub ambulance: String,
    /// Poison information.
    pub poison: String,
    /// The shop's doctor.
    pub doctor: String,
}
