//! How times are taken and told: the middle, and the worst hundredth, which matters more than
//! the mean wherever somebody waits.

use std::hint::black_box;
use std::time::{Duration, Instant};

/// Returns whether a bench is asked for: all are, unless a part of a name is given.
pub(crate) fn is_wanted(name: &str) -> bool {
    let mut given = std::env::args().skip(1).filter(|arg| !arg.starts_with('-'));
    given.next().is_none_or(|part| name.contains(&part))
}

/// Returns how long something took at a place of a hundred.
pub(crate) fn at(percent: usize, taken: &[Duration]) -> Duration {
    let mut sorted = taken.to_vec();
    sorted.sort();
    sorted[(sorted.len() - 1) * percent / 100]
}

/// Prints how long something took at the middle, at the 99th of a hundred and at worst.
pub(crate) fn tail(name: &str, taken: &[Duration]) {
    println!(
        "{name:<60} p50 {:>9.3?}  p99 {:>9.3?}  worst {:>9.3?}  of {}",
        at(50, taken),
        at(99, taken),
        at(100, taken),
        taken.len()
    );
}

/// Runs two things by turns, so that whatever else the machine does meets both alike, and
/// prints their middles and how they stand to one another.
pub(crate) fn beside(
    (name, plain_name): (&str, &str),
    rounds: usize,
    mut ours: impl FnMut(),
    mut plain: impl FnMut(),
) {
    let mut taken = [Vec::new(), Vec::new()];
    for _ in 0..rounds {
        taken[0].push(timed(&mut ours));
        taken[1].push(timed(&mut plain));
    }
    let [ours, plain] = taken;
    tail(name, &ours);
    tail(&format!("{name} ({plain_name})"), &plain);
    ratio(name, &ours, &plain);
}

/// Prints how the middle of one stands to the middle of the other.
pub(crate) fn ratio(name: &str, ours: &[Duration], plain: &[Duration]) {
    let [ours, plain] = [ours, plain].map(|taken| at(50, taken).as_secs_f64());
    println!("{name:<60} {:.3} times the plain one", ours / plain);
}

/// Returns how long something takes.
pub(crate) fn timed<T>(act: impl FnOnce() -> T) -> Duration {
    let began = Instant::now();
    black_box(act());
    began.elapsed()
}
