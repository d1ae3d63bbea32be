//! The sums of the bench against their published tables: resin, cure, size, leaf, coats,
//! gloves. Expected values are read from `tests/tables`, whose heads name their sources.

use knuckle::reckon::{
    Air, Celsius, GapRow, Grams, Hours, LeafJob, LeafPlace, Micrometres, Millimetres, Minutes,
    Pace, Percent, SheetPoint, SizeClass, SizeTimes, SquareMetres, Trace, area_per_book,
    change_gloves, count_leaves, equivalent_hours, gap_volume, promise, spread_for_film, tack,
    wet_film_for, wet_film_of,
};

/// The rows of a published table, by their heads; remarks are passed over.
fn rows(table: &'static str) -> Vec<Vec<&'static str>> {
    let mut lines = table.lines().filter(|line| !line.starts_with('#'));
    lines.next().expect("a table has heads");
    lines
        .map(|line| cells(line).into_iter().map(str::trim).collect())
        .collect()
}

/// Splits at commas outside quotes.
fn cells(line: &str) -> Vec<&str> {
    let mut is_quoted = false;
    line.split(|it: char| {
        is_quoted ^= it == '"';
        it == ',' && !is_quoted
    })
    .map(|cell| cell.trim_matches('"'))
    .collect()
}

fn number(cell: &str) -> f64 {
    cell.parse()
        .unwrap_or_else(|_| panic!("`{cell}` is a number"))
}

#[track_caller]
fn close(value: f64, wanted: f64, tolerance: f64, row: &[&str]) {
    assert!(
        (value - wanted).abs() <= tolerance,
        "{value} for {wanted} in {row:?}"
    );
}

fn sheet_of(minutes: f64, grams: f64, celsius: f64) -> SheetPoint {
    SheetPoint {
        minutes: Minutes(minutes),
        grams: Grams(grams),
        temperature: Celsius(celsius),
    }
}

/// Source and verification in the head of the table. Tolerance 1e-6 cm³: the widths are printed
/// to 1e-6 mm and the volumes to 1e-8 cm³.
#[test]
fn open_joints_hold_what_simpsons_rule_says() {
    let table = rows(include_str!("../tables/joint_gap_volume.csv"));
    assert_eq!(table.len(), 18);
    for row in &table {
        let widths: Vec<f64> = row[7].split(' ').map(number).collect();
        assert_eq!(widths.len().to_string(), row[6]);
        let (length, depth) = (Millimetres(number(row[2])), Millimetres(number(row[3])));
        let along: Vec<GapRow> = widths
            .iter()
            .map(|mm| GapRow::new(&[Some(Millimetres(*mm))]).unwrap())
            .collect();
        let along = gap_volume(length, depth, &along).unwrap();
        close(along.volume.0, number(row[8]), 1e-6, row);
        let readings: Vec<_> = widths.iter().map(|mm| Some(Millimetres(*mm))).collect();
        let across = gap_volume(length, depth, &[GapRow::new(&readings).unwrap()]).unwrap();
        close(across.volume.0, number(row[8]), 1e-6, row);
        // What Simpson's rule is exact for agrees with the true volume to the rounding of the
        // widths (0.5e-6 mm over the largest face, 6250 mm²: 4e-6 cm³).
        if row[1] != "sine" {
            close(along.volume.0, number(row[10]), 4e-6, row);
        }
    }
}

/// The rule of the table (factor 2 per 10 °C) is [`Pace::even`]; printed to six decimals. The
/// Arrhenius column, for activation energies up to the 60 kJ/mol published for primary amines
/// (Thermochimica Acta 447, 2006, abstract), lies between the edges that promises are made with.
#[test]
fn the_rate_doubles_every_ten_degrees_and_published_energies_lie_within_the_band() {
    let table = rows(include_str!("../tables/pot_life_q10.csv"));
    assert_eq!(table.len(), 63);
    for row in &table {
        let (from, to) = (Celsius(number(row[1])), Celsius(number(row[2])));
        let even = Pace::even(from, 2.0).unwrap();
        close(even.rate(to) / even.rate(from), number(row[4]), 5.1e-7, row);
        if number(row[0]) <= 60.0 {
            let (fast, slow) = (
                Pace::fastest(from, (1.5, 2.5)).unwrap(),
                Pace::slowest(from, (1.5, 2.5)).unwrap(),
            );
            let ratio = number(row[3]);
            assert!(slow.rate(to) <= ratio && ratio <= fast.rate(to), "{row:?}");
        }
    }
}

/// Printed to whole minutes, so 0.5 min; the hair on top is for 12.5 min printed as 12.
#[test]
fn the_whole_table_of_pot_lives_is_given_again() {
    let table = rows(include_str!("../tables/pot_life_promise.csv"));
    assert_eq!(table.len(), 24);
    for row in &table {
        let sheet = [sheet_of(25.0, 100.0, 22.0)];
        let cup = promise(&sheet, Grams(number(row[0])), Celsius(number(row[1]))).unwrap();
        close(cup.do_before().0, number(row[2]), 0.5 + 1e-9, row);
        close(cup.likely().0, number(row[3]), 0.5 + 1e-9, row);
    }
}

/// A US Army manual (TM 1-1500-204-23-11) cuts the usable pot life by half above 90 °F.
#[test]
fn above_ninety_fahrenheit_at_most_half_of_the_sheet_is_promised() {
    for at in [22.0, 23.0, 25.0] {
        let cup = promise(&[sheet_of(30.0, 100.0, at)], Grams(100.0), Celsius(33.0)).unwrap();
        assert!(cup.do_before() <= Minutes(15.0), "sheet at {at} °C");
    }
}

/// Printed to a tenth of an hour, so 0.05 h.
#[test]
fn twelve_hour_size_takes_what_the_table_says() {
    let size = SizeTimes::new([Hours(12.0); 3], [Hours(10.0); 3]).unwrap();
    let table = rows(include_str!("../tables/size_equivalent.csv"));
    assert_eq!(table.len(), 6);
    for row in &table {
        let shop = Trace::steady(Celsius(number(row[0]))).unwrap();
        let air = Air {
            trace: &shop,
            humidity: None,
        };
        let flat = tack(&size, LeafPlace::Flat, air, Hours(0.0)).unwrap();
        close(flat.ready.likely().0, number(row[1]), 0.05, row);
        let pace = Pace::even(Celsius(20.0), 2.0).unwrap();
        let worth = equivalent_hours(&shop, &pace, Hours(0.0), flat.ready.likely());
        close(worth.0, 12.0, 1e-9, row);
    }
}

/// Times of the classes at 20 °C as their sheets and books print them: hours to tack, and the
/// least leaf time after that. Sources at `SizeClass`.
#[test]
fn the_classes_of_size_have_their_printed_times_at_twenty_degrees() {
    let shop = Trace::steady(Celsius(20.0)).unwrap();
    let air = Air {
        trace: &shop,
        humidity: None,
    };
    for (word, early, late, dead) in [
        ("quick", 1.0, 3.0, 2.0),
        ("three_hour", 2.0, 3.0, 3.0),
        ("slow", 10.0, 12.0, 20.0),
        ("old_gold", 12.0, 18.0, 20.0),
    ] {
        let size = SizeClass::named(word).unwrap().times();
        let flat = tack(&size, LeafPlace::Flat, air, Hours(0.0)).unwrap();
        close(flat.ready.do_before().0, early, 1e-9, &[word]);
        close(flat.ready.wait_until().0, late, 1e-9, &[word]);
        close(flat.dead.do_before().0, dead, 1e-9, &[word]);
        let hollow = tack(&size, LeafPlace::Hollow, air, Hours(0.0)).unwrap();
        close(hollow.ready.wait_until().0, late * 1.5, 1e-9, &[word]);
        let edge = tack(&size, LeafPlace::Edge, air, Hours(0.0)).unwrap();
        assert!(edge.dead.likely() <= flat.dead.likely());
    }
}

/// Printed to three decimals, so 0.0005 m²; the sides are printed to a tenth of a millimetre and
/// some are inches, so half a tenth of a side more (82.55 mm is printed 82.6).
#[test]
fn a_book_covers_what_the_table_says() {
    let table = rows(include_str!("../tables/leaf_books.csv"));
    assert_eq!(table.len(), 20);
    for row in &table {
        let book = area_per_book(
            Millimetres(number(row[0])),
            Millimetres(number(row[1])),
            Percent(number(row[2])),
        );
        let side_rounded = 25.0 * 2.0 * number(row[0]) * 0.05 / 1e6;
        close(book.unwrap().0, number(row[3]), 0.0005 + side_rounded, row);
    }
}

/// A leaf specification: a book of 3⅜-in leaves covers about 1.5 ft², 500 leaves about 30 ft²
/// "with normal laps and waste". With 3 mm and 20 % ours is 2.4 % more; 3 % is allowed, for the
/// specification says *about* and names neither lap nor waste.
#[test]
fn the_published_book_agrees_with_a_usual_lap_and_waste() {
    let job = LeafJob {
        area: SquareMetres(30.0 * 0.092_903_04),
        leaf: Millimetres(85.725),
        lap: Millimetres(3.0),
        waste: Percent(20.0),
        relief: 1.0,
    };
    let leaves = count_leaves(&job).unwrap().leaves;
    assert!((485..=515).contains(&leaves), "{leaves}");
}

/// Metric column printed to four decimals. The bulletin's own cells are whole ft²/gal, so 0.5;
/// it reckons with 1604, and the gallon and foot make 1604.167, hence 0.0002 of the value more.
#[test]
fn coats_spread_as_the_estimating_table_prints() {
    let table = rows(include_str!("../tables/spreading_rate_table.csv"));
    assert_eq!(table.len(), 192);
    let square_feet_per_gallon = 3.785_411_784 / 0.092_903_04;
    let mut misprints = 0;
    for row in &table {
        let dry = Micrometres(number(row[1]) * 25.4);
        let rate = spread_for_film(Percent(number(row[0])), dry).unwrap();
        close(rate.0, number(row[5]), 0.000_05 + 1e-9, row);
        let imperial = rate.0 * square_feet_per_gallon;
        close(imperial, number(row[3]), imperial * 0.0002, row);
        if row[6] == "seen-misprint" {
            misprints += 1;
        } else {
            close(imperial, number(row[2]), 0.5 + imperial * 0.0002, row);
        }
        // The wet film of that rate is the wet film for that dry film.
        let wet = wet_film_for(dry, Percent(number(row[0])), Percent(0.0)).unwrap();
        close(wet_film_of(rate).unwrap().0, wet.0, wet.0 * 1e-12, row);
    }
    assert_eq!(misprints, 1, "72 % at 2 mils is printed 527");
}

/// Worked examples; computed column to four decimals, printed one to its own digits.
#[test]
fn the_worked_examples_of_coats_come_out() {
    let table = rows(include_str!("../tables/spreading_rate_examples.csv"));
    let mil = 25.4;
    let spread = |solids: f64, dry: f64| {
        spread_for_film(Percent(solids), Micrometres(dry))
            .unwrap()
            .0
    };
    let wet = |thinner: f64| {
        let wet = wet_film_for(Micrometres(2.8 * mil), Percent(35.0), Percent(thinner));
        wet.unwrap().0 / mil
    };
    let ours = [
        // The bulletin's 1604 for 1604.167, hence the wider tolerance in this row.
        (spread(65.0, 5.0 * mil) * 3.785_411_784 / 0.092_903_04, 0.03),
        (spread(65.0, 125.0), 1e-9),
        (spread(71.0, 125.0), 1e-9),
        (wet(0.0), 1e-9),
        (wet(10.0), 1e-9),
        (spread(100.0, 1.0), 1e-9),
    ];
    assert_eq!(table.len(), ours.len());
    for (row, (value, tolerance)) in table.iter().zip(ours) {
        close(value, number(row[3]), tolerance, row);
    }
}

/// Service minutes of the levels, a third of each; 160 of the highest is held at 120, which is
/// this program's own judgement on the safe side.
#[test]
fn gloves_are_changed_after_a_third_of_their_level() {
    let table = rows(include_str!("../tables/glove_levels.csv"));
    assert_eq!(table.len(), 7);
    for row in &table {
        let change = change_gloves(Minutes(number(row[1]))).unwrap();
        let service = number(row[2]).min(120.0);
        // The table rounds its thirds down.
        close(change.after.0.floor(), service, 1e-9, row);
        assert_eq!(change.at_first_splash, number(row[0]) <= 2.0, "{row:?}");
    }
}
