//! The real binary in a pseudo-terminal: the worker's joint, the gilder's night, the
//! supervisor's reading. What to press is worked out from the journal on disk, as it stands;
//! that the screen shows what is asked is waited for before anything is pressed.
//!
//! The clock of the program stands still (`--clock`), so nothing here waits for time.

use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex};
use std::time::Duration;

use knuckle::card::{Cards, ClockName};
use knuckle::deed::{Deed, Line, Pouring, Value, Work};
use knuckle::disk::RealDisk;
use knuckle::shop::{Keeper, book_path, load};
use knuckle::standing::{Ask, Book, Intent, Moment, OpensBy, Prompt, prompt};
use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

use crate::kit::sealed::copied;
use crate::memory::at;

/// How long a text is waited for before the trial gives up.
const GIVE_UP: Duration = Duration::from_mins(1);

/// The program in a window of its own.
pub(crate) struct Window {
    child: Box<dyn Child + Send + Sync>,
    keys: Arc<Mutex<Box<dyn Write + Send>>>,
    page: Arc<(Mutex<vt100::Parser>, Condvar)>,
    written: Arc<Mutex<Vec<u8>>>,
    /// Held open: the window closes with it.
    _master: Box<dyn MasterPty + Send>,
}

impl Window {
    pub(crate) fn open(shop: &Path, args: &[&str], size: (u16, u16)) -> Self {
        Self::of(Self::command(shop, args), size)
    }

    /// The program on a shop, in an environment of its own.
    pub(crate) fn command(shop: &Path, args: &[&str]) -> CommandBuilder {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_knuckle"));
        command.env_clear();
        command.env("TERM", "xterm-256color");
        command.env("HOME", shop);
        command.env("TMPDIR", shop);
        // No message of a trial pops up on anybody's desktop.
        command.env("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nowhere");
        command.cwd(shop);
        command.arg("--shop");
        command.arg(shop);
        command.args(args);
        command
    }

    /// Runs any program in a window of its own.
    pub(crate) fn of(command: CommandBuilder, (rows, cols): (u16, u16)) -> Self {
        let size = PtySize {
            rows,
            cols,
            pixel_width: 0,
            pixel_height: 0,
        };
        Self::answering(command, size, &[])
    }

    /// The same in a terminal of a size in cells and pixels, which answers the first question
    /// for its attributes (`CSI c`) with the first of some answers, the second with the second.
    pub(crate) fn answering(
        command: CommandBuilder,
        size: PtySize,
        answers: &'static [&'static str],
    ) -> Self {
        let (rows, cols) = (size.rows, size.cols);
        let pair = native_pty_system().openpty(size).unwrap();
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let page = Arc::new((
            Mutex::new(vt100::Parser::new(rows, cols, 0)),
            Condvar::new(),
        ));
        let (theirs, mut out) = (Arc::clone(&page), pair.master.try_clone_reader().unwrap());
        let keys = Arc::new(Mutex::new(pair.master.take_writer().unwrap()));
        let written = Arc::new(Mutex::new(Vec::new()));
        let (line, log) = (Arc::clone(&keys), Arc::clone(&written));
        std::thread::spawn(move || {
            let mut bytes = [0; 8192];
            let mut answers = answers.iter();
            let mut asked = 0;
            let mut waiting = Vec::new();
            while let Ok(read @ 1..) = out.read(&mut bytes) {
                let questions = {
                    let mut log = log.lock().unwrap();
                    log.extend(&bytes[..read]);
                    log.windows(3).filter(|three| three == b"\x1b[c").count()
                };
                for answer in answers.by_ref().take(questions - asked) {
                    line.lock().unwrap().write_all(answer.as_bytes()).unwrap();
                }
                asked = questions;
                waiting.extend(&bytes[..read]);
                let whole: Vec<u8> = waiting.drain(..whole_pages(&waiting)).collect();
                theirs.0.lock().unwrap().process(&whole);
                theirs.1.notify_all();
            }
            theirs.1.notify_all();
        });
        Self {
            child,
            keys,
            page,
            written,
            _master: pair.master,
        }
    }

    pub(crate) fn text(&self) -> String {
        self.page.0.lock().unwrap().screen().contents()
    }

    /// All that the program has written, byte by byte.
    pub(crate) fn written(&self) -> String {
        String::from_utf8_lossy(&self.written.lock().unwrap()).into_owned()
    }

    /// The signs of a part of the page: from a row and column on, so many rows and columns.
    pub(crate) fn part(&self, from: [u16; 2], many: [u16; 2]) -> String {
        let page = self.page.0.lock().unwrap();
        let places = (0..many[0]).flat_map(|row| (0..many[1]).map(move |column| (row, column)));
        places
            .filter_map(|(row, column)| page.screen().cell(from[0] + row, from[1] + column))
            .map(vt100::Cell::contents)
            .collect()
    }

    /// Waits until the page shows something; its whole text comes back.
    #[track_caller]
    pub(crate) fn wait_for(&self, what: &str, shows: impl Fn(&str) -> bool) -> String {
        let page = self.page.0.lock().unwrap();
        let (page, waited) = self
            .page
            .1
            .wait_timeout_while(page, GIVE_UP, |page| !shows(&page.screen().contents()))
            .unwrap();
        let text = page.screen().contents();
        assert!(
            !waited.timed_out(),
            "never showed {what}; the page says:\n{text}"
        );
        text
    }

    #[track_caller]
    pub(crate) fn wait_for_text(&self, text: &str) -> String {
        self.wait_for(text, |page| folded(page).contains(&folded(text)))
    }

    pub(crate) fn press(&mut self, keys: &str) {
        let mut line = self.keys.lock().unwrap();
        line.write_all(keys.as_bytes()).unwrap();
        line.flush().unwrap();
    }

    /// Returns whether the terminal is as it was before a screen was opened in it.
    pub(crate) fn is_put_back(&self) -> bool {
        let page = self.page.0.lock().unwrap();
        let screen = page.screen();
        !screen.alternate_screen()
            && !screen.hide_cursor()
            && !screen.bracketed_paste()
            && screen.mouse_protocol_mode() == vt100::MouseProtocolMode::None
    }

    /// Leaves by the key that leaves, and waits for the end.
    pub(crate) fn leave(mut self) {
        self.press("q");
        let text = self.wait_for("the way out", |_| true);
        if text.contains("leave") {
            self.press("y");
        }
        let ended = self.child.wait().unwrap();
        assert!(ended.success(), "left with {ended:?}");
    }
}

/// How many of some bytes stand before a page that has begun and not ended (private mode 2026):
/// nobody is to read half a page.
fn whole_pages(bytes: &[u8]) -> usize {
    let last = |sign: &[u8]| bytes.windows(sign.len()).rposition(|part| part == sign);
    let (begin, end) = (b"\x1b[?2026h".as_slice(), b"\x1b[?2026l".as_slice());
    match (last(begin), last(end)) {
        (Some(opened), None) => opened,
        (Some(opened), Some(closed)) if closed < opened => opened,
        // The sign itself may have come in two.
        _ => (1..begin.len())
            .rev()
            .find(|many| bytes.ends_with(&begin[..*many]))
            .map_or(bytes.len(), |many| bytes.len() - many),
    }
}

/// A page as words: what wraps on a narrow page is still the same sentence.
fn folded(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A copy of the sample shop in a folder of its own.
pub(crate) struct Shop {
    _temp: tempfile::TempDir,
    pub(crate) folder: PathBuf,
    pub(crate) cards: Cards,
}

impl Shop {
    pub(crate) fn new() -> Self {
        let temp = tempfile::tempdir().unwrap();
        copied(
            &Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop"),
            &temp.path().join("shop"),
        );
        let shop = Self::at(temp);
        shop.all_have_read("odile");
        shop
    }

    /// The shop that stands in the folder `shop` of a passing folder.
    pub(crate) fn at(temp: tempfile::TempDir) -> Self {
        let folder = temp.path().join("shop");
        let (cards, flaws) = load(&RealDisk, &folder).unwrap();
        assert!(flaws.is_empty(), "{flaws:?}");
        Self {
            _temp: temp,
            folder,
            cards,
        }
    }

    /// Everybody but one has read the sentence above every card on another day.
    fn all_have_read(&self, but: &str) {
        let mut keeper = self.keeper();
        let people = self.cards.shop.people.iter();
        for person in people.filter(|person| person.id != but) {
            let moment = Moment {
                at: at("2026-11-25T08:00:00+00:00"),
                by: person.id.clone(),
                bench: "trial".into(),
            };
            keeper.act(&Intent::Acknowledge, &moment).unwrap();
        }
    }

    pub(crate) fn keeper(&self) -> Keeper {
        Keeper::open(Arc::new(RealDisk), &self.folder, self.cards.clone()).unwrap()
    }

    pub(crate) fn lines(&self, figure: &str) -> Vec<Line> {
        self.keeper().lines(&Book::Figure(figure.into())).unwrap()
    }

    pub(crate) fn prompt(
        &self,
        figure: &str,
        operation: &str,
        now: &str,
    ) -> Option<(Work, Prompt)> {
        let keeper = self.keeper();
        let standing = keeper.house().figure(figure)?;
        let job = standing
            .jobs
            .iter()
            .rev()
            .find(|job| job.work.operation == operation)?;
        let prompt = prompt(keeper.house(), figure, &job.work, at(now))?;
        Some((job.work.clone(), prompt))
    }

    /// Waits until the journals hold more lines than before.
    pub(crate) fn wait_for_lines(&self, window: &Window, before: usize) {
        let mut count = self.count();
        let lock = window.page.0.lock().unwrap();
        let (lock, _) = window
            .page
            .1
            .wait_timeout_while(lock, GIVE_UP, |_| {
                count = self.count();
                count <= before
            })
            .unwrap();
        let text = lock.screen().contents();
        // A line may be kept after the last drawing, which nothing tells of.
        count = count.max(self.count());
        assert!(before < count, "nothing was kept; the page says:\n{text}");
    }

    /// How many lines all journals hold.
    pub(crate) fn count(&self) -> usize {
        let figures = self.cards.figures.keys().cloned().map(Book::Figure);
        let books = std::iter::once(Book::Shop).chain(figures);
        books
            .map(|book| std::fs::read(book_path(&self.folder, &book)).unwrap_or_default())
            .map(|bytes| bytes.split(|byte| *byte == b'\n').count())
            .sum()
    }
}

/// What the shop usually takes where several would do.
const USUAL: [&str; 2] = ["medium-epoxy", "slow-size"];

/// What is to be seen, and what is then pressed, for the one thing that is asked.
fn answer(prompt: &Prompt, readings: &dyn Fn(&str) -> f64) -> (String, String) {
    let digit = |index: usize| {
        char::from_digit(u32::try_from(index).unwrap() + 1, 10)
            .unwrap()
            .to_string()
    };
    let number = |value: f64| format!("{value}\r");
    match &prompt.ask {
        Ask::Gate(verdict) => match &verdict.opens_by {
            OpensBy::Vouch(_) | OpensBy::Renew { .. } => (verdict.name.to_owned(), " ".into()),
            OpensBy::AirReading(_) => (verdict.name.to_owned(), " 20\r50\r".into()),
            OpensBy::Surface => (verdict.name.to_owned(), number(readings("surface"))),
            other => panic!(
                "the gate {} is shut: {} ({other:?})",
                verdict.name, verdict.why
            ),
        },
        Ask::Cautions(cautions) => (first_words(&cautions[0].say), " ".into()),
        Ask::Confirm { nth, of, .. } => (format!("check {nth} of {of}"), " ".into()),
        Ask::Reading {
            record, ask, usual, ..
        } => {
            let [low, high] = *usual;
            let wanted = readings(record);
            let usual = (low <= wanted && wanted <= high).then_some(wanted);
            let value = usual.unwrap_or_else(|| f64::midpoint(low, high).round());
            (first_words(ask), number(value))
        }
        Ask::Choice { ask, .. } => (first_words(ask), "1".into()),
        Ask::Lot { options, .. } => {
            let good = options
                .iter()
                .position(|lot| lot.warning.is_none() && USUAL.contains(&lot.material.as_str()))
                .or_else(|| options.iter().position(|lot| lot.warning.is_none()))
                .unwrap();
            (options[good].lot.clone(), digit(good))
        }
        Ask::Photo { station, .. } => (first_words(station), " ".into()),
        Ask::Words { ask, .. } => (first_words(ask), " as planned\r".into()),
        Ask::Batch { offers } => {
            let good = offers
                .iter()
                .position(|offer| offer.refused.is_none())
                .unwrap_or_else(|| panic!("{offers:?}"));
            (first_words(&offers[good].name), digit(good))
        }
        Ask::Pour { part, asked_g, .. } => {
            let seen = match part {
                Pouring::Resin => "Pour resin (A)",
                Pouring::Hardener => "Pour hardener (B)",
            };
            (seen.to_owned(), number(*asked_g))
        }
        Ask::Start { because, .. } => (first_words(because), " ".into()),
        Ask::Act | Ask::Wait { ready: true, .. } => (first_words(&prompt.act), " ".into()),
        Ask::Test {
            words, ready_word, ..
        } => {
            let ready = words.iter().position(|word| word == ready_word).unwrap();
            ((*ready_word).to_owned(), digit(ready))
        }
        other => panic!("nothing to press for {other:?}"),
    }
}

/// Enough of a sentence to know it by on a narrow page.
fn first_words(text: &str) -> String {
    text.split_whitespace()
        .take(3)
        .collect::<Vec<_>>()
        .join(" ")
}

/// Walks on at the bench until `stop` says so of what is asked.
pub(crate) fn walk_on(
    shop: &Shop,
    window: &mut Window,
    (figure, operation, now): (&str, &str, &str),
    is_there: &dyn Fn(&Prompt) -> bool,
) -> Prompt {
    for _ in 0..400 {
        let (_, prompt) = shop.prompt(figure, operation, now).expect("a begun job");
        if is_there(&prompt) {
            return prompt;
        }
        let (seen, keys) = answer(&prompt, &|record| reading(record));
        window.wait_for_text(&seen);
        if matches!(prompt.ask, Ask::Cautions(_)) {
            turn_over(window);
        }
        let before = shop.count();
        window.press(&keys);
        shop.wait_for_lines(window, before);
    }
    panic!("{operation} on {figure} does not get there");
}

/// Cautions that do not fit are turned over until the last has been shown.
fn turn_over(window: &mut Window) {
    for _ in 0..20 {
        let page = window.wait_for("cautions and their key", |page| {
            page.contains("more below") || page.contains("I have read them")
        });
        if page.contains("I have read them") {
            return;
        }
        window.press(" ");
        window.wait_for("the next caution", |now| now != page);
    }
}

fn reading(record: &str) -> f64 {
    match record {
        "humidity" => 50.0,
        "core" | "skin" => 10.0,
        "rehearsal" => 6.0,
        "step" => 0.2,
        "thinning" => 5.0,
        "holidays" => 11.0,
        "books" => 2.0,
        "leaves" => 38.0,
        _ => 19.0,
    }
}

/// Takes an operation up from the list of the figure at the bench.
pub(crate) fn take_up(window: &mut Window, title: &str) {
    let page = window.wait_for_text(title);
    let row = page.lines().find(|line| line.contains(title)).unwrap();
    let digit = row.trim().chars().next().unwrap();
    window.press(&digit.to_string());
}

const MORNING: &str = "2026-11-25T08:10:00+00:00";

#[test]
fn the_worker_glues_the_joint_of_the_hare_by_what_is_on_the_screen() {
    let shop = Shop::new();
    let job = ("hare", "mix-and-lay-up", MORNING);
    let args = ["--as", "odile", "--clock", MORNING, "bench", "hare"];
    let mut window = Window::open(&shop.folder, &args, (24, 80));
    // Who is new reads the sentence above every card before anything else.
    window.wait_for_text("This tool reminds; it does not permit.");
    let before = shop.count();
    window.press(" ");
    shop.wait_for_lines(&window, before);
    let before = shop.count();
    take_up(&mut window, "Mix, lay up, clamp, release");
    shop.wait_for_lines(&window, before);
    // The cup: from the clamps to the first contact.
    let start = walk_on(&shop, &mut window, job, &|prompt| {
        matches!(prompt.ask, Ask::Start { .. })
    });
    let Ask::Start { promise_min, .. } = start.ask else {
        unreachable!()
    };
    assert!(10.0 < promise_min && promise_min < 30.0, "{promise_min}");
    // From the first contact to the leftover on its stone.
    walk_on(&shop, &mut window, job, &|prompt| {
        prompt.step == "leftover-cold"
    });
    let page = window.wait_for_text("left-over");
    assert!(page.contains("cup") || page.contains("clamps"), "{page}");
    window.leave();

    let lines = shop.lines("hare");
    let mixed = lines.iter().rev().find_map(|line| match &line.deed {
        Deed::Mixed(mixed) => Some(mixed),
        _ => None,
    });
    let mixed = mixed.expect("the mix is in the journal");
    assert_eq!(mixed.starts.len(), 5, "one mix starts five clocks");
    assert!(mixed.off_percent.abs() <= 2.0);
    let ratio = mixed.b_g / mixed.a_g;
    assert!(
        (ratio - 0.45).abs() < 0.01,
        "100:45 by weight, poured {ratio}"
    );
    let poured = lines
        .iter()
        .filter(|line| matches!(line.deed, Deed::Poured(_)))
        .count();
    assert_eq!(poured, 2);

    // Five days on, nights and all: the leftover is cold, the clamps come off, the supervisor signs.
    let later = "2026-11-30T09:00:00+00:00";
    let job = ("hare", "mix-and-lay-up", later);
    let args = ["--as", "odile", "--clock", later, "bench", "hare"];
    let mut window = Window::open(&shop.folder, &args, (24, 80));
    answer_alarms(&shop, &mut window);
    walk_on(&shop, &mut window, job, &|prompt| {
        matches!(prompt.ask, Ask::Hold { .. })
    });
    window.leave();
    let args = ["--as", "marguerite", "--clock", later, "bench", "hare"];
    let mut window = Window::open(&shop.folder, &args, (24, 80));
    answer_alarms(&shop, &mut window);
    window.wait_for_text("signature");
    let before = shop.count();
    window.press(" ");
    window.wait_for_text("yes");
    window.press("y");
    shop.wait_for_lines(&window, before);
    let (_, prompt) = shop.prompt("hare", "mix-and-lay-up", later).unwrap();
    assert!(
        matches!(prompt.ask, Ask::Finished { .. }),
        "{:?}",
        prompt.ask
    );
    window.leave();
}

/// Answers what rings when a window opens, until nothing rings any more.
pub(crate) fn answer_alarms(shop: &Shop, window: &mut Window) {
    for _ in 0..20 {
        let page = window.wait_for("a whole page", |page| page.contains("? help"));
        if !page.contains("answers it") {
            return;
        }
        let before = shop.count();
        window.press(" ");
        shop.wait_for_lines(window, before);
        let shown = page.clone();
        window.wait_for("another page", |page| page != shown);
    }
    panic!("it never stops ringing:\n{}", window.text());
}

const EVENING: &str = "2026-11-25T16:30:00+00:00";

#[test]
fn the_gilder_sizes_in_the_evening_and_leafs_in_the_morning() {
    let shop = Shop::new();
    let evening = ("heron", "size-and-leaf", EVENING);
    let args = ["--as", "wren", "--clock", EVENING, "bench", "heron"];
    let mut window = Window::open(&shop.folder, &args, (24, 80));
    answer_alarms(&shop, &mut window);
    let before = shop.count();
    take_up(&mut window, "Oil size and leaf");
    shop.wait_for_lines(&window, before);
    walk_on(&shop, &mut window, evening, &|prompt| prompt.step == "leaf");
    window.leave();
    let sized = shop
        .lines("heron")
        .iter()
        .rev()
        .find_map(|line| match &line.deed {
            Deed::Done(done) if done.starts.len() == 3 => Some(done.starts.clone()),
            _ => None,
        });
    let places: Vec<ClockName> = sized
        .expect("laying size starts three clocks")
        .iter()
        .map(|start| start.clock)
        .collect();
    assert_eq!(
        places,
        [
            ClockName::TackEdge,
            ClockName::TackFlat,
            ClockName::TackHollow
        ]
    );

    // At half past seven the hollow is not ready yet; a word says so and stays on record.
    let early = "2026-11-26T07:40:00+00:00";
    let morning = ("heron", "size-and-leaf", early);
    let args = ["--as", "wren", "--clock", early, "bench", "heron"];
    let mut window = Window::open(&shop.folder, &args, (24, 80));
    answer_alarms(&shop, &mut window);
    walk_on(&shop, &mut window, morning, &|prompt| {
        matches!(prompt.ask, Ask::Test { .. })
    });
    window.wait_for_text("all must say");
    for word in ["4", "4", "3"] {
        let before = shop.count();
        window.press(word);
        shop.wait_for_lines(&window, before);
        window.wait_for_text("all must say");
        window.press("\t");
    }
    let (_, prompt) = shop.prompt("heron", "size-and-leaf", early).unwrap();
    assert!(
        matches!(prompt.ask, Ask::Test { .. }),
        "a hollow that is coming is not ready"
    );
    window.leave();

    // Later all three are ready: leaf, holidays, books, in quiet.
    let late = "2026-11-26T10:20:00+00:00";
    let morning = ("heron", "size-and-leaf", late);
    let args = ["--as", "wren", "--clock", late, "bench", "heron"];
    let mut window = Window::open(&shop.folder, &args, (24, 80));
    answer_alarms(&shop, &mut window);
    walk_on(&shop, &mut window, morning, &|prompt| prompt.step == "seen");
    window.leave();
    assert_eq!(taken(&shop, "heron", "holidays"), Some(Value::Number(11.0)));
    assert_eq!(taken(&shop, "heron", "books"), Some(Value::Number(2.0)));
}

/// The value last taken down under a record.
fn taken(shop: &Shop, figure: &str, record: &str) -> Option<Value> {
    shop.lines(figure)
        .iter()
        .rev()
        .find_map(|line| match &line.deed {
            Deed::Recorded(kept) if kept.record == record => Some(kept.value.clone()),
            _ => None,
        })
}

#[test]
fn the_supervisor_reads_the_day_signs_a_hold_and_answers_a_deviation() {
    let shop = Shop::new();
    let keeper = shop.keeper();
    let open = keeper
        .house()
        .figure("bandmaster")
        .unwrap()
        .unanswered()
        .count();
    assert!(0 < open, "the story leaves something to answer");
    let args = ["--as", "marguerite", "--clock", MORNING];
    let mut window = Window::open(&shop.folder, &args, (40, 120));
    answer_alarms(&shop, &mut window);
    window.press("d");
    let mut rows = window.wait_for_text("its number asks yes or no");
    assert!(rows.contains("to sign"), "{rows}");
    for _ in 0..12 {
        let Some(digit) = first_row(&rows) else { break };
        let before = shop.count();
        let asks = waiting_row(&rows).is_some_and(|row| row.contains("? question"));
        window.press(&digit);
        // A question is answered in words after the yes, everything else by yes or no.
        window.press("y");
        if asks {
            window.press("tonight, the air is dry\r");
        }
        shop.wait_for_lines(&window, before);
        let was = first_waiting(&rows);
        rows = window.wait_for("the next rows", |page| first_waiting(page) != was);
    }
    let keeper = shop.keeper();
    let left: usize = keeper
        .house()
        .standing
        .figures
        .values()
        .map(|figure| figure.unanswered().count())
        .sum();
    assert_eq!(left, 0, "all is answered; the page says:\n{rows}");
    let signed = shop.lines("lion-boss").iter().any(|line| {
        matches!(&line.deed, Deed::Signed(signed) if signed.accepted && line.by == "marguerite")
    });
    assert!(signed, "the scheme of the lion is signed");
    window.leave();
}

/// The line that counts what waits, on the Day page.
fn first_waiting(page: &str) -> Option<String> {
    let line = page.lines().find(|line| line.contains("to sign or answer"));
    line.map(|line| line.trim().to_owned())
}

/// The digit of the first row that waits for an answer.
fn first_row(page: &str) -> Option<String> {
    let row = waiting_row(page)?;
    row.trim_start()
        .chars()
        .next()
        .map(|digit| digit.to_string())
}

/// The first row that waits for an answer.
fn waiting_row(page: &str) -> Option<String> {
    let mut waiting = page
        .lines()
        .take_while(|line| !line.contains("the last first"));
    let row = waiting.find(|line| {
        let line = line.trim_start();
        line.starts_with(|digit: char| digit.is_ascii_digit())
            && ["✎", "▲", "?", "■"].iter().any(|sign| line.contains(sign))
    })?;
    Some(row.to_owned())
}
