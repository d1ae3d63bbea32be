//! Sums about air against their published tables: dew point, purge, dilution.

use knuckle::reckon::dew::dew_point;
use knuckle::reckon::dilution::{GivenOff, dilution};
use knuckle::reckon::exposure::{SOLVENTS, Solvent};
use knuckle::reckon::line::straight_line;
use knuckle::reckon::purge::{AirChanges, Vapour, concentration, purge, steady_concentration};
use knuckle::reckon::{
    Celsius, CubicMetres, CubicMetresPerMinute, Grams, Millilitres, Minutes, PartsPerMillion,
    Percent, SumTrouble,
};
use proptest::prelude::*;

use crate::published::{near, published};

#[test]
fn the_dew_point_is_that_of_the_formulas_source_and_near_the_ashrae_equations() {
    for row in published("dew_point_grid") {
        let air = Celsius(row.number("temp_C"));
        let point = dew_point(air, Percent(row.number("rh_pct"))).unwrap();
        // The column is printed to 4 decimals.
        near(point.dew.0, row.number("dew_magnus_ae_C"), 6e-5, "Magnus");
        let ashrae = row.number("dew_ashrae_C");
        if row.text("branch") == "ice" {
            // ASHRAE prints the frost point there. The Magnus form over ice departs from it by up
            // to 0.06 °C at -20 °C, the coldest row; a margin of 3 °C does not notice.
            near(point.frost.unwrap().0, ashrae, 0.06, "frost point");
            assert!(point.dew < point.frost.unwrap(), "frost forms first");
            assert_eq!(point.first_wet(), point.frost.unwrap());
        } else {
            // Two formulas for one curve: they differ by at most 0.026 °C over this grid.
            near(point.dew.0, ashrae, 0.03, "ASHRAE");
        }
    }
}

#[test]
fn a_surface_is_fit_to_coat_from_three_degrees_above_the_dew_point_on() {
    let point = dew_point(Celsius(20.0), Percent(65.0)).unwrap();
    let just = Celsius(point.dew.0 + 3.000_001);
    let short = Celsius(point.dew.0 + 2.999_999);
    assert!(point.is_fit_to_coat(just));
    assert!(!point.is_fit_to_coat(short));
    near(point.margin(just).0, 3.0, 1e-5, "margin");
}

#[test]
fn purge_times_are_the_printed_whole_minutes() {
    for row in published("air_change_purge") {
        let changes = AirChanges::per_hour(row.number("ach_per_h")).unwrap();
        let left = 1.0 - row.number("efficiency_pct") / 100.0;
        let time = purge(changes, left, 1.0).unwrap().wait_until().0;
        near(
            time,
            row.number("formula_min"),
            1e-4,
            "formula to 4 decimals",
        );
        // The tables print whole minutes, rounded to the nearest.
        near(time, row.number("printed_min"), 0.5, "printed");
        let safe = purge(changes, left, 3.0).unwrap();
        near(safe.wait_until().0, 3.0 * time, 1e-9, "mixing factor 3");
        assert!(time <= safe.wait_until().0);
    }
}

#[test]
fn a_room_fills_and_clears_as_the_balance_says() {
    for row in published("room_dilution_cases") {
        let room = CubicMetres(row.number("V_m3"));
        let flow = CubicMetresPerMinute(row.number("Q_m3_h") / 60.0);
        let changes = AirChanges::of_room(room, flow).unwrap();
        let mixing = row.number("K");
        let vapour = Vapour {
            begin_mg_per_m3: row.number("C0_mg_m3"),
            given_off_g_per_h: row.number("G_g_h"),
        };
        let place = (room, changes);
        let after = Minutes(row.number("t_min"));
        let wanted = row.number("C_mg_m3");
        // Printed to 6 decimals, computed twice by others with a difference of 2e-12.
        let tolerance = 1e-6 + 1e-9 * wanted;
        near(
            concentration(vapour, place, mixing, after).unwrap(),
            wanted,
            tolerance,
            "C",
        );
        let steady = steady_concentration(vapour.given_off_g_per_h, place, mixing).unwrap();
        near(
            steady,
            row.number("C_steady_mg_m3"),
            1e-6 + 1e-9 * steady,
            "steady",
        );
        let half = purge(changes, 0.5, mixing).unwrap().wait_until().0;
        near(
            half,
            row.number("half_life_min"),
            1e-5,
            "half-life to 5 decimals",
        );
    }
}

#[test]
fn the_printed_build_up_and_decay_of_a_large_room_come_out() {
    // ACGIH, Industrial Ventilation, general ventilation, examples D1 to D4 (from memory):
    // 100,000 ft³, 2,000 ft³/min. Vapour is counted in ppm there; any unit will do for decay.
    let room = CubicMetres(100_000.0 * 0.028_316_846_592);
    let place = (room, AirChanges::per_hour(1.2).unwrap());
    let decay = |begin: f64, minutes: f64| {
        let vapour = Vapour {
            begin_mg_per_m3: begin,
            given_off_g_per_h: 0.0,
        };
        concentration(vapour, place, 1.0, Minutes(minutes)).unwrap()
    };
    near(decay(100.0, 69.3), 25.0, 0.05, "D3, printed to 0.1 min");
    near(decay(100.0, 60.0), 30.1, 0.05, "D4, printed to 0.1 ppm");
    // US Bureau of Reclamation, Design Guide for HVAC Systems, p. 106 (read): from 20 to 1.4 at a
    // mixing efficiency of 0.20 takes 13.3 air changes, 6.65 minutes at two a minute.
    let two_a_minute = AirChanges::per_hour(120.0).unwrap();
    let time = purge(two_a_minute, 1.4 / 20.0, 5.0).unwrap().wait_until().0;
    near(time, 6.65, 0.005, "A2, printed to 0.01 min");
}

#[test]
fn the_air_of_a_room_follows_from_a_tracers_decay() {
    // A public industrial-hygiene note (2013): least squares of ln C on t, 20 m³.
    let points: Vec<(f64, f64)> = published("tracer_decay_data")
        .iter()
        .map(|row| (row.number("t_h"), row.number("C_ppm").ln()))
        .collect();
    let slope = straight_line(&points).unwrap().factors[1];
    near(
        slope,
        -0.486_751_407_3,
        5e-11,
        "slope as in the head of the table",
    );
    // The note itself rounds the half-life to 1.4 h and so prints 9.9 m³/h.
    near(-slope * 20.0, 9.9, 0.2, "airflow");
}

#[test]
fn dilution_air_is_that_of_the_published_formula() {
    for row in published("vapour_dilution_flow") {
        let liquid = Solvent {
            density_g_per_ml: row.number("SG"),
            molar_mass: row.number("MW_g_mol"),
            ..SOLVENTS[0]
        };
        let litres = row.number("ER_L_h");
        let held = PartsPerMillion(row.number("C_ppm"));
        let mixing = row.number("K");
        let volume = GivenOff::Volume(Millilitres(litres * 1000.0 / 60.0));
        let weight = GivenOff::Weight(Grams(litres * 1000.0 / 60.0 * liquid.density_g_per_ml));
        for given_off in [volume, weight] {
            let air = dilution(&liquid, given_off, held, mixing).unwrap();
            // The SI column is printed to 4 decimals of m³/h.
            near(air.airflow.0 * 60.0, row.number("Q_SI_m3_h"), 1e-3, "SI");
            // The inch-pound form stands at 70 °F and rounds its constant: less than 0.7 % apart.
            let other = row.number("Q_IP_as_m3_h");
            near(air.airflow.0 * 60.0, other, 0.007 * other, "inch-pound");
        }
    }
}

#[test]
fn the_share_of_the_explosive_limit_is_the_held_share_over_it() {
    // Toluene explodes from 1.1 % on (NIOSH Pocket Guide p. 311): 110 ppm are 1 % of that.
    let toluene = knuckle::reckon::exposure::solvent_called("toluene").unwrap();
    let rate = GivenOff::Volume(Millilitres(1.0));
    let air = dilution(toluene, rate, PartsPerMillion(110.0), 10.0).unwrap();
    near(air.share_of_lel_percent, 1.0, 1e-12, "share");
}

#[test]
fn beyond_the_limits_no_air_sum_answers() {
    let outside = |it: Result<f64, SumTrouble>| matches!(it, Err(SumTrouble::Outside { .. }));
    let dew = |t, rh| dew_point(Celsius(t), Percent(rh)).map(|it| it.dew.0);
    assert!(outside(dew(51.0, 50.0)) && outside(dew(20.0, 0.0)) && outside(dew(20.0, 101.0)));
    let six = AirChanges::per_hour(6.0).unwrap();
    let clear = |left, mixing| purge(six, left, mixing).map(|it| it.wait_until().0);
    assert!(outside(clear(0.0, 1.0)) && outside(clear(1.0, 1.0)) && outside(clear(0.1, 0.5)));
    assert!(outside(AirChanges::per_hour(0.0).map(AirChanges::value)));
}

proptest! {
    #[test]
    fn more_air_never_clears_a_room_later(
        slow in 0.1..50.0_f64, more in 0.01..50.0_f64, left in 0.001..0.9_f64, mixing in 1.0..10.0_f64,
    ) {
        let time = |changes: f64| {
            purge(AirChanges::per_hour(changes).unwrap(), left, mixing).unwrap()
        };
        prop_assert!(time(slow + more).wait_until() < time(slow).wait_until());
        let it = time(slow);
        prop_assert!(it.do_before() <= it.likely() && it.likely() <= it.wait_until());
    }

    #[test]
    fn the_dew_point_rises_with_humidity_and_never_above_the_air(
        air in -40.0..50.0_f64, humidity in 1.0..99.0_f64,
    ) {
        let dew = |rh: f64| dew_point(Celsius(air), Percent(rh)).unwrap().dew;
        prop_assert!(dew(humidity) < dew(humidity + 1.0));
        prop_assert!(dew(humidity).0 < air);
    }

    #[test]
    fn worse_mixing_never_asks_for_less_air(ml in 0.1..100.0_f64, mixing in 1.0..9.0_f64) {
        let air = |k: f64| {
            let rate = GivenOff::Volume(Millilitres(ml));
            dilution(&SOLVENTS[4], rate, PartsPerMillion(50.0), k).unwrap().airflow
        };
        prop_assert!(air(mixing) < air(mixing + 1.0));
    }
}
