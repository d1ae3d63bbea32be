//! One walk as tasks: hands between its waits, each wait with its air and its window. Where
//! the windows are, what they tie together becomes one block.

use super::hours::Present;
use super::leaf_time::leaf_time;
use super::outlook::{Outlook, Span};
use super::project::{Edge, Effects, Limit, Link, Task};
use crate::card::{Checklist, ClockName, Each, Mark, MaterialKind, Needs, WordScale, WorkHours};
use crate::deed::{Attended, Work};
use crate::standing::{ClockView, StepAhead, WalkAhead, hours_between, moisture_target};

/// Longest sitting of hands that a plan keeps in one piece, minutes (own judgement: half a day).
const SITTING_MIN: f64 = 240.0;

/// Looking at a hold point and signing it, minutes (own judgement).
const SIGNING_MIN: u32 = 10;

/// A window shorter than this is not planned for, minutes (own judgement).
const LEAST_WINDOW_MIN: f64 = 30.0;

/// Checklists without hours of their own: early, likely, late (own judgement: a morning).
const UNSAID_H: [f64; 3] = [1.0, 2.0, 4.0];

/// A task and whether it lies in one block with the one before it.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    pub(super) task: Task,
    pub(super) joined: bool,
    /// `hands`, `drying`, `coat` …: from which its cause takes its name.
    pub(super) sort: &'static str,
}

/// What a walk is about.
#[derive(Debug, Clone, Copy)]
pub(super) struct Walk<'a> {
    pub(super) outlook: &'a Outlook<'a>,
    pub(super) figure: &'a str,
    pub(super) work: &'a Work,
    pub(super) list: &'a Checklist,
    /// Place of the room among the project's.
    pub(super) room: usize,
    /// Share of the hours that stand for a whole figure.
    pub(super) share: f64,
    /// Clocks that run in the shop; none for a walk that is not begun.
    pub(super) clocks: &'a [ClockView],
    /// Hours since the last act of the walk; none when it is not begun.
    pub(super) idle_h: f64,
    /// Longest stretch that somebody is there, minutes.
    pub(super) longest: f64,
    /// When somebody is there, for some weeks.
    pub(super) there: &'a [Present],
}

/// The tasks of a walk as they are put together.
struct Sheet<'a> {
    walk: Walk<'a>,
    drafts: Vec<Draft>,
    /// Minutes of hands since the last wait.
    hands: [f64; 3],
    /// Share of the hours of the operation that falls to each step.
    each_step: [f64; 3],
    /// What must be begun or over within a window, for the next hands.
    limit: Option<Limit>,
    /// Clocks started in this walk: which, and by what material.
    started: Vec<(ClockName, Option<MaterialKind>)>,
    /// Hours of a step that were placed with its window already.
    placed: Option<String>,
    first: bool,
}

/// Returns the tasks of what is left of a walk.
///
/// # Errors
/// Why it never comes to its end as things are.
pub(super) fn drafts(walk: Walk<'_>, ahead: &WalkAhead) -> Result<Vec<Draft>, String> {
    let hours = hours_of(walk.list);
    let whole = match walk.list.hours.as_ref().map(|hours| hours.each) {
        Some(Each::Coat) => 0.0,
        Some(Each::Part) => 60.0,
        _ => 60.0 * walk.share,
    };
    let steps = f64::from(u32::try_from(ahead.of.max(1)).unwrap_or(u32::MAX));
    let mut sheet = Sheet {
        walk,
        drafts: Vec::new(),
        hands: [0.0; 3],
        each_step: hours.map(|hours| hours * whole / steps),
        limit: None,
        started: Vec::new(),
        placed: None,
        first: true,
    };
    for step in &ahead.steps {
        sheet.step(step)?;
        sheet.first = false;
    }
    sheet.sit();
    Ok(sheet.drafts)
}

/// Returns the likely minutes of hands in a walk.
pub(super) fn likely_hands(drafts: &[Draft]) -> f64 {
    let hands = drafts.iter().filter(|it| it.sort == "hands");
    hands.map(|it| f64::from(it.task.minutes[1])).sum()
}

fn hours_of(list: &Checklist) -> [f64; 3] {
    let hours = list.hours.as_ref();
    hours.map_or(UNSAID_H, |it| [it.early, it.likely, it.late])
}

impl Sheet<'_> {
    fn step(&mut self, step: &StepAhead) -> Result<(), String> {
        let (sort, wait) = self.wait(step)?;
        if let Some(span) = wait {
            if sort == "tack" {
                return self.tack(step, span);
            }
            self.sit();
            self.push_wait(sort, span, step);
        }
        if let Some(mark) = step.hold {
            self.sit();
            self.push_signature(mark);
        }
        self.add_hands(step);
        let by = |by: Option<MaterialKind>| by.or(step.mixes);
        let starts = step.starts.iter().map(|it| (it.clock, by(it.by)));
        self.started.extend(starts);
        Ok(())
    }

    /// Hours of hands at a step: its share of the whole, its coat, or its own.
    fn add_hands(&mut self, step: &StepAhead) {
        let mut more = self.each_step;
        if let Some(hours) = &self.walk.list.hours {
            if step.coat && hours.each == Each::Coat {
                more = hours_of(self.walk.list).map(|it| it * 60.0 * self.walk.share);
            }
            if self.placed.as_ref() != Some(&step.id)
                && let Some(own) = self.own_hours(hours, &step.id)
            {
                more = sum(more, own);
            }
        }
        self.hands = sum(self.hands, more);
    }

    fn own_hours(&self, hours: &WorkHours, step: &str) -> Option<[f64; 3]> {
        let own = hours.steps.iter().find(|it| it.step == step)?;
        let whole = match hours.each {
            Each::Part => 60.0,
            Each::Figure | Each::Coat => 60.0 * self.walk.share,
        };
        Some([own.early, own.likely, own.late].map(|it| it * whole))
    }

    /// What a step waits for: its kind in words, and how long.
    fn wait(&self, step: &StepAhead) -> Result<(&'static str, Option<Span>), String> {
        let walk = &self.walk;
        let room = walk.outlook.house.room_of(walk.figure);
        let until = step.until.as_ref();
        if let Some((sort, span)) = self.running(step) {
            return Ok((sort, Some(span)));
        }
        if until.is_some_and(|it| it.words == Some(WordScale::Tack)) {
            return Ok(("tack", self.size(room)));
        }
        let said = walk.list.hours.as_ref();
        let said = said.and_then(|it| it.waits.iter().find(|it| it.step == step.id));
        if let Some(said) = said {
            let hours = [said.early, said.likely, said.late];
            let mut minutes = hours.map(|it| (it - self.gone()).max(0.0) * 60.0);
            if said.needs == Needs::Air && is_dry(until) {
                let target = walk.work.target.as_deref();
                let most = moisture_target(walk.outlook.house, walk.figure);
                if let Some(read) = walk.outlook.dry(walk.figure, target, most)? {
                    minutes = read;
                }
            }
            let sort = match until.and_then(|it| it.clock) {
                Some(clock @ (ClockName::Recoat | ClockName::LeafSet)) => sort_of(clock),
                _ => word(said.needs),
            };
            let closes = None;
            return Ok((sort, Some(Span { minutes, closes })));
        }
        let Some(clock) = until.and_then(|it| it.clock) else {
            return Ok(("", None));
        };
        let by = self.started.iter().rev().find(|(it, _)| *it == clock);
        let kind = by.and_then(|(_, by)| *by);
        let of = kind.and_then(|kind| walk.outlook.material(kind));
        Ok((sort_of(clock), walk.outlook.clock(clock, of, room)))
    }

    /// The times of the size that leaves most time for leaf in the hours of this shop.
    fn size(&self, room: &str) -> Option<Span> {
        let walk = &self.walk;
        let spans = walk.outlook.sizes(room);
        let time = |span: &Span| {
            let [_, _, ready] = span.minutes;
            leaf_time(walk.there, [ready, span.closes.unwrap_or(f64::INFINITY)])
        };
        spans.max_by(|a, b| time(a).total_cmp(&time(b)))
    }

    /// Hours that the wait in front has lasted already.
    fn gone(&self) -> f64 {
        if self.first { self.walk.idle_h } else { 0.0 }
    }

    /// A wait whose clock runs already: from now on, on its safe side.
    fn running(&self, step: &StepAhead) -> Option<(&'static str, Span)> {
        let until = step.until.as_ref()?;
        let tack = [ClockName::TackFlat];
        let wanted = match (until.words, until.clock) {
            (Some(WordScale::Tack), _) => tack.as_slice(),
            (_, Some(_)) => until.clock.as_slice(),
            _ => return None,
        };
        if self.started.iter().any(|(clock, _)| wanted.contains(clock)) {
            return None;
        }
        // As at the bench, the last clock of a name on the same target is meant.
        let walk = &self.walk;
        let here = walk.clocks.iter().filter(|it| {
            it.figure == walk.figure
                && it.work.target == walk.work.target
                && wanted.contains(&it.clock)
        });
        let view = here.max_by_key(|it| it.started)?;
        let now = self.walk.outlook.now;
        let left = |at| hours_between(now, at).0.max(0.0) * 60.0;
        let (opens, likely) = (left(view.opens?), left(view.likely.or(view.opens)?));
        let closes = view.closes.map(left);
        let sort = sort_of(view.clock);
        let minutes = [likely.min(opens), likely.min(opens), opens];
        Some((sort, Span { minutes, closes }))
    }

    /// Size, its wait and the leaf before it is dead; where the leaf does not fit the window,
    /// the panel is sized and leafed in several parts.
    fn tack(&mut self, step: &StepAhead, span: Span) -> Result<(), String> {
        let [_, _, ready] = span.minutes;
        let dead = span.closes.unwrap_or(f64::INFINITY);
        let laid_already = self.running(step).is_some();
        let there = if laid_already {
            dead - ready
        } else {
            leaf_time(self.walk.there, [ready, dead])
        };
        let window = there.min(self.longest_sitting());
        if window < LEAST_WINDOW_MIN {
            let why = "no size of the shop leaves time for leaf between ready and dead while \
                       somebody is there";
            return Err(why.to_owned());
        }
        let hours = self.walk.list.hours.as_ref();
        let laying = hours.and_then(|hours| {
            let step = hours.steps.first()?.step.clone();
            Some((self.own_hours(hours, &step)?, step))
        });
        let (lay, name) = laying.unwrap_or(([0.0; 3], String::new()));
        let lay = sum(lay, self.each_step);
        let [_, _, longest] = lay;
        let parts = (longest / window).ceil().max(1.0);
        let size = self.hands.map(|it| it / parts);
        for _ in 0..whole(parts) {
            self.hands = size;
            self.sit();
            let laid = self.drafts.len().checked_sub(1);
            self.push_wait("tack", span, step);
            self.hands = lay.map(|it| it / parts);
            self.limit = self.closing(laid, dead, Edge::Over);
            self.sit();
        }
        self.placed = Some(name);
        Ok(())
    }

    /// A window from the end of the last hands; of a clock that runs already, from its opening.
    fn closing(&self, laid: Option<usize>, closes: f64, what: Edge) -> Option<Limit> {
        if !closes.is_finite() {
            return None;
        }
        let wait = self.drafts.len().checked_sub(1)?;
        let hands = laid.filter(|it| self.drafts.get(*it).is_some_and(|it| it.sort == "hands"));
        let opens = self
            .drafts
            .get(wait)
            .map(|it| f64::from(it.task.minutes[2]))?;
        let (from, closes) = match hands {
            Some(hands) => (hands, closes),
            None => (wait, closes - opens),
        };
        Some(Limit {
            from,
            what,
            minutes: whole(closes.max(0.0).floor()),
        })
    }

    fn longest_sitting(&self) -> f64 {
        SITTING_MIN.min(self.walk.longest)
    }

    /// Turns the hands since the last wait into sittings.
    fn sit(&mut self) {
        let [_, likely, late] = self.hands;
        let limit = self.limit.take();
        if likely < 1.0 {
            self.hands = [0.0; 3];
            return;
        }
        let count = (late / self.longest_sitting()).ceil().max(1.0);
        let minutes = self.hands.map(|it| whole((it / count).ceil().max(1.0)));
        self.hands = [0.0; 3];
        for nth in 0..whole(count) {
            let bound = limit.filter(|it| nth == 0 || it.what == Edge::Over);
            let mut task = self.task(Attended::Hands, minutes);
            task.limit = bound;
            task.emits = Effects::of(&self.walk.list.emits);
            task.suffers = Effects::of(&self.walk.list.suffers);
            self.drafts.push(Draft {
                task,
                joined: bound.is_some(),
                sort: "hands",
            });
        }
    }

    fn push_wait(&mut self, sort: &'static str, span: Span, step: &StepAhead) {
        let [early, likely, late] = span.minutes.map(f64::ceil);
        if late < 1.0 {
            return;
        }
        let kind = match sort {
            "purge" | "watch" => Attended::Watch,
            "drying" => Attended::Air,
            "owner or laboratory" => Attended::Other,
            _ => Attended::Clock,
        };
        let laid = self.drafts.len().checked_sub(1);
        let mut task = self.task(kind, [whole(early), whole(likely), whole(late)]);
        let wet = ["coat", "tack", "leaf set"].contains(&sort);
        if wet {
            task.suffers = Effects::of(&self.walk.list.suffers);
        }
        if kind == Attended::Watch {
            task.emits = Effects::of(&self.walk.list.emits);
            let longest = whole(self.longest_sitting());
            task.minutes = task.minutes.map(|it| it.min(longest));
        }
        let joined = wet && laid.is_some();
        if joined {
            task.link = Link::AtOnce;
        }
        self.drafts.push(Draft { task, joined, sort });
        let rests = step
            .until
            .as_ref()
            .is_some_and(|it| it.clock == Some(ClockName::Recoat));
        // What cannot be met is scuffed before it is coated: then no window binds.
        let can_be_met = |closes: &f64| late + LEAST_WINDOW_MIN <= *closes;
        if rests && let Some(closes) = span.closes.filter(can_be_met) {
            self.limit = self.closing(laid, closes, Edge::Begun);
        }
    }

    fn push_signature(&mut self, mark: Mark) {
        // A hold point after a coat keeps no window open: nothing is laid on it.
        self.limit = None;
        let mut task = self.task(Attended::Hands, [SIGNING_MIN; 3]);
        (task.mark, task.another) = (mark, true);
        self.drafts.push(Draft {
            task,
            joined: false,
            sort: "signature",
        });
    }

    fn task(&self, kind: Attended, minutes: [u32; 3]) -> Task {
        Task {
            kind,
            mark: self.walk.list.trade,
            room: self.walk.room,
            emits: Effects::default(),
            suffers: Effects::default(),
            minutes,
            cause: 0,
            link: Link::After,
            limit: None,
            another: false,
        }
    }
}

fn is_dry(until: Option<&crate::card::Until>) -> bool {
    until.is_some_and(|it| it.gate == Some(crate::card::GateKind::Moisture))
}

fn word(needs: Needs) -> &'static str {
    match needs {
        Needs::Watch => "watch",
        Needs::Clock => "wait",
        Needs::Air => "drying",
        Needs::Other => "owner or laboratory",
    }
}

fn sort_of(clock: ClockName) -> &'static str {
    match clock {
        ClockName::Recoat => "coat",
        ClockName::TackEdge | ClockName::TackFlat | ClockName::TackHollow => "tack",
        ClockName::LeafSet => "leaf set",
        ClockName::Clamps | ClockName::Load | ClockName::FullCure => "cure",
        ClockName::Purge | ClockName::Dwell => "watch",
        _ => "wait",
    }
}

fn sum(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    let ([a0, a1, a2], [b0, b1, b2]) = (a, b);
    [a0 + b0, a1 + b1, a2 + b2]
}

fn whole(minutes: f64) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "held within a century of minutes just here"
    )]
    let whole = minutes.clamp(0.0, 5e7) as u32;
    whole
}
