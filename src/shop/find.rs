//! Finds the shop that is meant, and remembers it for the next time.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use super::ShopFault;
use crate::disk::{self, Act, Disk, DiskFault};

/// Where to look for a shop.
#[derive(Debug, Clone, Copy)]
pub struct Search<'a> {
    /// The folder that was named, if one was.
    pub given: Option<&'a Path>,
    /// The folder in which the program was started.
    pub here: &'a Path,
    /// The folder in which the program remembers things, if this system has one.
    pub memory: Option<&'a Path>,
}

/// The shop that is meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found {
    /// The folder that was named.
    Given(PathBuf),
    /// The folder here, or the nearest one above.
    Here(PathBuf),
    /// The shop that was used last.
    Last(PathBuf),
    /// None: a practice copy of the sample shop has to do ([`super::copy_sample`]).
    Practice,
}

/// Returns the shop that is meant: the named one, else the nearest upwards, else the last one
/// used, else none.
///
/// # Errors
///
/// [`ShopFault::NoShop`] or [`ShopFault::NotAFolder`] when what was named is none; a wrong name must never open
/// another shop. [`ShopFault::Disk`] when that folder cannot be looked
/// at.
pub fn find(disk: &dyn Disk, search: &Search<'_>) -> Result<Found, ShopFault> {
    if let Some(given) = search.given {
        return if is_shop(disk, given)? {
            Ok(Found::Given(given.to_owned()))
        } else {
            let folder = given.to_owned();
            Err(ShopFault::NoShop { folder })
        };
    }
    for folder in search.here.ancestors() {
        // A folder above that this user may not look into is not the shop that is meant.
        if is_shop(disk, folder).unwrap_or(false) {
            return Ok(Found::Here(folder.to_owned()));
        }
    }
    let last = search.memory.and_then(|memory| last_shop(disk, memory));
    Ok(last.map_or(Found::Practice, Found::Last))
}

/// Remembers a shop as the last one used. A folder whose path is not text is not remembered.
///
/// # Errors
///
/// [`ShopFault::Disk`]; the work can go on all the same.
pub fn remember(disk: &dyn Disk, memory: &Path, shop: &Path) -> Result<(), ShopFault> {
    if let Some(text) = shop.to_str() {
        disk::make_folders(disk, memory)?;
        disk::replace(disk, &memory.join(LAST), text.as_bytes())?;
    }
    Ok(())
}

/// The file that holds the path of the shop used last.
const LAST: &str = "last-shop";

/// Returns the shop used last, if it is remembered and still there.
fn last_shop(disk: &dyn Disk, memory: &Path) -> Option<PathBuf> {
    let bytes = disk::read(disk, &memory.join(LAST)).ok()?;
    let folder = PathBuf::from(String::from_utf8(bytes).ok()?.trim_end());
    // A shop on a disk that is not plugged in now is as good as none.
    is_shop(disk, &folder).ok()?.then_some(folder)
}

/// Returns whether a folder holds a shop card.
pub(super) fn is_shop(disk: &dyn Disk, folder: &Path) -> Result<bool, ShopFault> {
    is_there(disk, &folder.join("shop.yaml")).map_err(|fault| match fault.cause.kind() {
        ErrorKind::NotADirectory => ShopFault::NotAFolder {
            path: folder.to_owned(),
        },
        _ => fault.into(),
    })
}

/// Returns the link that leads a figure's folder out of its shop, if there is one. Nothing is
/// written through it: what lies there may be anybody's.
pub(super) fn link_to(disk: &dyn Disk, shop: &Path, figure: &str) -> Option<PathBuf> {
    let figures = shop.join("figures");
    let folder = figures.join(figure);
    let mut both = [figures, folder].into_iter();
    both.find(|path| disk::is_link(disk, path))
}

/// Returns whether a file is there.
pub(super) fn is_there(disk: &dyn Disk, path: &Path) -> Result<bool, DiskFault> {
    match disk.stamp(path) {
        Ok(stamp) => Ok(stamp.is_some()),
        Err(cause) => Err(DiskFault {
            act: Act::Read,
            path: path.to_owned(),
            cause,
        }),
    }
}
