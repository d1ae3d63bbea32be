//! Pure: what stands, and what may be done next.
//!
//! One way round: an [`Intent`] is judged by [`decide`] against the [`House`] and becomes
//! deeds or a [`Refusal`]; once the deeds are lines on disk, [`Standing::replay`] takes them
//! in. Nothing else changes a [`Standing`]. Replay cannot fail: a kept line is a fact.
//! What is in front of a worker is a [`Prompt`]; what runs is a [`ClockView`]; what stops is
//! a [`Verdict`]. All three are computed anew whenever they are shown.
//!
//! Start reading at [`Standing`], then `prompt.rs`, then `decide.rs`.

mod afterwards;
mod ahead;
mod air;
mod clock;
mod clock_times;
mod decide;
mod decide_clock;
mod decide_cup;
mod decide_day;
mod decide_late;
mod decide_lot;
mod decide_mix;
mod decide_plan;
mod decide_record;
mod decide_step;
mod decide_study;
mod evidence;
mod facts;
mod flawed;
mod front;
mod front_wait;
mod frozen;
mod gate;
mod gate_glue;
mod gate_size;
mod gate_wood;
mod intent;
mod interrupted;
mod joints;
mod journey;
mod judged;
mod layers;
mod layers_tied;
mod learning;
mod lone;
mod mixing;
mod overrules;
mod overview;
mod photos;
mod prompt;
mod provenance;
mod repaint;
mod replay;
mod replay_mix;
mod rubbed;
mod series;
mod shared_air;
mod shelf;
mod shelf_life;
mod size;
mod starts;
mod strata;
mod strike;
mod sums;
mod tangle;
mod target;
mod trend;
mod walk;
mod zones;

pub use ahead::{Opener, StepAhead, WalkAhead, gates_ahead, on_card, openers, walk_ahead};
pub(crate) use air::{OUTLOOK_DAYS, Traces, after, damp, damp_held, hours_between, latest, traces};
pub use clock::{ClockState, ClockTimes, ClockView, clock_views, clock_views_kept, view};
pub use decide::{decide, has_mark};
pub use decide_clock::{CHANGED, PUT_OFF_MIN};
pub use decide_day::{CLOSING, not_reported};
pub use evidence::{Evidence, OpenGate, evidence, open_gates, shut_in_front};
pub use facts::{
    Act, AirReading, Clock, CoatKept, Ending, FigureStanding, HoldRefused, Job, JobState, Matter,
    NotedBook, OpenMatter, PhotoFact, Reading, RecordKept, ShopStanding, TestKept, TickKept,
};
pub use flawed::flaws_of;
pub use front::prompt;
pub use front_wait::words;
pub(crate) use gate_wood::MOISTURE_PERCENT;
pub use intent::{AtStep, Cup, Intent, Late, Refusal, Said, Written};
pub use interrupted::PAUSE_MIN;
pub use joints::{ClampPlan, CupUsed, GapMap, Hollow, JointSeen, JointState, hollow, joints};
pub use journey::Leg;
pub use layers::{
    Campaign, Contradiction, Coverage, DRIFT_DAYS, Drift, Exposure, Layer, LayerColour, Layers,
    NOT_SETTLED, Observation, SPREAD_DELTA_E, Seen, TieSeen, Unplaced, by_words, layers,
    marker_word, metal_word, place_words, relation_words, tie_words,
};
pub(crate) use learning::sized_by_lot;
pub use learning::{OwnTimes, own_times};
pub use lone::{ALONE, WITHIN_CALL};
pub use overrules::{OVERRULES_DAYS, OVERRULES_MANY, OverruleCount, overrules};
pub use overview::{
    FloorRow, HoldWaiting, Offer, Stage, UNREAD, all_matters, floor, held_at, holds, matters,
    offers, without_place,
};
pub use photos::{
    LateIn, PhotoMissing, PhotoRow, PhotoSeen, Photos, camera_says, photos, taken_at, work_began,
};
pub use prompt::{
    Ask, BatchOffer, Interruption, LastDone, LotChoice, OpensBy, Prompt, ShutBy, TestPlace, Verdict,
};
pub use provenance::{Laid, Past, Pours, Reach, Spot, is_layer, is_lot_record, lots_of, struck};
pub use repaint::{
    AGREED_DELTA_E, LightKind, Repaint, find, light_kind, limit_words, repaint, verdict_words,
};
pub use replay::Replayed;
pub use series::{
    AirSeries, CoatPoint, Depth, MoistureSeries, ROUND_MIN, TimePoint, WordPoint, coats,
    is_one_round, moisture, moisture_target, room_air, test_words,
};
pub use shared_air::{AirConflict, air_conflicts};
pub use shelf::{lot_on_tin, tins};
pub use shelf_life::{ShelfLife, shelf_lives};
pub(crate) use size::{Damp, SizeSheet};
pub use strike::STRIKE_S;
pub use sums::leaf::leaf_job;
pub use sums::shelf::{lacks as shelf_lacks, takes};
pub use sums::{Figured, StepSum, Weight};
pub use target::targets;
pub use trend::{OutOfTrend, out_of_trend};
pub(crate) use walk::gap_rows;
pub use zones::{Progress, WalkEnd, WalkSeen, ZoneFacts, zone_facts};

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use crate::card::Cards;

/// Everything that stands: the shop's journal and every figure's, replayed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Standing {
    /// What the shop's own journal says.
    pub shop: ShopStanding,
    /// What each figure's journal says, by figure id. Whoever reckons beside the hands shares it
    /// with them; what is kept meanwhile goes into a copy.
    pub figures: BTreeMap<String, Arc<FigureStanding>>,
    /// Figures whose journal is there and cannot be read: nobody knows how they stand.
    pub unread: BTreeSet<String>,
}

/// Which journal.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Book {
    /// The shop's.
    Shop,
    /// One figure's, by id.
    Figure(String),
}

/// Cards and standing together: all that a decision or a view may look at.
#[derive(Debug, Clone, Copy)]
pub struct House<'a> {
    /// What people wrote.
    pub cards: &'a Cards,
    /// What happened.
    pub standing: &'a Standing,
}

/// Returns a word of a closed list as it stands on a card and in a journal.
pub(crate) fn as_written(word: impl Serialize) -> String {
    let word = serde_json::to_value(word).ok();
    let word = word.and_then(|word| word.as_str().map(str::to_owned));
    word.unwrap_or_default()
}

/// Who acts, where, and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// Now.
    pub at: DateTime<FixedOffset>,
    /// Person id.
    pub by: String,
    /// Bench name.
    pub bench: String,
}

impl<'a> House<'a> {
    /// Returns the standing of a figure, if it has one.
    pub fn figure(&self, id: &str) -> Option<&'a FigureStanding> {
        self.standing.figures.get(id).map(Arc::as_ref)
    }

    /// Returns whether the journal of a figure is there and cannot be read.
    pub fn is_unread(&self, id: &str) -> bool {
        self.standing.unread.contains(id)
    }

    /// Returns how many lines the book of each figure has.
    pub fn books(&self) -> BTreeMap<String, u64> {
        let figures = self.standing.figures.iter();
        let lines = figures.map(|(id, figure)| (id.clone(), figure.last_n));
        lines.filter(|(_, lines)| 0 < *lines).collect()
    }

    /// Returns whether a line of a book was struck.
    pub fn is_struck(&self, book: &Book, line: u64) -> bool {
        let struck = match book {
            Book::Shop => Some(&self.standing.shop.struck),
            Book::Figure(id) => self.figure(id).map(|figure| &figure.struck),
        };
        struck.is_some_and(|struck| struck.iter().any(|(_, at)| *at == line))
    }

    /// Returns whether the scheme of a figure was approved: before that nobody has decided the
    /// paths that its card begins with.
    pub fn is_decided(&self, figure: &str) -> bool {
        let standing = self.figure(figure);
        standing.is_some_and(|it| it.finished(frozen::SCHEME, None).is_some())
    }

    /// Returns the room a figure stands in now: where a line moved it, else its card's.
    pub fn room_of(&self, figure: &str) -> &'a str {
        let moved = self.figure(figure).and_then(|f| f.room.as_deref());
        let card = self.cards.figures.get(figure).map(|f| f.room.as_str());
        moved.or(card).unwrap_or_default()
    }
}
