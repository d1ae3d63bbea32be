//! What the ruler of the night says of a panel whose size could be laid: for whoever asks what to
//! do next.

use chrono::{DateTime, FixedOffset};

use super::hours::noon_after;
use super::lots::LEAFING;
use super::night::{LaySpan, NightAsk, night};
use super::ruler::Certainty;
use crate::deed::Work;
use crate::standing::House;

/// Size that could be laid on a panel today.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct LayTonight {
    /// From when on it is laid, now or later; `None` where no time works.
    pub(super) first: Option<DateTime<FixedOffset>>,
    /// Until when the laying may begin; `None` where no time works.
    pub(super) last: Option<DateTime<FixedOffset>>,
    /// What the ruler says, most important first.
    pub(super) words: Vec<String>,
}

/// Returns what the ruler says of the panel of a work; `None` of any other work, and of a panel
/// on which size lies already: its clocks speak for it.
pub(super) fn lay_tonight(
    house: House<'_>,
    (figure, work): (&str, &Work),
    now: DateTime<FixedOffset>,
) -> Option<LayTonight> {
    let panel = work.target.clone().filter(|_| work.operation == LEAFING)?;
    let standing = house.figure(figure);
    let clocks = standing.into_iter().flat_map(|it| &it.clocks);
    if clocks.into_iter().any(|clock| clock.work == *work) {
        return None;
    }
    let ask = NightAsk {
        figure,
        panels: &[panel],
        size: None,
        gilders: 1,
        leaves_per_h: None,
        tomorrow: *noon_after(now).offset(),
    };
    let page = night(house, &ask, now);
    let (spans, how) = if page.works.is_empty() {
        (&page.likely, "likely only: chip and knuckle decide")
    } else {
        (&page.works, "surely")
    };
    let hour = |at: DateTime<FixedOffset>| at.format("%a %H:%M").to_string();
    let left: Vec<&LaySpan> = spans.iter().filter(|span| now <= span.to).collect();
    let (Some(first), Some(end)) = (left.first(), left.last()) else {
        let why = page.why_empty.or_else(|| {
            let out = page.left_out.first();
            out.map(|(panel, why)| format!("{panel}: {why}"))
        });
        let why = why.unwrap_or_else(|| "the last hour for it is past".to_owned());
        return Some(LayTonight {
            first: None,
            last: None,
            words: vec![format!("no hour of tonight to lay its size: {why}")],
        });
    };
    let mut words = vec![format!(
        "size is laid from {} to {} ({how})",
        hour(first.from.max(now)),
        hour(end.to)
    )];
    words.extend(page.not_now);
    if let (Some(test), Some(leaf)) = (page.first_test, page.order.first()) {
        let sure = if page.certainty == Some(Certainty::Sure) {
            ""
        } else {
            " likely"
        };
        let opens = if page.hand_at_test {
            ", with the doors shut"
        } else {
            ""
        };
        let best = page.best.map_or_else(String::new, |best| {
            format!(" of size laid at {}, which is best", hour(best))
        });
        words.push(format!(
            "hands after it{best}: first test {}{opens}, leaf{sure} {} to {}",
            hour(test),
            hour(leaf.start),
            hour(leaf.end)
        ));
    }
    Some(LayTonight {
        first: Some(first.from.max(now)),
        last: Some(end.to),
        words,
    })
}
