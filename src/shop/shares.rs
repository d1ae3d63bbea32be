//! Many alike things done at once, shared out among the cores of the machine.

use std::num::NonZero;
use std::thread;

/// Does something with shares of a list, each in a thread of its own where there is enough of
/// it: no share is smaller than `fewest`. What the shares come to stands in their order, so
/// that the answer is the same on every machine.
pub fn in_shares<T: Sync, R: Send>(
    all: &[T],
    fewest: usize,
    each: impl Fn(&[T]) -> R + Sync,
) -> Vec<R> {
    if all.len() <= fewest {
        return vec![each(all)];
    }
    let hands = thread::available_parallelism().map_or(1, NonZero::get);
    let share = all.len().div_ceil(hands).max(fewest);
    let each = &each;
    thread::scope(|scope| {
        let shares: Vec<_> = all
            .chunks(share)
            .map(|share| scope.spawn(move || each(share)))
            .collect();
        let ended = shares.into_iter().map(|share| {
            // A fault of the program's own is told in the same way from every thread.
            let done = share.join();
            done.unwrap_or_else(|bug| std::panic::resume_unwind(bug))
        });
        ended.collect()
    })
}
