//! All that a screen shows at a moment, taken from the house and the view. Drawing looks at
//! nothing else, so that a hand-made sight tests it apart from deciding.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, FixedOffset, NaiveDate, TimeDelta};

use crate::card::{ClockName, DEFERRAL, Flaw, Flawed, GateKind, Mark, MaterialKind, Person, Shop};
use crate::deed::{DeviationKind, Stamp, Work};
use crate::plan::{Night, opens_again, overnight, said_of, waiting_panels};
use crate::report::{DayLine, DayPage, Entry};
use crate::standing::{
    self, Ask, ClockTimes, ClockView, Evidence, FloorRow, HoldWaiting, House, Matter, Offer,
    OpenGate, OpenMatter, OpensBy, OverruleCount, OwnTimes, Prompt, Refusal, ShelfLife,
};

use super::dossier::{Dossier, Shown};
use super::floor_rows::AtRisk;
use super::times;
use super::view::{Page, View};

/// Seconds in which the last act may be struck with one key.
pub const STRIKE_S: i64 = 10;

/// All that a screen shows at a moment.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sight {
    /// Now.
    pub now: DateTime<FixedOffset>,
    /// The shop's card.
    pub shop: Shop,
    /// The cards that were read only as far as their flaws let.
    pub flawed: Flawed,
    /// A word for the head when this is no ordinary day: practice, a fixed or sped clock.
    pub banner: String,
    /// Who is at the bench.
    pub person: String,
    /// That whoever is at the bench may not walk this operation, and who may.
    pub no_mark: Option<Refusal>,
    /// Names of figures by id.
    pub figures: BTreeMap<String, String>,
    /// Titles of operations by id.
    pub operations: BTreeMap<String, String>,
    /// Name of the room the figure stands in, and its id.
    pub room: (String, String),
    /// Name of the target of the job.
    pub target: String,
    /// The step in front, if a job is at the bench.
    pub prompt: Option<Prompt>,
    /// What could be worked on at the figure.
    pub offers: Vec<Offer>,
    /// How many operations of its route have no zone, joint or panel to be done on.
    pub without_place: [usize; 3],
    /// Figures.
    pub floor: Vec<FloorRow>,
    /// Each promise at risk, by figure id.
    pub at_risk: BTreeMap<String, AtRisk>,
    /// When these were noted, where none was reckoned since the screen opened.
    pub risk_noted: Option<DateTime<FixedOffset>>,
    /// A newer forecast is being reckoned.
    pub reckoning: bool,
    /// Clocks, what dies first first.
    pub clocks: Vec<ClockView>,
    /// The lines of the day in front.
    pub day: Vec<DayLine>,
    /// Which day that is, if it is not today.
    pub other_day: Option<NaiveDate>,
    /// The supervisor's page, while it is open.
    pub paper: Option<Arc<DayPage>>,
    /// The number of each of its rows, from 1: it stays with its row while the page is open.
    pub paper_numbers: Vec<usize>,
    /// The line that is open in full.
    pub entry: Option<Arc<Entry>>,
    /// What waits for the supervisor.
    pub waiting: Vec<Waiting>,
    /// Whoever is at the bench has read the sentence above every card.
    pub acknowledged: bool,
    /// Where the operation may be walked that a gate asks for or the work was sent back to.
    pub leads_to: Vec<Option<String>>,
    /// Gates overruled lately, the most often first.
    pub overrules: Vec<OverruleCount>,
    /// The record of the figure, while the Dossier is open.
    pub dossier: Option<Arc<Dossier>>,
    /// The two photographs side by side.
    pub pictures: [Option<Shown>; 2],
    /// The size of a cell in pixels, where the terminal shows photographs in its own.
    pub cell: Option<[u16; 2]>,
    /// The last line of the figure.
    pub last: Option<Stamp>,
    /// The windows that close before the doors open again, at the bench.
    pub overnight: Vec<ClockView>,
    /// When they open again, at the bench; `None` where they do not within two weeks.
    pub opens_again: Option<DateTime<FixedOffset>>,
    /// What was said to the bench about the work in front.
    pub said: Vec<OpenMatter>,
    /// Whether leaf is open or a gouge is in the wood here.
    pub quiet: bool,
    /// Until when the open gates of the step in front are good.
    pub evidence: Vec<Evidence>,
    /// The open gates of all works whose evidence grows old, on the page of clocks.
    pub open_gates: Vec<OpenGate>,
    /// The ruler of the night, on its screen.
    pub night: Option<Night>,
    /// Panels that wait for size there: id and name.
    pub panels: Vec<(String, String)>,
    /// Sizes on the cards: id and name.
    pub sizes: Vec<(String, String)>,
    /// Lots with times of their own, where lots are shown.
    pub own_times: Vec<OwnTimes>,
    /// Lots near or past their date, where clocks are shown.
    pub shelf: Vec<ShelfLife>,
}

/// What waits for the supervisor.
#[derive(Debug, Clone, PartialEq)]
pub struct Waiting {
    /// Figure id.
    pub figure: String,
    /// What it is: hold point, overruled gate, deviation, question.
    pub kind: &'static str,
    /// What is to be signed or answered.
    pub what: String,
    /// Who and when, or who may sign.
    pub who: String,
    /// The line that tells it on the page of the day.
    pub line: u64,
    /// The line it stands in, or the job to be signed at.
    pub at: WaitingAt,
}

/// Where an answer goes.
#[derive(Debug, Clone, PartialEq)]
pub enum WaitingAt {
    /// A hold point of a job.
    Hold(Work),
    /// A matter in a line.
    Line(u64),
}

impl Sight {
    /// Takes in what the view's screen needs.
    pub fn take(house: House<'_>, view: &View, now: DateTime<FixedOffset>) -> Self {
        Self::take_kept(house, view, now, &mut ClockTimes::default())
    }

    /// As [`Sight::take`], with the times of clocks that were reckoned within this minute.
    pub(super) fn take_kept(
        house: House<'_>,
        view: &View,
        now: DateTime<FixedOffset>,
        times: &mut ClockTimes,
    ) -> Self {
        let clocks = standing::clock_views_kept(house, now, times);
        let mut sight = Self {
            now,
            shop: house.cards.shop.clone(),
            flawed: house.cards.flawed.clone(),
            clocks,
            acknowledged: has_read(house, &view.by),
            person: name_of(&house.cards.shop.people, &view.by),
            figures: house
                .cards
                .figures
                .iter()
                .map(|(id, figure)| (id.clone(), figure.name.clone()))
                .collect(),
            operations: house
                .cards
                .checklists
                .iter()
                .map(|(id, list)| (id.clone(), list.title.clone()))
                .collect(),
            ..Self::default()
        };
        if house.cards.shop.practice {
            "practice".clone_into(&mut sight.banner);
        }
        if let Some(figure) = &view.figure {
            sight.take_bench(house, view, figure);
        }
        match view.page {
            Page::Day => sight.waiting = waiting(house, now),
            Page::Clocks => {
                sight.shelf = standing::shelf_lives(house, now);
            }
            Page::Night => sight.take_shelf(house, view),
            Page::Bench => {
                sight.opens_again = opens_again(house, now);
                let until = (now, sight.opens_again);
                let closes = overnight(house, &sight.clocks, until).into_iter();
                sight.overnight = closes.cloned().collect();
            }
            Page::Floor | Page::Dossier => {}
        }
        if matches!(view.page, Page::Day | Page::Bench) {
            sight.overrules = standing::overrules(house, now);
        }
        sight
    }

    /// Takes in the overview of all figures, as it was made within this minute; their clocks
    /// are those of this look.
    pub(super) fn take_floor(&mut self, rows: &[FloorRow]) {
        self.floor = rows.to_vec();
        for row in &mut self.floor {
            let clock = self.clocks.iter().find(|it| it.figure == row.figure);
            row.next = clock.cloned();
        }
    }

    fn take_shelf(&mut self, house: House<'_>, view: &View) {
        let materials = house.cards.materials.values();
        let sizes = materials.filter(|material| material.kind == MaterialKind::Size);
        self.sizes = sizes
            .map(|size| (size.id.clone(), size.name.clone()))
            .collect();
        if let Some(figure) = &view.figure {
            self.panels = waiting_panels(house, figure);
        }
    }

    fn take_bench(&mut self, house: House<'_>, view: &View, figure: &str) {
        let room = house.room_of(figure);
        let rooms = &house.cards.shop.rooms;
        let name = rooms.iter().find(|known| known.id == room);
        self.room = (
            name.map_or_else(|| room.to_owned(), |known| known.name.clone()),
            room.to_owned(),
        );
        self.last = house.figure(figure).and_then(|stands| stands.last.clone());
        self.offers = standing::offers(house, figure);
        self.without_place = standing::without_place(house, figure);
        if let Some(work) = &view.work {
            self.prompt = standing::prompt(house, figure, work, self.now);
            let ask = self.prompt.as_ref().map(|prompt| &prompt.ask);
            if let Some(operation) = ask.and_then(other_operation) {
                self.leads_to = standing::targets(house, figure, work, operation);
            }
            let said = said_of(house, (figure, work), self.now);
            self.said = said.into_iter().cloned().collect();
            self.evidence = standing::evidence(house, figure, work, self.now);
            self.target = target_name(house, figure, work);
            let list = house.cards.checklists.get(&work.operation);
            let signs = matches!(ask, Some(Ask::Hold { .. }));
            let walks = list.filter(|_| !signs && !view.by.is_empty());
            self.no_mark = walks.and_then(|list| standing::has_mark(house, &view.by, list).err());
            self.quiet = list.is_some_and(|list| list.quiet);
        }
    }

    /// Returns the flaw that is told on the page: of what is at the bench before all others.
    pub fn flaw(&self, view: &View) -> Option<String> {
        let at_bench = view
            .figure
            .iter()
            .filter_map(|id| self.flawed.figures.get(id));
        let lists = &self.flawed.checklists;
        let list = view
            .work
            .iter()
            .filter_map(|work| lists.get(&work.operation));
        let first: &Flaw = at_bench.chain(list).chain(self.flawed.all()).next()?;
        let more = self.flawed.all().count() - 1;
        let more = if 0 < more {
            format!(" ({more} more)")
        } else {
            String::new()
        };
        Some(format!("{}{more}", first.told()))
    }

    /// Returns the name of a figure, or its id.
    pub fn figure_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.figures.get(id).map_or(id, String::as_str)
    }

    /// Returns the title of an operation, or its id.
    pub fn operation_title<'a>(&'a self, id: &'a str) -> &'a str {
        self.operations.get(id).map_or(id, String::as_str)
    }

    /// Returns the clocks that ring, loudest mark first.
    pub fn ringing(&self) -> Vec<&ClockView> {
        let mut ringing: Vec<&ClockView> = self
            .clocks
            .iter()
            .filter(|clock| clock.ringing.is_some())
            .collect();
        ringing.sort_by_key(|clock| std::cmp::Reverse(clock.ringing.map(|(mark, _)| mark)));
        ringing
    }

    /// Returns the clocks of a figure, in their order.
    pub fn clocks_of<'a>(&'a self, figure: Option<&'a str>) -> Vec<&'a ClockView> {
        self.clocks
            .iter()
            .filter(|clock| figure.is_none_or(|figure| clock.figure == figure))
            .collect()
    }

    /// Returns the clock of a cup that was mixed for the work at the bench.
    pub fn live_cup(&self, view: &View) -> Option<&ClockView> {
        let (figure, work) = (view.figure.as_ref()?, view.work.as_ref()?);
        self.clocks.iter().find(|clock| {
            clock.clock == ClockName::Cup && clock.figure == *figure && clock.work == *work
        })
    }

    /// Returns the open or next offers, in the order they are listed.
    pub fn offers_to_pick(&self) -> impl Iterator<Item = &Offer> {
        self.offers.iter().filter(|offer| offer.stage.is_ahead())
    }

    /// Returns how often a gate was overruled lately, in words; empty if it was not.
    pub fn overruled_words(&self, gate: GateKind) -> String {
        let count = self.overrules.iter().find(|count| count.gate == gate);
        count.map_or_else(String::new, |count| count.words())
    }

    /// Returns how many seconds are left to strike the last act; `None` if there is none.
    pub fn strike_left(&self, view: &View) -> Option<i64> {
        let last = view.last.as_ref()?;
        let left = last.at + TimeDelta::seconds(STRIKE_S) - self.now;
        let seconds = (left.num_milliseconds() + 999).div_euclid(1000);
        (0 < seconds && seconds <= STRIKE_S).then_some(seconds)
    }

    /// Returns whether the pulse of a ringing alarm is at its bright beat.
    ///
    /// One beat in a second, in quiet mode one in four: far under the three flashes in a
    /// second of WCAG 2.2, success criterion 2.3.1.
    pub fn beat(&self) -> bool {
        let millis = self.now.timestamp_millis();
        let half = if self.quiet { 2000 } else { 500 };
        millis.div_euclid(half).rem_euclid(2) == 0
    }

    /// Returns when the screen changes next by itself: a second of a clock, a minute of the
    /// day, the pulse of an alarm, the end of striking.
    pub fn due(&self, view: &View) -> DateTime<FixedOffset> {
        let minute = 60_000 - self.now.timestamp_millis().rem_euclid(60_000);
        let mut due = self.now + TimeDelta::milliseconds(minute);
        let mut sooner = |at: DateTime<FixedOffset>| due = due.min(at);
        for clock in &self.clocks {
            if let Some(at) = times::changes_at(clock, self.now) {
                sooner(at);
            }
        }
        if self.clocks.iter().any(|clock| clock.ringing.is_some()) {
            let half = if self.quiet { 2000 } else { 500 };
            let into = self.now.timestamp_millis().rem_euclid(half);
            sooner(self.now + TimeDelta::milliseconds(half - into));
        }
        if let (Some(_), Some(last)) = (self.strike_left(view), &view.last) {
            let into = (self.now - last.at).num_milliseconds().rem_euclid(1000);
            sooner(self.now + TimeDelta::milliseconds(1000 - into));
        }
        due
    }
}

/// Returns whether somebody has read the sentence above every card, as it stands today.
fn has_read(house: House<'_>, by: &str) -> bool {
    let read = (by.to_owned(), DEFERRAL.to_owned());
    house.standing.shop.acknowledged.contains(&read)
}

/// Returns the operation that what is in front leads to.
fn other_operation(ask: &Ask) -> Option<&str> {
    match ask {
        Ask::Gate(verdict) => match &verdict.opens_by {
            OpensBy::Operation(operation) => Some(operation),
            _ => None,
        },
        Ask::SentBack { back_to, .. } => Some(back_to),
        _ => None,
    }
}

/// Returns a person's name, or the id.
pub(super) fn name_of(people: &[Person], id: &str) -> String {
    let found = people.iter().find(|person| person.id == id);
    found.map_or_else(|| id.to_owned(), |person| person.name.clone())
}

/// Returns whether a person has a mark.
pub(super) fn has_mark(people: &[Person], id: &str, mark: Mark) -> bool {
    people
        .iter()
        .any(|person| person.id == id && person.marks.contains(&mark))
}

fn target_name(house: House<'_>, figure: &str, work: &Work) -> String {
    let Some(target) = &work.target else {
        return String::new();
    };
    let Some(card) = house.cards.figures.get(figure) else {
        return target.clone();
    };
    let zone = card.zones.iter().find(|zone| zone.id == *target);
    let panel = card.panels.iter().find(|panel| panel.id == *target);
    let joint = card.joints.iter().find(|joint| joint.id == *target);
    zone.map(|zone| zone.name.clone())
        .or_else(|| panel.map(|panel| panel.name.clone()))
        .or_else(|| joint.map(|joint| format!("{} {}", joint.id, joint.between)))
        .unwrap_or_else(|| target.clone())
}

fn waiting(house: House<'_>, now: DateTime<FixedOffset>) -> Vec<Waiting> {
    let holds = standing::holds(house, now);
    let matters = standing::all_matters(house, &holds);
    let matters: Vec<Waiting> = matters
        .map(|(figure, matter)| Waiting {
            figure: figure.to_owned(),
            kind: matter
                .refusal()
                .map_or_else(|| matter_word(matter.matter), |_| REFUSED),
            what: matter.told(),
            who: format!("{} {}", matter.stamp.by, times::hour(matter.stamp.at, now)),
            line: matter
                .refusal()
                .map_or(matter.stamp.n, |(_, stamp)| stamp.n),
            at: WaitingAt::Line(matter.stamp.n),
        })
        .collect();
    // What was refused is the bench's; a hold point comes again when it is shown once more.
    let (back, open): (Vec<_>, Vec<_>) = matters.into_iter().partition(|it| it.kind == REFUSED);
    let shown = holds.into_iter().filter(|hold| hold.back().is_none());
    shown.map(of_hold).chain(open).chain(back).collect()
}

/// The kind of what was refused.
pub(super) const REFUSED: &str = "refused";

fn of_hold(hold: HoldWaiting) -> Waiting {
    Waiting {
        kind: "to sign",
        what: hold.told(),
        line: hold.line(),
        figure: hold.figure,
        who: format!("may sign: {}", hold.may_sign.join(", ")),
        at: WaitingAt::Hold(hold.work),
    }
}

fn matter_word(matter: Matter) -> &'static str {
    match matter {
        Matter::Overrule(GateKind::Lead | GateKind::AirAndGloves) => "safety gate overruled",
        Matter::Overrule(_) => "gate overruled",
        Matter::Deviation(DeviationKind::WeightOff) => "weight off",
        Matter::Deviation(DeviationKind::TooLate) => "too late",
        Matter::Deviation(DeviationKind::TooEarly) => "too early",
        Matter::Deviation(DeviationKind::WindowMissed) => "window missed",
        Matter::Deviation(DeviationKind::Reading) => "odd reading",
        Matter::Deviation(DeviationKind::Other) => "deviation",
        Matter::Question => "question",
        Matter::HoldRefused => "not signed",
    }
}
