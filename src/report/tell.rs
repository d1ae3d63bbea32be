//! One sentence for each deed, in the craft's words; the day's page and the treatment report
//! are made of them. Who and when stand beside the sentence, not in it.

use chrono::{DateTime, FixedOffset};

use super::harmless::harmless;
use super::shelf::taken_on_a_yes;
use super::shown::{Shown, clock_itself, number};
use super::study::of_the_study;
use crate::card::{Cards, ClockName, Figure, GateKind, Measure, Units};
use crate::deed::{
    CoatLaid, Deed, Forecasted, Line, Mixed, Pouring, Recorded, TickKind, Value, Work,
};
use crate::reckon::{counted, day_beside};

/// A journal line as a day's page shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct DayLine {
    /// Line number in its journal.
    pub n: u64,
    /// When.
    pub at: DateTime<FixedOffset>,
    /// Figure id; empty for the shop's own journal.
    pub figure: String,
    /// Who.
    pub by: String,
    /// The sentence.
    pub text: String,
    /// What makes it stand out.
    pub mark: DayMark,
}

/// What makes a line stand out on a day's page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum DayMark {
    /// Nothing.
    #[default]
    Plain,
    /// An operation was walked to its end.
    Finished,
    /// A hold point was signed.
    Signed,
    /// Something was done otherwise, or refused.
    Deviation,
    /// A gate was overruled.
    Overrule,
    /// A question from the bench.
    Question,
    /// It was struck later.
    Struck,
    /// A deed of a newer version.
    Unknown,
}

/// Returns what makes a line stand out; that it was struck only its whole book can tell.
pub fn mark(line: &Line) -> DayMark {
    match &line.deed {
        Deed::Finished(_) => DayMark::Finished,
        Deed::Signed(deed) if deed.accepted => DayMark::Signed,
        Deed::Signed(_) | Deed::Deviated(_) | Deed::SentBack(_) | Deed::Discarded(_) => {
            DayMark::Deviation
        }
        Deed::ClockJumped(_) => DayMark::Deviation,
        Deed::Overruled(_) => DayMark::Overrule,
        Deed::Asked(_) => DayMark::Question,
        Deed::Unknown(_) => DayMark::Unknown,
        _ => DayMark::Plain,
    }
}

/// Returns a line as one sentence without its full stop, in the units that the shop shows.
/// Signs that would act on a terminal are shown instead; see [`harmless`].
pub fn tell(line: &Line, cards: &Cards) -> String {
    let later = line.entered_later.map_or_else(String::new, |typed| {
        let day = day_beside(typed.date_naive(), line.at.date_naive());
        format!(" (entered later, {day} {})", typed.format("%H:%M"))
    });
    let strange = if line.strange.is_empty() {
        String::new()
    } else {
        let fields = line.strange.join(", ");
        format!(" (with fields of a newer version: {fields})")
    };
    let place = place(&line.deed).map_or_else(String::new, |target| format!(" ({target})"));
    let said = sentence(line, cards, None);
    harmless(&format!("{said}{place}{later}{strange}")).into_owned()
}

/// The target of the work, for the deeds whose sentence does not say it.
fn place(deed: &Deed) -> Option<&str> {
    let says_it = matches!(
        deed,
        Deed::Begun(_) | Deed::Finished(_) | Deed::SentBack(_) | Deed::Mixed(_)
    );
    let work = work_of(deed).filter(|_| !says_it);
    work.and_then(|work| work.target.as_deref())
}

/// Returns where in the work something happened, for the deeds that belong to a work.
pub(super) fn work_of(deed: &Deed) -> Option<&Work> {
    let work = match deed {
        Deed::Begun(deed) => &deed.work,
        Deed::Finished(deed) => &deed.work,
        Deed::SentBack(deed) => &deed.work,
        Deed::Ticked(deed) => &deed.work,
        Deed::Recorded(deed) => &deed.work,
        Deed::Done(deed) => &deed.work,
        Deed::Reread(deed) => &deed.work,
        Deed::Resumed(deed) => &deed.work,
        Deed::Planned(deed) => &deed.work,
        Deed::Poured(deed) => &deed.work,
        Deed::Mixed(deed) => &deed.work,
        Deed::Discarded(deed) => &deed.work,
        Deed::Tested(deed) => &deed.work,
        Deed::GateSaid(deed) => &deed.work,
        Deed::Overruled(deed) => &deed.work,
        Deed::Deviated(deed) => &deed.work,
        Deed::Signed(deed) => &deed.work,
        Deed::ShownAgain(deed) => &deed.work,
        _ => return None,
    };
    Some(work)
}

/// Returns the step at which something was done, by its id in the walk.
pub(super) fn step_of(deed: &Deed) -> Option<&str> {
    let step = match deed {
        Deed::SentBack(deed) => &deed.step,
        Deed::Ticked(deed) => &deed.step,
        Deed::Recorded(deed) => &deed.step,
        Deed::Done(deed) => &deed.step,
        Deed::Reread(deed) => &deed.step,
        Deed::Resumed(deed) => &deed.step,
        Deed::Planned(deed) => &deed.step,
        Deed::Poured(deed) => &deed.step,
        Deed::Mixed(deed) => &deed.step,
        Deed::Discarded(deed) => &deed.step,
        Deed::Tested(deed) => &deed.step,
        Deed::GateSaid(deed) => &deed.step,
        Deed::Overruled(deed) => &deed.step,
        Deed::Deviated(deed) => &deed.step,
        Deed::Signed(deed) => &deed.step,
        Deed::ShownAgain(deed) => &deed.step,
        _ => return None,
    };
    Some(step)
}

/// Returns the deed of a line as one sentence, without its place and without what was said of the
/// line. With the card of the figure its zones are called by their names, else by their ids.
pub(super) fn sentence(line: &Line, cards: &Cards, figure: Option<&Figure>) -> String {
    let deed = &line.deed;
    match deed {
        Deed::DayOpened(_)
        | Deed::DayClosed(_)
        | Deed::Air(_)
        | Deed::Fan(_)
        | Deed::LotOpened(_)
        | Deed::LotDecanted(_)
        | Deed::LotTrusted(_)
        | Deed::Acknowledged(_)
        | Deed::ClockJumped(_)
        | Deed::Picked(_)
        | Deed::Forecasted(_) => of_the_shop(deed, cards),
        Deed::Planned(_) | Deed::Poured(_) | Deed::Mixed(_) | Deed::Discarded(_) => {
            of_a_cup(deed, cards)
        }
        Deed::GateSaid(_)
        | Deed::Overruled(_)
        | Deed::Deviated(_)
        | Deed::Answered(_)
        | Deed::Signed(_)
        | Deed::ShownAgain(_)
        | Deed::PutRight(_) => of_a_gate(deed, cards),
        Deed::Jotted(deed) => format!("noted: {}", deed.text),
        Deed::Asked(deed) => format!("asked: {}", deed.text),
        Deed::PhotoKept(_) | Deed::LayerRead(_) | Deed::LayersTied(_) | Deed::ChipRead(_) => {
            of_the_study(deed, figure.unwrap_or(&Figure::default()))
        }
        Deed::Recorded(deed) => recorded(deed, line.at, cards),
        Deed::Struck(deed) => format!("struck line {}: {}", deed.line, deed.why),
        Deed::Unknown(deed) => format!("a deed of a newer version: {}", deed.tag),
        Deed::ClockEnded(deed) => format!("ended {}: {}", clock_words(&deed.clock), deed.how),
        Deed::CupRead(deed) => format!(
            "{}: its wall at {} °C",
            clock_words(&deed.clock),
            deed.wall_c
        ),
        Deed::AlarmAnswered(deed) => format!(
            "answered the alarm of {} after {}",
            rung(&deed.clock, deed.mark_percent),
            span_words(deed.after_s)
        ),
        Deed::AlarmPutOff(deed) => format!(
            "put off the alarm of {} until {}",
            rung(&deed.clock, deed.mark_percent),
            deed.until.format("%H:%M")
        ),
        _ => of_the_walk(deed, cards),
    }
}

/// Which clock, by the name of its thing and the line that began it: `gloves (line 12)`.
fn clock_words(clock: &str) -> String {
    let mut parts = clock.splitn(3, '.');
    let (line, name) = (
        parts.next().unwrap_or_default(),
        parts.next().unwrap_or_default(),
    );
    match serde_json::from_value::<ClockName>(name.into()) {
        Ok(name) => format!("{} (line {line})", clock_itself(name)),
        Err(_a_newer_one) => format!("clock {clock}"),
    }
}

/// What rang: the clock, and how much of its time was gone.
fn rung(clock: &str, percent: u32) -> String {
    let gone = match percent {
        100 => "its time over".to_owned(),
        // Of a window the first mark is its opening.
        0 => "its window open".to_owned(),
        percent => format!("{percent} % of its time gone"),
    };
    format!("{}, {gone},", clock_words(clock))
}

/// A short span: seconds, from two minutes on whole minutes.
fn span_words(seconds: f64) -> String {
    if seconds < 119.5 {
        format!("{seconds:.0} s")
    } else {
        format!("{:.0} min", seconds / 60.0)
    }
}

fn of_the_shop(deed: &Deed, cards: &Cards) -> String {
    match deed {
        Deed::DayOpened(deed) => format!("opened the day; in: {}", deed.present.join(", ")),
        Deed::DayClosed(deed) if deed.left_open.is_empty() => {
            "closed the day, no cup, remover or purge left open".to_owned()
        }
        Deed::DayClosed(deed) => {
            format!("closed the day; left open: {}", deed.left_open.join(", "))
        }
        Deed::Air(deed) => format!(
            "air of {}: {}, {} % ({})",
            room(&deed.room, cards),
            Shown(cards.shop.units).temperature(deed.temp_c),
            number(deed.humidity_percent, 1),
            deed.source
        ),
        Deed::Fan(deed) => {
            let turned = if deed.on { "on" } else { "off" };
            format!("extraction of {} {turned}", room(&deed.room, cards))
        }
        Deed::LotOpened(deed) => {
            format!(
                "opened lot {} of {}",
                deed.lot,
                material(&deed.material, cards)
            )
        }
        Deed::LotTrusted(deed) => format!(
            "lot {} of {}: its own times may replace its sheet",
            deed.lot,
            material(&deed.material, cards)
        ),
        Deed::LotDecanted(deed) => format!(
            "decanted {} of {} into {}",
            deed.lot,
            material(&deed.material, cards),
            deed.into
        ),
        Deed::Acknowledged(_) => "read the sentence that stands above every card".to_owned(),
        Deed::ClockJumped(deed) => {
            format!(
                "the machine's clock was {} by {:.0} s",
                deed.how,
                deed.by_s.abs()
            )
        }
        Deed::Picked(deed) => format!(
            "picked {} of {}, {} of {} offered",
            work_name(&deed.work, cards),
            deed.figure,
            deed.place,
            deed.offered.len()
        ),
        Deed::Forecasted(deed) => forecast_words(deed),
        other => other.tag(),
    }
}

/// The late end first: that is the one to promise.
fn forecast_words(deed: &Forecasted) -> String {
    let rows = deed.rows.iter().map(|row| {
        let day = row.ninety.map_or_else(
            || "no date".to_owned(),
            |day| day.format("%-d %b %Y").to_string(),
        );
        format!("{} {day}", row.figure)
    });
    let rows: Vec<String> = rows.collect();
    format!(
        "forecast, done by then in nine of ten runs: {}",
        rows.join(", ")
    )
}

fn of_the_walk(deed: &Deed, cards: &Cards) -> String {
    match deed {
        Deed::Begun(deed) => format!("began {}", work_name(&deed.work, cards)),
        Deed::Finished(deed) => format!("finished {}", work_name(&deed.work, cards)),
        Deed::SentBack(deed) => format!(
            "sent {} back to {}: {}",
            work_name(&deed.work, cards),
            operation(&deed.back_to, cards),
            deed.why
        ),
        Deed::Reread(deed) => {
            format!(
                "began to take the readings again: {}",
                step(&deed.work, &deed.step, cards)
            )
        }
        Deed::Resumed(deed) => {
            format!(
                "took up again, left half done: {}",
                step(&deed.work, &deed.step, cards)
            )
        }
        Deed::Moved(deed) => format!("moved to {}", room(&deed.room, cards)),
        Deed::Ticked(deed) => match deed.kind {
            TickKind::Caution => format!("read the caution: {}", deed.said),
            TickKind::Confirm => format!("looked and confirmed: {}", deed.said),
        },
        Deed::Done(deed) => {
            let done = step(&deed.work, &deed.step, cards);
            match &deed.coat {
                Some(coat) => format!("{done}: {}", coat_words(coat, cards)),
                None => format!("done: {done}"),
            }
        }
        Deed::Tested(deed) if deed.place.is_empty() => format!("test says {}", deed.word),
        Deed::Tested(deed) => format!("test at {} says {}", deed.place, deed.word),
        other => other.tag(),
    }
}

fn recorded(deed: &Recorded, at: DateTime<FixedOffset>, cards: &Cards) -> String {
    let place = deed
        .station
        .as_ref()
        .map(|station| format!(" at {station}"))
        .unwrap_or_default();
    let value = match &deed.value {
        Value::Number(number) => {
            let unit = deed.measure.map(Measure::unit).unwrap_or_default();
            Shown(cards.shop.units).of_unit(*number, unit)
        }
        Value::Text(text) => text.clone(),
    };
    let again = match (&deed.value, deed.asked_again) {
        (_, false) => String::new(),
        // Of words only a lot is asked twice.
        (Value::Text(lot), true) => format!(", {}", taken_on_a_yes(lot, at, cards)),
        (Value::Number(_), true) => ", outside the usual and confirmed".to_owned(),
    };
    format!("{}{place}: {}{again}", deed.record, value)
}

pub(super) fn coat_words(coat: &CoatLaid, cards: &Cards) -> String {
    let kind = if coat.stripe { "stripe coat" } else { "coat" };
    format!(
        "{kind} {} of {}, {}",
        coat.number,
        coat.of,
        material(&coat.material, cards)
    )
}

fn of_a_cup(deed: &Deed, cards: &Cards) -> String {
    match deed {
        Deed::Planned(deed) => format!(
            "planned {} of {}: {} each",
            counted(deed.cups, "cup"),
            plain(&deed.material),
            grams(deed.a_g, deed.b_g, cards)
        ),
        Deed::Poured(deed) => {
            let part = match deed.part {
                Pouring::Resin => "resin",
                Pouring::Hardener => "hardener",
            };
            let shown = Shown(cards.shop.units);
            let (got, asked) = (shown.mass(deed.got_g), shown.mass(deed.asked_g));
            format!("poured {part}: {got}, asked {asked}")
        }
        Deed::Mixed(deed) => mixed(deed, cards),
        Deed::Discarded(deed) => format!("threw the cup away: {}", deed.why),
        other => other.tag(),
    }
}

fn mixed(deed: &Mixed, cards: &Cards) -> String {
    let [a, b] = &deed.lots;
    let target = deed.work.target.as_ref();
    format!(
        "mixed {} of {}{} (off {:+.1} %), lots {a} and {b}",
        grams(deed.a_g, deed.b_g, cards),
        plain(&deed.material),
        target.map_or_else(String::new, |target| format!(" for {target}")),
        deed.off_percent
    )
}

/// Grams of resin and hardener, `68.9 + 31.0 g`: as many digits for one as for the other.
fn grams(a_g: f64, b_g: f64, cards: &Cards) -> String {
    match cards.shop.units {
        Units::Metric => format!("{a_g:.1} + {b_g:.1} g"),
        Units::Inch => {
            let shown = Shown(cards.shop.units);
            format!("{} + {}", shown.mass(a_g), shown.mass(b_g))
        }
    }
}

/// A material by its short name, which is a person's word for it: `medium epoxy`.
fn plain(id: &str) -> String {
    id.replace('-', " ")
}

fn of_a_gate(deed: &Deed, cards: &Cards) -> String {
    match deed {
        Deed::GateSaid(deed) => format!("vouched for {}: {}", gate_name(deed.gate), deed.said),
        Deed::Overruled(deed) => {
            let second = deed
                .second
                .as_ref()
                .map(|id| format!(" with {}", person(id, cards)))
                .unwrap_or_default();
            format!(
                "overruled {}{second} ({}): {}",
                gate_name(deed.gate),
                deed.verdict,
                deed.why
            )
        }
        Deed::Deviated(deed) => format!("otherwise than planned: {}", deed.what),
        Deed::Answered(deed) => {
            // A question is answered in words, a deviation may be accepted without any.
            match (deed.accepted, deed.why.as_str()) {
                (true, "") => format!("accepted line {}", deed.line),
                (true, why) => format!("answered line {}: {why}", deed.line),
                (false, why) => format!("did not accept line {}: {why}", deed.line),
            }
        }
        Deed::Signed(deed) if deed.accepted => format!("signed: {}", deed.said),
        Deed::ShownAgain(deed) => format!(
            "put right and shown once more: {}: {}",
            step(&deed.work, &deed.step, cards),
            deed.said
        ),
        Deed::PutRight(deed) => format!("put right line {}: {}", deed.line, deed.said),
        Deed::Signed(deed) => format!("did not sign: {}: {}", deed.said, deed.why),
        other => other.tag(),
    }
}

/// Returns an operation with its target and, from the second on, its round.
pub fn work_name(work: &Work, cards: &Cards) -> String {
    let title = operation(&work.operation, cards);
    let target = work
        .target
        .as_ref()
        .map(|target| format!(" on {target}"))
        .unwrap_or_default();
    let round = if work.round > 1 {
        format!(", round {}", work.round)
    } else {
        String::new()
    };
    format!("{title}{target}{round}")
}

pub(super) fn operation<'a>(id: &'a str, cards: &'a Cards) -> &'a str {
    cards.checklists.get(id).map_or(id, |list| &list.title)
}

/// Returns the act of a step. The steps of coats are unrolled in a walk (`coat#2`, `coat#2-dry`); the
/// card knows them by the part before the mark, and the coat is named beside it.
pub(super) fn step(work: &Work, id: &str, cards: &Cards) -> String {
    let (base, coat) = id.split_once('#').unwrap_or((id, ""));
    let list = cards.checklists.get(&work.operation);
    let known = list.and_then(|list| list.steps.iter().find(|step| step.id == base));
    let act = known.map_or_else(|| plain(base), |step| step.act.clone());
    match coat.split_once('-') {
        None => act,
        Some((number, between)) => format!("{act}: {} after coat {number}", plain(between)),
    }
}

pub(super) fn material<'a>(id: &'a str, cards: &'a Cards) -> &'a str {
    cards.materials.get(id).map_or(id, |card| &card.name)
}

pub(super) fn room<'a>(id: &'a str, cards: &'a Cards) -> &'a str {
    let found = cards.shop.rooms.iter().find(|room| room.id == id);
    found.map_or(id, |room| &room.name)
}

fn person<'a>(id: &'a str, cards: &'a Cards) -> &'a str {
    let found = cards.shop.people.iter().find(|person| person.id == id);
    found.map_or(id, |person| &person.name)
}

/// Returns the name of a gate in the trade's words.
pub fn gate_name(kind: GateKind) -> &'static str {
    match kind {
        GateKind::Before => "photographs before",
        GateKind::Lead => "lead status",
        GateKind::Scheme => "scheme approved",
        GateKind::AirAndGloves => "air and gloves",
        GateKind::Moisture => "wood moisture",
        GateKind::Neutral => "stripper neutralised",
        GateKind::Temperature => "temperature",
        GateKind::Dew => "surface above the dew point",
        GateKind::Humidity => "humidity",
        GateKind::Gap => "gap map",
        GateKind::Cured => "cured",
        GateKind::Washed => "washed",
        GateKind::Recoat => "recoat window",
        GateKind::QuietAir => "quiet air",
        GateKind::SizeReady => "size ready",
        GateKind::RagsAway => "rags away",
        GateKind::MixLive => "mix live",
        GateKind::OpenTime => "open time of the joint",
    }
}
