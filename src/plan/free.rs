//! When one person is free, kept so that a sitting of some length is found without looking at
//! every hole that is too short for it.

use super::slots::Slots;

/// Lengths of sittings, in slots, for which beginnings are kept; a sitting between two of them
/// is sought among the shorter one's.
const SIZES: [u32; 9] = [1, 2, 3, 4, 6, 9, 13, 18, 24];

/// When one person is free: for each size, every slot from which on so many slots are free.
#[derive(Debug, Clone, Default)]
pub(super) struct Free([Slots; SIZES.len()]);

impl Free {
    /// Returns a person who is free whenever they are there.
    pub(super) fn of(there: &Slots) -> Self {
        Self(SIZES.map(|size| {
            let mut begins = Slots::none(there.len());
            let mut from = there.next_set(0);
            while from < there.len() {
                let to = there.next_unset(from);
                if size <= to - from {
                    begins.set(from, to - size + 1);
                }
                from = there.next_set(to);
            }
            begins.settle();
            begins
        }))
    }

    /// Takes everything back to how `other` has it, from which this one was cloned.
    pub(super) fn copy_from(&mut self, other: &Self) {
        for (begins, from) in self.0.iter_mut().zip(&other.0) {
            begins.copy_from(from);
        }
    }

    /// Takes the slots from `from` up to, not with, `to`.
    pub(super) fn take(&mut self, from: u32, to: u32) {
        for (begins, size) in self.0.iter_mut().zip(SIZES) {
            begins.unset(from.saturating_sub(size - 1), to);
        }
    }

    /// Gives back the slots from `from` up to, not with, `to`, which were taken.
    pub(super) fn give(&mut self, from: u32, to: u32) {
        let [whole, rest @ ..] = &mut self.0;
        whole.set(from, to);
        let longest = SIZES.into_iter().max().unwrap_or(1);
        let back = from.saturating_sub(longest - 1);
        let mut begin = from;
        while back < begin && whole.is_set(begin - 1) {
            begin -= 1;
        }
        let end = whole.next_unset(from);
        for (begins, size) in rest.iter_mut().zip(SIZES.into_iter().skip(1)) {
            let first = begin.max(from.saturating_sub(size - 1));
            let last = to.min((end + 1).saturating_sub(size));
            begins.set(first, last.max(first));
        }
    }

    /// Returns the first slot from `at` on from which `need` slots are free; one at least.
    pub(super) fn first(&self, at: u32, need: u32) -> Option<u32> {
        let [whole, ..] = &self.0;
        let sizes = self.0.iter().zip(SIZES).rev();
        let (begins, size) = sizes
            .into_iter()
            .find(|(_, size)| *size <= need)
            .unwrap_or((whole, 1));
        let mut from = begins.next_set(at);
        while from < begins.len() {
            if need <= size || from + need <= whole.next_unset(from) {
                return Some(from);
            }
            from = begins.next_set(whole.next_unset(from));
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::{Free, Slots};

    #[test]
    fn a_sitting_is_found_as_by_looking_at_every_slot() {
        let mut there = Slots::none(300);
        there.set(5, 20);
        there.set(40, 130);
        there.set(200, 290);
        let mut free = Free::of(&there);
        for (from, to) in [(7, 9), (60, 61), (90, 111), (240, 244)] {
            free.take(from, to);
            there.unset(from, to);
        }
        for (from, to) in [(95, 99), (60, 61), (241, 243)] {
            free.give(from, to);
            there.set(from, to);
        }
        for need in 1..=60 {
            for at in 0..300 {
                assert_eq!(
                    free.first(at, need),
                    there.run(at, need),
                    "{need} from {at}"
                );
            }
        }
    }
}
