//! The treatment report and the folder for thirty years: one page model, three renderers.
//!
//! A [`Sheet`] is made purely, from cards, journal lines and a standing ([`report`]), or from a
//! day's page ([`day_sheet`]). [`text`], [`html`] and [`pdf`] draw any sheet. [`folder_files`]
//! gathers a figure's whole record, [`write_folder`] writes it whole or not at all, and
//! [`verify_folder`] holds it against its sums. Start reading at `sheet.rs`, then
//! `treatment.rs`.

mod care;
mod csv;
mod day;
mod draw;
mod entries;
mod fit;
mod folder;
mod font;
mod front;
mod html;
mod joint;
mod joint_record;
mod layers;
mod map;
mod materials;
mod media;
mod pdf;
mod pdf_draw;
mod pdf_file;
mod pdf_paper;
mod pdf_room;
mod pdf_tree;
mod pictures;
mod plot;
mod record;
mod reduced;
mod sheet;
mod shots;
mod study;
mod tables;
mod text;
mod treatment;
mod verify;
mod voice;

pub use day::day_sheet;
pub use folder::{FolderFile, folder_files, write_folder};
pub use html::html;
pub use media::base64;
pub use pdf::pdf;
pub use record::ReportAsk;
pub use sheet::{
    Behind, Block, Cell, Dash, Drawing, FRONT, Fact, Hold, Ink, LETTER, NOT_RECORDED, Part,
    Picture, Shape, Sheet, Shot, Stroke, Table, WIDEST,
};
pub use shots::read_shots;
pub use text::text;
pub use treatment::report;
pub use verify::{Differs, JOURNAL, SUMS, verify_folder, verify_rows};
