//! Numbers whose worst hundredth matters, not their mean.

use std::time::Duration;

/// Prints how long something took at the middle, at the 99th of a hundred and at worst.
pub(crate) fn tail(name: &str, taken: &[Duration]) {
    let mut sorted = taken.to_vec();
    sorted.sort();
    let at = |percent: usize| sorted[(sorted.len() - 1) * percent / 100];
    println!(
        "{name:<48} p50 {:>9.3?}  p99 {:>9.3?}  worst {:>9.3?}  of {}",
        at(50),
        at(99),
        at(100),
        sorted.len()
    );
}
