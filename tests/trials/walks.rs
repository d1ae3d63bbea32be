//! Operations walked through the pure core from first step to last.

use knuckle::standing::offers;

use crate::memory::{Bench, at, sample_cards};

fn bench() -> Bench {
    Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"))
}

/// Walks the route of a figure in its order, each operation on the first target that is
/// offered, with what its gates ask for before it.
fn walk_route(figure: &str) -> Bench {
    let mut bench = bench();
    let route = bench.cards.figures[figure].route.clone();
    for stop in route {
        let target = offers(bench.house(), figure)
            .into_iter()
            .find(|offer| offer.work.operation == stop.operation)
            .unwrap_or_else(|| panic!("{figure} never offers {}", stop.operation))
            .work
            .target;
        let done = bench
            .house()
            .figure(figure)
            .and_then(|f| f.finished(&stop.operation, target.as_deref()));
        if done.is_none() {
            bench.walk(figure, &stop.operation, target.as_deref(), &mut |_| None);
        }
    }
    bench
}

#[test]
fn the_route_of_the_hare_can_be_walked_to_its_end() {
    walk_route("hare");
}

#[test]
fn the_route_of_the_heron_can_be_walked_to_its_end() {
    walk_route("heron");
}

#[test]
fn the_route_of_the_bandmaster_can_be_walked_to_its_end() {
    walk_route("bandmaster");
}

#[test]
fn the_route_of_the_lantern_woman_can_be_walked_to_its_end() {
    walk_route("lantern-woman");
}

#[test]
fn the_route_of_the_lion_boss_can_be_walked_to_its_end() {
    walk_route("lion-boss");
}
