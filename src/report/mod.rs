//! Pages made from a standing, never from the screen: a deed as a sentence, a day, and the
//! supervisor's page.
//!
//! Start reading at [`tell`], then [`DayPage`]. Nothing here knows a terminal; `gather` alone
//! reads journals.

mod day;
mod gather;
mod harmless;
mod night;
mod night_scale;
mod page;
mod shown;
mod tell;

pub use day::{DaySpan, book_name, day_lines, struck_lines, zone_of};
pub use gather::{gather_day, standing_until};
pub use harmless::{harmless, harmless_json};
pub use night::night_page;
pub use night_scale::{NightScale, Stretch};
pub use page::{DayPage, PageRow, Point, day_page};
pub use shown::{Shown, clock_itself, clock_name, grounds};
pub use tell::{DayLine, DayMark, gate_name, mark, tell, work_name};
