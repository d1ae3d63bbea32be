//! `knuckle reckon`: flags in, keys and messages out, through the library's own door.

use std::io;
use std::path::Path;

use clap::Parser;
use knuckle::command::reckon::{ReckonArgs, ReckonTrouble, run};
use serde_json::Value;

use crate::published::near;

#[derive(Debug, Parser)]
struct Door {
    #[command(flatten)]
    reckon: ReckonArgs,
}

/// The only files there are.
fn files(path: &Path) -> io::Result<String> {
    match path.to_str() {
        Some("line.csv") => Ok("x,y\n0,1\n1,3\n2,5.5\n3,7\n".to_owned()),
        Some("turned.csv") => Ok("y,x\n1,0\n3,1\n5.5,2\n7,3\n".to_owned()),
        // BoxBOD of the NIST Statistical Reference Datasets.
        Some("curve.csv") => {
            Ok("# days, oxygen\ny,x\n109,1\n149,2\n149,3\n191,5\n213,7\n224,10\n".to_owned())
        }
        Some("bad.csv") => Ok("x,y\n1,2\n2,two\n".to_owned()),
        _ => Err(io::Error::new(
            io::ErrorKind::NotFound,
            "there is no such file",
        )),
    }
}

fn asked(words: &[&str]) -> Result<String, ReckonTrouble> {
    let door = Door::try_parse_from([&["reckon"], words].concat()).unwrap();
    let mut out = Vec::new();
    run(&door.reckon, &mut out, &files)?;
    Ok(String::from_utf8(out).unwrap())
}

#[track_caller]
fn json(words: &[&str]) -> Value {
    let text = asked(&[words, &["--json"]].concat()).unwrap();
    assert_eq!(text.lines().count(), 1, "one object on one line");
    serde_json::from_str(&text).unwrap()
}

#[track_caller]
fn number(answer: &Value, key: &str) -> f64 {
    answer[key]
        .as_f64()
        .unwrap_or_else(|| panic!("{key} in {answer}"))
}

#[track_caller]
fn refused(words: &[&str], lines: &str) {
    let trouble = asked(words).unwrap_err();
    assert_eq!(trouble.exit_code(), 2);
    assert_eq!(trouble.three_lines(), lines);
}

#[test]
fn emc_and_air_for_are_each_others_inverse() {
    // Wood Handbook Table 4-2: 70 °F, 65 % gives 12.0 %.
    let it = json(&["emc", "--air", "70F", "--humidity", "65%"]);
    near(number(&it, "emc_percent"), 12.0, 0.07, "emc");
    let it = json(&["air-for", "--moisture", "12%", "--air", "70F"]);
    near(number(&it, "humidity_percent"), 65.0, 0.4, "air for");
}

#[test]
fn drying_says_when_or_never() {
    let course = [
        "drying",
        "--reading",
        "0h 18.2%",
        "--reading",
        "24h 16.4%",
        "--reading",
        "2d 15.2 %",
    ];
    let dry = [
        &course[..],
        &["--air", "20C", "--humidity", "45%", "--target", "12%"],
    ]
    .concat();
    let it = json(&dry);
    assert_eq!(it["reaches"], Value::Bool(true));
    assert!(48.0 <= number(&it, "early_h"));
    assert!(number(&it, "early_h") <= number(&it, "likely_h"));
    assert!(number(&it, "likely_h") <= number(&it, "late_h"));
    near(
        number(&it, "left_late_h"),
        number(&it, "late_h") - 48.0,
        1e-9,
        "from the newest reading",
    );
    let wet = [
        &course[..],
        &["--air", "20C", "--humidity", "75%", "--target", "12%"],
    ]
    .concat();
    let it = json(&wet);
    assert_eq!(it["reaches"], Value::Bool(false));
    assert!(12.0 < number(&it, "emc_percent"));
    assert!(number(&it, "humidity_needed_percent") < 65.0);
    assert!(it["late_h"].is_null());
}

#[test]
fn one_flag_may_hold_several_readings_and_points_have_names() {
    let it = json(&[
        "drying",
        "--reading",
        "0h 16%",
        "24h 14%",
        "0h 21% left knee",
        "24h 19.8% left knee",
        "--air",
        "20C",
        "--humidity",
        "45%",
        "--target",
        "12%",
    ]);
    assert_eq!(it["worst_point"], "left knee");
    refused(
        &[
            "drying",
            "--reading",
            "18%",
            "--air",
            "20C",
            "--humidity",
            "45%",
            "--target",
            "12%",
        ],
        "`18%` is not a time and a moisture\n where: --reading\n    do: write it like \"24h 18.2%\", with the point's name behind if there are several\n",
    );
}

/// What stands in a journal has a date, not hours.
#[test]
fn readings_may_have_dates() {
    let air = ["--air", "20C", "--humidity", "45%", "--target", "12%"];
    let dated = [
        "drying",
        "--reading",
        "2031-03-04T08:00 18.2%",
        "2031-03-05 08:00 16.4 %",
        "2031-03-06T09:00+01:00 15.2%",
    ];
    let counted = ["drying", "--reading", "0h 18.2%", "24h 16.4%", "48h 15.2%"];
    let [dated, counted] = [dated, counted].map(|words| json(&[&words[..], &air].concat()));
    assert_eq!(dated["late_h"], counted["late_h"]);
    let mixed = ["drying", "--reading", "2031-03-04T08:00 18.2%", "24h 16.4%"];
    refused(
        &[&mixed[..], &air].concat(),
        "some readings have a date and some have hours\n where: --reading\n    do: give all of them a date, or all of them hours\n",
    );
}

#[test]
fn movement_has_a_sign() {
    // Eq. 13-3 with Hoadley's 9.5 % for lime: 120 · (7 − 12)/(3000/9.5 − 30 + 12) = −2.01485.
    let it = json(&[
        "movement", "--wood", "lime", "--across", "120mm", "--from", "12%", "--to", "7%", "--cut",
        "flat",
    ]);
    near(number(&it, "change_mm"), -2.014_85, 1e-5, "lime");
    near(number(&it, "width_mm"), 117.985_15, 1e-5, "width");
    refused(
        &[
            "movement", "--wood", "lyme", "--across", "12cm", "--from", "12%", "--to", "7%",
            "--cut", "flat",
        ],
        &lyme(),
    );
}

fn lyme() -> String {
    let known: Vec<&str> = knuckle::reckon::woods::WOODS
        .iter()
        .map(|it| it.name)
        .collect();
    format!(
        "no wood is called `lyme`; did you mean `lime`?\n where: reckon movement\n    do: choose a wood from: {}\n",
        known.join("; ")
    )
}

#[test]
fn dew_needs_the_figures_surface() {
    let it = json(&[
        "dew",
        "--air",
        "20C",
        "--humidity",
        "50%",
        "--surface",
        "12.2C",
    ]);
    near(number(&it, "dew_point_c"), 9.26, 0.03, "dew point");
    near(
        number(&it, "margin_c"),
        12.2 - number(&it, "dew_point_c"),
        1e-9,
        "margin",
    );
    assert_eq!(it["fit_to_coat"], Value::Bool(false));
    let it = json(&[
        "dew",
        "--air",
        "20C",
        "--humidity",
        "50%",
        "--surface",
        "12.4C",
    ]);
    assert_eq!(it["fit_to_coat"], Value::Bool(true));
    let it = json(&["dew", "--air", "20C", "--humidity", "50%"]);
    assert!(it["margin_c"].is_null() && it["fit_to_coat"].is_null());
    let it = json(&[
        "dew",
        "--air",
        "-5C",
        "--humidity",
        "80%",
        "--surface",
        "-4C",
    ]);
    assert!(number(&it, "dew_point_c") < number(&it, "frost_point_c"));
}

#[test]
fn purge_is_the_table_at_perfect_mixing_and_three_times_it_by_itself() {
    // CDC (2003) Table B.1: 12 changes, 99 %, 23 minutes.
    let table = json(&["purge", "--changes", "12", "--to", "1%", "--mixing", "1"]);
    near(number(&table, "minutes"), 23.0, 0.5, "table");
    let safe = json(&["purge", "--changes", "12", "--to", "0.01"]);
    near(
        number(&safe, "minutes"),
        3.0 * number(&table, "minutes"),
        1e-9,
        "K = 3",
    );
    near(
        number(&safe, "minutes_if_mixed_perfectly"),
        number(&table, "minutes"),
        1e-9,
        "both are said",
    );
    let room = json(&[
        "purge",
        "--room",
        "60m3",
        "--airflow",
        "12m3/min",
        "--to",
        "1%",
        "--mixing",
        "1",
    ]);
    near(
        number(&room, "minutes"),
        number(&table, "minutes"),
        1e-9,
        "12 changes",
    );
    refused(
        &["purge", "--airflow", "12m3/min", "--to", "1%"],
        "an airflow alone does not say how often the room's air changes\n where: --airflow\n    do: give --room with --airflow, or --changes alone\n",
    );
    refused(
        &["purge", "--changes", "12", "--to", "1"],
        "share left 1 of the vapour is outside 0.000000001–0.999999 of the vapour (give what may be left, such as 1% or 0.01)\n where: reckon purge\n    do: give a value within 0.000000001–0.999999 of the vapour, or measure instead of reckoning\n",
    );
}

#[test]
fn airflow_holds_the_limit_and_says_whose_it_is() {
    // Q = 24.04e6 · 1.045 · 0.5 · 5/(108.14 · 50) = 11615.4 m³/h for benzyl alcohol.
    let it = json(&[
        "airflow",
        "--solvent",
        "Benzyl alcohol",
        "--evaporates",
        "0.5L/h",
        "--mixing",
        "5",
        "--limit",
        "50ppm",
    ]);
    near(
        number(&it, "airflow_m3_per_min"),
        11_615.406_0 / 60.0,
        1e-4,
        "airflow",
    );
    // 50 ppm of 0.99 %, the lower of two printed explosive limits.
    near(
        number(&it, "share_of_lel_percent"),
        0.005 / 0.99 * 100.0,
        1e-9,
        "share",
    );
    let by_weight = json(&[
        "airflow",
        "--solvent",
        "benzyl alcohol",
        "--evaporates",
        "8.708333333333334 g/min",
        "--mixing",
        "5",
        "--limit",
        "50ppm",
    ]);
    near(
        number(&by_weight, "airflow_m3_per_min"),
        number(&it, "airflow_m3_per_min"),
        1e-9,
        "by weight",
    );
    let alone = json(&["airflow", "--solvent", "ethanol", "--evaporates", "8ml/min"]);
    near(number(&alone, "limit_ppm"), 1000.0, 0.0, "limit");
    assert!(
        alone["because"]
            .as_str()
            .unwrap()
            .contains("preset, confirm on the data sheet")
    );
    refused(
        &[
            "airflow",
            "--solvent",
            "dimethyl adipate",
            "--evaporates",
            "8ml/min",
        ],
        "no limit is listed for dimethyl adipate\n where: --limit\n    do: give the one of its safety data sheet, such as --limit 10ppm\n",
    );
    refused(
        &["airflow", "--solvent", "acetone", "--evaporates", "8ml"],
        "`8ml` is not an amount in a time\n where: --evaporates\n    do: write it like 0.5L/h, 8ml/min or 7g/min\n",
    );
}

#[test]
fn colour_takes_lab_and_hex() {
    // Sharma, Wu, Dalal (2005), pair 25.
    let it = json(&[
        "colour",
        "--from",
        "60.2574,-34.0099,36.2677",
        "--to",
        "60.4626,-34.1751,39.4387",
    ]);
    near(number(&it, "delta_e_2000"), 1.2644, 5.1e-5, "pair 25");
    near(number(&it, "delta_l"), 0.2052, 1e-9, "lightness");
    assert!(0.0 < number(&it, "delta_c"));
    assert!(number(&it, "delta_h") < 0.0);
    let it = json(&[
        "colour",
        "--from",
        "50,0,0",
        "--to",
        "52,1,1",
        "--to",
        "70,9,9",
        "--to",
        "51.5,1,1.2",
    ]);
    near(number(&it, "delta_l"), 2.0, 1e-12, "the median of three");
    assert!(10.0 < number(&it, "to_spread"));
    let two = asked(&[
        "colour", "--from", "50,0,0", "--to", "52,1,1", "--to", "52,1,1",
    ]);
    assert_eq!(
        two.unwrap_err().three_lines(),
        "2 readings given, at least 3 needed\n where: reckon colour\n    do: give at least 3 readings\n"
    );
    // sRGB white less black is the whole of L*.
    let it = json(&["colour", "--from", "#000000", "--to", "#FFFFFF"]);
    near(number(&it, "delta_l"), 100.0, 1e-4, "white");
    refused(
        &["colour", "--from", "#12345", "--to", "50,0,0"],
        "`#12345` is not a colour\n where: --from\n    do: write L,a,b like 62.1,8.4,21.0, or #rrggbb\n",
    );
}

#[test]
fn surface_takes_radii_and_half_lengths() {
    // Half-lengths 10, 10, 5: 867.18827033 by Carlson's integral as published.
    let it = json(&[
        "surface",
        "--solid",
        "ellipsoid",
        "--size",
        "100cm,1m,500mm",
    ]);
    near(number(&it, "area_m2"), 8.671_882_703_3, 1e-9, "ellipsoid");
    let it = json(&["surface", "--solid", "cylinder", "--size", "100mm, 500mm"]);
    near(number(&it, "area_m2"), 0.314_159_265_4, 1e-9, "cylinder");
    near(
        number(&it, "with_ends_m2"),
        0.376_991_118_4,
        1e-9,
        "with ends",
    );
    refused(
        &["surface", "--solid", "cone", "--size", "100mm"],
        "1 sizes do not make this solid\n where: --size\n    do: give radius, upright height, with commas between\n",
    );
}

#[test]
fn fit_reads_its_points_from_a_file() {
    let it = json(&["fit", "--line", "line.csv"]);
    // By hand: x̄ = 1.5, ȳ = 4.125, Sxy = 10.25, Sxx = 5, Syy = 21.1875.
    near(number(&it, "slope"), 2.05, 1e-12, "slope");
    near(number(&it, "intercept"), 1.05, 1e-12, "intercept");
    near(
        number(&it, "r_squared"),
        10.25 * 10.25 / (5.0 * 21.187_5),
        1e-12,
        "share",
    );
    assert!(0.0 < number(&it, "slope_standard_error"));
    assert_eq!(
        json(&["fit", "--line", "turned.csv"]),
        it,
        "the head names the columns"
    );
    let it = json(&["fit", "--approach", "curve.csv", "--start", "0"]);
    near(number(&it, "end"), 213.809_408_89, 1e-6, "BoxBOD");
    near(number(&it, "rate"), 0.547_237_485_42, 1e-9, "BoxBOD");
    let free = json(&["fit", "--approach", "curve.csv"]);
    for key in [
        "start",
        "end",
        "rate",
        "start_standard_error",
        "end_standard_error",
        "rate_standard_error",
    ] {
        assert!(free[key].is_f64(), "{key}");
    }
    refused(
        &["fit", "--line", "bad.csv"],
        "`two` is not a number\n where: bad.csv, line 3\n    do: write 2 numbers on each line, with commas between\n",
    );
}

#[test]
fn a_file_that_cannot_be_read_is_exit_code_3() {
    let trouble = asked(&["fit", "--line", "none.csv"]).unwrap_err();
    assert_eq!(trouble.exit_code(), 3);
    assert_eq!(
        trouble.three_lines(),
        "cannot read the file: there is no such file\n where: none.csv\n    do: check the name of the file\n"
    );
}

#[test]
fn a_bare_number_is_refused_with_the_units() {
    refused(
        &["emc", "--air", "21", "--humidity", "65%"],
        "`21` has no unit, so it could be any temperature\n where: --air\n    do: write the number with one of these units: C, F\n",
    );
    refused(
        &["emc", "--air", "nan", "--humidity", "65%"],
        "`nan` is not a temperature: it does not begin with a number\n where: --air\n    do: write the number with one of these units: C, F\n",
    );
}

#[test]
fn every_topic_reads_as_aligned_lines_that_end_with_the_source() {
    for words in [
        &["emc", "--air", "21C", "--humidity", "65%"][..],
        &["air-for", "--moisture", "12%", "--air", "21C"],
        &[
            "movement", "--wood", "lime", "--across", "12cm", "--from", "12%", "--to", "7%",
            "--cut", "quarter",
        ],
        &["dew", "--air", "20C", "--humidity", "50%"],
        &["purge", "--changes", "6", "--to", "1%"],
        &[
            "airflow",
            "--solvent",
            "acetone",
            "--evaporates",
            "10ml/min",
        ],
        &["colour", "--from", "50,0,0", "--to", "52,1,1"],
        &["surface", "--solid", "cone", "--size", "10mm,20mm"],
        &["fit", "--line", "line.csv"],
    ] {
        let text = asked(words).unwrap();
        let last = text.lines().last().unwrap();
        assert!(last.starts_with("source "), "{text}");
        assert!(text.contains("\nbecause "), "{text}");
    }
}
