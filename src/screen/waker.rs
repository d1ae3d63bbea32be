//! What wakes a program that only rings: a line typed, the system's wish that it ends, or time.
//! It works without a terminal; where nobody can type, only the other two wake it.

use std::io::{self, BufRead, stdin};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

use signal_hook::{
    consts::{SIGHUP, SIGINT, SIGTERM},
    iterator::Signals,
};

/// What woke it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wake {
    /// Somebody pressed Enter.
    Line,
    /// The wait was long enough.
    Time,
    /// The system wants the program to end.
    End,
}

/// Standard input and the system's signals, gathered by two threads that do nothing else.
#[derive(Debug)]
pub struct Waker {
    wakes: Receiver<Wake>,
}

impl Waker {
    /// Begins to listen.
    ///
    /// # Errors
    /// When the system lets nobody listen to its signals.
    pub fn open() -> io::Result<Self> {
        let (sender, wakes) = channel();
        let mut signals = Signals::new([SIGTERM, SIGHUP, SIGINT])?;
        let ends = sender.clone();
        thread::spawn(move || {
            if signals.forever().next().is_some() {
                // Nobody listens any more when the program ends already.
                let _ended = ends.send(Wake::End);
            }
        });
        thread::spawn(move || read_lines(&sender));
        Ok(Self { wakes })
    }

    /// Waits for so long; `None` waits for as long as it takes.
    pub fn wait(&self, most: Option<Duration>) -> Wake {
        let Some(most) = most else {
            return self.wakes.recv().unwrap_or(Wake::End);
        };
        match self.wakes.recv_timeout(most) {
            Ok(wake) => wake,
            Err(RecvTimeoutError::Timeout) => Wake::Time,
            Err(RecvTimeoutError::Disconnected) => Wake::End,
        }
    }
}

/// Ends at the end of input: a service has none, and rings on.
fn read_lines(sender: &Sender<Wake>) {
    let mut line = Vec::new();
    let mut input = stdin().lock();
    while input
        .read_until(b'\n', &mut line)
        .is_ok_and(|read| 0 < read)
    {
        line.clear();
        if sender.send(Wake::Line).is_err() {
            return;
        }
    }
}
