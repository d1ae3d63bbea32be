//! The real terminal: set up, put back on every way out, and its events.

use std::io::{self, IsTerminal, stdin, stdout};
use std::panic::{self, PanicHookInfo};
use std::sync::Mutex;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

use chrono::{DateTime, FixedOffset, TimeDelta};
use crossterm::{
    cursor::Show,
    event::{self, DisableBracketedPaste, DisableMouseCapture, KeyEvent},
    event::{EnableBracketedPaste, EnableMouseCapture},
    execute,
    terminal::{
        Clear, ClearType, EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode,
        enable_raw_mode,
    },
};
use ratatui::Terminal;
use signal_hook::{
    consts::{SIGHUP, SIGTERM},
    iterator::Signals,
};

use crate::now::{Clock, Jump, Watch};
use crate::standing::Book;
use crate::trouble::{ExitKind, Trouble};

use super::asking::{Answer, ask_terminal};
use super::behind::Bench;
use super::easel::TerminalEasel;
use super::events::{Bell, Dial, Event, Opening, Source};
use super::ground::Ground;
use super::look::Depth;
use super::photographs::ReadInThread;
use super::reckoning::InThread;
use super::turn::{Turn, go_round};

/// The last line that was kept, in words, for a bug's last message.
static LAST_KEPT: Mutex<String> = Mutex::new(String::new());

/// What is said about a bug, once the terminal is put back: the panic, and the last line
/// that was kept (empty before the first).
pub type BugWords = fn(&PanicHookInfo<'_>, &str);

/// Why the screen could not be opened or went away.
#[derive(Debug, thiserror::Error)]
pub enum ScreenTrouble {
    /// Input or output is no terminal.
    #[error("there is no terminal here: the bench needs one for its keys and its page")]
    NoTerminal,
    /// The terminal could not be set up or written to.
    #[error("the terminal cannot be written to: {0}")]
    Terminal(#[from] io::Error),
    /// Nobody can look after other benches, so what is shown could be old.
    #[error("the system lets nobody look after the other benches: {0}")]
    Unwatched(#[source] io::Error),
}

impl From<ScreenTrouble> for Trouble {
    fn from(trouble: ScreenTrouble) -> Self {
        let what = trouble.to_string();
        match trouble {
            ScreenTrouble::NoTerminal => Self {
                remedy: Some(
                    "open it in a terminal window; `knuckle standing`, `clocks` and `day` \
                     need none"
                        .to_owned(),
                ),
                ..Self::new(ExitKind::Misuse, what)
            },
            ScreenTrouble::Unwatched(_) => Self {
                remedy: Some("end other programs, then open it again".to_owned()),
                ..Self::new(ExitKind::Disk, what)
            },
            ScreenTrouble::Terminal(_) => Self {
                remedy: Some("what was said to be kept is on disk; open it again".to_owned()),
                ..Self::new(ExitKind::Disk, what)
            },
        }
    }
}

/// Opens the screen and runs it until it is left.
///
/// # Errors
/// [`ScreenTrouble`] when there is no terminal or it goes away; the terminal is put back.
pub fn run(
    bench: &mut dyn Bench,
    clock: Clock,
    bell: &mut dyn Bell,
    opening: Opening,
    bug: BugWords,
) -> Result<(), ScreenTrouble> {
    find_terminal()?;
    put_back_on_a_bug(bug);
    let mut dial = WallDial {
        watch: Watch::start(&clock),
        clock,
    };
    let mut feed = Feed::open()?;
    let others = feed.others();
    let watching = bench
        .watch(Box::new(move || others.send(Event::Kept).is_ok()))
        .map_err(ScreenTrouble::Unwatched)?;
    let mut worker = InThread::new(feed.others());
    let depth = opening.look.depth;
    let mut photographer = ReadInThread(feed.others());
    let mut turn = Turn::new(bench, &mut dial, bell, opening)
        .with_reckoner(&mut worker)
        .with_photo_reader(&mut photographer);
    let ended = set_up().and_then(|()| {
        let answer = match depth {
            // No colours were asked for, or the terminal has none.
            Depth::Plain => Answer::default(),
            _ => ask_terminal(stdout()),
        };
        feed.listen(answer.typed);
        let mut easel = TerminalEasel::new(stdout(), answer.tongue);
        let mut terminal = Terminal::new(Ground::of(stdout()))?;
        go_round(&mut turn, &mut terminal, &mut feed, &mut easel)
    });
    put_back();
    turn.settle();
    drop(watching);
    Ok(ended?)
}

/// Returns whether there is a terminal to open the screen on.
///
/// # Errors
/// [`ScreenTrouble::NoTerminal`].
pub fn find_terminal() -> Result<(), ScreenTrouble> {
    if stdin().is_terminal() && stdout().is_terminal() {
        Ok(())
    } else {
        Err(ScreenTrouble::NoTerminal)
    }
}

/// Notes the last line kept: its book, its number, its words.
pub(super) fn remember(book: &Book, n: u64, words: &str) {
    let book = match book {
        Book::Shop => "the shop's journal".to_owned(),
        Book::Figure(id) => format!("the journal of {id}"),
    };
    if let Ok(mut last) = LAST_KEPT.lock() {
        *last = format!("line {n} of {book}: {words}");
    }
}

fn set_up() -> io::Result<()> {
    enable_raw_mode()?;
    execute!(
        stdout(),
        EnterAlternateScreen,
        Clear(ClearType::All),
        EnableMouseCapture,
        EnableBracketedPaste
    )
}

/// Puts the terminal back as far as it goes: after a hang-up there is nobody left to tell.
fn put_back() {
    let _gone = execute!(
        stdout(),
        DisableBracketedPaste,
        DisableMouseCapture,
        LeaveAlternateScreen,
        Show
    );
    let _gone = disable_raw_mode();
}

fn put_back_on_a_bug(bug: BugWords) {
    panic::set_hook(Box::new(move |info| {
        put_back();
        // The panicking thread may hold the lock: then there is no last line to name.
        let last = LAST_KEPT.try_lock().map(|last| last.clone());
        bug(info, &last.unwrap_or_default());
    }));
}

/// The time on the wall, or a fixed or sped one.
#[derive(Debug)]
struct WallDial {
    clock: Clock,
    watch: Watch,
}

impl Dial for WallDial {
    fn look(&mut self) -> (DateTime<FixedOffset>, Option<(f64, String)>) {
        let (now, jump) = self.watch.look(&self.clock);
        let seconds = |by: TimeDelta| by.as_seconds_f64();
        let jump = jump.map(|jump| match jump {
            Jump::Back { by } => (-seconds(by), "set back".to_owned()),
            Jump::Ahead { by } => (seconds(by), "set forward or asleep".to_owned()),
        });
        (now, jump)
    }

    fn show(&self, moment: DateTime<FixedOffset>) -> DateTime<FixedOffset> {
        self.clock.show(moment)
    }

    fn wait_for(&self, due: DateTime<FixedOffset>) -> Option<Duration> {
        self.clock.wait_for(due)
    }
}

/// Events of the terminal and of the system, gathered by two threads that do nothing else, and
/// of other benches, from whoever watches them.
#[derive(Debug)]
struct Feed {
    events: Receiver<Event>,
    sender: Sender<Event>,
}

impl Feed {
    fn open() -> io::Result<Self> {
        let (sender, events) = channel();
        let mut signals = Signals::new([SIGTERM, SIGHUP])?;
        let ends = sender.clone();
        thread::spawn(move || {
            if signals.forever().next().is_some() {
                // Nobody listens any more when the screen is closed already.
                let _closed = ends.send(Event::Quit);
            }
        });
        Ok(Self { events, sender })
    }

    /// Begins to read the terminal, behind the keys that were typed before.
    fn listen(&self, before: Vec<KeyEvent>) {
        for key in before {
            // Both ends are held here.
            let _taken = self.sender.send(Event::Key(key));
        }
        let typed = self.sender.clone();
        thread::spawn(move || read_terminal(&typed));
    }

    /// Returns where the events of other benches go in, and those of whoever reckons or reads
    /// photographs.
    fn others(&self) -> Sender<Event> {
        self.sender.clone()
    }
}

fn read_terminal(sender: &Sender<Event>) {
    loop {
        let event = match event::read() {
            Ok(event::Event::Key(key)) => Event::Key(key),
            Ok(event::Event::Mouse(mouse)) => Event::Mouse(mouse),
            Ok(event::Event::Paste(text)) => Event::Pasted(text),
            Ok(event::Event::Resize(..)) => Event::Resize,
            Ok(_) => continue,
            Err(_gone) => Event::Quit,
        };
        let ends = event == Event::Quit;
        if sender.send(event).is_err() || ends {
            return;
        }
    }
}

impl Source for Feed {
    fn next(&mut self, wait: Option<Duration>) -> Event {
        let Some(wait) = wait else {
            return self.events.recv().unwrap_or(Event::Quit);
        };
        match self.events.recv_timeout(wait) {
            Ok(event) => event,
            Err(RecvTimeoutError::Timeout) => Event::Due,
            Err(RecvTimeoutError::Disconnected) => Event::Quit,
        }
    }
}
