//! Closing the day: what the round looks at, what it finds open, and what ends with the day.

use std::collections::BTreeMap;

use super::decide::{at_shop, may_sign, person};
use super::facts::Clock;
use super::{Book, ClockView, House, Moment, Refusal, Written, clock};
use crate::card::ClockName;
use crate::deed::{ClockEnded, DayClosed, Deed};

/// What is looked at before the day is closed (*common practice*; oily rags: 29 CFR 1910.106).
pub const CLOSING: [&str; 6] = [
    "left-over cups cold",
    "worn gloves and cartridges binned",
    "oily rags wet in the lidded can",
    "lids on, solvents away",
    "heating and windows as tonight's work needs",
    "clamps and leaf left safe",
];

/// The word with which the closing round ends the clocks of gloves and cartridges.
const BINNED: &str = "binned at the closing round";

/// The closing round is walked whole, and what it finds open is signed for or seen to.
pub(super) fn close(
    house: House<'_>,
    moment: &Moment,
    checked: &[String],
    first_in: Option<&str>,
) -> Result<Vec<Written>, Refusal> {
    if house.standing.shop.day.is_none() {
        return Err(Refusal::new("the day is not open"));
    }
    if let Some(missing) = CLOSING
        .iter()
        .find(|item| !checked.iter().any(|seen| seen == *item))
    {
        return Err(Refusal::new(format!(
            "the day is not closed before this was looked at: {missing}"
        )));
    }
    let open = left_open(house, moment);
    if let (Some(first), false) = (open.first(), may_sign(house, &moment.by)) {
        return Err(Refusal::new(format!("not closed: {first}"))
            .remedy("see to it, or let somebody close who may sign for it"));
    }
    if let Some(id) = first_in {
        person(house, id)?;
    }
    let mut written = binned(house);
    written.extend(at_shop(Deed::DayClosed(DayClosed {
        checked: checked.to_vec(),
        left_open: open,
        first_in: first_in.map(str::to_owned),
        books: house.books(),
        seals: BTreeMap::new(),
    })));
    Ok(written)
}

/// What was worn against solvents is of one day: the closing round says that it is binned, and
/// its clocks end with it.
fn binned(house: House<'_>) -> Vec<Written> {
    let figures = house.standing.figures.iter();
    let worn = figures.flat_map(|(id, standing)| {
        let worn = |it: &&Clock| matches!(it.clock, ClockName::Glove | ClockName::Cartridge);
        let clocks = standing.clocks.iter().filter(worn);
        let worn = clocks.filter(|it| it.ended.is_none());
        worn.map(move |clock| (id, clock))
    });
    worn.map(|(figure, clock)| Written {
        book: Book::Figure(figure.clone()),
        deed: Deed::ClockEnded(ClockEnded {
            clock: clock.id.clone(),
            how: BINNED.to_owned(),
            starts: Vec::new(),
        }),
    })
    .collect()
}

/// What a closing round finds open: cups that nobody reported cold, gloves still on, hold
/// points and questions are not of this list, they wait for another day without harm.
fn left_open(house: House<'_>, moment: &Moment) -> Vec<String> {
    let views = clock::clock_views(house, moment.at).into_iter();
    let open = views.filter_map(|view| Some((not_reported(&view)?, view.figure)));
    open.map(|(words, figure)| format!("{figure}: {words}"))
        .collect()
}

/// Returns what a closing round says of a clock that it finds open; `None` of all others.
pub fn not_reported(view: &ClockView) -> Option<String> {
    let what = match view.clock {
        ClockName::Cup => "cup",
        ClockName::Leftover => "left-over cup",
        ClockName::Purge => "purge",
        ClockName::Dwell => "remover",
        _ => return None,
    };
    let (since, about) = (view.started.format("%H:%M"), &view.about);
    Some(format!("{what} of {since}, {about}, not reported"))
}
