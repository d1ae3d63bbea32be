//! `ring`: the alarms alone, for a machine that only rings. It follows all journals of the
//! shop, tells each alarm as one line, strikes the bell and the desktop, and ends when it is
//! told to.

use std::collections::BTreeSet;
use std::io::{IsTerminal, stdout};
use std::time::Duration;

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use super::opened::Opened;
use super::paper::Paper;
use super::{Common, RingArgs};
use crate::alarm::{Quiet, Ring};
use crate::card::ClockName;
use crate::now::Clock;
use crate::screen::{Bell, Ringer, Strikes, Wake, Waker};
use crate::shop::{Keeper, Stop, Watcher};
use crate::standing::{ClockState, ClockView, Intent, Moment, clock_views};
use crate::trouble::{ExitKind, Trouble};

/// How long between two looks whether another bench has kept a line. Own choice: a figure's
/// alarm that was answered elsewhere falls silent here within a second.
const LOOK_EVERY: Duration = Duration::from_secs(1);

/// After so many looks the clocks are reckoned anew all the same, for a week without a reading,
/// or wood that dries, moves them without a line. Own choice.
const LOOKS: u32 = 60;

/// An alarm that rings: figure, clock, mark.
type Key = (String, String, u32);

/// A machine that rings.
struct Post<'a> {
    shop: &'a Opened,
    keeper: Keeper,
    clock: Clock,
    ringer: Ringer,
    /// What rang at the last look.
    ringing: BTreeSet<Key>,
}

/// Rings until it is told to end.
///
/// # Errors
/// When a journal cannot be read, or the system lets nobody listen to its signals.
pub(super) fn run(
    shop: &Opened,
    (args, common): (&RingArgs, &Common),
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let clock = match common.clock {
        Some(_) => Clock::fixed(shop.now),
        None => Clock::wall(shop.zone),
    };
    let strikes = if stdout().is_terminal() {
        Strikes::Terminal
    } else {
        Strikes::Nowhere
    };
    let mut post = Post {
        shop,
        keeper: shop.keeper()?,
        ringer: Ringer::at_pace(clock.factor()).striking(strikes),
        clock,
        ringing: BTreeSet::new(),
    };
    if args.once {
        post.look(paper)?;
        post.ringer.settle();
        return Ok(shop.as_kept(post.keeper.damaged(), paper));
    }
    let waker = Waker::open().map_err(|cause| {
        let what = format!("the system lets nobody listen to its signals: {cause}");
        Trouble::new(ExitKind::Disk, what)
    })?;
    paper.note(if shop.has_writer() {
        "rings for all benches; Enter answers, Ctrl-C ends"
    } else {
        "rings for all benches; without --as it answers nothing; Ctrl-C ends"
    });
    let mut watcher = post.keeper.watcher();
    watcher.look();
    loop {
        let next = post.look(paper)?;
        match post.wait(&waker, &mut watcher, next) {
            Wake::Line => post.answer(paper)?,
            Wake::Time => {}
            Wake::End => return Ok(ExitKind::Well),
        }
    }
}

impl Post<'_> {
    /// Waits until the next mark of a clock, a line of another bench, or a hand. A look at the
    /// journals asks the disk for their lengths and times and reads nothing.
    fn wait(
        &self,
        waker: &Waker,
        watcher: &mut Watcher,
        next: Option<DateTime<FixedOffset>>,
    ) -> Wake {
        for _ in 0..LOOKS {
            let due = next.and_then(|next| self.clock.wait_for(next));
            let is_due = due.is_some_and(|due| due <= LOOK_EVERY);
            let wake = waker.wait(Some(due.map_or(LOOK_EVERY, |due| due.min(LOOK_EVERY))));
            if wake != Wake::Time || is_due || watcher.look() {
                return wake;
            }
        }
        Wake::Time
    }

    /// Takes in what was kept, tells what is due; returns when the next is due.
    fn look(&mut self, paper: &mut Paper<'_>) -> Result<Option<DateTime<FixedOffset>>, Trouble> {
        let news = self.keeper.follow();
        news.map_err(|fault| self.shop.trouble(fault))?;
        let now = self.clock.moment();
        let views = clock_views(self.keeper.house(), now);
        let quiet = quiet(&views);
        let next = self.ringer.hear(&views, quiet, now);
        for ring in self.ringer.told() {
            if paper.json {
                paper.objects([rung(ring, now)])?;
            } else {
                paper.line(&told(ring, now))?;
            }
        }
        let ringing: BTreeSet<Key> = views
            .iter()
            .filter_map(|view| Some((view.figure.clone(), view.id.clone(), view.ringing?.0)))
            .collect();
        if ringing.is_empty() && !self.ringing.is_empty() {
            paper.aside(&format!("{} quiet: nothing rings", now.format("%H:%M")))?;
        }
        self.ringing = ringing;
        Ok(next)
    }

    /// Answers all that rings, in the name of who started the program.
    fn answer(&mut self, paper: &mut Paper<'_>) -> Result<(), Trouble> {
        if !self.shop.has_writer() {
            paper.note("nothing was answered: start it with --as NAME to answer here");
            return Ok(());
        }
        let moment = Moment {
            at: self.clock.moment(),
            ..self.shop.moment()?
        };
        for view in clock_views(self.keeper.house(), moment.at) {
            let Some((mark, rang_at)) = view.ringing else {
                continue;
            };
            let intent = Intent::AnswerAlarm {
                figure: view.figure.clone(),
                clock: view.id.clone(),
                mark,
                rang_at,
            };
            match self.keeper.act(&intent, &moment) {
                Ok(_) => paper.aside(&format!(
                    "{} answered by {}: {}, {}",
                    moment.at.format("%H:%M"),
                    moment.by,
                    view.figure,
                    view.about
                ))?,
                Err(Stop::Refused(refusal)) => paper.note(&refusal.why),
                Err(Stop::Trouble(trouble)) => return Err(self.shop.trouble(*trouble)),
            }
        }
        Ok(())
    }
}

/// An alarm with `--json`, on a line of its own. Moments are RFC 3339.
#[derive(Debug, Serialize)]
struct RingJson<'a> {
    row: &'static str,
    at: String,
    figure: &'a str,
    clock: &'a str,
    mark_percent: u32,
    urgency: &'static str,
    since: String,
    headline: &'a str,
    action: &'a str,
}

fn rung(ring: &Ring, now: DateTime<FixedOffset>) -> RingJson<'_> {
    RingJson {
        row: "alarm",
        at: now.to_rfc3339(),
        figure: &ring.figure,
        clock: &ring.clock,
        mark_percent: ring.mark_percent,
        urgency: ring.urgency.word(),
        since: ring.since.to_rfc3339(),
        headline: &ring.headline,
        action: ring.action,
    }
}

/// One alarm as one line: hour, mark of urgency, figure, what, what to do, since when.
fn told(ring: &Ring, now: DateTime<FixedOffset>) -> String {
    format!(
        "{} {:<3} {}: {}; {}; {}",
        now.format("%H:%M"),
        ring.urgency.mark(),
        ring.figure,
        ring.headline,
        ring.action,
        ring.when(now)
    )
}

/// While size takes leaf somewhere in the shop a sudden bell would cost gold: nothing sounds.
fn quiet(views: &[ClockView]) -> Quiet {
    let tack = [
        ClockName::TackEdge,
        ClockName::TackFlat,
        ClockName::TackHollow,
    ];
    let takes_leaf = |view: &ClockView| view.state == ClockState::Running;
    if views
        .iter()
        .any(|view| tack.contains(&view.clock) && takes_leaf(view))
    {
        Quiet::On
    } else {
        Quiet::Off
    }
}
