//! `bench [FIGURE]` and `practice`: what the screen needs, and the one place where it opens.

use std::io::{self, ErrorKind};
use std::panic::PanicHookInfo;
use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset, NaiveDate, TimeDelta};

use super::opened::Opened;
use super::paper::Paper;
use super::{BenchArgs, Common, Outside, PracticeArgs, names};
use crate::disk::{self, Disk, Nature};
use crate::now::{Clock, Zone};
use crate::screen::look::{Depth, Look};
use crate::screen::{self, Opening, Ringer};
use crate::shop::{self, Keeper};
use crate::standing::Book;
use crate::trouble::{ExitKind, Trouble};

/// A shop at work, and how its screen opens.
#[derive(Debug)]
struct AtBench {
    keeper: Keeper,
    clock: Clock,
    /// Who is at the bench; empty asks.
    by: String,
    /// The bench's name.
    bench: String,
    /// A figure to begin with.
    figure: Option<String>,
    /// What every screen says of a practice shop or of a clock that is not the wall's.
    banner: String,
}

/// Opens the screen at the shop that is meant, or in practice where there is none.
///
/// # Errors
/// When the figure or person is unknown, a journal cannot be read, or there is no terminal.
pub(super) fn at_work(
    outside: &Outside,
    common: &Common,
    args: &BenchArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let Some(shop) = Opened::if_any(outside, common, paper)? else {
        let practice = PracticeArgs { speed: 1 };
        return open_practice(outside, common, (&practice, args.figure.clone()), paper);
    };
    if let Some(memory) = &outside.memory
        && let Err(fault) = shop::remember(shop.disk.as_ref(), memory, &shop.folder)
    {
        paper.note(&format!(
            "this shop cannot be remembered for the next time: {fault}"
        ));
    }
    let clock = match common.clock {
        Some(_) => Clock::fixed(shop.now),
        None => Clock::wall(shop.zone),
    };
    let mut banner = Vec::new();
    if shop.cards.shop.practice {
        banner.push("practice shop".to_owned());
    }
    if common.clock.is_some() {
        banner.push(format!(
            "clock stands at {}",
            shop.now.format("%Y-%m-%d %H:%M")
        ));
    }
    let figure = args.figure.clone();
    open_screen(
        ready(&shop, common, (clock, figure, banner.join(", ")))?,
        outside.depth,
    )
}

/// Opens the screen on a copy of the sample shop that can be thrown away.
///
/// # Errors
/// When the copy cannot be made, the person is unknown, or there is no terminal.
pub(super) fn in_practice(
    outside: &Outside,
    common: &Common,
    args: &PracticeArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    open_practice(outside, common, (args, None), paper)
}

fn open_practice(
    outside: &Outside,
    common: &Common,
    (args, figure): (&PracticeArgs, Option<String>),
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    screen::find_terminal()?;
    let folder = copy(outside)?;
    paper.note(&format!(
        "practice on a copy of the sample shop in {}; it is thrown away when you leave",
        folder.display()
    ));
    let copied = Common {
        shop: Some(folder.clone()),
        ..common.clone()
    };
    let ended = practised((outside, &copied), common, (args, figure), paper);
    if let Err(cause) = throw_away(outside.disk.as_ref(), &folder) {
        paper.note(&format!(
            "the practice shop {} could not be thrown away: {}",
            folder.display(),
            disk::in_words(&cause)
        ));
    }
    ended
}

/// Throws a practice shop away. A link in it is taken away itself, never what it leads to.
fn throw_away(disk: &dyn Disk, folder: &Path) -> io::Result<()> {
    for entry in disk.list(folder)? {
        let path = folder.join(entry.name);
        match disk.nature(&path)? {
            Nature::Folder => throw_away(disk, &path)?,
            _ => disk.remove(&path)?,
        }
    }
    disk.remove_folder(folder)
}

fn practised(
    (outside, copied): (&Outside, &Common),
    common: &Common,
    (args, figure): (&PracticeArgs, Option<String>),
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let shop = Opened::to_write(outside, copied, paper)?.without_cache();
    let from = match common.clock {
        Some(_) => shop.now,
        None => story_begins(&shop)?,
    };
    let clock = Clock::sped(from, args.speed, shop.zone);
    let banner = match args.speed {
        1 => "practice".to_owned(),
        speed => format!("practice, clock {speed} times as fast"),
    };
    open_screen(
        ready(&shop, common, (clock, figure, banner))?,
        outside.depth,
    )
}

/// Copies the sample shop to a folder that nobody else uses.
fn copy(outside: &Outside) -> Result<PathBuf, Trouble> {
    let disk = outside.disk.as_ref();
    let name = format!("knuckle-practice-{}", std::process::id());
    let names = (1u32..).map(|count| match count {
        1 => name.clone(),
        again => format!("{name}-{again}"),
    });
    disk::make_folders(disk, &outside.passing)?;
    // A folder of this name that somebody else laid there, or a link, is never used.
    let is_taken = |folder: &PathBuf| {
        let made = disk.make_folder(folder);
        made.is_err_and(|cause| cause.kind() == ErrorKind::AlreadyExists)
    };
    let free = names
        .map(|name| outside.passing.join(name))
        .find(|folder| !is_taken(folder))
        .unwrap_or_else(|| outside.passing.join(&name));
    shop::copy_sample(disk, &free)?;
    Ok(free)
}

/// Returns the minute after the last line of the shop's journals, so that practice goes on
/// where the story stands; a morning of that winter when there is none.
fn story_begins(shop: &Opened) -> Result<DateTime<FixedOffset>, Trouble> {
    let keeper = shop.keeper()?;
    let figures = shop.cards.figures.keys().cloned().map(Book::Figure);
    let mut last: Option<DateTime<FixedOffset>> = None;
    for book in std::iter::once(Book::Shop).chain(figures) {
        let lines = keeper.lines(&book).map_err(|fault| shop.trouble(fault))?;
        last = last.max(lines.last().map(|line| line.at));
    }
    let morning = NaiveDate::from_ymd_opt(2026, 11, 25).and_then(|day| day.and_hms_opt(8, 0, 0));
    let morning = morning.map(|morning| morning.and_utc());
    let begins = last
        .map(|at| (at + TimeDelta::minutes(1)).to_utc())
        .or(morning);
    Ok(begins.map_or(shop.now, |at| Zone::show(shop.zone, at)))
}

fn ready(
    shop: &Opened,
    common: &Common,
    (clock, figure, banner): (Clock, Option<String>, String),
) -> Result<AtBench, Trouble> {
    if let Some(figure) = &figure {
        names::figure(&shop.cards, figure, "FIGURE")?;
    }
    let by = match &common.by {
        Some(_) => shop.moment()?.by,
        None => String::new(),
    };
    Ok(AtBench {
        keeper: shop.keeper()?,
        clock,
        by,
        bench: shop.bench().to_owned(),
        figure,
        banner,
    })
}

/// The one place where the screen opens.
///
/// # Errors
/// When there is no terminal, or it went away.
fn open_screen(ready: AtBench, depth: Depth) -> Result<ExitKind, Trouble> {
    let AtBench {
        mut keeper,
        clock,
        by,
        bench,
        figure,
        banner,
    } = ready;
    let mut ringer = Ringer::at_pace(clock.factor());
    let opening = Opening {
        by,
        bench,
        figure,
        look: Look { depth },
        banner,
    };
    screen::run(&mut keeper, clock, &mut ringer, opening, print_bug)?;
    Ok(ExitKind::Well)
}

/// Says what a bug was and what was kept last; the terminal is put back already.
#[expect(
    clippy::print_stderr,
    reason = "the program is going down; nothing else can print any more"
)]
pub fn print_bug(panic: &PanicHookInfo<'_>, last_kept: &str) {
    let kept = if last_kept.is_empty() {
        "nothing was kept yet"
    } else {
        last_kept
    };
    eprintln!(
        "knuckle stopped at a fault of its own: {panic}\n where: last line kept: {kept}\n    do: start it again: everything up to that line is on disk"
    );
}
