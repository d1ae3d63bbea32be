//! Quantities written and read: there and back, whatever the unit.

use knuckle::reckon::{
    Celsius, CubicMetres, CubicMetresPerMinute, Grams, GramsPerMillilitre, Hours, Litres, Measured,
    Micrometres, Millilitres, Millimetres, Minutes, PartsPerMillion, Percent, SquareMetres,
    SquareMetresPerLitre, read,
};
use proptest::prelude::*;

/// Holds that every accepted unit is read, in any case, and that the reading is to scale.
#[track_caller]
fn every_unit<Q: Measured + Into<Kept>>() {
    for unit in Q::UNITS {
        for sign in [unit.sign.to_owned(), unit.sign.to_uppercase()] {
            let Kept(value) = read::<Q>(&format!("12.5 {sign}")).unwrap().into();
            let wanted = 12.5 * unit.factor + unit.shift;
            assert!((value - wanted).abs() <= 1e-12 * wanted.abs(), "{sign}");
        }
    }
    assert!(
        read::<Q>("12.5").is_err(),
        "a bare {} is refused",
        Q::QUANTITY
    );
    assert!(!Q::ACCEPTED.is_empty());
}

/// The bare number of any quantity.
struct Kept(f64);

macro_rules! kept {
    ($($name:ident),*) => {
        $(impl From<$name> for Kept {
            fn from(it: $name) -> Self {
                Self(it.value())
            }
        })*

        #[test]
        fn every_accepted_unit_is_read() {
            $(every_unit::<$name>();)*
        }

        proptest! {
            #[test]
            fn what_is_shown_is_read_back(value in -1.0e6..1.0e6_f64) {
                $(prop_assert_eq!(read::<$name>(&$name(value).to_string()).unwrap(), $name(value));)*
            }
        }
    };
}

kept! {
    Celsius, CubicMetres, CubicMetresPerMinute, Grams, GramsPerMillilitre, Hours, Litres,
    Micrometres, Millilitres, Millimetres, Minutes, PartsPerMillion, Percent, SquareMetres,
    SquareMetresPerLitre
}

#[test]
fn the_fixed_points_of_fahrenheit_and_the_international_inch() {
    let celsius = |text: &str| read::<Celsius>(text).unwrap().0;
    // Water freezes at 32 °F and boils at 212 °F by definition of the scale; both meet at −40.
    for (text, wanted) in [("32F", 0.0), ("212F", 100.0), ("-40F", -40.0)] {
        assert!((celsius(text) - wanted).abs() < 1e-12, "{text}");
    }
    // One inch is 25.4 mm exactly since 1959.
    assert!((read::<Millimetres>("1ft").unwrap().0 - 304.8).abs() < 1e-12);
}
