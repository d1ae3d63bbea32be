//! A disk in memory that does what real disks do on bad days: it tears a write at any byte,
//! takes only a part of it, fails to sync, fills up, can only be read, has no locks; and it
//! forgets, when the plug is pulled, whatever was not synced.
//!
//! This is the only witness for the order write, sync, acknowledge. Killing a process proves
//! nothing about a pulled plug, because the kernel's memory of the file lives on.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard};
use std::time::Duration;

use knuckle::disk::{Disk, Entry, OpenFile, Share, Stamp, Way, parent_of};

/// One act asked of the disk, for looking at the order afterwards.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Asked {
    Open,
    Stamp,
    Read,
    Write,
    Sync,
    Cut,
    Lock,
    Rename,
    Remove,
    List,
    MakeFolder,
    SyncFolder,
}

/// What goes wrong at a chosen act.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Ill {
    /// The act fails and does nothing.
    Fails(ErrorKind),
    /// A write puts so many bytes in and then fails. Any other act fails.
    Tears(usize),
    /// A write puts so many bytes in and says so. Any other act goes well.
    TakesOnly(usize),
    /// This act and all later ones fail: the computer has stopped. A write may have put so
    /// many bytes in before.
    Stops(usize),
}

#[derive(Debug, Default)]
struct State {
    bodies: Vec<Body>,
    names: BTreeMap<PathBuf, usize>,
    /// The names that a pulled plug leaves.
    synced_names: BTreeMap<PathBuf, usize>,
    asked: Vec<Asked>,
    ill: Option<(usize, Ill)>,
    room: Option<usize>,
    read_only: bool,
    lockless: bool,
    handles: usize,
    /// Folders that were made. A pulled plug may lose them; no trial asks for that yet.
    folders: BTreeSet<PathBuf>,
}

#[derive(Debug, Default, Clone)]
struct Body {
    bytes: Vec<u8>,
    /// What a pulled plug leaves at least.
    synced: Vec<u8>,
    changes: u64,
    holders: Vec<(usize, Share)>,
}

/// The disk. A clone is the same disk.
#[derive(Debug, Clone, Default)]
pub(crate) struct FaultyDisk(Arc<Mutex<State>>);

impl FaultyDisk {
    /// Lets the act number `at`, counted from 0 over all acts so far, go wrong.
    pub(crate) fn ail(&self, at: usize, ill: Ill) {
        self.state().ill = Some((at, ill));
    }

    /// Lets everything go well from now on.
    pub(crate) fn heal(&self) {
        self.state().ill = None;
    }

    /// Sets how many bytes fit on the disk in all.
    pub(crate) fn room(&self, bytes: usize) {
        self.state().room = Some(bytes);
    }

    /// Makes the disk one that can only be read.
    pub(crate) fn only_read(&self) {
        self.state().read_only = true;
    }

    /// Makes the disk one without locks.
    pub(crate) fn without_locks(&self) {
        self.state().lockless = true;
    }

    /// Returns what was asked so far, in order.
    pub(crate) fn asked(&self) -> Vec<Asked> {
        self.state().asked.clone()
    }

    /// Returns the bytes of a file as a running program sees them.
    pub(crate) fn bytes(&self, path: &Path) -> Option<Vec<u8>> {
        let state = self.state();
        let body = *state.names.get(path)?;
        Some(state.bodies[body].bytes.clone())
    }

    /// Puts a file there, synced.
    pub(crate) fn put(&self, path: &Path, bytes: &[u8]) {
        let mut state = self.state();
        let body = state.bodies.len();
        state.bodies.push(Body {
            bytes: bytes.to_vec(),
            synced: bytes.to_vec(),
            ..Body::default()
        });
        state.names.insert(path.to_owned(), body);
        state.synced_names.insert(path.to_owned(), body);
    }

    /// Returns the names of all files.
    pub(crate) fn names(&self) -> Vec<PathBuf> {
        self.state().names.keys().cloned().collect()
    }

    /// Returns the disk after the plug was pulled: names and bytes that were synced, and of
    /// what was appended since, the first `spared` bytes, which had happened to be written.
    pub(crate) fn plug_pulled(&self, spared: usize) -> Self {
        let state = self.state();
        let mut bodies = state.bodies.clone();
        for body in &mut bodies {
            let unsynced = body.bytes.get(body.synced.len()..).unwrap_or_default();
            let mut left = body.synced.clone();
            left.extend(unsynced.iter().take(spared));
            body.bytes.clone_from(&left);
            body.synced = left;
            body.holders.clear();
        }
        Self(Arc::new(Mutex::new(State {
            bodies,
            names: state.synced_names.clone(),
            synced_names: state.synced_names.clone(),
            ..State::default()
        })))
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.0.lock().unwrap()
    }
}

impl State {
    /// Notes an act; returns how many bytes a write may put in, or the failure.
    fn ask(&mut self, act: Asked) -> io::Result<Option<(usize, bool)>> {
        let number = self.asked.len();
        self.asked.push(act);
        let dead = || io::Error::from(ErrorKind::BrokenPipe);
        match self.ill {
            Some((at, ill)) if at == number => match (ill, act) {
                (Ill::Fails(kind), _) => Err(kind.into()),
                (Ill::Tears(bytes) | Ill::Stops(bytes), Asked::Write) => Ok(Some((bytes, true))),
                (Ill::TakesOnly(bytes), Asked::Write) => Ok(Some((bytes, false))),
                (Ill::TakesOnly(_), _) => Ok(None),
                (Ill::Tears(_) | Ill::Stops(_), _) => Err(dead()),
            },
            Some((at, Ill::Stops(_))) if at < number => Err(dead()),
            _ => Ok(None),
        }
    }

    fn rename_folder(&mut self, from: &Path, to: &Path) {
        let moved = |name: &Path| match name.strip_prefix(from) {
            Ok(inner) if inner.as_os_str().is_empty() => to.to_owned(),
            Ok(inner) => to.join(inner),
            Err(_) => name.to_owned(),
        };
        let names = std::mem::take(&mut self.names).into_iter();
        self.names = names.map(|(name, body)| (moved(&name), body)).collect();
        let folders = std::mem::take(&mut self.folders).into_iter();
        self.folders = folders.map(|name| moved(&name)).collect();
    }

    fn used(&self) -> usize {
        self.bodies.iter().map(|body| body.bytes.len()).sum()
    }

    fn stamp(&self, body: usize) -> Stamp {
        let Body { bytes, changes, .. } = &self.bodies[body];
        Stamp {
            len: bytes.len() as u64,
            written: Some(std::time::UNIX_EPOCH + Duration::from_secs(*changes)),
            identity: Some((0, body as u64)),
        }
    }
}

impl Disk for FaultyDisk {
    fn open(&self, path: &Path, way: Way) -> io::Result<Box<dyn OpenFile>> {
        let mut state = self.state();
        state.ask(Asked::Open)?;
        let found = state.names.get(path).copied();
        let body = match (way, found) {
            (Way::Append | Way::AppendOrMake | Way::Make | Way::MakePrivate, _)
                if state.read_only =>
            {
                return Err(ErrorKind::ReadOnlyFilesystem.into());
            }
            (Way::Read | Way::Append | Way::AppendOrMake, Some(body)) => body,
            (Way::Read | Way::Append, None) => return Err(ErrorKind::NotFound.into()),
            (Way::Make | Way::MakePrivate, Some(_)) => return Err(ErrorKind::AlreadyExists.into()),
            (Way::AppendOrMake | Way::Make | Way::MakePrivate, None) => {
                let body = state.bodies.len();
                state.bodies.push(Body::default());
                state.names.insert(path.to_owned(), body);
                body
            }
        };
        state.handles += 1;
        Ok(Box::new(FaultyFile {
            disk: self.clone(),
            body,
            handle: state.handles,
        }))
    }

    fn stamp(&self, path: &Path) -> io::Result<Option<Stamp>> {
        let mut state = self.state();
        state.ask(Asked::Stamp)?;
        if state.folders.contains(path) {
            return Ok(Some(Stamp {
                len: 0,
                written: None,
                identity: None,
            }));
        }
        let found = state.names.get(path).copied();
        Ok(found.map(|body| state.stamp(body)))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        let mut state = self.state();
        state.ask(Asked::Rename)?;
        if state.folders.contains(from) {
            state.rename_folder(from, to);
            return Ok(());
        }
        let body = state.names.remove(from).ok_or(ErrorKind::NotFound)?;
        state.names.insert(to.to_owned(), body);
        Ok(())
    }

    fn remove_folder(&self, folder: &Path) -> io::Result<()> {
        let mut state = self.state();
        state.ask(Asked::Remove)?;
        if state.folders.remove(folder) {
            Ok(())
        } else {
            Err(ErrorKind::NotFound.into())
        }
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        let mut state = self.state();
        state.ask(Asked::Remove)?;
        state.names.remove(path).ok_or(ErrorKind::NotFound)?;
        Ok(())
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<Entry>> {
        let mut state = self.state();
        state.ask(Asked::List)?;
        let inside = state.names.keys().filter(|name| parent_of(name) == folder);
        let entry = |name: &PathBuf| Entry {
            name: name.file_name().unwrap().to_string_lossy().into_owned(),
            is_folder: false,
        };
        let folders = state
            .folders
            .iter()
            .filter(|name| name.parent().is_some_and(|parent| parent == folder));
        let folders = folders.map(|name| Entry {
            is_folder: true,
            ..entry(name)
        });
        let mut all: Vec<Entry> = inside.map(entry).chain(folders).collect();
        all.sort();
        Ok(all)
    }

    fn make_folder(&self, folder: &Path) -> io::Result<()> {
        let mut state = self.state();
        state.ask(Asked::MakeFolder)?;
        state.folders.insert(folder.to_owned());
        Ok(())
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        let mut state = self.state();
        state.ask(Asked::SyncFolder)?;
        let inside = |name: &PathBuf| parent_of(name) == folder;
        let State {
            names,
            synced_names,
            ..
        } = &mut *state;
        synced_names.retain(|name, _| !inside(name));
        let now = names.iter().filter(|(name, _)| inside(name));
        synced_names.extend(now.map(|(name, body)| (name.clone(), *body)));
        Ok(())
    }
}

#[derive(Debug)]
struct FaultyFile {
    disk: FaultyDisk,
    body: usize,
    handle: usize,
}

impl OpenFile for FaultyFile {
    fn stamp(&self) -> io::Result<Stamp> {
        let mut state = self.disk.state();
        state.ask(Asked::Stamp)?;
        Ok(state.stamp(self.body))
    }

    fn read_from(&mut self, offset: u64, most: u64) -> io::Result<Vec<u8>> {
        let mut state = self.disk.state();
        state.ask(Asked::Read)?;
        let whole = |number| usize::try_from(number).unwrap_or(usize::MAX);
        let bytes = &state.bodies[self.body].bytes;
        let rest = bytes.get(whole(offset)..).unwrap_or_default();
        Ok(rest.iter().copied().take(whole(most)).collect())
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let mut state = self.disk.state();
        let free = state.room.map(|room| room.saturating_sub(state.used()));
        let (taken, fails) = state.ask(Asked::Write)?.unwrap_or((bytes.len(), false));
        let fits = taken.min(bytes.len()).min(free.unwrap_or(usize::MAX));
        let body = &mut state.bodies[self.body];
        body.bytes.extend(&bytes[..fits]);
        body.changes += 1;
        match fits {
            _ if fails => Err(ErrorKind::BrokenPipe.into()),
            0 => Err(ErrorKind::StorageFull.into()),
            fits => Ok(fits),
        }
    }

    fn sync(&mut self) -> io::Result<()> {
        let mut state = self.disk.state();
        state.ask(Asked::Sync)?;
        let body = &mut state.bodies[self.body];
        body.synced.clone_from(&body.bytes);
        Ok(())
    }

    fn cut(&mut self, len: u64) -> io::Result<()> {
        let mut state = self.disk.state();
        state.ask(Asked::Cut)?;
        let body = &mut state.bodies[self.body];
        body.bytes.truncate(usize::try_from(len).unwrap());
        body.changes += 1;
        Ok(())
    }

    fn lock(&mut self, share: Share, _limit: Duration) -> io::Result<()> {
        let mut state = self.disk.state();
        state.ask(Asked::Lock)?;
        if state.lockless {
            return Err(ErrorKind::Unsupported.into());
        }
        let holders = &mut state.bodies[self.body].holders;
        let hinders = |(handle, held): &(usize, Share)| {
            *handle != self.handle && (share == Share::Alone || *held == Share::Alone)
        };
        if holders.iter().any(hinders) {
            return Err(ErrorKind::WouldBlock.into());
        }
        holders.push((self.handle, share));
        Ok(())
    }
}

impl Drop for FaultyFile {
    fn drop(&mut self) {
        let mut state = self.disk.state();
        let handle = self.handle;
        state.bodies[self.body]
            .holders
            .retain(|(holder, _)| *holder != handle);
    }
}
