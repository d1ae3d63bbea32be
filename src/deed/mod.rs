//! Pure: what can be written in a journal, one file per family of deeds.
//!
//! A [`Deed`] is the middle of a journal line: its tag `deed` and its own fields. A deed
//! that this version does not know is carried along as [`Unknown`], never dropped: a kept
//! line is a fact. The types of this room are the journal's format; they are used for
//! nothing else that is stored.

mod clock;
mod day;
mod gate;
mod held;
mod line;
mod mix;
mod plan;
mod study;
mod word;
mod work;

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value as Json};

pub use clock::{
    AlarmAnswered, AlarmPutOff, Attended, ClockEnded, ClockRule, ClockStart, CupRead, Place,
    Tested, Use,
};
pub use day::{
    Acknowledged, Air, BookEnd, ClockJumped, DayClosed, DayOpened, Fan, HAND, LotDecanted,
    LotOpened, LotTrusted, Pack,
};
pub use gate::{
    Answered, Deviated, DeviationKind, GateSaid, Overruled, PutRight, ShownAgain, Signed,
};
pub use held::Word;
pub use line::{Line, NotALine, Stamp};
pub use mix::{Discarded, Mixed, Planned, Poured, Pouring};
pub use plan::{Forecasted, Offered, Picked, Promise};
pub use study::{
    ChipRead, LayerPlace, LayerRead, LayersTied, LightSeen, Marker, Metal, Relation, Spot,
};
pub use word::{Asked, Jotted, PhotoKept, Struck};
pub use work::{
    Begun, CoatLaid, Done, Finished, Moved, Recorded, Reread, Resumed, SentBack, TickKind, Ticked,
    Value, Work,
};

/// Everything that can be written in a journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "deed", rename_all = "snake_case")]
pub enum Deed {
    /// The shop was opened for the day.
    DayOpened(DayOpened),
    /// The closing round was walked.
    DayClosed(DayClosed),
    /// Air of a room was read.
    Air(Air),
    /// Extraction of a room was switched.
    Fan(Fan),
    /// A lot was opened.
    LotOpened(LotOpened),
    /// A lot was poured into a smaller jar.
    LotDecanted(LotDecanted),
    /// A lot's own times may replace its sheet.
    LotTrusted(LotTrusted),
    /// The machine's clock was set, or the machine slept.
    ClockJumped(ClockJumped),
    /// The sentence that this tool only reminds was read.
    Acknowledged(Acknowledged),
    /// Somebody picked what to do next.
    Picked(Picked),
    /// When the figures were forecast to be done.
    Forecasted(Forecasted),

    /// Work on an operation began.
    Begun(Begun),
    /// A caution or a check was ticked.
    Ticked(Ticked),
    /// Something was taken down.
    Recorded(Recorded),
    /// A step was done.
    Done(Done),
    /// The readings of a step are taken anew.
    Reread(Reread),
    /// A step that was left half done was taken up again.
    Resumed(Resumed),
    /// A target went back to an earlier operation.
    SentBack(SentBack),
    /// An operation was walked to its end.
    Finished(Finished),
    /// The figure was moved to another room.
    Moved(Moved),

    /// A batch was planned: material, lots, grams.
    Planned(Planned),
    /// One part was weighed into the cup.
    Poured(Poured),
    /// Resin and hardener met.
    Mixed(Mixed),
    /// A cup was thrown away.
    Discarded(Discarded),

    /// A test word was said at a place.
    Tested(Tested),
    /// The wall of a running cup was measured.
    CupRead(CupRead),
    /// A hand ended a clock.
    ClockEnded(ClockEnded),
    /// An alarm was answered.
    AlarmAnswered(AlarmAnswered),
    /// An alarm of something that is waited for was put off.
    AlarmPutOff(AlarmPutOff),

    /// A hand vouched for a gate that only a hand can judge.
    GateSaid(GateSaid),
    /// A hard gate was overruled by a second person.
    Overruled(Overruled),
    /// Something was done otherwise than planned or allowed.
    Deviated(Deviated),
    /// A deviation, overrule or question was answered.
    Answered(Answered),
    /// A hold point was signed or refused.
    Signed(Signed),
    /// What was refused was put right and shown once more.
    ShownAgain(ShownAgain),
    /// A deviation or overruling that was refused was put right.
    PutRight(PutRight),

    /// A free note.
    Jotted(Jotted),
    /// A question for the supervisor.
    Asked(Asked),
    /// A photograph was taken in.
    PhotoKept(PhotoKept),
    /// A layer of old paint was read in an exposure.
    LayerRead(LayerRead),
    /// Two layers were tied to each other.
    LayersTied(LayersTied),
    /// A chip of new colour was measured against an old layer.
    ChipRead(ChipRead),
    /// An earlier line was struck.
    Struck(Struck),

    /// A deed of a newer version, kept as it came.
    #[serde(skip)]
    Unknown(Unknown),
}

/// A deed that this version cannot read.
#[derive(Debug, Clone, PartialEq)]
pub struct Unknown {
    /// Its tag.
    pub tag: String,
    /// Its fields as they came, the tag included.
    pub fields: Map<String, Json>,
}

impl Deed {
    /// Returns the deed read from the fields of a line, its tag among them.
    ///
    /// Never fails: what cannot be read is [`Deed::Unknown`] with all its fields.
    pub fn read(fields: Map<String, Json>) -> Self {
        match serde_json::from_value(Json::Object(fields.clone())) {
            Ok(deed) => deed,
            Err(_newer_or_damaged) => Self::Unknown(Unknown {
                tag: fields
                    .get("deed")
                    .and_then(Json::as_str)
                    .unwrap_or_default()
                    .to_owned(),
                fields,
            }),
        }
    }

    /// Returns the deed as the fields of a line, the tag first.
    pub fn fields(&self) -> Map<String, Json> {
        if let Self::Unknown(unknown) = self {
            return unknown.fields.clone();
        }
        match serde_json::to_value(self) {
            Ok(Json::Object(fields)) => fields,
            // A deed is a tagged struct of plain values; it has no other form.
            _ => Map::new(),
        }
    }

    /// Returns the tag, such as `step_done`.
    pub fn tag(&self) -> String {
        self.fields()
            .get("deed")
            .and_then(Json::as_str)
            .unwrap_or_default()
            .to_owned()
    }

    /// Returns the names of fields that this version does not know in an otherwise known deed.
    pub fn strange_fields(&self, came: &Map<String, Json>) -> Vec<String> {
        let known = self.fields();
        came.keys()
            .filter(|key| !known.contains_key(*key) && !came.get(*key).is_some_and(Json::is_null))
            .cloned()
            .collect()
    }
}
