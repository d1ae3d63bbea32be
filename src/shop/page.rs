//! Facts as bytes and back, for the pages of [`super::cache`]. No format to rely on: another
//! program reads none of it and begins anew from the journal.
//!
//! Each type has its fields listed once. A field that is added to a fact and not here does not
//! compile. Words stand once in a table, because a journal says the same few again and again.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use chrono::{DateTime, FixedOffset};

use crate::card::{ClockName, GateKind, Measure};
use crate::deed::{
    ChipRead, ClockRule, CoatLaid, DeviationKind, Forecasted, LayerRead, LayersTied, LotDecanted,
    LotOpened, Mixed, PhotoKept, Picked, Planned, Poured, Stamp, TickKind, Value, Word, Work,
};
use crate::journal::Mark;
use crate::standing::{
    Act, AirReading, Clock, CoatKept, Ending, FigureStanding, Job, JobState, Matter, NotedBook,
    OpenMatter, PhotoFact, Reading, RecordKept, ShopStanding, TestKept, TickKept,
};

/// Returns a value as bytes.
pub(super) fn to_bytes(value: &impl Page) -> Vec<u8> {
    let mut pen = Pen::default();
    value.put(&mut pen);
    let mut head = Pen::default();
    pen.words.len().put(&mut head);
    for word in &pen.words {
        word.len().put(&mut head);
        head.bytes.extend(word.as_bytes());
    }
    head.bytes.append(&mut pen.bytes);
    head.bytes
}

/// Returns the value that stands in bytes; `None` when it is not exactly one of this kind.
pub(super) fn from_bytes<T: Page>(bytes: &[u8]) -> Option<T> {
    let mut eye = Eye {
        rest: bytes,
        words: Vec::new(),
    };
    let count = usize::take(&mut eye)?;
    for _ in 0..count {
        let len = usize::take(&mut eye)?;
        let word = std::str::from_utf8(eye.next(len)?).ok()?;
        eye.words.push(word.into());
    }
    let value = T::take(&mut eye)?;
    eye.rest.is_empty().then_some(value)
}

/// What can be written on a page.
pub(super) trait Page: Sized {
    /// Writes it down.
    fn put(&self, pen: &mut Pen);

    /// Reads it; `None` when something else stands there.
    fn take(eye: &mut Eye<'_>) -> Option<Self>;
}

/// What writes.
#[derive(Debug, Default)]
pub(super) struct Pen {
    bytes: Vec<u8>,
    words: Vec<String>,
    places: HashMap<String, usize>,
}

impl Pen {
    fn word(&mut self, word: &str) {
        let place = if let Some(place) = self.places.get(word) {
            *place
        } else {
            let place = self.words.len();
            self.words.push(word.to_owned());
            self.places.insert(word.to_owned(), place);
            place
        };
        place.put(self);
    }
}

/// What reads.
#[derive(Debug)]
pub(super) struct Eye<'a> {
    rest: &'a [u8],
    words: Vec<Word>,
}

impl<'a> Eye<'a> {
    fn next(&mut self, count: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.rest.split_at_checked(count)?;
        self.rest = rest;
        Some(taken)
    }

    fn word(&mut self) -> Option<&Word> {
        let place = usize::take(self)?;
        self.words.get(place)
    }
}

/// Seven bits a byte, the lowest first; the eighth says that more follow.
impl Page for u64 {
    fn put(&self, pen: &mut Pen) {
        let mut left = *self;
        while let Some(more @ 1..) = left.checked_shr(7) {
            pen.bytes.push(left.to_le_bytes()[0] | 0x80);
            left = more;
        }
        pen.bytes.push(left.to_le_bytes()[0]);
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        let mut value = 0;
        for shift in (0..64).step_by(7) {
            let byte = *eye.next(1)?.first()?;
            value |= u64::from(byte & 0x7f) << shift;
            if byte < 0x80 {
                return Some(value);
            }
        }
        None
    }
}

/// Numbers that are written as another kind of number.
macro_rules! as_number {
    ($($type:ty as $wide:ty),*) => {$(
        impl Page for $type {
            fn put(&self, pen: &mut Pen) {
                <$wide>::try_from(*self).unwrap_or_default().put(pen);
            }

            fn take(eye: &mut Eye<'_>) -> Option<Self> {
                Self::try_from(<$wide>::take(eye)?).ok()
            }
        }
    )*};
}

as_number!(usize as u64, u32 as u64, i32 as i64);

/// Small numbers of either sign are short.
impl Page for i64 {
    fn put(&self, pen: &mut Pen) {
        let folded = (self << 1) ^ (self >> 63);
        u64::from_le_bytes(folded.to_le_bytes()).put(pen);
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        let folded = u64::take(eye)?;
        let half = Self::from_le_bytes((folded >> 1).to_le_bytes());
        Some(half ^ -Self::from(folded & 1 == 1))
    }
}

impl Page for f64 {
    fn put(&self, pen: &mut Pen) {
        pen.bytes.extend(self.to_le_bytes());
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        Some(Self::from_le_bytes(eye.next(8)?.try_into().ok()?))
    }
}

impl Page for bool {
    fn put(&self, pen: &mut Pen) {
        pen.bytes.push(u8::from(*self));
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        match eye.next(1)? {
            [0] => Some(false),
            [1] => Some(true),
            _ => None,
        }
    }
}

impl Page for String {
    fn put(&self, pen: &mut Pen) {
        pen.word(self);
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        eye.word().map(Word::to_string)
    }
}

impl Page for Word {
    fn put(&self, pen: &mut Pen) {
        pen.word(self);
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        eye.word().cloned()
    }
}

impl<T: Page> Page for Box<T> {
    fn put(&self, pen: &mut Pen) {
        self.as_ref().put(pen);
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        T::take(eye).map(Self::new)
    }
}

impl Page for DateTime<FixedOffset> {
    fn put(&self, pen: &mut Pen) {
        self.timestamp().put(pen);
        self.timestamp_subsec_nanos().put(pen);
        self.offset().local_minus_utc().put(pen);
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        let (seconds, nanos) = (i64::take(eye)?, u32::take(eye)?);
        let offset = FixedOffset::east_opt(i32::take(eye)?)?;
        Some(DateTime::from_timestamp(seconds, nanos)?.with_timezone(&offset))
    }
}

impl<T: Page> Page for Option<T> {
    fn put(&self, pen: &mut Pen) {
        self.is_some().put(pen);
        if let Some(value) = self {
            value.put(pen);
        }
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        if bool::take(eye)? {
            Some(Some(T::take(eye)?))
        } else {
            Some(None)
        }
    }
}

impl<A: Page, B: Page> Page for (A, B) {
    fn put(&self, pen: &mut Pen) {
        self.0.put(pen);
        self.1.put(pen);
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        Some((A::take(eye)?, B::take(eye)?))
    }
}

impl<A: Page, B: Page, C: Page> Page for (A, B, C) {
    fn put(&self, pen: &mut Pen) {
        self.0.put(pen);
        self.1.put(pen);
        self.2.put(pen);
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        Some((A::take(eye)?, B::take(eye)?, C::take(eye)?))
    }
}

impl<T: Page> Page for Vec<T> {
    fn put(&self, pen: &mut Pen) {
        self.len().put(pen);
        for value in self {
            value.put(pen);
        }
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        let count = usize::take(eye)?;
        // Nothing is shorter than a byte, so a count beyond them is none.
        let mut values = Self::with_capacity(count.min(eye.rest.len()));
        for _ in 0..count {
            values.push(T::take(eye)?);
        }
        Some(values)
    }
}

impl<T: Page + Ord> Page for BTreeSet<T> {
    fn put(&self, pen: &mut Pen) {
        self.len().put(pen);
        for value in self {
            value.put(pen);
        }
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        Vec::take(eye).map(Self::from_iter)
    }
}

impl<K: Page + Ord, V: Page> Page for BTreeMap<K, V> {
    fn put(&self, pen: &mut Pen) {
        self.len().put(pen);
        for (key, value) in self {
            key.put(pen);
            value.put(pen);
        }
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        Vec::take(eye).map(Self::from_iter)
    }
}

/// Words of a closed list and the rarer parts of deeds, as they stand in a journal.
macro_rules! as_in_a_line {
    ($($type:ty),* $(,)?) => {$(
        impl Page for $type {
            fn put(&self, pen: &mut Pen) {
                pen.word(&serde_json::to_string(self).unwrap_or_default());
            }

            fn take(eye: &mut Eye<'_>) -> Option<Self> {
                serde_json::from_str(eye.word()?).ok()
            }
        }
    )*};
}

as_in_a_line!(
    ChipRead,
    ClockName,
    ClockRule,
    CoatLaid,
    DeviationKind,
    Forecasted,
    Picked,
    GateKind,
    LayerRead,
    LayersTied,
    LotDecanted,
    LotOpened,
    Measure,
    Mixed,
    PhotoKept,
    Planned,
    Poured,
    TickKind,
);

impl Page for Value {
    fn put(&self, pen: &mut Pen) {
        match self {
            Self::Number(number) => (true, *number).put(pen),
            Self::Text(text) => {
                false.put(pen);
                text.put(pen);
            }
        }
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        if bool::take(eye)? {
            f64::take(eye).map(Self::Number)
        } else {
            String::take(eye).map(Self::Text)
        }
    }
}

impl Page for JobState {
    fn put(&self, pen: &mut Pen) {
        match self {
            Self::Open => 0_u64.put(pen),
            Self::Finished(stamp) => {
                1_u64.put(pen);
                stamp.put(pen);
            }
            Self::SentBack {
                stamp,
                back_to,
                why,
            } => {
                2_u64.put(pen);
                stamp.put(pen);
                back_to.put(pen);
                why.put(pen);
            }
        }
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        match u64::take(eye)? {
            0 => Some(Self::Open),
            1 => Stamp::take(eye).map(Self::Finished),
            2 => Some(Self::SentBack {
                stamp: Page::take(eye)?,
                back_to: Page::take(eye)?,
                why: Page::take(eye)?,
            }),
            _ => None,
        }
    }
}

impl Page for Matter {
    fn put(&self, pen: &mut Pen) {
        match self {
            Self::Overrule(gate) => {
                0_u64.put(pen);
                gate.put(pen);
            }
            Self::Deviation(kind) => {
                1_u64.put(pen);
                kind.put(pen);
            }
            Self::Question => 2_u64.put(pen),
            Self::HoldRefused => 3_u64.put(pen),
        }
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        match u64::take(eye)? {
            0 => GateKind::take(eye).map(Self::Overrule),
            1 => DeviationKind::take(eye).map(Self::Deviation),
            2 => Some(Self::Question),
            3 => Some(Self::HoldRefused),
            _ => None,
        }
    }
}

impl Page for Ending {
    fn put(&self, pen: &mut Pen) {
        let place: u64 = match self {
            Self::Alone => 0,
            Self::Taken => 1,
            Self::Deviation => 2,
            Self::Step => 3,
            Self::Caution => 4,
        };
        place.put(pen);
    }

    fn take(eye: &mut Eye<'_>) -> Option<Self> {
        let all = [
            Self::Alone,
            Self::Taken,
            Self::Deviation,
            Self::Step,
            Self::Caution,
        ];
        all.get(usize::take(eye)?).copied()
    }
}

/// Records: all of their fields, one after the other.
macro_rules! by_fields {
    ($($type:ident { $($field:ident),* $(,)? })*) => {$(
        impl Page for $type {
            fn put(&self, pen: &mut Pen) {
                let Self { $($field),* } = self;
                $($field.put(pen);)*
            }

            fn take(eye: &mut Eye<'_>) -> Option<Self> {
                Some(Self { $($field: Page::take(eye)?),* })
            }
        }
    )*};
}

by_fields! {
    Act { ticks, records, vouched, overruled, seconded, planned, pours, contact, mixed, wasted, tests, signed, resumed, done }
    AirReading { at, temp_c, humidity_percent }
    Clock { id, clock, about, work, rule, started, ended, answered, put_off, lots, words, wall_c }
    CoatKept { work, coat, stamp }
    FigureStanding {
        last_n, last, act_from, ending, shop, room, jobs, clocks, judged, readings, coats, matters,
        photos, layers, ties, chips, struck, unknown
    }
    Job { work, begun, acts, state }
    Mark { len, lines, n, last, unended }
    NotedBook { lines, seal, stamp }
    OpenMatter { stamp, matter, work, what, answer, again, second }
    PhotoFact { photo, stamp }
    Reading { work, measure, station, value, stamp }
    RecordKept { record, station, value, stamp }
    ShopStanding { last_n, day, present, books, noted_last, air, fans, lots, decanted, trusted, acknowledged, forecasts, picks, jumps, struck, unknown }
    Stamp { n, at, by }
    TestKept { place, word, stamp }
    TickKept { kind, said, stamp }
    Work { operation, target, round }
}

#[cfg(test)]
mod tests {
    use super::{Page, from_bytes, to_bytes};
    use chrono::{DateTime, FixedOffset};
    use proptest::prelude::*;

    fn comes_back<T: Page + PartialEq + std::fmt::Debug>(value: &T) {
        assert_eq!(from_bytes::<T>(&to_bytes(value)).as_ref(), Some(value));
    }

    #[test]
    fn numbers_at_their_ends_come_back() {
        for value in [0, 1, 127, 128, 16_383, 16_384, u64::MAX] {
            comes_back(&value);
        }
        for value in [0, -1, 1, 63, -64, 64, i64::MAX, i64::MIN] {
            comes_back(&value);
        }
        for value in [0.0, -0.1, f64::MAX, f64::INFINITY] {
            comes_back(&value);
        }
        // Ten bytes of seven bits hold more than a number of 64; what is too long is none.
        assert_eq!(from_bytes::<u64>(&[0, 0x80, 0x80]), None);
    }

    proptest! {
        #[test]
        fn whatever_stands_in_a_list_comes_back(
            list in prop::collection::vec((any::<String>(), any::<i64>(), any::<bool>()), 0..9)
        ) {
            comes_back(&list);
        }

        #[test]
        fn moments_come_back_with_their_offset(
            seconds in -99_999_999_999_i64..99_999_999_999, nanos in 0_u32..1_000_000_000,
            minutes in -1_400_i32..1_400,
        ) {
            let offset = FixedOffset::east_opt(minutes * 60).unwrap();
            let at = DateTime::from_timestamp(seconds, nanos).unwrap().with_timezone(&offset);
            let back: DateTime<FixedOffset> = from_bytes(&to_bytes(&at)).unwrap();
            prop_assert_eq!((back, back.offset()), (at, at.offset()));
        }

        #[test]
        fn bytes_of_any_kind_are_a_value_or_none(bytes in any::<Vec<u8>>()) {
            let _none_or_some: Option<Vec<(String, Option<f64>)>> = from_bytes(&bytes);
        }
    }
}
