//! Reads what an operation usually takes.

use super::super::{Each, Needs, StepHours, StepWait, WorkHours};
use super::fields::Fields;
use super::node::Node;
use super::within::{HOURS, HOURS_OR_NONE};

pub(super) fn work_hours(node: &Node<'_>) -> WorkHours {
    node.fields(|f| {
        let [early, likely, late] = bounds(f);
        WorkHours {
            early,
            likely,
            late,
            each: f.maybe_word("each").unwrap_or(Each::Figure),
            source: f.line("source", 160),
            steps: f.each("steps", step),
            waits: f.each("waits", wait),
        }
    })
}

fn step(node: &Node<'_>) -> StepHours {
    node.fields(|f| {
        let step = f.line("step", 40);
        let [early, likely, late] = bounds(f);
        StepHours {
            step,
            early,
            likely,
            late,
        }
    })
}

fn wait(node: &Node<'_>) -> StepWait {
    node.fields(|f| {
        let step = f.line("step", 40);
        let early = f.number("early", &HOURS_OR_NONE);
        let (likely, late) = (f.number("likely", &HOURS), f.number("late", &HOURS));
        in_order(f.block(), [early, likely, late]);
        StepWait {
            step,
            early,
            likely,
            late,
            needs: f.word("needs", Needs::Clock),
        }
    })
}

fn bounds(f: &mut Fields<'_>) -> [f64; 3] {
    let bounds = ["early", "likely", "late"].map(|name| f.number(name, &HOURS));
    in_order(f.block(), bounds);
    bounds
}

/// A number that could not be read stands as nothing and was noted by itself.
fn in_order(block: &Node<'_>, [early, likely, late]: [f64; 3]) {
    let read = 0.0 < likely && 0.0 < late;
    if read && (likely < early || late < likely) {
        let hint = "write the shortest as `early`, the longest as `late`".to_owned();
        block.slip("the hours are not in order", Some(hint));
    }
}

/// Notes hours of steps that are not there.
pub(super) fn steps_there(list: &Node<'_>) {
    let Some(hours) = list.at("hours") else {
        return;
    };
    let mut ids = Vec::new();
    for step in list.all("steps") {
        let between = step.at("coats").map(|coats| coats.all("between"));
        let all = std::iter::once(step).chain(between.into_iter().flatten());
        ids.extend(all.filter_map(|step| step.at("id").map(|id| id.written().to_owned())));
    }
    for part in ["steps", "waits"] {
        for entry in hours.all(part) {
            if let Some(step) = entry.at("step") {
                step.known_as("step", ids.iter().map(String::as_str));
            }
        }
    }
}
