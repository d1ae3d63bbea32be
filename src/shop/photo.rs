//! Photographs taken into a figure's folder, and looked at again.
//!
//! A file is looked at before it is copied: what it is, how large it says it is, and whether
//! it can be read to its end. Its name in the folder is made of what is known of it, never of
//! the name it came with.

use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};
use sha2::{Digest, Sha256};

use super::picture::{MOST_BYTES, NotAPicture, Picture, picture, picture_head};
use crate::deed::PhotoKept;
use crate::disk::{self, Act, Copied, Disk, DiskFault, Nature, Way};
use crate::standing::camera_says;
use crate::trouble::{ExitKind, Trouble};

/// Longest station, letters; it becomes part of a file's name.
const LONGEST_STATION: usize = 40;

/// The size to which a photograph is decoded when it is only checked, pixels.
const CHECK_PIXELS: [usize; 2] = [8, 8];

/// Why a photograph was not taken in, or cannot be shown.
#[derive(Debug, thiserror::Error)]
pub enum PhotoFault {
    /// The station cannot be part of a file's name.
    #[error("`{station}` is no station: a few words of letters and digits, at most 40")]
    Station {
        /// As it was typed.
        station: String,
    },
    /// It is a link, a folder, or no file at all.
    #[error("this is {what}, not a photograph")]
    NoFile {
        /// What it is.
        what: &'static str,
        /// Where.
        path: PathBuf,
    },
    /// The folder of the figure, or of its photographs, is a link.
    #[error("the folder of this figure or of its photographs is a link to somewhere else")]
    Elsewhere {
        /// The link.
        path: PathBuf,
    },
    /// The file is longer than any photograph.
    #[error("this file has {} MB, more than any photograph", bytes >> 20)]
    TooLong {
        /// How long.
        bytes: u64,
        /// Where.
        path: PathBuf,
    },
    /// It cannot be read as a picture.
    #[error("{why}")]
    NotAPicture {
        /// Why.
        why: NotAPicture,
        /// Where.
        path: PathBuf,
    },
    /// The same picture was taken in before.
    #[error(
        "this picture is taken in already: it is {}, which shows {}, `{}`",
        known.file,
        known.target.as_deref().unwrap_or("the whole figure"),
        known.station
    )]
    Twice {
        /// As what it was taken in.
        known: Box<PhotoKept>,
        /// Where.
        path: PathBuf,
    },
    /// The journal names a file that does not lie in the figure's own folder.
    #[error("the journal names `{file}`, which is no photograph of this folder")]
    Outside {
        /// As it stands in the journal.
        file: String,
    },
    /// The file is not the one that was taken in.
    #[error("this is not the photograph that was taken in: its hash differs")]
    Changed {
        /// Where.
        path: PathBuf,
    },
    /// The disk.
    #[error(transparent)]
    Disk(#[from] DiskFault),
}

impl From<PhotoFault> for Trouble {
    fn from(fault: PhotoFault) -> Self {
        let what = fault.to_string();
        let misuse = |place, remedy: &str| Trouble::misuse(&what, place, remedy);
        match fault {
            PhotoFault::Station { .. } => misuse(
                "--station".to_owned(),
                "say it as `before raking`; nothing was taken in",
            ),
            PhotoFault::NoFile { path, .. } => misuse(
                path.display().to_string(),
                "name the file itself; nothing was taken in",
            ),
            PhotoFault::Elsewhere { path } => misuse(
                path.display().to_string(),
                "put a folder in the place of the link; nothing was taken in or opened",
            ),
            PhotoFault::TooLong { path, .. } | PhotoFault::NotAPicture { path, .. } => misuse(
                path.display().to_string(),
                "save it from the camera anew as JPEG or PNG; nothing was taken in",
            ),
            PhotoFault::Twice { path, .. } => misuse(
                path.display().to_string(),
                "nothing was taken in; where it was named wrongly, or shows both, add --again: \
                 the journal then holds it under both names",
            ),
            PhotoFault::Outside { .. } => misuse(
                "journal.jsonl".to_owned(),
                "run `knuckle audit`; the file was not opened",
            ),
            PhotoFault::Changed { path } => Trouble::new(ExitKind::Found, what)
                .at(path.display().to_string())
                .remedy("look for the true one in the second copy; nothing was changed"),
            PhotoFault::Disk(fault) => fault.into(),
        }
    }
}

/// A photograph that is to be taken in.
#[derive(Debug, Clone, Copy)]
pub struct PhotoIn<'a> {
    /// Figure id.
    pub figure: &'a str,
    /// Zone, joint or panel id; `None` for the whole figure.
    pub target: Option<&'a str>,
    /// Station, such as `before raking`.
    pub station: &'a str,
    /// The moment at which it is taken in: its name tells that day where the camera says none
    /// that has been.
    pub at: DateTime<FixedOffset>,
    /// Photographs that are not taken in a second time.
    pub known: &'a [PhotoKept],
}

/// Checks a file and copies it into the figure's folder; returns what is to be journaled.
///
/// Shapes: the copy is `photos/FIGURE-ZONE-STATION-DATE.jpg`, with `-2`, `-3` where that name
/// is taken. The date is the camera's, unless it is still to come; else the day on which it is taken in.
///
/// # Errors
/// [`PhotoFault`]; nothing was copied then, or nothing stands under the new name.
pub fn take_photo_in(
    disk: &dyn Disk,
    folder: &Path,
    from: &Path,
    what: &PhotoIn<'_>,
) -> Result<PhotoKept, PhotoFault> {
    let station = slug(what.station)?;
    is_file(disk, from)?;
    let not_a_picture = |why| PhotoFault::NotAPicture {
        why,
        path: from.to_owned(),
    };
    let bytes = whole(disk, from)?;
    let head = picture_head(&bytes).map_err(not_a_picture)?;
    let sha256 = disk::hex(&Sha256::digest(&bytes));
    if let Some(known) = what.known.iter().find(|known| known.sha256 == sha256) {
        return Err(PhotoFault::Twice {
            known: Box::new(known.clone()),
            path: from.to_owned(),
        });
    }
    // Only what can be read to its end is evidence.
    picture(&bytes, CHECK_PIXELS).map_err(not_a_picture)?;
    drop(bytes);
    let taken = camera_says(head.exif.taken.as_deref(), what.at);
    let day = taken.map_or_else(|| what.at.date_naive(), |taken| taken.date());
    let day = day.to_string();
    if let Some(path) = super::find::link_to(disk, folder, what.figure) {
        return Err(PhotoFault::Elsewhere { path });
    }
    let photos = folder.join("figures").join(what.figure).join("photos");
    is_own_folder(disk, &photos)?;
    disk::make_folders(disk, &photos)?;
    let stem: Vec<&str> = [Some(what.figure), what.target, Some(&station), Some(&day)]
        .into_iter()
        .flatten()
        .collect();
    let (name, copied) = copied(disk, from, &photos, (&stem.join("-"), head.ends))?;
    let original = from.file_name().map(|name| name.to_string_lossy());
    Ok(PhotoKept {
        file: format!("photos/{name}"),
        sha256: copied.sha256,
        station: what.station.trim().to_owned(),
        target: what.target.map(str::to_owned),
        original: original.map(std::borrow::Cow::into_owned),
        taken: head.exif.taken,
        pixels: Some(head.pixels),
        turned: head.exif.turned,
    })
}

/// Returns a photograph of a figure's folder, upright, made to fit into so many pixels.
///
/// # Errors
/// [`PhotoFault`]: also when the file is not the one that was taken in.
pub fn show_photo(
    disk: &dyn Disk,
    figure_folder: &Path,
    photo: &PhotoKept,
    pixels: [usize; 2],
) -> Result<Picture, PhotoFault> {
    let (path, bytes) = kept_photo(disk, figure_folder, photo)?;
    picture(&bytes, pixels).map_err(|why| PhotoFault::NotAPicture { why, path })
}

/// Returns where a photograph of a figure's folder lies, and its bytes, which are those that
/// were taken in.
///
/// # Errors
/// [`PhotoFault`]: also when the file is not the one that was taken in.
pub fn kept_photo(
    disk: &dyn Disk,
    figure_folder: &Path,
    photo: &PhotoKept,
) -> Result<(PathBuf, Vec<u8>), PhotoFault> {
    let name = photo
        .file
        .strip_prefix("photos/")
        .filter(|name| is_plain(name));
    let Some(name) = name else {
        return Err(PhotoFault::Outside {
            file: photo.file.clone(),
        });
    };
    let photos = figure_folder.join("photos");
    is_own_folder(disk, &photos)?;
    let path = photos.join(name);
    is_file(disk, &path)?;
    let bytes = whole(disk, &path)?;
    if disk::hex(&Sha256::digest(&bytes)) != photo.sha256 {
        return Err(PhotoFault::Changed { path });
    }
    Ok((path, bytes))
}

/// Whether a name stays in its folder: letters, digits, hyphens and points that do not lead.
fn is_plain(name: &str) -> bool {
    let allowed = |sign: char| sign.is_ascii_alphanumeric() || matches!(sign, '-' | '_' | '.');
    !name.is_empty() && !name.starts_with('.') && name.chars().all(allowed)
}

/// A folder that leads elsewhere could show, or write over, what is no part of this shop.
fn is_own_folder(disk: &dyn Disk, photos: &Path) -> Result<(), PhotoFault> {
    if disk::is_link(disk, photos) {
        return Err(PhotoFault::Elsewhere {
            path: photos.to_owned(),
        });
    }
    Ok(())
}

fn is_file(disk: &dyn Disk, path: &Path) -> Result<(), PhotoFault> {
    let nature = disk.nature(path).map_err(|cause| DiskFault {
        act: Act::Read,
        path: path.to_owned(),
        cause,
    })?;
    let what = match nature {
        Nature::File => return Ok(()),
        Nature::Link => "a link",
        Nature::Folder => "a folder",
        Nature::Other => "a device or a pipe",
    };
    Err(PhotoFault::NoFile {
        what,
        path: path.to_owned(),
    })
}

fn whole(disk: &dyn Disk, path: &Path) -> Result<Vec<u8>, PhotoFault> {
    let met = |cause| DiskFault {
        act: Act::Read,
        path: path.to_owned(),
        cause,
    };
    let mut file = disk.open(path, Way::Read).map_err(met)?;
    let bytes = file.stamp().map_err(met)?.len;
    if MOST_BYTES < bytes {
        return Err(PhotoFault::TooLong {
            bytes,
            path: path.to_owned(),
        });
    }
    Ok(file.read_from(0, MOST_BYTES).map_err(met)?)
}

/// A station as part of a file's name. What could lead out of the folder is refused, not
/// mended: a mended name would say something that nobody typed.
fn slug(station: &str) -> Result<String, PhotoFault> {
    let words = station.trim();
    let allowed = |sign: char| sign.is_ascii_alphanumeric() || matches!(sign, ' ' | '-');
    let has_letters = words.chars().any(|sign| sign.is_ascii_alphanumeric());
    if !has_letters || LONGEST_STATION < words.len() || !words.chars().all(allowed) {
        return Err(PhotoFault::Station {
            station: station.to_owned(),
        });
    }
    let parts: Vec<&str> = words
        .split([' ', '-'])
        .filter(|part| !part.is_empty())
        .collect();
    Ok(parts.join("-").to_ascii_lowercase())
}

/// Copies a file to the first free name of its kind, and returns both: `STEM.jpg`, then `STEM-2.jpg`
/// and so on. A name that somebody else takes at the same moment is theirs.
fn copied(
    disk: &dyn Disk,
    from: &Path,
    photos: &Path,
    (stem, ends): (&str, &str),
) -> Result<(String, Copied), PhotoFault> {
    let mut name = format!("{stem}.{ends}");
    let mut count = 2_u32;
    loop {
        match disk::copy_in(disk, from, &photos.join(&name)) {
            Err(fault) if fault.is_taken() => {}
            copied => return Ok((name, copied?)),
        }
        name = format!("{stem}-{count}.{ends}");
        count = count.saturating_add(1);
    }
}
