//! Pure: looks ahead.
//!
//! [`night`] is the ruler of the night: when to lay size this evening so that tomorrow's leaf
//! falls between ready and dead while somebody is there. Every plan is given `now`; nothing
//! here is kept.

mod hours;
mod leafing;
mod lots;
mod night;
mod otherwise;
mod ruler;

pub use hours::{Present, noon_after, presence};
pub use leafing::Piece;
pub use lots::waiting_panels;
pub use night::{LaySpan, Leafing, Night, NightAsk, PlaceSpan, SizeChoice, night};
pub use ruler::Certainty;
