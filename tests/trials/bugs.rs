//! A fault of the program's own, in the middle of its screen: the terminal is put back, and the
//! last line that was kept is named.

#![expect(
    clippy::disallowed_methods,
    reason = "the parent tells its child by the environment what to do"
)]

use std::path::{Path, PathBuf};
use std::sync::Arc;

use knuckle::command::print_bug;
use knuckle::deed::Line;
use knuckle::disk::RealDisk;
use knuckle::now::Clock;
use knuckle::report::DaySpan;
use knuckle::screen::{self, Bench, Opening, Silent};
use knuckle::shop::{Keeper, KeptLine, Stop, load};
use knuckle::standing::{Book, House, Intent, Moment};
use portable_pty::CommandBuilder;

use crate::memory::at;
use crate::window::{Shop, Window};

/// Where the child of the trial finds its shop. Not set in the parent.
const CHILD: &str = "KNUCKLE_TRIAL_BUG";

const NOW: &str = "2026-11-25T12:00:00+00:00";

/// A shop that keeps what it is told, and panics when it is asked for its day.
struct Breaks(Keeper);

impl Bench for Breaks {
    fn house(&self) -> House<'_> {
        self.0.house()
    }

    fn act(&mut self, intent: &Intent, moment: &Moment) -> Result<Vec<KeptLine>, Stop> {
        self.0.act(intent, moment)
    }

    fn follow(&mut self) -> Result<Vec<KeptLine>, Stop> {
        Ok(Vec::new())
    }

    fn since(&self, _span: &DaySpan) -> Result<Vec<KeptLine>, Stop> {
        panic!("a fault made for this trial");
    }

    fn lines(&self, _book: &Book) -> Result<Vec<Line>, Stop> {
        panic!("a fault made for this trial");
    }
}

#[test]
fn a_panic_puts_the_terminal_back_and_names_the_last_line_kept() {
    if let Ok(shop) = std::env::var(CHILD) {
        return break_in_the_middle(Path::new(&shop));
    }
    let shop = Shop::new();
    let before = shop.lines("hare").len();
    let mut command = CommandBuilder::new(std::env::current_exe().unwrap());
    command.args([
        "bugs::a_panic_puts_the_terminal_back_and_names_the_last_line_kept",
        "--exact",
        "--nocapture",
        "--test-threads=1",
    ]);
    command.env("TERM", "xterm-256color");
    command.env(CHILD, &shop.folder);
    let mut window = Window::of(command, (40, 120));
    window.wait_for_text("? help");
    assert!(!window.is_put_back(), "the screen is open");
    // The recoat window of the sample has opened by now: any key answers its alarm first.
    window.press(" ");
    window.press("p2");
    window.press("the left ear is loose\r");
    window.wait_for_text("noted: the left ear is loose");
    window.press("d");
    let page = window.wait_for_text("do: start it again: everything up to that line is on disk");
    assert!(window.is_put_back(), "{page}");
    let lines = shop.lines("hare");
    assert_eq!(lines.len(), before + 1);
    // Each line begins at the left edge, so the terminal is no longer raw.
    let last = format!(
        "\n where: last line kept: line {} of the journal of hare: ",
        lines.len()
    );
    assert!(page.contains(&last), "{last}\n{page}");
    let what = "knuckle stopped at a fault of its own: ";
    assert!(page.contains(what), "{page}");
    assert!(page.contains("a fault made for this trial"), "{page}");
}

fn break_in_the_middle(folder: &Path) {
    let (cards, _) = load(&RealDisk, folder).unwrap();
    let keeper = Keeper::open(Arc::new(RealDisk), PathBuf::from(folder), cards).unwrap();
    let opening = Opening {
        by: "wren".to_owned(),
        bench: "trial".to_owned(),
        figure: Some("hare".to_owned()),
        ..Opening::default()
    };
    let clock = Clock::fixed(at(NOW));
    screen::run(&mut Breaks(keeper), clock, &mut Silent, opening, print_bug).unwrap();
}
