//! Photographs of a figure read from its folder: only files that a line names, that lie where
//! they say, and whose bytes are those that were kept.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::media::{Kind, kind_of};
use super::reduced::reduced;
use super::sheet::Shot;
use crate::deed::{Deed, Line, PhotoKept};
use crate::disk::{self, Disk, Nature, Way, hex};
use crate::shop::{MOST_BYTES, picture_head};

/// The largest photograph that goes whole into a page, bytes, where no smaller copy can be made
/// of it. Chosen here: a good photograph as a camera packs it; larger ones stay in the folder.
const LARGEST: u64 = 12 << 20;

/// All photographs of a page together, bytes. Chosen here: what a browser of today and a
/// letter by mail still carry.
const ALL: u64 = 96 << 20;

/// What is said of a photograph for which the page has no room.
const TOO_LARGE: &str = "the file is too large for this page; the folder of the figure holds it";

/// Returns the photographs that lines name, by the number of the line, large ones as smaller
/// copies. They are read and made small one after the other, so that no two stand in memory
/// whole. What cannot be shown has its reason.
pub fn read_shots(disk: &dyn Disk, figure: &Path, lines: &[Line]) -> BTreeMap<u64, Shot> {
    let mut left = ALL;
    let kept = lines.iter().filter_map(|line| match &line.deed {
        Deed::PhotoKept(deed) => Some((line.n, deed)),
        _ => None,
    });
    kept.map(|(n, deed)| {
        let shot = match shot(disk, figure, deed, left) {
            Ok(shot) => {
                let bytes = shot.bytes().map_or(0, <[u8]>::len);
                left = left.saturating_sub(bytes as u64);
                shot
            }
            Err(why) => Shot::Absent(why.to_owned()),
        };
        (n, shot)
    })
    .collect()
}

fn shot(disk: &dyn Disk, figure: &Path, deed: &PhotoKept, left: u64) -> Result<Shot, &'static str> {
    let bytes = kept_bytes(disk, figure, deed, MOST_BYTES)?;
    let can_be_shown = match kind_of(&bytes) {
        // A head that claims more than any camera takes would fill the reader's memory.
        Some(Kind::Jpeg | Kind::Png) => picture_head(&bytes).is_ok(),
        Some(Kind::Gif | Kind::Webp) => true,
        None => false,
    };
    if !can_be_shown {
        return Err("the file is no picture that a page can show");
    }
    let (shot, most) = match reduced(&bytes) {
        Some(small) => (Shot::Reduced(small), left),
        None => (Shot::Whole(bytes), LARGEST.min(left)),
    };
    match shot.bytes() {
        Ok(bytes) if most < bytes.len() as u64 => Err(TOO_LARGE),
        _ => Ok(shot),
    }
}

/// Returns the bytes of a photograph that a line names, if they are those that were kept.
///
/// # Errors
/// Why they are not given out, in words.
pub(super) fn kept_bytes(
    disk: &dyn Disk,
    figure: &Path,
    deed: &PhotoKept,
    most: u64,
) -> Result<Vec<u8>, &'static str> {
    let path = inside(disk, figure, &deed.file)?;
    let stamp = disk.stamp(&path).ok().flatten();
    let stamp = stamp.ok_or("the file is not in the folder")?;
    if most < stamp.len {
        return Err(TOO_LARGE);
    }
    let mut file = disk
        .open(&path, Way::Read)
        .map_err(|_cause| "the file cannot be read")?;
    let bytes = file
        .read_from(0, most)
        .map_err(|_cause| "the file cannot be read")?;
    if hex(&Sha256::digest(&bytes)) == deed.sha256 {
        Ok(bytes)
    } else {
        Err("the file is not the one that was kept: its SHA-256 differs")
    }
}

/// Returns where a file lies whose name stands in a journal, if it lies inside the figure's
/// folder and is no link. A journal may come from anywhere; it must not fetch a file.
fn inside(disk: &dyn Disk, figure: &Path, file: &str) -> Result<PathBuf, &'static str> {
    let parts = plain_parts(file).ok_or("the name of the file leads out of the figure's folder")?;
    let mut path = figure.to_owned();
    for part in parts {
        path.push(part);
        if disk::is_link(disk, &path) {
            return Err("the file is a link to something elsewhere");
        }
    }
    match disk.nature(&path) {
        Ok(Nature::File) => Ok(path),
        Ok(_) => Err("the file is no plain file"),
        Err(_not_there) => Err("the file is not in the folder"),
    }
}

/// Returns the parts of a path that leads down only and whose names every system can hold.
pub(super) fn plain_parts(path: &str) -> Option<Vec<&str>> {
    let parts: Vec<&str> = path.split('/').collect();
    let is_plain = |part: &&str| {
        !part.is_empty()
            && !part.starts_with('.')
            && !part.ends_with(['.', ' '])
            && !part.contains(['\\', ':', '*', '?', '"', '<', '>', '|'])
            && crate::report::harmless(part) == *part
    };
    parts.iter().all(is_plain).then_some(parts)
}

/// Returns the bytes of a file of the shop that is no link; `None` when it is not there or
/// cannot be read.
pub(super) fn plain_file(disk: &dyn Disk, path: &Path) -> Option<Vec<u8>> {
    let is_plain = matches!(disk.nature(path), Ok(Nature::File));
    is_plain.then(|| disk::read(disk, path).ok()).flatten()
}

#[cfg(test)]
mod tests {
    use super::plain_parts;

    #[test]
    fn only_a_plain_way_down_is_a_path() {
        assert_eq!(
            plain_parts("photos/hare-near.jpg"),
            Some(vec!["photos", "hare-near.jpg"])
        );
        for bad in [
            "",
            "/etc/passwd",
            "../../etc/passwd",
            "photos/../../x",
            "photos//x",
            "photos\\..\\x",
            "C:/x",
            "photos/.hidden",
            "photos/a\nb",
            "photos/g\u{202e}pj.exe",
        ] {
            assert_eq!(plain_parts(bad), None, "{bad:?}");
        }
    }
}
