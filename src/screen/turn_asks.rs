//! What is asked after a refusal that a hand may answer.

use crate::deed::Value;
use crate::shop::Stop;
use crate::standing::{AtStep, Intent};

use super::field::Field;
use super::turn::Turn;
use super::view::{Make, Over, Question, Then, Write};

impl Turn<'_> {
    /// An operation that shares its air with another job is begun with a reason, or not at all.
    pub(super) fn ask_why_despite(&mut self, intent: &Intent, stop: &Stop) {
        let (
            Intent::Begin {
                figure,
                operation,
                target,
            },
            Stop::Refused(refusal),
        ) = (intent, stop)
        else {
            return;
        };
        if refusal.ask_again {
            self.view.over = Over::Write(Write {
                title: format!("{}: why begin all the same?", refusal.why),
                field: Field::default(),
                make: Make::Despite(figure.clone(), operation.clone(), target.clone()),
            });
        }
    }

    /// A lot with a warning is taken on a yes: the same key twice may be one that bounced.
    /// Says whether it was asked.
    pub(super) fn ask_whether(&mut self, intent: &Intent, stop: &Stop) -> bool {
        let (
            Intent::Work {
                figure,
                work,
                what:
                    AtStep::Enter {
                        value: value @ Value::Text(lot),
                        ..
                    },
            },
            Stop::Refused(refusal),
        ) = (intent, stop)
        else {
            return false;
        };
        if refusal.ask_again {
            let yes = Intent::Work {
                figure: figure.clone(),
                work: work.clone(),
                what: AtStep::Enter {
                    value: value.clone(),
                    again: true,
                },
            };
            self.view.over = Over::Question(Question {
                title: format!("lot {lot}"),
                words: vec![refusal.why.clone()],
                yes: Then::Do(Box::new(yes)),
                no: Then::Close,
            });
        }
        refusal.ask_again
    }
}
