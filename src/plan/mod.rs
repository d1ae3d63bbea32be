//! Pure: looks ahead.
//!
//! [`night`] is the ruler of the night: when to lay size this evening so that tomorrow's leaf
//! falls between ready and dead while somebody is there. [`stock`] is the shelf against what the
//! routes still need. [`forecast`] says when each figure is done, as a range, and what moves it;
//! [`next`] what to do with the time at hand; [`spent`] where the hours went, [`used_by_block`] the
//! materials. Every plan is given `now`; nothing here is kept.
//!
//! The forecast is made in four steps: `ahead` turns the rest of every route into a [`Project`],
//! `order` seeks a good order of its blocks, [`Board`] places them, `simulate` does so over and
//! over with other luck.

mod ahead;
mod ahead_job;
mod asked;
mod beside;
mod board;
mod chance;
mod coming;
mod crew;
mod follow;
mod forecast;
mod free;
mod hands_after;
mod hours;
mod later;
mod lay_tonight;
mod leaf_time;
mod leafing;
mod loops;
mod lots;
mod movers;
mod next;
mod night;
mod order;
mod otherwise;
mod outlook;
mod overnight;
mod pace;
mod parts;
mod picks;
mod project;
mod refused;
mod remedies;
mod ruler;
mod shut;
mod simulate;
mod slots;
mod spent;
mod stock;
mod uses;

pub use ahead::{DAYS, ahead};
pub use asked::said_of;
pub use beside::{Beside, is_told, simulate_beside};
pub use board::{Board, Luck, Placed};
pub use coming::{Besides, Coming, WEEKS, WeekNeed, coming};
pub use forecast::{
    COARSE_RUNS, Forecast, ForecastAsk, Outcome, PathStop, Prepared, RUNS, SEED, Shift, Shifted,
    forecast, is_at_risk, noted, prepare, prepare_usual, prepare_what_if,
};
pub use hands_after::hands_after;
pub use hours::{Present, noon_after, presence};
pub use later::Later;
pub use leafing::Piece;
pub use lots::waiting_panels;
pub use movers::Mover;
pub use next::{Choice, NextAsk, held_back, next, next_and_later, walk_name};
pub use night::{LaySpan, Leafing, Night, NightAsk, PlaceSpan, SizeChoice, night};
pub use order::{Order, SEARCH, cost, order};
pub use overnight::{opens_again, overnight};
pub use project::{
    Again, Block, Cause, Edge, Effects, GRAIN_MIN, Goal, Hand, JobAhead, LINGERS_MIN, Limit, Link,
    Project, Task, slots_for, slots_within,
};
pub use ruler::Certainty;
pub use simulate::{Runs, Turns};
pub use slots::Slots;
pub use spent::{BLOCKS, Hands, Spent, block_of, hands_when, spent};
pub use stock::{LotStock, MaterialNeed, Stock, WorkNeed, stock};
pub use uses::{BlockUse, LotUse, Tin, used_by_block, uses};

use crate::card::Mark;

/// What a question changes in the shop before it looks ahead; nothing by itself.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Change {
    /// Rooms that are warmer by so many °C, with no water put in or taken out.
    pub warmer: Vec<(String, f64)>,
    /// Rooms held at a humidity, %.
    pub humidity: Vec<(String, f64)>,
    /// The material taken for every joint.
    pub glue: Option<String>,
    /// One more person with each of these marks.
    pub second: Vec<Mark>,
}

impl Change {
    /// Returns both changes at once; of two glues the later one is taken.
    #[must_use]
    pub fn and(mut self, other: Self) -> Self {
        self.warmer.extend(other.warmer);
        self.humidity.extend(other.humidity);
        self.second.extend(other.second);
        self.glue = other.glue.or(self.glue);
        self
    }
}
