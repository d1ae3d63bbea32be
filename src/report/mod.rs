//! Pages made from a standing, never from the screen: a deed as a sentence, a day, and the
//! supervisor's page.
//!
//! Start reading at [`tell`], then [`DayPage`], then [`dossier`]. Nothing here knows a terminal;
//! `gather` alone reads journals, and `dossier` reads and writes what a figure's folder needs.

mod day;
pub mod dossier;
mod entry;
mod gather;
mod harmless;
mod moved;
mod needle;
mod night;
mod night_scale;
mod page;
mod recall;
mod recall_air;
mod recall_words;
mod shelf;
mod shown;
mod study;
mod tell;

pub use day::{DaySpan, book_name, day_lines, struck_lines, tomorrow, zone_of};
pub use entry::{Entry, entry};
pub use gather::{gather_day, standing_until};
pub use harmless::{harmless, harmless_json};
pub use moved::plainly;
pub use night::night_page;
pub use night_scale::{NightScale, Stretch};
pub use page::{DayPage, Foreseen, NOT_RECKONED, PageAsk, PageRow, Point, day_page};
pub use recall::{Archive, Found, Recalled, group};
pub use recall_air::AirAsk;
pub use shelf::{amount, lot_remarks, money};
pub use shown::{Shown, clock_itself, clock_name, grounds};
pub use study::late_words;
pub use tell::{DayLine, DayMark, gate_name, mark, tell, work_name};
