//! Carries alarms to the desktop without ever holding up the screen.
//!
//! The caller puts the newest list into a place that holds one, and goes on; a thread takes
//! it from there and talks to the desktop for as long as the desktop likes. What was not yet
//! taken when something newer comes is passed over: every list tells all that rings, so the
//! newest one is the whole truth. A desktop that cannot be reached is a state to be shown
//! ([`Reach`]), not an error.

use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::Duration;

use chrono::{DateTime, FixedOffset};
use thiserror::Error;

use super::desktop::Desktop;
use super::ring::{Quiet, Ring, Turn};
use super::words::Urgency;

/// How many alarms are spelt out on the desktop; the screen shows all of them.
const SPELT_OUT: usize = 4;

/// A desktop that has not answered for so long is not waited for at the end (own choice).
const SETTLE: Duration = Duration::from_secs(2);

/// One message for the desktop: everything that rings, the first of it as its summary.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    /// What has happened, with the mark of its urgency.
    pub summary: String,
    /// What to do about each, one a line.
    pub body: String,
    /// The highest urgency in it.
    pub urgency: Urgency,
    /// Whether the desktop is to keep silent.
    pub quiet: Quiet,
    /// Whether nothing in it is new.
    pub turn: Turn,
}

impl Notice {
    /// Returns the message for what [`super::due`] gave; `None` for nothing.
    pub fn of(rings: &[Ring], now: DateTime<FixedOffset>) -> Option<Self> {
        let (first, others) = rings.split_first()?;
        let mut lines = vec![format!("{}: {}", first.figure, first.action)];
        lines.push(first.when(now));
        lines.extend(others.iter().take(SPELT_OUT - 1).map(|ring| {
            let (mark, when) = (ring.urgency.mark(), ring.when(now));
            format!(
                "{mark} {}: {}; {}; {when}",
                ring.figure, ring.headline, ring.action
            )
        }));
        let unsaid = rings.len().saturating_sub(SPELT_OUT);
        if 0 < unsaid {
            lines.push(format!("and {unsaid} more on the screen"));
        }
        Some(Self {
            summary: plain(&format!("{} {}", first.urgency.mark(), first.headline)),
            body: lines
                .iter()
                .map(|line| plain(line))
                .collect::<Vec<_>>()
                .join("\n"),
            urgency: rings.iter().map(|ring| ring.urgency).max()?,
            quiet: rings.iter().map(|ring| ring.quiet).max()?,
            turn: rings.iter().map(|ring| ring.turn).min()?,
        })
    }
}

/// Some desktops read a body as markup and some do not, so nothing is left in it that only
/// one of them would show as it was written.
fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for sign in text.chars() {
        match sign {
            '&' => plain.push_str("and"),
            '<' => plain.push('‹'),
            '>' => plain.push('›'),
            sign if sign.is_control() => plain.push(' '),
            sign => plain.push(sign),
        }
    }
    plain
}

/// The desktop did not take a message.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the desktop took no alarm: {why}")]
pub struct NotPosted {
    /// What it answered, or why it could not be asked.
    pub why: String,
}

/// A place where messages can be put up. Every act may take as long as it likes.
pub trait Post: Send + 'static {
    /// Puts a message up, in place of the one before.
    ///
    /// # Errors
    /// [`NotPosted`] when nobody took it; the next message may fare better.
    fn show(&mut self, notice: &Notice) -> Result<(), NotPosted>;

    /// Takes down what was put up, if anything.
    fn take_down(&mut self);
}

/// Whether alarms reach the desktop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reach {
    /// Nothing was sent yet.
    Untried,
    /// The last message was taken.
    Reached,
    /// A message was passed over because the desktop has not answered the one before.
    Silent,
    /// The last message was not taken.
    Away(NotPosted),
}

impl Reach {
    /// Returns a line for the screen when alarms ring here only.
    pub fn warning(&self) -> Option<&'static str> {
        match self {
            Self::Untried | Self::Reached => None,
            Self::Silent => Some("the desktop does not answer: alarms ring here only"),
            Self::Away(_) => Some("no desktop bus: alarms ring here only"),
        }
    }
}

/// What the desktop is to show.
#[derive(Debug)]
enum Wish {
    Show(Notice),
    TakeDown,
}

#[derive(Debug)]
struct Place {
    wish: Option<Wish>,
    is_under_way: bool,
    is_passed_over: bool,
    is_closed: bool,
    reach: Reach,
}

#[derive(Debug)]
struct Shared {
    place: Mutex<Place>,
    called: Condvar,
}

impl Shared {
    /// The lock is held for a few moves only, never while anybody talks to the desktop. Who
    /// panicked with it in hand left a whole place behind, for every move in it is whole.
    fn place(&self) -> MutexGuard<'_, Place> {
        self.place.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The way to the desktop. Dropping it ends its thread if the desktop lets go of it; if not,
/// the thread is left to itself and ends with the program.
#[derive(Debug)]
pub struct Herald {
    shared: Arc<Shared>,
}

impl Herald {
    /// Starts a herald to the desktop of this session. `told` is called on the herald's
    /// thread after each try, so that the screen can show what became of it.
    pub fn start(told: impl Fn(&Reach) + Send + 'static) -> Self {
        Self::with(Desktop::default(), told)
    }

    /// Starts a herald to any other place.
    pub fn with(post: impl Post, told: impl Fn(&Reach) + Send + 'static) -> Self {
        let shared = Arc::new(Shared {
            place: Mutex::new(Place {
                wish: None,
                is_under_way: false,
                is_passed_over: false,
                is_closed: false,
                reach: Reach::Untried,
            }),
            called: Condvar::new(),
        });
        let theirs = Arc::clone(&shared);
        let thread = thread::Builder::new()
            .name("herald".to_owned())
            .spawn(move || carry(&theirs, post, told));
        if let Err(refusal) = thread {
            shared.place().reach = Reach::Away(NotPosted {
                why: refusal.to_string(),
            });
        }
        Self { shared }
    }

    /// Hands a message over and returns at once. One that still waits is passed over.
    pub fn cry(&self, mut notice: Notice) {
        let mut place = self.shared.place();
        if let Some(Wish::Show(older)) = &place.wish {
            // What was new in the older one has not been seen yet.
            notice.turn = notice.turn.min(older.turn);
            place.is_passed_over = true;
        }
        place.wish = Some(Wish::Show(notice));
        drop(place);
        self.shared.called.notify_one();
    }

    /// Takes the message down, because nothing rings any more, and returns at once.
    pub fn hush(&self) {
        self.shared.place().wish = Some(Wish::TakeDown);
        self.shared.called.notify_one();
    }

    /// Waits until the desktop has what was handed over, or has not taken it within two seconds:
    /// for a program that ends right after it has rung.
    pub fn settle(&self) {
        let busy = |place: &mut Place| place.wish.is_some() || place.is_under_way;
        let place = self.shared.place();
        drop(self.shared.called.wait_timeout_while(place, SETTLE, busy));
    }

    /// Returns whether alarms reach the desktop, as far as is known now.
    pub fn reach(&self) -> Reach {
        let place = self.shared.place();
        if place.is_under_way && place.is_passed_over {
            Reach::Silent
        } else {
            place.reach.clone()
        }
    }
}

impl Drop for Herald {
    fn drop(&mut self) {
        self.shared.place().is_closed = true;
        self.shared.called.notify_one();
    }
}

/// The herald's thread: takes a wish, tells the desktop, keeps what came of it.
fn carry(shared: &Shared, mut post: impl Post, told: impl Fn(&Reach)) {
    while let Some(wish) = next_wish(shared) {
        let reach = match wish {
            Wish::Show(notice) => Some(match post.show(&notice) {
                Ok(()) => Reach::Reached,
                Err(not_posted) => Reach::Away(not_posted),
            }),
            Wish::TakeDown => {
                post.take_down();
                None
            }
        };
        let mut place = shared.place();
        place.is_under_way = false;
        if let Some(reach) = reach {
            place.reach = reach;
        }
        let reach = place.reach.clone();
        drop(place);
        // Whoever waits in [`Herald::settle`].
        shared.called.notify_all();
        told(&reach);
    }
}

/// Waits for a wish; `None` when the herald was dropped.
fn next_wish(shared: &Shared) -> Option<Wish> {
    let mut place = shared
        .called
        .wait_while(shared.place(), |place| {
            place.wish.is_none() && !place.is_closed
        })
        .unwrap_or_else(PoisonError::into_inner);
    if place.is_closed {
        return None;
    }
    place.is_under_way = true;
    place.is_passed_over = false;
    place.wish.take()
}
