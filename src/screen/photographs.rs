//! Photographs on their way to the screen: read beside the thread that draws, of those in front one
//! at a time, and dropped when another one was chosen since. One that was left behind while it
//! was read holds up the next no longer.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::mpsc::Sender;
use std::thread;

use super::behind::{Bench, Unread};
use super::dossier::Shown;
use super::events::{Event, PhotoRead, PhotoReader};
use crate::deed::PhotoKept;

/// The size in which photographs are held, pixels: two in each cell of half a wide page.
const PICTURE_PIXELS: [usize; 2] = [128, 128];

/// The same where the terminal shows them in its own pixels: half of a large screen.
const LARGE_PIXELS: [usize; 2] = [1280, 1280];

/// Photographs read at a time: the one in front and one left behind, for a large one takes a
/// quarter of a gigabyte while it is unpacked.
const MOST_BEGUN: usize = 2;

/// Photographs held at a time; together they take less than one of a camera.
const MOST_PICTURES: usize = 12;

/// Reads photographs in a thread of their own and sends them as events.
#[derive(Debug)]
pub(super) struct ReadInThread(pub(super) Sender<Event>);

impl PhotoReader for ReadInThread {
    fn begin(&mut self, ticket: u64, unread: Unread) -> Option<PhotoRead> {
        let events = self.0.clone();
        thread::spawn(move || {
            let shown = shown(unread);
            // Nobody listens any more when the screen is closed already.
            let _closed = events.send(Event::PhotoRead(PhotoRead { ticket, shown }));
        });
        None
    }
}

fn shown(unread: Unread) -> Shown {
    match unread() {
        Ok(picture) => Shown::Picture(Arc::new(picture)),
        Err(why) => Shown::Not(why),
    }
}

/// A photograph by its figure and file.
type Key = (String, String);

/// Photographs as they were shown last, and those that are being read.
#[derive(Default)]
pub(super) struct Photographs<'a> {
    /// Nobody: they are read at once.
    worker: Option<&'a mut dyn PhotoReader>,
    shown: BTreeMap<Key, Shown>,
    /// The size of a cell, where the terminal shows photographs in its own pixels.
    cell: Option<[u16; 2]>,
    /// What was in front last.
    wanted: Vec<Key>,
    /// Those that are being read, by the numbers under which they were begun.
    begun: BTreeMap<u64, Key>,
    /// The number given out last.
    ticket: u64,
    /// What was begun under this number or before has another size than is wanted now.
    too_old: u64,
}

impl<'a> Photographs<'a> {
    pub(super) fn by(worker: &'a mut dyn PhotoReader) -> Self {
        Self {
            worker: Some(worker),
            ..Self::default()
        }
    }

    /// Takes note of the size of a cell in pixels; `None` draws photographs in cells.
    pub(super) fn fit(&mut self, cell: Option<[u16; 2]>) {
        if cell.is_some() != self.cell.is_some() {
            self.shown.clear();
            self.too_old = self.ticket;
        }
        self.cell = cell;
    }

    /// Returns the size of a cell in pixels, where photographs are shown so.
    pub(super) fn cell(&self) -> Option<[u16; 2]> {
        self.cell
    }

    /// Returns two photographs of a figure as far as they are read; begins to read what is not.
    pub(super) fn look(
        &mut self,
        bench: &dyn Bench,
        figure: &str,
        pair: [Option<&PhotoKept>; 2],
    ) -> [Option<Shown>; 2] {
        let key = |photo: &PhotoKept| (figure.to_owned(), photo.file.clone());
        self.wanted = pair.iter().flatten().map(|photo| key(photo)).collect();
        for photo in pair.into_iter().flatten() {
            let key = key(photo);
            let is_free = !self.is_one_of_the_front_begun() && self.begun.len() < MOST_BEGUN;
            if is_free && !self.shown.contains_key(&key) {
                self.begin(bench, photo, key);
            }
        }
        pair.map(|photo| {
            let shown = self.shown.get(&key(photo?));
            Some(shown.cloned().unwrap_or(Shown::Unread))
        })
    }

    fn is_one_of_the_front_begun(&self) -> bool {
        let mut begun = self.begun.iter();
        begun.any(|(ticket, key)| self.too_old < *ticket && self.wanted.contains(key))
    }

    fn begin(&mut self, bench: &dyn Bench, photo: &PhotoKept, key: Key) {
        let pixels = self.cell.map_or(PICTURE_PIXELS, |_| LARGE_PIXELS);
        let unread = bench.photograph(&key.0, photo, pixels);
        self.ticket += 1;
        let ticket = self.ticket;
        self.begun.insert(ticket, key);
        let read = match &mut self.worker {
            Some(worker) => worker.begin(ticket, unread),
            None => Some(PhotoRead {
                ticket,
                shown: shown(unread),
            }),
        };
        if let Some(read) = read {
            self.take(read);
        }
    }

    /// Takes a photograph that was read, unless another one is in front by now.
    pub(super) fn take(&mut self, read: PhotoRead) {
        let Some(key) = self.begun.remove(&read.ticket) else {
            return;
        };
        if read.ticket <= self.too_old || !self.wanted.contains(&key) {
            return;
        }
        if MOST_PICTURES <= self.shown.len() {
            self.shown.retain(|key, _| self.wanted.contains(key));
        }
        self.shown.insert(key, read.shown);
    }
}
