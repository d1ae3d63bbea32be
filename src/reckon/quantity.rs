//! Quantities that carry their unit in their type. Everything is kept in one unit each;
//! other units exist only at the edge, where text is read and shown.

use serde::{Deserialize, Serialize};

macro_rules! quantity {
    ($($(#[$doc:meta])* $name:ident, $unit:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub f64);

        impl $name {
            /// The unit's sign as it is shown after the number.
            pub const UNIT: &str = $unit;

            /// Returns the bare number in this type's unit.
            pub fn value(self) -> f64 {
                self.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)?;
                f.write_str(concat!("\u{a0}", $unit))
            }
        }
    )*};
}

quantity! {
    /// A temperature in degrees Celsius.
    Celsius, "°C";
    /// A share in percent: relative humidity, moisture content (of dry wood weight), solids.
    Percent, "%";
    /// A mass in grams.
    Grams, "g";
    /// A length in millimetres.
    Millimetres, "mm";
    /// A film thickness in micrometres.
    Micrometres, "µm";
    /// An area in square metres.
    SquareMetres, "m²";
    /// A volume in litres.
    Litres, "L";
    /// A volume in millilitres.
    Millilitres, "ml";
    /// A span of time in minutes.
    Minutes, "min";
    /// A span of time in hours.
    Hours, "h";
    /// A volume of a room in cubic metres.
    CubicMetres, "m³";
    /// A flow of air in cubic metres per minute.
    CubicMetresPerMinute, "m³/min";
    /// How far a coat spreads, in square metres per litre.
    SquareMetresPerLitre, "m²/L";
    /// A density in grams per millilitre.
    GramsPerMillilitre, "g/ml";
    /// A share of vapour in air, in parts per million by volume.
    PartsPerMillion, "ppm";
}

impl From<Hours> for Minutes {
    fn from(hours: Hours) -> Self {
        Self(hours.0 * 60.0)
    }
}

impl From<Minutes> for Hours {
    fn from(minutes: Minutes) -> Self {
        Self(minutes.0 / 60.0)
    }
}
