//! Pure: looks ahead.
//!
//! [`night`] is the ruler of the night: when to lay size this evening so that tomorrow's leaf
//! falls between ready and dead while somebody is there. [`stock`] is the shelf against what the routes still need. Every plan is given `now`; nothing
//! here is kept.

mod hours;
mod leafing;
mod lots;
mod night;
mod otherwise;
mod ruler;
mod stock;

pub use hours::{Present, presence};
pub use leafing::Piece;
pub use night::{LaySpan, Leafing, Night, NightAsk, SizeChoice, night};
pub use ruler::Certainty;
pub use stock::{LotStock, MaterialNeed, Stock, stock};
