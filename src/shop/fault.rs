//! What can be wrong with a shop's folder, apart from what is written on its cards.

use std::path::PathBuf;

use crate::disk::DiskFault;
use crate::trouble::Trouble;

/// Something is wrong with the folder of a shop.
#[derive(Debug, thiserror::Error)]
pub enum ShopFault {
    /// A folder was named that is no shop.
    #[error("this folder is no shop: it has no shop.yaml")]
    NoShop {
        /// The folder.
        folder: PathBuf,
    },
    /// A file was named where a folder was meant.
    #[error("this is a file, not the folder of a shop")]
    NotAFolder {
        /// The file.
        path: PathBuf,
    },
    /// A shop stands where a new one was to be made.
    #[error("a shop is there already")]
    ShopIsThere {
        /// The folder.
        folder: PathBuf,
    },
    /// A figure has that name already.
    #[error("a figure called `{id}` is there already")]
    FigureIsThere {
        /// The name.
        id: String,
        /// Its folder.
        folder: PathBuf,
    },
    /// The name of the shop's own journal.
    #[error("no figure can be called `{id}`: the shop's own journal is")]
    NotFree {
        /// The name.
        id: String,
    },
    /// A folder that leads out of the shop.
    #[error("this folder is a link to somewhere else")]
    Elsewhere {
        /// The link.
        folder: PathBuf,
    },
    /// A name that cannot be a folder on every system.
    #[error("`{id}` is not a short name")]
    NotAName {
        /// The name.
        id: String,
    },
    /// The disk did not do what it was asked.
    #[error(transparent)]
    Disk(#[from] DiskFault),
}

impl From<ShopFault> for Trouble {
    fn from(fault: ShopFault) -> Self {
        let what = fault.to_string();
        let misuse = |place, remedy: &str| Trouble::misuse(&what, place, remedy);
        match fault {
            ShopFault::NoShop { folder } => misuse(
                folder.display().to_string(),
                "name the folder that holds shop.yaml, or make a new shop with `open-shop`",
            ),
            ShopFault::NotAFolder { path } => misuse(
                path.display().to_string(),
                "name the folder, not a file in it; nothing was changed",
            ),
            ShopFault::ShopIsThere { folder } => misuse(
                folder.display().to_string(),
                "use it, or name another folder; nothing was changed",
            ),
            ShopFault::FigureIsThere { folder, .. } => misuse(
                folder.display().to_string(),
                "give the new one another name; nothing was changed",
            ),
            ShopFault::NotFree { .. } => misuse(
                "FIGURE".to_owned(),
                "give the figure another name; nothing was changed",
            ),
            ShopFault::Elsewhere { folder } => misuse(
                folder.display().to_string(),
                "put the folder itself in the place of the link; nothing was written",
            ),
            ShopFault::NotAName { id } => misuse(
                id,
                "use small letters, digits and hyphens inside, at most 40, such as `hare-2`",
            ),
            ShopFault::Disk(fault) => fault.into(),
        }
    }
}
