//! The part of the argument table that looks ahead and back: `next`, `forecast`, `hours`.

use clap::{Args, ValueEnum};

use super::table::whole;
use crate::card::Mark;

/// The arguments of `next`.
#[derive(Debug, Clone, Default, Args)]
pub struct NextArgs {
    /// Who asks: a short name from the shop card; anybody's work if left out
    #[arg(long = "by", value_name = "NAME")]
    pub asks: Option<String>,
    /// Minutes at hand; until the doors close if left out
    #[arg(long, value_name = "N", value_parser = whole::<5, 1440>, allow_negative_numbers = true)]
    pub minutes: Option<u32>,
    /// Note in the journal which of the choices was picked; needs --as
    #[arg(long, value_name = "N", value_parser = whole::<1, 3>, allow_negative_numbers = true)]
    pub pick: Option<u32>,
}

/// The arguments of `forecast`.
#[derive(Debug, Clone, Args)]
pub struct ForecastArgs {
    /// Short name of a figure, for the rest of its way; all figures if left out
    pub figure: Option<String>,
    /// How many times the days ahead are run through
    #[arg(long, value_name = "N", default_value_t = 500, value_parser = whole::<10, 20_000>, allow_negative_numbers = true)]
    pub runs: u32,
    /// The same number gives the same luck
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// What if this room were warmer by so much, such as bench-room=4C
    #[arg(long, value_name = "ROOM=DEGREES")]
    pub warmer: Vec<String>,
    /// What if this room were held at a humidity, such as store=55%
    #[arg(long, value_name = "ROOM=HUMIDITY")]
    pub humidity: Vec<String>,
    /// What if every joint were glued with this material, such as slow-epoxy
    #[arg(long, value_name = "MATERIAL")]
    pub slower_hardener: Option<String>,
    /// What if there were one more of this trade
    #[arg(long, value_enum, value_name = "TRADE")]
    pub second: Vec<SecondHand>,
}

/// One more pair of hands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SecondHand {
    /// Surveys, photographs, layer study
    Surveyor,
    /// Strippers and washes
    Stripper,
    /// Joints, epoxy, splices, fills
    Joiner,
    /// Primer, colour, varnish
    Painter,
    /// Size and leaf
    Gilder,
}

impl From<SecondHand> for Mark {
    fn from(hand: SecondHand) -> Self {
        match hand {
            SecondHand::Surveyor => Self::Study,
            SecondHand::Stripper => Self::Strip,
            SecondHand::Joiner => Self::Join,
            SecondHand::Painter => Self::Paint,
            SecondHand::Gilder => Self::Gild,
        }
    }
}

/// The arguments of `hours`.
#[derive(Debug, Clone, Default, Args)]
pub struct HoursArgs {
    /// Short name of a figure; all figures if left out
    pub figure: Option<String>,
}
