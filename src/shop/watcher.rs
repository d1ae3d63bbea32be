//! Looks whether other benches have kept lines, so that their acts are seen within a second.
//!
//! It asks the disk for the length and the time of each journal, some times a second, and tells
//! only when one of them changed. News that a system gives of itself do not cross a network
//! share, and a shop's folder may lie on one; a look does, and costs next to nothing.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

use crate::disk::{Disk, Stamp};

/// How long between two looks. What another bench kept is to be seen within a second, and the
/// drawing wants its share of it. Chosen here; some hundred journals cost about a thousandth of
/// a core.
pub const LOOK_EVERY: Duration = Duration::from_millis(500);

/// What a look at a file said; `None` when the disk did not answer.
type Seen = Option<Option<Stamp>>;

/// The journals of a shop, as they were at the last look.
#[derive(Debug)]
pub struct Watcher {
    disk: Arc<dyn Disk>,
    files: Vec<(PathBuf, Seen)>,
}

/// A watcher at work on a thread of its own; it ends when this is dropped.
#[derive(Debug)]
pub struct Watching {
    _until_dropped: Sender<()>,
}

impl Watcher {
    /// Returns a watcher of files that has looked at none yet. A file need not be there.
    pub fn of(disk: Arc<dyn Disk>, files: impl IntoIterator<Item = PathBuf>) -> Self {
        let files = files.into_iter().map(|file| (file, None)).collect();
        Self { disk, files }
    }

    /// Looks at all files; says whether any of them is another one than at the last look. A
    /// disk that stops answering is such a change too, but only once.
    pub fn look(&mut self) -> bool {
        let mut changed = false;
        for (file, seen) in &mut self.files {
            let now = self.disk.stamp(file).ok();
            changed |= *seen != now;
            *seen = now;
        }
        changed
    }

    /// Goes on looking on a thread of its own, and calls `tell` at the first look, for what was
    /// kept after the journals were read, and after each change. Ends when `tell` says that
    /// nobody listens any more.
    ///
    /// # Errors
    /// The system's, when it gives no thread.
    pub fn start(
        mut self,
        mut tell: impl FnMut() -> bool + Send + 'static,
    ) -> std::io::Result<Watching> {
        let (until_dropped, ended) = channel::<()>();
        thread::Builder::new()
            .name("watcher".to_owned())
            .spawn(move || {
                self.look();
                while tell() {
                    loop {
                        match ended.recv_timeout(LOOK_EVERY) {
                            Err(RecvTimeoutError::Timeout) if self.look() => break,
                            Err(RecvTimeoutError::Timeout) => {}
                            _ => return,
                        }
                    }
                }
            })?;
        Ok(Watching {
            _until_dropped: until_dropped,
        })
    }
}
