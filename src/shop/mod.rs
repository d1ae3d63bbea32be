//! The folder of a shop: find, open, list, load, make. What is written on its cards is read in
//! `card`; what is decided on them, in `standing`. Start reading at [`load`], then [`Keeper`].

mod cache;
mod carried;
mod embedded;
mod exif;
mod fault;
mod find;
mod fresh;
mod keeper;
mod load;
mod noted;
mod opener;
mod page;
mod photo;
mod picture;
mod sensor;
mod shares;
mod watcher;

pub use cache::Cache;
pub use carried::SampleDisk;
pub use embedded::{builtin_checklists, sample_files};
pub use exif::{Exif, read_exif};
pub use fault::ShopFault;
pub use find::{Found, Search, find, remember};
pub use fresh::{Carving, NewFigure, copy_sample, open_shop, take_in};
pub use keeper::{Keeper, KeptLine, Stop, book_path};
pub use load::{check, figure_card, figures, load, load_but_figures, load_figure};
pub use noted::missed;
pub use opener::of_a_figure;
pub use photo::{PhotoFault, PhotoIn, kept_photo, show_photo, take_photo_in};
pub use picture::{
    MOST_BYTES, MOST_PIXELS, NotAPicture, Picture, PictureHead, picture, picture_head,
};
pub use sensor::{RoomAir, SensorFault, read_sensors};
pub use shares::in_shares;
pub use watcher::{LOOK_EVERY, Watcher, Watching};
