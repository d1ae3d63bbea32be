//! A temperature trace from a CSV file: two columns, when and how warm.
//!
//! *When* is hours from the start, a time of day (`18:00`; going back means the next day), or
//! a date with a time. *How warm* is in °C. A head over the columns may name minutes or
//! Fahrenheit instead, and a cell may carry its own unit (`90min`, `68F`). A third column is
//! relative humidity, in a file with a head where the head says so.

use std::path::Path;

use chrono::{DateTime, NaiveDateTime, NaiveTime, Timelike};
use thiserror::Error;

use super::Files;
use super::flag::ReckonTrouble;
use crate::reckon::{Celsius, Hours, Measured, Minutes, Percent, Trace, read};

/// Returns the trace in the file at `path`.
///
/// # Errors
/// [`ReckonTrouble::Unreadable`] when the file cannot be read, [`ReckonTrouble::Line`] when a
/// line is no reading or stands before the one above it.
pub(super) fn trace_in(path: &Path, files: Files<'_>) -> Result<Trace, ReckonTrouble> {
    let name = path.display().to_string();
    let text = files(path).map_err(|source| ReckonTrouble::Unreadable {
        path: name.clone(),
        source,
    })?;
    Ok(parse(&name, &text)?.trace)
}

/// Returns the trace in the file at `path`, and its humidity if the file holds any.
///
/// # Errors
/// As [`trace_in`], and [`ReckonTrouble::Line`] when a humidity is none.
pub(super) fn air_in(path: &Path, files: Files<'_>) -> Result<Night, ReckonTrouble> {
    let name = path.display().to_string();
    let text = files(path).map_err(|source| ReckonTrouble::Unreadable {
        path: name.clone(),
        source,
    })?;
    parse(&name, &text)
}

/// The air of a night as a file has it.
#[derive(Debug)]
pub(super) struct Night {
    pub(super) trace: Trace,
    /// Driest, mean and dampest relative humidity; none where the file holds none.
    pub(super) damp: Option<[Percent; 3]>,
}

/// Returns driest, mean of the readings, and dampest.
fn damp_of(read: &[f64]) -> Option<[Percent; 3]> {
    let least = read.iter().copied().min_by(f64::total_cmp)?;
    let most = read.iter().copied().max_by(f64::total_cmp)?;
    let count = u32::try_from(read.len()).map_or(1.0, f64::from);
    Some([least, read.iter().sum::<f64>() / count, most].map(Percent))
}

/// Which units the head of the file gives to bare numbers.
#[derive(Debug, Clone, Copy, Default)]
struct Heads {
    is_minutes: bool,
    is_fahrenheit: bool,
    /// What the third column holds is something else than humidity.
    is_not_damp: bool,
}

impl Heads {
    fn of([when, warmth, third]: [&str; 3]) -> Self {
        let words = |text: &str| -> Vec<String> {
            text.to_lowercase()
                .split(|it: char| !it.is_alphanumeric())
                .map(str::to_owned)
                .collect()
        };
        let has = |text: &str, listed: [&str; 4]| {
            words(text).iter().any(|it| listed.contains(&it.as_str()))
        };
        Self {
            is_minutes: has(when, ["min", "mins", "minute", "minutes"]),
            is_fahrenheit: has(warmth, ["f", "degf", "fahrenheit", "°f"]),
            is_not_damp: !has(third, ["rh", "humidity", "percent", "damp"]),
        }
    }
}

/// When a reading was taken, before the start of the trace is known.
#[derive(Debug, Clone, Copy)]
enum When {
    /// Hours on the file's own count.
    Counted(f64),
    /// Hours since midnight, of some day.
    OfDay(f64),
}

fn parse(path: &str, text: &str) -> Result<Night, ReckonTrouble> {
    let flaw = |line: usize, what: String| ReckonTrouble::Line {
        path: path.to_owned(),
        line,
        what,
        remedy: "write the hour and the temperature on each line, such as 1.5,18 or 18:00,20"
            .to_owned(),
    };
    let mut heads = None;
    let mut points: Vec<(Hours, Celsius)> = Vec::new();
    let mut lines = Vec::new();
    let mut damp = Vec::new();
    for (line, words) in (1..).zip(text.trim_start_matches('\u{feff}').lines()) {
        let words = words.trim();
        if words.is_empty() || words.starts_with('#') {
            continue;
        }
        let [when, warmth, third] =
            cells(words).ok_or_else(|| flaw(line, LineFlaw::OneCell.to_string()))?;
        if heads.is_none() && when.starts_with(|it: char| it.is_alphabetic()) {
            heads = Some(Heads::of([when, warmth, third]));
            continue;
        }
        let heads = *heads.get_or_insert_with(Heads::default);
        let before = points.last().map(|point| point.0);
        points.push(
            reading(when, warmth, heads, before).map_err(|what| flaw(line, what.to_string()))?,
        );
        lines.push(line);
        if !third.is_empty() && !heads.is_not_damp {
            let humidity = humidity_in(third)
                .ok_or_else(|| flaw(line, LineFlaw::NoHumidity(third.to_owned()).to_string()))?;
            damp.push(humidity);
        }
    }
    let damp = damp_of(&damp);
    let trace = Trace::new(points).map_err(|cause| {
        // The flaw counts readings; the line of the file is what can be found again.
        let index = cause.place().and_then(|place| place.checked_sub(1));
        let line = index.and_then(|index| lines.get(index).copied());
        flaw(line.unwrap_or(0), cause.to_string())
    })?;
    Ok(Night { trace, damp })
}

/// Two cells and a third that may be empty.
fn cells(words: &str) -> Option<[&str; 3]> {
    let mut cells = words
        .split([',', ';', '\t'])
        .map(|cell| cell.trim().trim_matches('"').trim());
    Some([
        cells.next()?,
        cells.next()?,
        cells.next().unwrap_or_default(),
    ])
}

/// A bare number is percent, for the head or the place in the file says so.
fn humidity_in(cell: &str) -> Option<f64> {
    let percent = bare_number(cell).or_else(|| with_unit::<Percent>(cell).map(|it| it.0))?;
    (0.0..=100.0).contains(&percent).then_some(percent)
}

/// What is wrong with one line.
#[derive(Debug, Error)]
enum LineFlaw {
    #[error("an hour without a temperature")]
    OneCell,
    #[error("`{0}` is no hour")]
    NoHour(String),
    #[error("`{0}` is no temperature")]
    NoTemperature(String),
    #[error("`{0}` is no relative humidity from 0 to 100 %")]
    NoHumidity(String),
}

fn reading(
    when: &str,
    warmth: &str,
    heads: Heads,
    before: Option<Hours>,
) -> Result<(Hours, Celsius), LineFlaw> {
    let hours = match hour_in(when, heads).ok_or_else(|| LineFlaw::NoHour(when.to_owned()))? {
        When::Counted(hours) => hours,
        When::OfDay(hours) => before.map_or(hours, |before| next_day_if_back(hours, before.0)),
    };
    let warm =
        warmth_in(warmth, heads).ok_or_else(|| LineFlaw::NoTemperature(warmth.to_owned()))?;
    Ok((Hours(hours), warm))
}

fn next_day_if_back(of_day: f64, before: f64) -> f64 {
    let midnight = (before / 24.0).floor() * 24.0;
    if before <= midnight + of_day {
        midnight + of_day
    } else {
        midnight + of_day + 24.0
    }
}

fn hour_in(cell: &str, heads: Heads) -> Option<When> {
    if let Some(number) = bare_number(cell) {
        let hours = if heads.is_minutes {
            Hours::from(Minutes(number))
        } else {
            Hours(number)
        };
        return Some(When::Counted(hours.0));
    }
    let seconds = |time: NaiveTime| f64::from(time.num_seconds_from_midnight()) / 3600.0;
    for shape in ["%H:%M", "%H:%M:%S"] {
        if let Ok(time) = NaiveTime::parse_from_str(cell, shape) {
            return Some(When::OfDay(seconds(time)));
        }
    }
    if let Some(hours) = moment_in(cell) {
        return Some(When::Counted(hours));
    }
    with_unit::<Hours>(cell).map(|hours| When::Counted(hours.0))
}

/// Returns the hours since the first day of 1970 of a date with a time; none for anything else.
pub(super) fn moment_in(cell: &str) -> Option<f64> {
    if let Ok(moment) = DateTime::parse_from_rfc3339(cell) {
        return Some(hours_of(&moment.naive_utc()));
    }
    for shape in ["%Y-%m-%dT%H:%M%:z", "%Y-%m-%d %H:%M%:z"] {
        if let Ok(moment) = DateTime::parse_from_str(&cell.replace('Z', "+00:00"), shape) {
            return Some(hours_of(&moment.naive_utc()));
        }
    }
    for shape in [
        "%Y-%m-%dT%H:%M",
        "%Y-%m-%d %H:%M",
        "%Y-%m-%dT%H:%M:%S",
        "%Y-%m-%d %H:%M:%S",
    ] {
        if let Ok(moment) = NaiveDateTime::parse_from_str(cell, shape) {
            return Some(hours_of(&moment));
        }
    }
    None
}

/// Hours since the first day of 1970, exact to the second.
fn hours_of(moment: &NaiveDateTime) -> f64 {
    let days = moment
        .date()
        .signed_duration_since(DateTime::UNIX_EPOCH.date_naive())
        .num_days();
    let days = i32::try_from(days).map_or(f64::NAN, f64::from);
    days * 24.0 + f64::from(moment.num_seconds_from_midnight()) / 3600.0
}

fn warmth_in(cell: &str, heads: Heads) -> Option<Celsius> {
    match bare_number(cell) {
        Some(number) if heads.is_fahrenheit => with_unit(&format!("{number}F")),
        Some(number) => Some(Celsius(number)),
        None => with_unit(cell),
    }
}

fn with_unit<Q: Measured>(cell: &str) -> Option<Q> {
    read(cell).ok()
}

fn bare_number(cell: &str) -> Option<f64> {
    let plain = cell.replace('−', "-");
    let begins = |it: char| it.is_ascii_digit() || matches!(it, '-' | '+' | '.');
    let number: f64 = plain.parse().ok()?;
    (plain.starts_with(begins) && number.is_finite()).then_some(number)
}

#[cfg(test)]
mod tests {
    use super::parse;

    #[track_caller]
    fn check(text: &str, wanted: &[(f64, f64)]) {
        let trace = parse("night.csv", text).unwrap().trace;
        let start = trace.first().0.0;
        assert_eq!(trace.points().len(), wanted.len());
        for ((hour, warm), (at, celsius)) in trace.points().iter().zip(wanted) {
            assert!((hour.0 - start - at).abs() < 1e-9, "{hour} for {at}");
            assert!((warm.0 - celsius).abs() < 1e-9, "{warm} for {celsius}");
        }
    }

    #[test]
    fn every_way_of_writing_a_trace_is_read() {
        let night = [(0.0, 20.0), (11.0, 13.0), (14.0, 19.0)];
        check("# a night\nhours,celsius\n0,20\n11,13\n14,19\n", &night);
        check("t_min;temp_f\n0;68\n660;55.4\n840;66.2\n", &night);
        check("time,temp\n18:00,20\n05:00,13\n08:00,19\n", &night);
        check("18:00,20C\n05:00,55.4F\n08:00,19C", &night);
        check("0h,20C\n660min,13C\n14h,19C\n", &night);
        check(
            "at,c\n2031-03-01T18:00:00+01:00,20\n2031-03-02T05:00+01:00,13\n2031-03-02T07:00Z,19\n",
            &night,
        );
        check(
            "2031-03-01 18:00,20\n2031-03-02 05:00,13\n2031-03-02 08:00,19\n",
            &night,
        );
    }

    #[track_caller]
    fn flawed(text: &str, what: &str, place: &str) {
        let trouble = parse("night.csv", text).unwrap_err();
        assert_eq!(trouble.to_string(), what);
        assert_eq!(trouble.place(), place);
    }

    #[test]
    fn a_third_column_is_humidity_unless_its_head_says_otherwise() {
        let damp = |text: &str| {
            let night = parse("night.csv", text).unwrap();
            night.damp.map(|damp| damp.map(|it| it.0))
        };
        let read = Some([50.0, 60.0, 80.0]);
        assert_eq!(damp("hour,temp_c,rh\n0,20,50\n5,20,80\n9,19,50\n"), read);
        assert_eq!(damp("0,20,50%\n5,20,80 %\n9,19,50\n"), read);
        assert_eq!(damp("hour,temp_c,note\n0,20,door open\n5,20,\n"), None);
        assert_eq!(damp("0,20\n5,20\n"), None);
    }

    #[test]
    fn a_flaw_names_its_line() {
        flawed("h,c\n0,20\nx,21\n", "`x` is no hour", "night.csv, line 3");
        flawed("0,warm\n", "`warm` is no temperature", "night.csv, line 1");
        flawed(
            "0,20,50\n1,20,150\n",
            "`150` is no relative humidity from 0 to 100 %",
            "night.csv, line 2",
        );
        flawed("0\n", "an hour without a temperature", "night.csv, line 1");
        flawed(
            "",
            "the temperature trace is empty: give at least one reading",
            "night.csv",
        );
        flawed(
            "# shop\n2,20\n\n1,20\n",
            "reading 2 of the temperature trace, at 1 h, lies before the reading above it, at 2 h",
            "night.csv, line 4",
        );
    }
}
