//! Thermometers and hygrometers that the system shows as files: the folders of the Linux kernel
//! for measuring chips (`iio` and `hwmon`). One reading for each room that has such a sensor.
//! It reads and judges nothing; whether a reading can be believed is decided where it is kept.
//!
//! Source of names and units: the kernel's own documents `testing/sysfs-bus-iio` (raw, offset
//! and scale; milli-degrees, milli-percent) and `hwmon/sysfs-interface` (milli-degrees,
//! milli-percent), both *from memory*.

use std::path::{Path, PathBuf};

use crate::card::{Sensor, SensorKind};
use crate::disk::{self, Disk, DiskFault};

/// What a room's sensor reads.
#[derive(Debug, Clone, PartialEq)]
pub struct RoomAir {
    /// Room id.
    pub room: String,
    /// °C.
    pub temp_c: f64,
    /// %.
    pub humidity_percent: f64,
    /// Name of the sensor, by which its line is signed.
    pub source: String,
}

/// Why a sensor gives no reading.
#[derive(Debug, thiserror::Error)]
pub enum SensorFault {
    /// No folder fits.
    #[error("no folder fits `{pattern}`: is the sensor plugged in?")]
    NotThere {
        /// The path on the card.
        pattern: String,
    },
    /// Several folders fit, and nobody knows which hangs in the room.
    #[error("{count} folders fit `{pattern}`: name one")]
    Several {
        /// The path on the card.
        pattern: String,
        /// How many.
        count: usize,
    },
    /// The folder has no file for what is measured.
    #[error("`{folder}` has no {what}")]
    Lacks {
        /// The folder.
        folder: PathBuf,
        /// `temperature` or `humidity`.
        what: &'static str,
    },
    /// A file holds no number.
    #[error("`{file}` holds `{text}`, which is no number")]
    NotANumber {
        /// The file.
        file: PathBuf,
        /// What it holds, cut short.
        text: String,
    },
    /// A file cannot be read.
    #[error(transparent)]
    Disk(#[from] DiskFault),
}

/// The kernel's files tell thousandths of a degree and of a percent.
const THOUSANDTHS: f64 = 1000.0;

/// The most of a file that is shown in a fault, characters.
const SHOWN: usize = 20;

/// Returns the reading of each sensor, or why it has none, in the order of the card. `root` is
/// the folder in which the system shows its devices, `/sys` on Linux.
pub fn read_sensors(
    disk: &dyn Disk,
    root: &Path,
    sensors: &[Sensor],
) -> Vec<Result<RoomAir, (String, SensorFault)>> {
    let read = |sensor: &Sensor| {
        read_sensor(disk, root, sensor).map_err(|fault| (sensor.room.clone(), fault))
    };
    sensors.iter().map(read).collect()
}

fn read_sensor(disk: &dyn Disk, root: &Path, sensor: &Sensor) -> Result<RoomAir, SensorFault> {
    let folder = only(folders(disk, root, &sensor.path)?, &sensor.path)?;
    let of = |what: &'static str, names: [&str; 2]| match sensor.kind {
        SensorKind::Iio => iio(disk, &folder, (what, names[0])),
        SensorKind::Hwmon => hwmon(disk, &folder, (what, names[1])),
    };
    Ok(RoomAir {
        room: sensor.room.clone(),
        temp_c: of("temperature", ["in_temp", "temp1_input"])?,
        humidity_percent: of("humidity", ["in_humidityrelative", "humidity1_input"])?,
        source: format!("{}-sensor", sensor.room),
    })
}

/// A channel of `iio`: the finished value, or (raw + offset) × scale.
fn iio(
    disk: &dyn Disk,
    folder: &Path,
    (what, channel): (&'static str, &str),
) -> Result<f64, SensorFault> {
    let file = |end: &str| folder.join(format!("{channel}_{end}"));
    if let Some(value) = number(disk, &file("input"))? {
        return Ok(value / THOUSANDTHS);
    }
    let lacks = || SensorFault::Lacks {
        folder: folder.to_owned(),
        what,
    };
    let raw = number(disk, &file("raw"))?.ok_or_else(lacks)?;
    let offset = number(disk, &file("offset"))?.unwrap_or(0.0);
    let scale = number(disk, &file("scale"))?.unwrap_or(1.0);
    Ok((raw + offset) * scale / THOUSANDTHS)
}

fn hwmon(
    disk: &dyn Disk,
    folder: &Path,
    (what, name): (&'static str, &str),
) -> Result<f64, SensorFault> {
    let value = number(disk, &folder.join(name))?;
    let value = value.ok_or_else(|| SensorFault::Lacks {
        folder: folder.to_owned(),
        what,
    })?;
    Ok(value / THOUSANDTHS)
}

/// Returns the number in a file; none when there is no such file.
fn number(disk: &dyn Disk, file: &Path) -> Result<Option<f64>, SensorFault> {
    if !super::find::is_there(disk, file)? {
        return Ok(None);
    }
    let bytes = disk::read(disk, file)?;
    let text = String::from_utf8_lossy(&bytes);
    match text.trim().parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(Some(value)),
        _ => Err(SensorFault::NotANumber {
            file: file.to_owned(),
            text: text.trim().chars().take(SHOWN).collect(),
        }),
    }
}

fn only(mut found: Vec<PathBuf>, pattern: &str) -> Result<PathBuf, SensorFault> {
    let count = found.len();
    let pattern = pattern.to_owned();
    match (found.pop(), count) {
        (Some(folder), 1) => Ok(folder),
        (None, _) => Err(SensorFault::NotThere { pattern }),
        (Some(_), _) => Err(SensorFault::Several { pattern, count }),
    }
}

/// Returns the folders that fit a path in which a `*` in a name stands for anything.
fn folders(disk: &dyn Disk, root: &Path, pattern: &str) -> Result<Vec<PathBuf>, SensorFault> {
    let mut found = vec![root.to_owned()];
    for part in pattern.split('/').filter(|part| !part.is_empty()) {
        let mut next = Vec::new();
        for folder in found {
            next.extend(fitting(disk, &folder, part)?);
        }
        found = next;
    }
    Ok(found)
}

fn fitting(disk: &dyn Disk, folder: &Path, part: &str) -> Result<Vec<PathBuf>, SensorFault> {
    if !super::find::is_there(disk, folder)? {
        return Ok(Vec::new());
    }
    let entries = disk::list(disk, folder)?.into_iter();
    let fit = entries.filter(|entry| entry.is_folder && fits(&entry.name, part));
    Ok(fit.map(|entry| folder.join(entry.name)).collect())
}

/// Whether a name fits a part with at most one `*` in it.
fn fits(name: &str, part: &str) -> bool {
    match part.split_once('*') {
        None => name == part,
        Some((begins, ends)) => {
            begins.len() + ends.len() <= name.len()
                && name.starts_with(begins)
                && name.ends_with(ends)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::fits;

    #[test]
    fn a_star_stands_for_anything_within_one_name() {
        assert!(fits("hwmon3", "hwmon*"));
        assert!(fits("hwmon", "hwmon*"));
        assert!(fits("iio:device0", "iio:device0"));
        assert!(!fits("iio:device01", "iio:device0"));
        assert!(!fits("aa", "a*aa"));
    }
}
