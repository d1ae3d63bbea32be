//! Time cut into slots, one bit each: when a person is free, when an air is taken. Must not
//! know what a slot is used for.

/// Bits of one word.
const WORD: u32 = 64;

/// A stretch of slots from 0 on, each set or not.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Slots {
    words: Vec<u64>,
    len: u32,
    /// No word from here on was changed since the last wipe or copy.
    changed: usize,
}

impl Slots {
    /// Returns `len` slots, none of them set.
    pub fn none(len: u32) -> Self {
        let words = usize::try_from(len.div_ceil(WORD)).unwrap_or_default();
        Self {
            words: vec![0; words],
            len,
            changed: 0,
        }
    }

    /// Returns how many slots there are.
    pub fn len(&self) -> u32 {
        self.len
    }

    /// Returns whether there is no slot at all.
    pub fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// Takes every slot back to how `other` has it, from which this one was cloned.
    pub(super) fn copy_from(&mut self, other: &Self) {
        let changed = self.words.iter_mut().take(self.changed);
        changed
            .zip(&other.words)
            .for_each(|(word, from)| *word = *from);
        self.changed = 0;
    }

    /// Unsets every slot of a stretch that began with none set.
    pub(super) fn wipe(&mut self) {
        let changed = self.words.iter_mut().take(self.changed);
        changed.for_each(|word| *word = 0);
        self.changed = 0;
    }

    /// Returns whether a slot is set; one beyond the end is not.
    pub fn is_set(&self, at: u32) -> bool {
        at < self.len && self.word(at / WORD) & (1 << (at % WORD)) != 0
    }

    /// Sets the slots from `from` up to, not with, `to`.
    pub fn set(&mut self, from: u32, to: u32) {
        self.each_word(from, to, |word, mask| *word |= mask);
    }

    /// Unsets the slots from `from` up to, not with, `to`.
    pub fn unset(&mut self, from: u32, to: u32) {
        self.each_word(from, to, |word, mask| *word &= !mask);
    }

    /// Sets every slot that is set in another stretch.
    pub(super) fn join(&mut self, other: &Self) {
        for (word, more) in self.words.iter_mut().zip(&other.words) {
            *word |= more;
        }
    }

    fn each_word(&mut self, from: u32, to: u32, mut change: impl FnMut(&mut u64, u64)) {
        let to = to.min(self.len);
        let mut at = from;
        while at < to {
            let begin = at % WORD;
            let count = (WORD - begin).min(to - at);
            let mask = (u64::MAX >> (WORD - count)) << begin;
            let place = usize::try_from(at / WORD).unwrap_or(usize::MAX);
            if let Some(word) = self.words.get_mut(place) {
                change(word, mask);
                self.changed = self.changed.max(place + 1);
            }
            at += count;
        }
    }

    fn word(&self, place: u32) -> u64 {
        let place = usize::try_from(place).unwrap_or(usize::MAX);
        self.words.get(place).copied().unwrap_or(0)
    }

    /// Returns the first set slot from `at` on; the length when there is none.
    pub fn next_set(&self, at: u32) -> u32 {
        self.next(at, |word| word)
    }

    /// Returns the first slot from `at` on that is not set; the length when there is none.
    pub fn next_unset(&self, at: u32) -> u32 {
        self.next(at, |word| !word)
    }

    fn next(&self, at: u32, view: impl Fn(u64) -> u64) -> u32 {
        if self.len <= at {
            return self.len;
        }
        let mut place = at / WORD;
        let mut word = view(self.word(place)) & (u64::MAX << (at % WORD));
        while word == 0 {
            place += 1;
            if self.len <= place * WORD {
                return self.len;
            }
            word = view(self.word(place));
        }
        (place * WORD + word.trailing_zeros()).min(self.len)
    }

    /// Returns the first slot from `at` on with which `need` set slots in a row begin; `None`
    /// when there is no such stretch.
    pub fn run(&self, at: u32, need: u32) -> Option<u32> {
        let mut from = self.next_set(at);
        while from < self.len {
            let to = self.next_unset(from);
            if need <= to - from {
                return Some(from);
            }
            from = self.next_set(to);
        }
        None
    }

    /// Returns the end of the last set stretch that meets `from..to`: nothing as long as that
    /// span, and from its beginning on, is clear before it. `None` when none of them is set.
    pub(super) fn clash(&self, from: u32, to: u32) -> Option<u32> {
        let last = self.last_set(from, to)?;
        Some(self.next_unset(last))
    }

    /// The last set slot from `from` up to, not with, `to`.
    fn last_set(&self, from: u32, to: u32) -> Option<u32> {
        let to = to.min(self.len);
        if to <= from {
            return None;
        }
        let last = to - 1;
        let mut place = last / WORD;
        let mut word = self.word(place) & (u64::MAX >> (WORD - 1 - last % WORD));
        while word == 0 {
            if place <= from / WORD {
                return None;
            }
            place -= 1;
            word = self.word(place);
        }
        let found = place * WORD + (WORD - 1 - word.leading_zeros());
        (from <= found).then_some(found)
    }

    /// Takes what is set now as what a copy goes back to.
    pub(super) fn settle(&mut self) {
        self.changed = 0;
    }
}

#[cfg(test)]
mod tests {
    use super::Slots;

    #[test]
    fn runs_are_found_over_the_ends_of_words() {
        let mut slots = Slots::none(200);
        slots.set(60, 70);
        slots.set(120, 131);
        assert_eq!(slots.run(0, 10), Some(60));
        assert_eq!(slots.run(61, 10), Some(120));
        assert_eq!(slots.run(0, 12), None);
        slots.unset(64, 65);
        assert_eq!((slots.next_unset(60), slots.next_set(64)), (64, 65));
        assert_eq!(slots.run(0, 6), Some(120));
        assert_eq!(slots.clash(0, 60), None);
        assert_eq!(slots.clash(0, 61), Some(64));
        assert_eq!(slots.clash(0, 121), Some(131));
        assert_eq!((slots.clash(70, 120), slots.clash(64, 65)), (None, None));
        assert!(slots.is_set(130) && !slots.is_set(131) && !slots.is_set(500));
        assert_eq!(slots.next_set(131), 200);
    }
}
