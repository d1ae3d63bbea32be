//! The terminal: events, keys, look, and one file per screen.
//!
//! One way round: a key or a touch becomes an [`keys::Act`], the hand turns it into intents
//! for the [`Bench`] behind the screen, and what was kept there is looked at anew as a
//! [`Sight`] and drawn. The screen changes no standing and keeps nothing. Start reading at
//! `turn.rs`, then `hand.rs`, then `pane.rs`.

mod act;
mod ahead;
mod ask;
mod asking;
mod at_step;
mod behind;
mod bench;
mod clocks;
mod column;
mod cup;
mod day;
mod day_kept;
mod day_page;
mod dossier;
mod easel;
mod events;
mod field;
mod floor;
mod floor_rows;
mod graphics;
mod ground;
mod hand;
mod help;
mod ink;
pub mod keys;
mod letters;
mod lists;
pub mod look;
mod night;
mod over;
mod pane;
mod photographs;
mod plate;
mod problems;
mod reckoning;
mod ringer;
mod safety;
mod sight;
mod sums;
mod terminal;
pub mod times;
mod tonight;
mod turn;
mod turn_ahead;
mod turn_asks;
mod view;
mod waker;

pub use behind::{Bench, Unread};
pub use dossier::{Dossier, DossierView, Leaf, MapMark, Part, Shown};
pub use easel::{Easel, Hung, NoEasel};
pub use events::{
    Bell, Dial, Event, Opening, PhotoRead, PhotoReader, Preparing, Reckoned, Reckoner, Silent,
    Source,
};
pub use field::Field;
pub use floor_rows::AtRisk;
pub use hand::{Reply, act, places};
pub use ink::{Touch, plain};
pub use pane::{Drawn, LEAST_HEIGHT, LEAST_WIDTH, Pane};
pub use ringer::{Ringer, Strikes};
pub use sight::{STRIKE_S, Sight, Waiting, WaitingAt};
pub use terminal::{BugWords, ScreenTrouble, find_terminal, run};
pub use turn::{Turn, go_round};
pub use view::{
    AirEntry, DayLeaf, DayWish, FloorOrder, FloorWish, Last, List, Make, NightWish, Over, Page,
    Question, Row, Said, Then, View, Write,
};
pub use waker::{Wake, Waker};
