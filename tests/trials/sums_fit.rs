//! Least squares and the approach to an end against the certified values of the Statistical
//! Reference Datasets of NIST.

use knuckle::reckon::SumTrouble;
use knuckle::reckon::approach::{Start, approach};
use knuckle::reckon::line::{
    LeastSquares, polynomial, several_columns, straight_line, through_nought,
};
use proptest::prelude::*;

use crate::published::{near, published};

/// Returns the points (x, y) of a dataset.
fn points(table: &str, dataset: &str) -> Vec<(f64, f64)> {
    let x = if table == "nist_strd_linear_data" {
        "x1"
    } else {
        "x"
    };
    let points: Vec<(f64, f64)> = published(table)
        .iter()
        .filter(|row| row.text("dataset") == dataset)
        .map(|row| (row.number(x), row.number("y")))
        .collect();
    assert!(!points.is_empty(), "{dataset}");
    points
}

/// Holds a value to a number of correct digits; a certified nought to that share of `size`.
#[track_caller]
fn digits(value: f64, certified: f64, count: i32, size: f64, what: &str) {
    let scale = if certified == 0.0 {
        size
    } else {
        certified.abs()
    };
    near(value, certified, 10.0_f64.powi(-count) * scale, what);
}

#[track_caller]
fn certified(dataset: &str, fit: &LeastSquares, count: i32) {
    let rows = published("nist_strd_linear_certified");
    let rows: Vec<_> = rows
        .iter()
        .filter(|row| row.text("dataset") == dataset)
        .collect();
    assert_eq!(rows.len(), fit.factors.len(), "{dataset}");
    let errors = fit.standard_errors.as_ref().unwrap();
    for (place, row) in rows.iter().enumerate() {
        let what = format!("{dataset} {}", row.text("parameter"));
        digits(
            fit.factors[place],
            row.number("estimate"),
            count,
            1.0,
            &what,
        );
        digits(errors[place], row.number("std_error"), count, 1.0, &what);
        digits(
            fit.residual_sd.unwrap(),
            row.number("residual_sd"),
            count,
            1.0,
            &what,
        );
        digits(
            fit.r_squared.unwrap(),
            row.number("r_squared"),
            count,
            1.0,
            &what,
        );
    }
}

#[test]
fn linear_datasets_are_fitted_to_twelve_digits_whatever_their_difficulty() {
    // Certified to 15 digits. Norris and NoInt are of lower or average difficulty, the Wampler sets
    // of higher; twice double precision makes no difference between them. Twelve digits leave
    // room for the rounding of the certified values and of the answer.
    let linear = |dataset: &str| points("nist_strd_linear_data", dataset);
    certified("Norris", &straight_line(&linear("Norris")).unwrap(), 12);
    for dataset in ["NoInt1", "NoInt2"] {
        certified(dataset, &through_nought(&linear(dataset)).unwrap(), 12);
    }
    for dataset in ["Wampler1", "Wampler4", "Wampler5"] {
        certified(dataset, &polynomial(&linear(dataset), 5).unwrap(), 12);
    }
}

#[test]
fn longley_is_fitted_to_twelve_digits() {
    // J. W. Longley, J. Am. Stat. Assoc. 62 (1967) 819; NIST certified values. Both from memory:
    // that they fit together to twelve digits is the proof of either.
    let y = [
        60323.0, 61122.0, 60171.0, 61187.0, 63221.0, 63639.0, 64989.0, 63761.0, 66019.0, 67857.0,
        68169.0, 66513.0, 68655.0, 69564.0, 69331.0, 70551.0,
    ];
    let columns = [
        [
            83.0, 88.5, 88.2, 89.5, 96.2, 98.1, 99.0, 100.0, 101.2, 104.6, 108.4, 110.8, 112.6,
            114.2, 115.7, 116.9,
        ],
        [
            234_289.0, 259_426.0, 258_054.0, 284_599.0, 328_975.0, 346_999.0, 365_385.0, 363_112.0,
            397_469.0, 419_180.0, 442_769.0, 444_546.0, 482_704.0, 502_601.0, 518_173.0, 554_894.0,
        ],
        [
            2356.0, 2325.0, 3682.0, 3351.0, 2099.0, 1932.0, 1870.0, 3578.0, 2904.0, 2822.0, 2936.0,
            4681.0, 3813.0, 3931.0, 4806.0, 4007.0,
        ],
        [
            1590.0, 1456.0, 1616.0, 1650.0, 3099.0, 3594.0, 3547.0, 3350.0, 3048.0, 2857.0, 2798.0,
            2637.0, 2552.0, 2514.0, 2572.0, 2827.0,
        ],
        [
            107_608.0, 108_632.0, 109_773.0, 110_929.0, 112_075.0, 113_270.0, 115_094.0, 116_219.0,
            117_388.0, 118_734.0, 120_445.0, 121_950.0, 123_366.0, 125_368.0, 127_852.0, 130_081.0,
        ],
        [
            1947.0, 1948.0, 1949.0, 1950.0, 1951.0, 1952.0, 1953.0, 1954.0, 1955.0, 1956.0, 1957.0,
            1958.0, 1959.0, 1960.0, 1961.0, 1962.0,
        ],
    ]
    .map(|column| column.to_vec());
    let fit = several_columns(&columns, &y).unwrap();
    let certified = [
        -3_482_258.634_595_82,
        15.061_872_271_373_3,
        -0.035_819_179_292_591_0,
        -2.020_229_803_816_83,
        -1.033_226_867_173_59,
        -0.051_104_105_653_580_7,
        1_829.151_464_613_55,
    ];
    for (value, wanted) in fit.factors.iter().zip(certified) {
        digits(*value, wanted, 12, 1.0, "Longley");
    }
    digits(
        fit.residual_sd.unwrap(),
        304.854_073_561_965,
        12,
        1.0,
        "residual sd",
    );
    digits(
        fit.standard_errors.unwrap()[0],
        890_420.383_607_373,
        12,
        1.0,
        "error of B0",
    );
}

#[test]
fn an_approach_from_nought_is_fitted_to_nine_digits_without_a_first_guess() {
    let fit = approach(
        &points("nist_strd_nonlinear_data", "BoxBOD"),
        Start::Held(0.0),
    )
    .unwrap();
    let rows = published("nist_strd_nonlinear_certified");
    let row = |name: &str| {
        let is_it = |row: &&_| {
            let row: &crate::published::Published = row;
            row.text("dataset") == "BoxBOD" && row.text("parameter") == name
        };
        rows.iter().find(is_it).unwrap()
    };
    let [_, end_error, rate_error] = fit.standard_errors.unwrap();
    // Certified to 11 digits; nine are held, since the least square is flat near its foot.
    digits(fit.end, row("b1").number("certified"), 9, 1.0, "end");
    digits(fit.rate, row("b2").number("certified"), 9, 1.0, "rate");
    digits(
        end_error,
        row("b1").number("certified_sd"),
        8,
        1.0,
        "error of the end",
    );
    digits(
        rate_error,
        row("b2").number("certified_sd"),
        8,
        1.0,
        "error of the rate",
    );
    digits(
        fit.residual_squares,
        row("b1").number("residual_ss"),
        9,
        1.0,
        "squares",
    );
    digits(
        fit.residual_sd.unwrap(),
        row("b1").number("residual_sd"),
        9,
        1.0,
        "sd",
    );
}

#[test]
fn an_approach_seen_only_in_its_first_third_is_fitted_to_nine_digits() {
    // Misra1a has the same points as Misra1b and the model b1 (1 − e^(−b2 x)). Its certified values
    // are from memory: 238.94212918 and 5.5015643181e-4, squares 0.12455138894.
    let fit = approach(
        &points("nist_strd_nonlinear_data", "Misra1b"),
        Start::Held(0.0),
    )
    .unwrap();
    digits(fit.end, 238.942_129_18, 9, 1.0, "end");
    digits(fit.rate, 5.501_564_318_1e-4, 9, 1.0, "rate");
    digits(fit.residual_squares, 0.124_551_388_94, 8, 1.0, "squares");
    let [_, end_error, rate_error] = fit.standard_errors.unwrap();
    digits(end_error, 2.707_007_524_1, 7, 1.0, "error of the end");
    digits(rate_error, 7.266_868_843_6e-6, 7, 1.0, "error of the rate");
}

#[test]
fn what_does_not_bend_has_no_end() {
    let straight = [(0.0, 1.0), (1.0, 2.0), (2.0, 3.0), (3.0, 4.0)];
    let bending_up = [(0.0, 1.0), (1.0, 2.0), (2.0, 4.0), (3.0, 8.0)];
    for points in [straight, bending_up] {
        let trouble = approach(&points, Start::Free).unwrap_err();
        assert_eq!(trouble.to_string(), "the points do not bend towards an end");
    }
    let few = approach(&straight[..2], Start::Free).unwrap_err();
    assert!(matches!(few, SumTrouble::TooFew { .. }));
}

#[test]
fn points_on_one_upright_give_no_line() {
    let trouble = straight_line(&[(2.0, 1.0), (2.0, 3.0)]).unwrap_err();
    assert_eq!(
        trouble.to_string(),
        "the points cannot tell the parts of the curve apart"
    );
    assert!(straight_line(&[(1.0, 1.0)]).is_err());
    assert!(straight_line(&[]).is_err());
    let level = straight_line(&[(0.0, 3.0), (1.0, 3.0), (2.0, 3.0)]).unwrap();
    assert_eq!(
        level.r_squared, None,
        "nothing varies, so nothing is explained"
    );
    let two = straight_line(&[(0.0, 3.0), (1.0, 4.0)]).unwrap();
    assert_eq!(two.standard_errors, None, "two points leave nothing over");
}

proptest! {
    #[test]
    fn a_clean_approach_is_found_again(
        start in -50.0..50.0_f64, reach in 1.0..100.0_f64, rate in 0.05..2.0_f64,
    ) {
        let end = start + reach;
        let points: Vec<(f64, f64)> = (0..8)
            .map(|step| f64::from(step) * 0.7)
            .map(|x| (x, end + (start - end) * (-rate * x).exp()))
            .collect();
        let fit = approach(&points, Start::Free).unwrap();
        prop_assert!((fit.rate - rate).abs() < 1e-6 * rate, "{fit:?}");
        prop_assert!((fit.end - end).abs() < 1e-5 * reach, "{fit:?}");
        prop_assert!((fit.start - start).abs() < 1e-5 * reach, "{fit:?}");
    }

    #[test]
    fn a_clean_line_is_found_again(slope in -9.0..9.0_f64, intercept in -9.0..9.0_f64) {
        let points: Vec<(f64, f64)> =
            (0..5).map(f64::from).map(|x| (x, slope.mul_add(x, intercept))).collect();
        let fit = straight_line(&points).unwrap();
        prop_assert!((fit.factors[1] - slope).abs() < 1e-13);
        prop_assert!((fit.factors[0] - intercept).abs() < 1e-13);
    }
}
