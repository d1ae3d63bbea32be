//! Operations walked through the pure core from first step to last.

use knuckle::standing::AtStep;

use crate::memory::{Bench, at, sample_cards};

fn bench() -> Bench {
    Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"))
}

#[test]
fn every_operation_can_be_walked_to_its_end_on_its_first_target() {
    let cards = sample_cards();
    for (figure, card) in &cards.figures {
        for stop in &card.route {
            if !cards.checklists.contains_key(&stop.operation) {
                continue;
            }
            let mut bench = bench();
            let target = knuckle::standing::offers(bench.house(), figure)
                .into_iter()
                .find(|offer| offer.work.operation == stop.operation)
                .unwrap_or_else(|| panic!("{figure} never offers {}", stop.operation))
                .work
                .target;
            let nothing: &mut dyn FnMut(&knuckle::standing::Prompt) -> Option<AtStep> =
                &mut |_| None;
            bench.walk(figure, &stop.operation, target.as_deref(), nothing);
        }
    }
}
