//! The measures a record may ask for, each with unit, plausible range and the range outside
//! which the bench asks again. Common practice throughout.

use serde::{Deserialize, Serialize};

/// A kind of reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Air temperature.
    AirTemperature,
    /// Relative humidity.
    Humidity,
    /// Temperature of the figure's surface.
    SurfaceTemperature,
    /// Temperature of resin in cup or can.
    ResinTemperature,
    /// Wood moisture near the surface.
    MoistureSkin,
    /// Wood moisture at depth.
    MoistureCore,
    /// Wood moisture of pieces that are to meet: no point of the drying.
    PieceMoisture,
    /// Width of a piece across the grain.
    Width,
    /// pH of wetted wood.
    Ph,
    /// Mass of a part.
    Mass,
    /// Gap of a joint.
    Gap,
    /// Offset of carving across a joint.
    JointStep,
    /// Depth of decay.
    DecayDepth,
    /// Leaves laid.
    Leaves,
    /// Books of leaf used.
    Books,
    /// Holidays in leaf.
    Holidays,
    /// Grit of abrasive.
    Grit,
    /// Dwell of stripper.
    Dwell,
    /// Volume fed or used.
    Volume,
    /// Thinning.
    Thinning,
    /// Duration.
    Duration,
    /// Grade of condition, 0 to 4.
    Grade,
    /// Colour difference, CIEDE2000.
    ColourDifference,
    /// Count of something.
    Count,
}

impl Measure {
    /// Returns unit, plausible range, and the range outside which the bench asks again.
    fn row(self) -> (&'static str, [f64; 2], [f64; 2]) {
        match self {
            Self::AirTemperature => ("°C", [5.0, 35.0], [10.0, 30.0]),
            Self::Humidity => ("%", [15.0, 95.0], [25.0, 85.0]),
            Self::SurfaceTemperature => ("°C", [2.0, 40.0], [8.0, 32.0]),
            Self::ResinTemperature => ("°C", [10.0, 35.0], [10.0, 28.0]),
            Self::MoistureSkin | Self::MoistureCore | Self::PieceMoisture => {
                ("%", [4.0, 40.0], [7.0, 25.0])
            }
            Self::Width => ("mm", [1.0, 2000.0], [5.0, 600.0]),
            Self::Ph => ("pH", [3.0, 13.0], [5.0, 8.0]),
            Self::Mass => ("g", [0.5, 2000.0], [0.5, 2000.0]),
            Self::Gap => ("mm", [0.0, 15.0], [0.0, 5.0]),
            Self::JointStep => ("mm", [0.0, 15.0], [0.0, 0.5]),
            Self::DecayDepth => ("mm", [0.0, 80.0], [0.0, 25.0]),
            Self::Leaves => ("leaves", [0.0, 2000.0], [0.0, 500.0]),
            Self::Books => ("books", [0.0, 80.0], [0.0, 20.0]),
            Self::Holidays => ("holidays", [0.0, 200.0], [0.0, 50.0]),
            Self::Grit => ("grit", [60.0, 1000.0], [80.0, 600.0]),
            Self::Dwell => ("min", [2.0, 1440.0], [2.0, 240.0]),
            Self::Volume => ("ml", [5.0, 5000.0], [5.0, 2000.0]),
            Self::Thinning => ("%", [0.0, 50.0], [0.0, 20.0]),
            Self::Duration => ("min", [0.0, 600.0], [0.0, 480.0]),
            Self::Grade => ("grade", [0.0, 4.0], [0.0, 4.0]),
            Self::ColourDifference => ("ΔE", [0.0, 60.0], [0.0, 3.0]),
            Self::Count => ("", [0.0, 1000.0], [0.0, 200.0]),
        }
    }

    /// Returns the unit's sign.
    pub fn unit(self) -> &'static str {
        self.row().0
    }

    /// Returns the lowest and highest value that can be believed.
    pub fn plausible(self) -> [f64; 2] {
        self.row().1
    }

    /// Returns the range outside which the bench asks a second time.
    pub fn ask_again(self) -> [f64; 2] {
        self.row().2
    }
}
