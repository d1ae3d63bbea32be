//! Sensors that the system shows as files, on a made folder of devices.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use knuckle::card::{Sensor, SensorKind, read_shop};
use knuckle::command::{Outside, run};
use knuckle::disk::{self, RealDisk};
use knuckle::screen::look::Depth;
use knuckle::shop::read_sensors;
use knuckle::trouble::ExitKind;
use tempfile::TempDir;

/// A folder of devices: files with what is in them, as the kernel writes it.
fn devices(files: &[(&str, &str)]) -> TempDir {
    let root = tempfile::tempdir().unwrap();
    for (path, text) in files {
        let file = root.path().join(path);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        disk::replace(&RealDisk, &file, text.as_bytes()).unwrap();
    }
    root
}

fn sensor(kind: SensorKind, path: &str) -> Sensor {
    Sensor {
        room: "still-room".into(),
        kind,
        path: path.into(),
    }
}

/// What one sensor reads: °C and %, or why not, with the root cut out.
#[track_caller]
fn check(files: &[(&str, &str)], sensor: Sensor, expected: Result<(f64, f64), &str>) {
    let root = devices(files);
    let read = read_sensors(&RealDisk, root.path(), &[sensor]);
    let seen = match &read[0] {
        Ok(air) => Ok((air.temp_c, air.humidity_percent)),
        Err((_, fault)) => Err(fault
            .to_string()
            .replace(&root.path().display().to_string(), "$SYS")),
    };
    match (seen, expected) {
        (Ok(seen), Ok(expected)) => {
            assert!(
                (seen.0 - expected.0).abs() < 1e-9 && (seen.1 - expected.1).abs() < 1e-9,
                "{seen:?}"
            );
        }
        (Err(seen), Err(expected)) => assert_eq!(seen, expected),
        (seen, _) => panic!("{seen:?}"),
    }
}

const IIO: &str = "bus/iio/devices/iio:device0";

/// Raw, offset and scale as the kernel's document of `iio` has them: (raw + offset) × scale, in
/// thousandths (*from memory*).
#[test]
fn iio_counts_raw_offset_and_scale() {
    check(
        &[
            ("bus/iio/devices/iio:device0/in_temp_raw", "2000\n"),
            ("bus/iio/devices/iio:device0/in_temp_offset", "50\n"),
            ("bus/iio/devices/iio:device0/in_temp_scale", "10.0\n"),
            (
                "bus/iio/devices/iio:device0/in_humidityrelative_input",
                "53000\n",
            ),
        ],
        sensor(SensorKind::Iio, IIO),
        Ok((20.5, 53.0)),
    );
}

#[test]
fn hwmon_is_found_by_a_star_and_told_in_thousandths() {
    check(
        &[
            ("class/hwmon/hwmon3/temp1_input", "18500\n"),
            ("class/hwmon/hwmon3/humidity1_input", "61250\n"),
        ],
        sensor(SensorKind::Hwmon, "class/hwmon/hwmon*"),
        Ok((18.5, 61.25)),
    );
}

#[test]
fn what_is_missing_doubtful_or_no_number_is_said() {
    let hwmon = || sensor(SensorKind::Hwmon, "class/hwmon/hwmon*");
    check(
        &[("class/leds/note", "")],
        hwmon(),
        Err("no folder fits `class/hwmon/hwmon*`: is the sensor plugged in?"),
    );
    check(
        &[
            ("class/hwmon/hwmon0/temp1_input", "1"),
            ("class/hwmon/hwmon1/temp1_input", "1"),
        ],
        hwmon(),
        Err("2 folders fit `class/hwmon/hwmon*`: name one"),
    );
    check(
        &[("class/hwmon/hwmon0/temp1_input", "20000")],
        hwmon(),
        Err("`$SYS/class/hwmon/hwmon0` has no humidity"),
    );
    check(
        &[("class/hwmon/hwmon0/temp1_input", "hot\n")],
        hwmon(),
        Err("`$SYS/class/hwmon/hwmon0/temp1_input` holds `hot`, which is no number"),
    );
}

/// A copy of the sample shop with sensors on its card.
fn shop_with(sensors: &str) -> TempDir {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("shop");
    knuckle::shop::copy_sample(&RealDisk, &folder).unwrap();
    let card = folder.join("shop.yaml");
    let text = fs::read_to_string(&card).unwrap() + sensors;
    disk::replace(&RealDisk, &card, text.as_bytes()).unwrap();
    home
}

fn told(home: &Path, root: &Path) -> (Result<ExitKind, String>, String, String) {
    let outside = Outside {
        disk: Arc::new(RealDisk),
        here: home.join("shop"),
        cache: None,
        memory: None,
        passing: home.to_owned(),
        depth: Depth::Plain,
        bench: "bench 1".into(),
    };
    let words = ["knuckle", "air", "--from-sensors", "--devices"].map(Into::into);
    let clock = ["--clock", "2026-11-25T12:00:00+00:00"].map(Into::into);
    let words = words
        .into_iter()
        .chain([root.as_os_str().to_owned()])
        .chain(clock);
    let (mut out, mut notes) = (Vec::new(), Vec::new());
    let ended = run(words, &outside, (&mut out, &mut notes)).map_err(|trouble| trouble.what);
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (ended, text(out), text(notes))
}

#[test]
fn one_reading_is_kept_for_each_room_and_a_dead_sensor_stops_no_other() {
    let home = shop_with(
        "sensors:\n\
         \u{20} - { room: still-room, kind: hwmon, path: class/hwmon/hwmon0 }\n\
         \u{20} - { room: store, kind: hwmon, path: class/hwmon/hwmon9 }\n\
         \u{20} - { room: bench-room, kind: iio, path: bus/iio/devices/iio:device0 }\n",
    );
    let root = devices(&[
        ("class/hwmon/hwmon0/temp1_input", "19000"),
        ("class/hwmon/hwmon0/humidity1_input", "54000"),
        ("bus/iio/devices/iio:device0/in_temp_input", "900000"),
        (
            "bus/iio/devices/iio:device0/in_humidityrelative_input",
            "54000",
        ),
    ]);
    let (ended, out, notes) = told(home.path(), root.path());
    assert_eq!(ended, Ok(ExitKind::Found));
    assert_eq!(out.lines().count(), 1, "{out}");
    assert!(out.contains("19 °C, 54 % (still-room-sensor)"), "{out}");
    assert_eq!(
        notes,
        "store: no folder fits `class/hwmon/hwmon9`: is the sensor plugged in?\n\
         bench-room: air 900 °C is outside -10 to 45 °C\n"
    );
    let journal = fs::read_to_string(home.path().join("shop/journal.jsonl")).unwrap();
    assert!(
        journal
            .lines()
            .last()
            .unwrap()
            .contains("\"by\":\"still-room-sensor\"")
    );
}

#[test]
fn without_sensors_on_the_card_it_says_what_to_do() {
    let home = shop_with("");
    let root = devices(&[("class/leds/note", "")]);
    let (ended, _, _) = told(home.path(), root.path());
    assert_eq!(ended, Err("no sensor is on the shop card".to_owned()));
}

#[test]
fn a_sensor_in_no_room_is_a_flaw_of_the_card() {
    let text =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop/shop.yaml"))
            .unwrap();
    let flawed =
        text + "sensors:\n  - { room: stil-room, kind: hwmon, path: class/hwmon/hwmon0 }\n";
    let flaws = read_shop("shop.yaml", &flawed).unwrap_err();
    assert_eq!(flaws.len(), 1);
    assert_eq!(flaws[0].what, "no room is called `stil-room`");
}
