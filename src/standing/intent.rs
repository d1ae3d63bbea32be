//! What a hand can want, and the word it gets when it may not.

use chrono::{DateTime, FixedOffset, NaiveDate};

use super::Book;
use crate::card::{Measure, WordScale};
use crate::deed::{
    ChipRead, Deed, Forecasted, LayerRead, LayersTied, Pack, PhotoKept, Picked, Value, Work,
};

/// What a hand wants. `figure` is a figure id everywhere.
#[derive(Debug, Clone, PartialEq)]
pub enum Intent {
    /// Begin an operation on a target; goes on with it if it is open already.
    Begin {
        /// Figure.
        figure: String,
        /// Checklist id.
        operation: String,
        /// Zone, joint or panel.
        target: Option<String>,
    },
    /// Begin it although another job shares its air: with the reason, kept as a deviation.
    BeginDespite {
        /// Figure.
        figure: String,
        /// Checklist id.
        operation: String,
        /// Zone, joint or panel.
        target: Option<String>,
        /// Why.
        why: String,
    },
    /// Something at the step in front of a job.
    Work {
        /// Figure.
        figure: String,
        /// The job.
        work: Work,
        /// What.
        what: AtStep,
    },
    /// Enter a reading of the figure, or a word of a test, that was taken earlier.
    EnterLater {
        /// Figure.
        figure: String,
        /// What.
        late: Late,
    },
    /// Take a job to the bench again: a step left half done is marked as taken up again.
    Resume {
        /// Figure.
        figure: String,
        /// The job.
        work: Work,
    },
    /// Take down the temperature of a cup's wall.
    ReadCup {
        /// Figure.
        figure: String,
        /// Its clock; or where it stands, if only one cup can be meant there.
        cup: Cup,
        /// °C.
        wall_c: f64,
    },
    /// End a clock by hand: `used up`, `cold`, `changed`.
    EndClock {
        /// Figure.
        figure: String,
        /// Clock id.
        clock: String,
        /// How.
        how: String,
    },
    /// Answer an alarm.
    AnswerAlarm {
        /// Figure.
        figure: String,
        /// Clock id.
        clock: String,
        /// Percent mark.
        mark: u32,
        /// When it began to ring.
        rang_at: DateTime<FixedOffset>,
    },
    /// Put off the alarm of something that is waited for.
    PutOff {
        /// Figure.
        figure: String,
        /// Clock id.
        clock: String,
        /// Percent mark.
        mark: u32,
        /// When it began to ring.
        rang_at: DateTime<FixedOffset>,
    },
    /// Answer a deviation, overrule or question.
    Answer {
        /// Figure.
        figure: String,
        /// Its line.
        line: u64,
        /// Accepted or not.
        accepted: bool,
        /// Words; needed when not accepted.
        why: String,
    },
    /// Say what was put right of a deviation or an overruling that was refused.
    PutRight {
        /// Figure.
        figure: String,
        /// Its line.
        line: u64,
        /// What was put right.
        said: String,
    },
    /// Strike a line of a book.
    Strike {
        /// Which journal.
        book: Book,
        /// Which line.
        line: u64,
        /// Why.
        why: String,
    },
    /// Jot a note.
    Jot {
        /// Which journal.
        book: Book,
        /// The note.
        text: String,
    },
    /// Ask the supervisor.
    Ask {
        /// Figure.
        figure: String,
        /// The question.
        text: String,
    },
    /// Enter a reading of a room's air.
    Air {
        /// Room id.
        room: String,
        /// °C.
        temp_c: f64,
        /// %.
        humidity_percent: f64,
        /// `hand` or a sensor.
        source: String,
    },
    /// Switch a room's extraction.
    Fan {
        /// Room id.
        room: String,
        /// On or off.
        on: bool,
    },
    /// Move a figure.
    Move {
        /// Figure.
        figure: String,
        /// Room id.
        room: String,
    },
    /// Open the day.
    OpenDay {
        /// Who is in.
        present: Vec<String>,
    },
    /// Close the day.
    CloseDay {
        /// What was checked.
        checked: Vec<String>,
        /// Who comes first.
        first_in: Option<String>,
    },
    /// Note a layer of old paint.
    ReadLayer {
        /// Figure.
        figure: String,
        /// What was read.
        read: LayerRead,
    },
    /// Tie two layers.
    TieLayers {
        /// Figure.
        figure: String,
        /// The tie.
        tie: LayersTied,
    },
    /// Note a chip of new colour.
    ReadChip {
        /// Figure.
        figure: String,
        /// What was read.
        chip: ChipRead,
    },
    /// Note a layer or chip at a zone that the scheme leaves or keeps: with the reason, kept as
    /// a deviation.
    StudyDespite {
        /// What is noted.
        study: Box<Intent>,
        /// Why.
        why: String,
    },
    /// Note a photograph that was copied in.
    KeepPhoto {
        /// Figure.
        figure: String,
        /// The photograph.
        photo: PhotoKept,
    },
    /// Open a tin.
    OpenLot {
        /// Material id.
        material: String,
        /// Number on the tin.
        lot: String,
        /// `a`, `b`, or empty for one part and for a tin that stands on the card.
        part: String,
        /// Use by.
        expires: Option<NaiveDate>,
        /// What it holds and what it cost, as far as somebody says so.
        pack: Pack,
    },
    /// Pour a lot or a jar into another jar.
    Decant {
        /// From this lot or jar.
        lot: String,
        /// Name of the new jar; empty lets it be called by the lot and a count.
        into: String,
    },
    /// Let a lot's own times replace its sheet.
    Trust {
        /// Material id.
        material: String,
        /// Lot; of two parts both, as `A + B`.
        lot: String,
    },
    /// Say that the sentence about what this tool is not was read.
    Acknowledge,
    /// Note what was picked of what was offered.
    Pick {
        /// The pick.
        picked: Picked,
    },
    /// Note when the figures are forecast to be done.
    NoteForecast {
        /// The forecast.
        forecast: Forecasted,
    },
    /// Note that the machine's clock jumped.
    Jumped {
        /// Seconds.
        by_s: f64,
        /// How.
        how: String,
    },
}

/// Which cup of mixed resin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cup {
    /// The one with this clock.
    Clock(String),
    /// The one that was live on this joint or zone, or anywhere on the figure.
    On(Option<String>),
}

/// Something that was taken earlier and is entered now.
#[derive(Debug, Clone, PartialEq)]
pub struct Late {
    /// What was read or said.
    pub said: Said,
    /// Zone, joint or panel; may be left out where only one can be meant.
    pub target: Option<String>,
    /// The place on it, where a step asks at several.
    pub station: Option<String>,
    /// It lies outside the usual range and was confirmed.
    pub again: bool,
}

/// What was read, or said of a test.
#[derive(Debug, Clone, PartialEq)]
pub enum Said {
    /// A reading.
    Reading {
        /// Of what.
        measure: Measure,
        /// In the measure's unit.
        value: f64,
    },
    /// A word of a test.
    Word {
        /// Its scale.
        scale: WordScale,
        /// The word.
        word: String,
    },
}

/// What a hand can want at the step in front.
#[derive(Debug, Clone, PartialEq)]
pub enum AtStep {
    /// Tick the cautions or the check in front.
    Tick,
    /// Vouch for the gate in front that only a hand can judge.
    Vouch,
    /// Pass the gate in front against its verdict: a soft one by reason, a hard one by
    /// reason and a second person.
    Overrule {
        /// Why.
        why: String,
        /// The second person.
        second: Option<String>,
    },
    /// Take down the record in front (or, at a dew gate, the surface temperature).
    Enter {
        /// The value.
        value: Value,
        /// It lies outside the usual range and was confirmed.
        again: bool,
    },
    /// Take the readings of the step in front anew, or those of the last step before it that
    /// only read: a gate is shut by them, or they are old.
    ReadAgain,
    /// Take down nothing, with a word why: "not done", "not known".
    Leave {
        /// Why.
        why: String,
    },
    /// Plan the batch: one of the offers.
    Plan {
        /// Material id.
        material: String,
    },
    /// Weigh one part in.
    Pour {
        /// Grams on the balance for this pour.
        grams: f64,
    },
    /// Press at first contact of resin and hardener: the clocks start.
    Start,
    /// Throw the cup away.
    Discard {
        /// Why.
        why: String,
    },
    /// Say a test word at a place.
    Test {
        /// Place; empty for one place.
        place: String,
        /// Word.
        word: String,
    },
    /// The act is done.
    Done,
    /// The act is done before its wait is over: a deviation with a reason.
    DoneEarly {
        /// Why.
        why: String,
    },
    /// Sign the hold point in front, or refuse it.
    Sign {
        /// Accepted or not.
        accepted: bool,
        /// Words; needed when not accepted.
        why: String,
    },
    /// Show the refused hold point in front once more, put right.
    ShowAgain {
        /// What was put right.
        said: String,
    },
    /// Send the target back to an earlier operation, or to this one for another round.
    SendBack {
        /// Checklist id.
        back_to: String,
        /// Why.
        why: String,
    },
}

/// A deed to be written, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// Which journal.
    pub book: Book,
    /// The deed.
    pub deed: Deed,
}

/// Not now, and why: one line for the screen. Nothing was written.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{why}")]
pub struct Refusal {
    /// The line.
    pub why: String,
    /// What would help, if anything is known to.
    pub remedy: Option<String>,
    /// The value is outside its usual range: the same intent with `again` will be taken.
    pub ask_again: bool,
}

impl Refusal {
    /// Returns a refusal with its one line.
    pub fn new(why: impl Into<String>) -> Self {
        Self {
            why: why.into(),
            remedy: None,
            ask_again: false,
        }
    }

    /// Returns the same refusal with what would help.
    #[must_use]
    pub fn remedy(mut self, remedy: impl Into<String>) -> Self {
        self.remedy = Some(remedy.into());
        self
    }
}
