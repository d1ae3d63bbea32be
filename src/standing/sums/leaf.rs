//! Leaf for a panel: leaves and books with lap, waste and relief, and whether one pair of hands
//! gets round while the size holds.

use super::{Here, StepSum, Weight, hour, short};
use crate::card::{ClockName, Material, MaterialKind, Measure, Panel, Scope, Step};
use crate::reckon::leaf::{LEAVES_PER_BOOK, USUAL_LAP};
use crate::reckon::{
    Ground, Hours, LeafJob, LeafPlace, Millimetres, Percent, SquareMetres, count_leaves, counted,
    largest_panel, laying_time,
};
use crate::standing::air;
use crate::standing::clock::{ClockState, view};
use crate::standing::size::SizeSheet;
use crate::standing::starts;

/// Lap over broken carving, mm: the wide end of 5–6 (*common practice*).
const CARVED_LAP_MM: f64 = 6.0;

/// Relief from which carving counts as broken (*common practice*: deep relief is 1.6).
const BROKEN_RELIEF: f64 = 1.6;

/// Up to these a panel is laid at the pace of flats: relief, and waste in percent (*common
/// practice*: low relief 1.15, flats waste 10 %).
const FLATS: (f64, f64) = (1.15, 10.0);

/// Returns what is to be covered on a panel with leaf of this side, mm, and at whose pace: bench
/// and night reckon with the same.
pub fn leaf_job(panel: &Panel, leaf_mm: f64) -> (LeafJob, Ground) {
    let (low, little) = FLATS;
    let is_carved = low < panel.relief;
    let job = LeafJob {
        area: SquareMetres(panel.area_m2),
        leaf: Millimetres(leaf_mm),
        lap: if BROKEN_RELIEF <= panel.relief {
            Millimetres(CARVED_LAP_MM)
        } else {
            USUAL_LAP
        },
        waste: Percent(panel.waste_percent),
        relief: panel.relief,
    };
    let ground = if is_carved || little < panel.waste_percent {
        Ground::Ornament
    } else {
        Ground::Flats
    };
    (job, ground)
}

/// Returns how much leaf a panel takes, and the pace against its window, from the choice of the
/// size until the leaf is counted.
pub(super) fn at(here: &Here<'_>) -> Vec<StepSum> {
    let is_leaf = here.list.scope == Scope::Panel;
    let sized = |step: &Step| {
        let mut lots = step.record.iter().filter_map(|record| record.lot);
        lots.any(|kind| kind == MaterialKind::Size)
    };
    let counted = |step: &Step| {
        let mut measures = step.record.iter().filter_map(|record| record.measure);
        measures.any(|measure| measure == Measure::Leaves)
    };
    if !is_leaf || !here.is_between(sized, counted) {
        return Vec::new();
    }
    let Some(panel) = panel(here) else {
        return Vec::new();
    };
    let (job, ground) = match job(here, panel) {
        Ok(found) => found,
        Err(lacking) => return vec![StepSum::missing("leaf", lacking)],
    };
    match amount(here, panel, &job) {
        Ok((amount, leaves)) => {
            let mut sums = vec![amount];
            sums.extend(pace(here, (&job, ground), leaves));
            sums
        }
        Err(refusal) => vec![StepSum::missing("leaf", refusal)],
    }
}

fn panel<'a>(here: &Here<'a>) -> Option<&'a Panel> {
    let target = here.case.work.target.as_deref()?;
    let card = here.case.house.cards.figures.get(here.case.figure)?;
    card.panels.iter().find(|panel| panel.id == target)
}

fn leaf_card<'a>(here: &Here<'a>, panel: &Panel) -> Option<&'a Material> {
    here.case.house.cards.materials.get(&panel.leaf)
}

fn job(here: &Here<'_>, panel: &Panel) -> Result<(LeafJob, Ground), String> {
    let place = format!("figures/{}/figure.yaml", here.case.figure);
    if panel.area_m2 <= 0.0 {
        return Err(format!(
            "leaves are not known: measure the panel flat and put `area_m2` at `{}` in {place}",
            panel.id
        ));
    }
    let leaf_mm = leaf_card(here, panel)
        .and_then(|card| card.leaf_mm)
        .ok_or_else(|| {
            format!(
                "leaves are not known: put `leaf_mm` on materials/{}.yaml",
                panel.leaf
            )
        })?;
    Ok(leaf_job(panel, leaf_mm))
}

fn amount(here: &Here<'_>, panel: &Panel, job: &LeafJob) -> Result<(StepSum, u32), String> {
    let count = count_leaves(job).map_err(|refusal| refusal.to_string())?;
    let leaves = u32::try_from(count.leaves).unwrap_or(u32::MAX);
    let book = leaf_card(here, panel).and_then(|card| card.leaves_per_book);
    let per_book = book.map_or(LEAVES_PER_BOOK, f64::from);
    let books = (f64::from(leaves) / per_book).ceil();
    let line = format!(
        "{} of {} mm: {} and one to spare of the same lot",
        counted(leaves, "leaf"),
        short(job.leaf.0),
        counted(books, "book")
    );
    let sum = StepSum::new("leaf", line)
        .more(format!(
            "{} m² measured flat, relief {}, lap {} mm, waste {} %, {per_book:.0} leaves to the book",
            short(job.area.0),
            short(job.relief),
            short(job.lap.0),
            short(job.waste.0)
        ))
        .number("leaf_leaves", f64::from(leaves))
        .number("leaf_books", books)
        .number("leaf_lap_mm", job.lap.0)
        .number("leaf_waste_percent", job.waste.0);
    Ok((sum, leaves))
}

/// The hours in which leaf takes, and since when they count.
struct Window {
    hours: f64,
    words: String,
}

fn pace(here: &Here<'_>, (job, ground): (&LeafJob, Ground), leaves: u32) -> Option<StepSum> {
    let laying = laying_time(leaves, ground);
    let takes = laying.wait_until().0;
    let window = match laid(here) {
        Some(window) => window,
        None => if_laid_now(here)?,
    };
    let fits = takes <= window.hours;
    let most = largest_panel(Hours(window.hours.max(0.0)), ground);
    // Flat square metres that so many leaves cover.
    let seen = (job.leaf.0 - job.lap.0).powi(2) / 1e6 / (1.0 + job.waste.0 / 100.0);
    let most_m2 = f64::from(u32::try_from(most).unwrap_or(u32::MAX)) * seen / job.relief;
    let tail = if fits {
        "it fits".to_owned()
    } else if most == 0 {
        "no sure time to lay it: Night (t) plans it, the knuckle decides".to_owned()
    } else {
        format!(
            "lay {} m² of it at most, {}",
            short((most_m2 * 1000.0).floor() / 1000.0),
            counted(most, "leaf")
        )
    };
    let line = format!("up to {takes:.1} h to lay, {}: {tail}", window.words);
    let weight = if fits { Weight::Plain } else { Weight::Mind };
    Some(
        StepSum::new("pace", line)
            .minded(weight)
            .more(format!("{} (common practice)", laying.because()))
            .more("the window runs from the last hollow ready to the first edge dead, both on their safe side")
            .number("pace_laying_late_h", takes)
            .number("pace_window_h", window.hours)
            .number("pace_most_leaves", f64::from(u32::try_from(most).unwrap_or(u32::MAX)))
            .number("pace_most_m2", most_m2),
    )
}

/// The window of size that lies on the panel.
fn laid(here: &Here<'_>) -> Option<Window> {
    let case = here.case;
    let clock = |name: ClockName| {
        let clocks = &case.standing.clocks;
        let clock = clocks.iter().rfind(|clock| {
            clock.clock == name && clock.ended.is_none() && clock.work == *case.work
        })?;
        Some(view(case.house, case.figure, clock, case.now))
    };
    let (edge, hollow) = (clock(ClockName::TackEdge)?, clock(ClockName::TackHollow)?);
    let closes = edge.closes?;
    if matches!(edge.state, ClockState::Over | ClockState::Unsure) {
        return Some(Window {
            hours: 0.0,
            words: "the edges may be dead".to_owned(),
        });
    }
    let opens = hollow.opens.unwrap_or(closes).max(case.now);
    let hours = air::hours_between(opens, closes).0;
    let words = if 0.0 < hours {
        format!("{hours:.1} h from {} to {}", hour(opens), hour(closes))
    } else {
        "edges may be dead before the hollows are ready".to_owned()
    };
    Some(Window { hours, words })
}

/// The window that size would have if it were laid now, over the air that may come.
fn if_laid_now(here: &Here<'_>) -> Option<Window> {
    let case = here.case;
    let size = starts::in_use(case, here.job, MaterialKind::Size)?;
    let (class, ready, dead) = (size.size_class?, size.tack_h?, size.dead_h?);
    let room = case.house.room_of(case.figure);
    let traces = air::traces(case.house, room, (case.now, case.now), ready.at_c)?;
    let damp = air::damp(case.house, room, (case.now, case.now));
    let sheet = SizeSheet::new(class, &ready, &dead);
    let over = (&traces, damp);
    let start = Hours(0.0);
    let first = sheet.hottest(LeafPlace::Edge, over, start).ok()?;
    let last = sheet.latest(LeafPlace::Hollow, over, start).ok()?;
    let opens = last.ready.wait_until().0;
    let hours = first.dead.do_before().0 - opens;
    let words = if 0.0 < hours {
        let from = air::after(case.now, opens);
        format!("{hours:.1} h of leaf time from {} if laid now", hour(from))
    } else {
        "laid now, edges may be dead before the hollows are ready".to_owned()
    };
    Some(Window { hours, words })
}
