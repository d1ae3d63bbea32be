//! The laws that the sums of the bench never break: bounds in order, promises never longer when
//! it is hotter or heavier, hours that add up and lead back, leaf that never grows less.

use knuckle::reckon::{
    Air, Celsius, Estimate, Grams, Hours, LeafJob, LeafPlace, Millimetres, Minutes, Pace, Percent,
    SheetPoint, SizeClass, SquareMetres, Trace, count_leaves, equivalent_hours, hours_until,
    promise, tack,
};
use proptest::prelude::*;

fn sheet_of(minutes: f64, grams: f64, celsius: f64) -> SheetPoint {
    SheetPoint {
        minutes: Minutes(minutes),
        grams: Grams(grams),
        temperature: Celsius(celsius),
    }
}

fn points(points: &[(f64, f64)]) -> Trace {
    let points = points
        .iter()
        .map(|&(hour, celsius)| (Hours(hour), Celsius(celsius)));
    Trace::new(points.collect()).expect("the trace is in order")
}

fn is_in_order<T: Copy + PartialOrd>(estimate: &Estimate<T>) -> bool {
    estimate.do_before() <= estimate.likely() && estimate.likely() <= estimate.wait_until()
}

/// A shop's readings: hours in order, warm enough that nothing stalls.
fn any_trace() -> impl Strategy<Value = Trace> {
    prop::collection::vec((0.1..6.0_f64, 6.0..39.0_f64), 1..12).prop_map(|steps| {
        let mut hour = 0.0;
        let readings: Vec<_> = steps
            .into_iter()
            .map(|(step, celsius)| {
                hour += step;
                (hour, celsius)
            })
            .collect();
        points(&readings)
    })
}

/// Adds up slices of the plain law, the slow way round, from the readings alone.
fn add_up(trace: &Trace, reference: f64, from: f64, to: f64) -> f64 {
    let slices = 20_000_u32;
    let slice = (to - from) / f64::from(slices);
    let at = |hour: f64| {
        let readings = trace.points();
        let after = readings.iter().position(|it| hour < it.0.0);
        match after {
            Some(0) => readings[0].1.0,
            None => readings[readings.len() - 1].1.0,
            Some(n) => {
                let (left, right) = (readings[n - 1], readings[n]);
                let share = (hour - left.0.0) / (right.0.0 - left.0.0);
                left.1.0 * (1.0 - share) + right.1.0 * share
            }
        }
    };
    (0..slices)
        .map(|n| at(from + (f64::from(n) + 0.5) * slice))
        .map(|celsius| 2_f64.powf((celsius - reference) / 10.0) * slice)
        .sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn a_cup_is_never_promised_more_when_hotter_or_heavier(
        minutes in 8.0..120.0_f64,
        sheet_grams in 20.0..300.0_f64,
        sheet_celsius in 15.0..30.0_f64,
        grams in 5.0..2500.0_f64,
        celsius in 5.0..35.0_f64,
        more in 1.0..2.0_f64,
        hotter in 0.0..5.0_f64,
    ) {
        let sheet = [sheet_of(minutes, sheet_grams, sheet_celsius)];
        let cup = promise(&sheet, Grams(grams), Celsius(celsius)).unwrap();
        let warm = promise(&sheet, Grams(grams), Celsius(celsius + hotter)).unwrap();
        let heavy = promise(&sheet, Grams(grams * more), Celsius(celsius)).unwrap();
        for other in [&warm, &heavy] {
            prop_assert!(other.do_before().0 <= cup.do_before().0 + 1e-9);
            prop_assert!(other.likely().0 <= cup.likely().0 + 1e-9);
            prop_assert!(is_in_order(other));
        }
        prop_assert!(is_in_order(&cup));
    }

    /// The safe rules written out a second time, as the head of `pot_life_promise.csv` has them.
    #[test]
    fn a_cup_is_never_promised_more_than_the_safe_rules(
        minutes in 8.0..120.0_f64,
        grams in 5.0..5000.0_f64,
        celsius in 5.0..40.0_f64,
    ) {
        let cup = promise(&[sheet_of(minutes, 100.0, 22.0)], Grams(grams), Celsius(celsius)).unwrap();
        let heat = if 22.0 < celsius {
            1.0 / 2.5_f64.powf((celsius - 22.0) / 10.0)
        } else {
            1.5_f64.powf((22.0 - celsius) / 10.0).min(1.5)
        };
        let mass = if 100.0 < grams { (grams / 100.0).powf(-0.4) } else { 1.0 };
        prop_assert!(cup.do_before().0 <= minutes * heat * mass + 1e-9);
        if grams <= 400.0 {
            prop_assert!((cup.do_before().0 - minutes * heat * mass).abs() < 1e-9);
        }
    }

    #[test]
    fn another_statement_of_the_sheet_never_lengthens_a_promise(
        minutes in 8.0..60.0_f64,
        others in prop::collection::vec((8.0..60.0_f64, 20.0..300.0_f64, 10.0..35.0_f64), 1..4),
        grams in 5.0..500.0_f64,
        celsius in 5.0..40.0_f64,
    ) {
        let mut sheet = vec![sheet_of(minutes, 100.0, 22.0)];
        let alone = promise(&sheet, Grams(grams), Celsius(celsius)).unwrap();
        sheet.extend(others.into_iter().map(|(m, g, c)| sheet_of(m, g, c)));
        let all = promise(&sheet, Grams(grams), Celsius(celsius)).unwrap();
        prop_assert!(all.do_before() <= alone.do_before());
        prop_assert!(is_in_order(&all));
    }

    #[test]
    fn equivalent_hours_add_up_and_agree_with_slices(
        trace in any_trace(),
        reference in 15.0..25.0_f64,
        from in 0.0..20.0_f64,
        first in 0.0..20.0_f64,
        second in 0.0..20.0_f64,
    ) {
        let pace = Pace::even(Celsius(reference), 2.0).unwrap();
        let (middle, to) = (from + first, from + first + second);
        let part = |a: f64, b: f64| equivalent_hours(&trace, &pace, Hours(a), Hours(b)).0;
        prop_assert!((part(from, middle) + part(middle, to) - part(from, to)).abs() < 1e-9);
        // 40 h in 20 000 slices of 0.002 h. The rate changes by at most 121 an hour (33 °C in
        // 0.1 h at a rate of 5.3), so that each of eleven bends is wrong by 0.0005 h at most.
        let slow = add_up(&trace, reference, from, to);
        prop_assert!((part(from, to) - slow).abs() < 0.01, "{} for {slow}", part(from, to));
    }

    #[test]
    fn hours_until_is_the_way_back(
        trace in any_trace(),
        from in 0.0..20.0_f64,
        need in 0.0..60.0_f64,
    ) {
        for pace in [
            Pace::even(Celsius(20.0), 2.0).unwrap(),
            Pace::fastest(Celsius(20.0), (1.6, 2.4)).unwrap(),
            Pace::slowest(Celsius(20.0), (1.6, 2.4)).unwrap(),
        ] {
            let at = hours_until(&trace, &pace, Hours(from), Hours(need)).unwrap();
            prop_assert!(from <= at.0);
            let back = equivalent_hours(&trace, &pace, Hours(from), at);
            prop_assert!((back.0 - need).abs() < 1e-8, "{} for {need}", back.0);
        }
    }

    #[test]
    fn size_is_ready_and_dead_in_order_at_every_place(
        trace in any_trace(),
        humidity in prop::option::of(0.0..100.0_f64),
        laid in 0.0..30.0_f64,
        class in prop::sample::select(vec!["quick", "three_hour", "slow", "old_gold"]),
    ) {
        let size = SizeClass::named(class).unwrap().times();
        let air = Air { trace: &trace, humidity: humidity.map(Percent) };
        let [edge, flat, hollow] = [LeafPlace::Edge, LeafPlace::Flat, LeafPlace::Hollow]
            .map(|place| tack(&size, place, air, Hours(laid)).unwrap());
        for at in [&edge, &flat, &hollow] {
            prop_assert!(is_in_order(&at.ready) && is_in_order(&at.dead));
            prop_assert!(at.ready.do_before() < at.dead.do_before());
        }
        prop_assert!(edge.dead.likely() <= flat.dead.likely());
        prop_assert!(flat.ready.wait_until() <= hollow.ready.wait_until());
    }

    #[test]
    fn leaves_never_grow_fewer_with_lap_waste_relief_or_area(
        area in 0.01..20.0_f64,
        side in 70.0..170.0_f64,
        lap in 0.0..8.0_f64,
        waste in 0.0..100.0_f64,
        relief in 1.0..1.6_f64,
        more in 0.0..1.0_f64,
    ) {
        let job = LeafJob {
            area: SquareMetres(area),
            leaf: Millimetres(side),
            lap: Millimetres(lap),
            waste: Percent(waste),
            relief,
        };
        let count = count_leaves(&job).unwrap();
        for wider in [
            LeafJob { lap: Millimetres(lap + more), ..job },
            LeafJob { waste: Percent(waste + more), ..job },
            LeafJob { relief: relief + more, ..job },
            LeafJob { area: SquareMetres(area + more), ..job },
        ] {
            let wider = count_leaves(&wider).unwrap();
            prop_assert!(count.leaves <= wider.leaves && count.books <= wider.books);
        }
        prop_assert!(count.leaves <= count.books * 25 && (count.books - 1) * 25 < count.leaves);
        // The metal laid out covers the carved area at least once.
        let whole = f64::from(u32::try_from(count.leaves).unwrap());
        prop_assert!(area * relief <= whole * (side - lap) * (side - lap) / 1e6 + 1e-9);
    }
}
