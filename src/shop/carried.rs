//! The sample shop as it stands in the program: a disk that can only be read.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::embedded::sample_files;
use crate::disk::{Disk, Entry, OpenFile, Share, Stamp, Way};

/// The sample shop, its folder being the empty path. Nothing of it can be written, so a
/// command that only reads needs no copy and leaves nothing behind.
#[derive(Debug)]
pub struct SampleDisk {
    files: BTreeMap<PathBuf, Vec<u8>>,
}

impl SampleDisk {
    /// Returns the sample shop as this version of the program carries it.
    #[expect(
        clippy::new_without_default,
        reason = "nobody wants a sample shop by default"
    )]
    pub fn new() -> Self {
        let files = sample_files().into_iter();
        Self {
            files: files
                .map(|(path, bytes)| (PathBuf::from(path), bytes))
                .collect(),
        }
    }

    fn is_folder(&self, path: &Path) -> bool {
        self.files
            .keys()
            .any(|file| file != path && file.starts_with(path))
    }
}

fn only_read<T>() -> io::Result<T> {
    Err(ErrorKind::ReadOnlyFilesystem.into())
}

impl Disk for SampleDisk {
    fn open(&self, path: &Path, way: Way) -> io::Result<Box<dyn OpenFile>> {
        match (way, self.files.get(path)) {
            (Way::Read, Some(bytes)) => Ok(Box::new(Carried(bytes.clone()))),
            (Way::Read, None) => Err(ErrorKind::NotFound.into()),
            _ => only_read(),
        }
    }

    fn stamp(&self, path: &Path) -> io::Result<Option<Stamp>> {
        let file = self.files.get(path).map(|bytes| stamp(bytes));
        Ok(file.or_else(|| self.is_folder(path).then(|| stamp(&[]))))
    }

    fn rename(&self, _from: &Path, _to: &Path) -> io::Result<()> {
        only_read()
    }

    fn remove(&self, _path: &Path) -> io::Result<()> {
        only_read()
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<Entry>> {
        if !self.is_folder(folder) {
            return Err(ErrorKind::NotFound.into());
        }
        let below = self
            .files
            .keys()
            .filter_map(|file| file.strip_prefix(folder).ok());
        let entries: BTreeSet<Entry> = below
            .filter_map(|rest| {
                let mut parts = rest.iter();
                let name = parts.next()?.to_str()?.to_owned();
                let is_folder = parts.next().is_some();
                Some(Entry { name, is_folder })
            })
            .collect();
        Ok(entries.into_iter().collect())
    }

    fn make_folder(&self, _folder: &Path) -> io::Result<()> {
        only_read()
    }

    fn sync_folder(&self, _folder: &Path) -> io::Result<()> {
        only_read()
    }
}

fn stamp(bytes: &[u8]) -> Stamp {
    Stamp {
        len: bytes.len() as u64,
        written: None,
        identity: None,
    }
}

/// One file of the sample shop, open.
#[derive(Debug)]
struct Carried(Vec<u8>);

impl OpenFile for Carried {
    fn stamp(&self) -> io::Result<Stamp> {
        Ok(stamp(&self.0))
    }

    fn read_from(&mut self, offset: u64, most: u64) -> io::Result<Vec<u8>> {
        let from = usize::try_from(offset)
            .unwrap_or(usize::MAX)
            .min(self.0.len());
        let most = usize::try_from(most).unwrap_or(usize::MAX);
        let to = from.saturating_add(most).min(self.0.len());
        Ok(self.0.get(from..to).unwrap_or_default().to_vec())
    }

    fn write(&mut self, _bytes: &[u8]) -> io::Result<usize> {
        only_read()
    }

    fn sync(&mut self) -> io::Result<()> {
        Ok(())
    }

    fn cut(&mut self, _len: u64) -> io::Result<()> {
        only_read()
    }

    fn lock(&mut self, share: Share, _limit: Duration) -> io::Result<()> {
        match share {
            Share::Together => Ok(()),
            Share::Alone => only_read(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::SampleDisk;
    use crate::disk::{Disk, Way};
    use std::path::Path;

    #[test]
    fn the_sample_shop_is_read_without_a_copy_and_never_written() {
        let disk = SampleDisk::new();
        let (cards, flaws) = crate::shop::load(&disk, Path::new("")).unwrap();
        assert_eq!(flaws, []);
        assert!(cards.figures.contains_key("hare"));
        let shop = Path::new("shop.yaml");
        assert!(disk.open(shop, Way::Append).is_err());
        assert!(disk.open(Path::new("new"), Way::Make).is_err());
        assert!(disk.remove(shop).is_err());
    }
}
