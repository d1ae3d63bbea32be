//! What the screen remembers between two keys. None of it is ever journaled, and none of
//! it says how anything stands.

use std::collections::BTreeSet;

use chrono::{DateTime, FixedOffset};

use crate::deed::Work;
use crate::standing::{Book, Intent, Refusal};

use super::dossier::DossierView;
use super::field::Field;
use crate::trouble::Trouble;

/// The screens.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Page {
    /// One figure, one step.
    #[default]
    Bench,
    /// What dies first.
    Clocks,
    /// All figures.
    Floor,
    /// The journal page.
    Day,
    /// One figure's record.
    Dossier,
    /// When to lay size this evening.
    Night,
}

impl Page {
    /// Every screen, in the order of their keys.
    pub const ALL: [Self; 6] = [
        Self::Bench,
        Self::Clocks,
        Self::Floor,
        Self::Day,
        Self::Dossier,
        Self::Night,
    ];

    /// Returns its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Bench => "Bench",
            Self::Clocks => "Clocks",
            Self::Floor => "Floor",
            Self::Day => "Day",
            Self::Dossier => "Dossier",
            Self::Night => "Night",
        }
    }
}

/// What the screen remembers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct View {
    /// The screen in front.
    pub page: Page,
    /// The figure at the bench.
    pub figure: Option<String>,
    /// Its job at the bench.
    pub work: Option<Work>,
    /// Who is at the bench, a person id.
    pub by: String,
    /// The bench's name.
    pub bench: String,
    /// What lies over the screen.
    pub over: Over,
    /// The number being typed.
    pub entry: String,
    /// The number typed was outside the usual; taking it once more keeps it.
    pub again: bool,
    /// The place under test in front.
    pub place: usize,
    /// Rows of a long list that were turned over.
    pub skip: usize,
    /// Rows scrolled on a long page.
    pub scroll: usize,
    /// Where the Dossier is open.
    pub dossier: DossierView,
    /// Something that must be read lies below the foot of the page as it was drawn last.
    pub hidden: bool,
    /// How many rows of a long list fitted on the page as it was drawn last.
    pub rows: usize,
    /// What the floor shows first, and what was sought there.
    pub floor: FloorWish,
    /// Where the Day is open.
    pub day: DayWish,
    /// What the last key came to.
    pub said: Option<Said>,
    /// The last act kept, for striking.
    pub last: Option<Last>,
    /// Writing has stopped, and why.
    pub fault: Option<Trouble>,
    /// The hand wants to leave.
    pub leaving: bool,
    /// Whose word that the sentence above every card was read the disk did not take.
    pub excused: Option<String>,
    /// What the night is planned with.
    pub night: NightWish,
}

/// What the Day shows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DayWish {
    /// Journal or page.
    pub leaf: DayLeaf,
    /// How many days, on the page of a week how many weeks, before today.
    pub back: u16,
    /// Only this book: a figure id, or `shop`.
    pub figure: Option<String>,
    /// Only this person.
    pub by: Option<String>,
    /// The row of the page in front: its number less one.
    pub row: usize,
    /// The first figure of a number with two.
    pub typed: Option<usize>,
    /// The line that is open in full: book and number.
    pub entry: Option<(String, u64)>,
}

/// The leaves of the Day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DayLeaf {
    /// What waits, and every line.
    #[default]
    Journal,
    /// The ten points of a day.
    Page,
    /// The ten points of a week.
    Week,
}

impl DayLeaf {
    /// Returns the next leaf.
    #[must_use]
    pub fn next(self) -> Self {
        match self {
            Self::Journal => Self::Page,
            Self::Page => Self::Week,
            Self::Week => Self::Journal,
        }
    }
}

/// What the floor shows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FloorWish {
    /// What comes first.
    pub order: FloorOrder,
    /// Words that every figure shown has; all figures without any.
    pub find: String,
}

/// What comes first on the floor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FloorOrder {
    /// The clock that dies first.
    #[default]
    DiesFirst,
    /// The promise most at risk, then the earliest.
    Promise,
    /// The name.
    Name,
    /// What waits longest.
    Waiting,
}

impl FloorOrder {
    /// Returns the next order.
    #[must_use]
    pub fn next(self) -> Self {
        match self {
            Self::DiesFirst => Self::Promise,
            Self::Promise => Self::Name,
            Self::Name => Self::Waiting,
            Self::Waiting => Self::DiesFirst,
        }
    }

    /// Returns its words.
    pub fn words(self) -> &'static str {
        match self {
            Self::DiesFirst => "what dies first",
            Self::Promise => "promise at risk",
            Self::Name => "name",
            Self::Waiting => "longest waiting",
        }
    }
}

/// What the night is planned with, beside what stands on the cards.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct NightWish {
    /// Gilders beyond the first.
    pub more_gilders: u32,
    /// The size asked for, a material id; none takes the one that works best.
    pub size: Option<String>,
    /// Panels left for another night, by id.
    pub without: BTreeSet<String>,
}

impl NightWish {
    /// The most gilders that are planned with.
    const MOST: u32 = 3;

    /// Returns how many gilders there are.
    pub fn gilders(&self) -> u32 {
        self.more_gilders.saturating_add(1)
    }

    /// One pair of hands more; after three it is one again.
    pub fn more_hands(&mut self) {
        self.more_gilders = self.gilders() % Self::MOST;
    }
}

/// What the last key came to, one line.
#[derive(Debug, Clone, PartialEq)]
pub enum Said {
    /// It was kept.
    Kept(String),
    /// Not now, and why.
    Refused(Refusal),
    /// A word of help; nothing was asked of the shop.
    Hint(String),
}

/// The last act kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Last {
    /// Its lines.
    pub lines: Vec<(Book, u64)>,
    /// When.
    pub at: DateTime<FixedOffset>,
}

/// What lies over the screen.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Over {
    /// Nothing.
    #[default]
    Nothing,
    /// The screen explained.
    Help,
    /// Rows to pick from.
    List(List),
    /// A line of text.
    Write(Write),
    /// Two numbers of a room's air.
    Air(AirEntry),
    /// Yes or no.
    Question(Question),
    /// The sentence above every card, until it is read once by whoever is at the bench.
    Deferral,
}

/// Rows to pick from.
#[derive(Debug, Clone, PartialEq)]
pub struct List {
    /// What is picked.
    pub title: String,
    /// The rows.
    pub rows: Vec<Row>,
}

/// A row and what picking it does.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its words.
    pub words: String,
    /// More about it, smaller.
    pub note: String,
    /// What then.
    pub then: Then,
}

/// What follows from a pick or an answer.
#[derive(Debug, Clone, PartialEq)]
pub enum Then {
    /// Nothing; what lay over the screen is closed.
    Close,
    /// Something is asked of the shop.
    Do(Box<Intent>),
    /// A line of text is asked for.
    Write(Write),
    /// Another list.
    List(List),
    /// A question.
    Question(Box<Question>),
    /// A figure is taken to the bench.
    Figure(String),
    /// A job is taken to the bench: figure and work; begun if it is not open.
    Job(String, Work),
    /// Somebody else is at the bench.
    Person(String),
    /// The night of this figure is planned.
    Night(String),
    /// The page of the day is narrowed to a figure, a person or nothing.
    Only(Option<String>, Option<String>),
    /// A panel is left out of the night, or taken in again.
    Panel(String),
    /// The night is planned with this size; none takes what works best.
    Size(Option<String>),
    /// The air of a room is entered, or the wall of a cup.
    Air(AirEntry),
    /// The program ends.
    Leave,
}

/// A line of text and what becomes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Write {
    /// What is asked for.
    pub title: String,
    /// The line.
    pub field: Field,
    /// What becomes of it.
    pub make: Make,
}

/// What a written line becomes. Figures are figure ids.
#[derive(Debug, Clone, PartialEq)]
pub enum Make {
    /// The record in front.
    Record(String, Work),
    /// Why a record is left out.
    Leave(String, Work),
    /// Why a soft gate is passed.
    Overrule(String, Work),
    /// Why a hard gate is passed; a second person is asked for next.
    OverruleHard(String, Work),
    /// Why it is done early.
    Early(String, Work),
    /// Why a cup is thrown away.
    Discard(String, Work),
    /// Why the target goes back to an operation.
    SendBack(String, Work, String),
    /// What was put right at a hold point that was refused.
    ShowAgain(String, Work),
    /// What was put right of a matter that was refused: figure, line.
    PutRight(String, u64),
    /// Why a hold point is refused.
    RefuseHold(String, Work),
    /// Why an operation is begun although another job shares its air: figure, operation, target.
    Despite(String, String, Option<String>),
    /// What is sought on the floor.
    Find,
    /// A question for the supervisor.
    Ask(String),
    /// A note.
    Jot(Book),
    /// The answer to a matter: figure, line, accepted.
    Answer(String, u64, bool),
}

/// Numbers of a thermometer that are being typed.
#[derive(Debug, Clone, PartialEq)]
pub enum AirEntry {
    /// Two of a room's air.
    Room {
        /// Room id.
        room: String,
        /// Temperature, °C, once it was typed.
        temp_c: Option<f64>,
    },
    /// One of the wall of a cup.
    Cup {
        /// Figure id.
        figure: String,
        /// Its clock.
        clock: String,
        /// What is in it, for the title.
        about: String,
    },
}

impl AirEntry {
    /// Returns the entry of a room's air before anything was typed.
    pub(super) fn of_room(id: &str) -> Self {
        Self::Room {
            room: id.to_owned(),
            temp_c: None,
        }
    }
}

/// A question with yes and no.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// What is asked.
    pub title: String,
    /// More about it.
    pub words: Vec<String>,
    /// On yes.
    pub yes: Then,
    /// On no.
    pub no: Then,
}
