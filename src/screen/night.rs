//! The Night screen: when to lay size this evening. The one time large, if it is sure; the
//! ruler of the night as bars, panel by panel and place by place; and where nothing is sure
//! that word, what would open it, and what is likely in small.

use chrono::{DateTime, FixedOffset};
use ratatui::layout::Rect;

use crate::plan::{Certainty, LaySpan, Leafing, Night};
use crate::reckon::LeafPlace;
use crate::report::{NightScale, Stretch};

use super::column::Column;
use super::hand::list_skip;
use super::ink::{Ink, cut, wrap};
use super::keys::Act;
use super::letters;
use super::lists;
use super::look::{Sign, Tone};
use super::pane::{Pane, on_board};
use super::plate::under;
use crate::reckon::counted;

/// Draws the night.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let Some(night) = &pane.sight.night else {
        return whose(ink, area, pane);
    };
    title(ink, area, pane, night);
    let height = lay_plate(ink, area, night);
    let rest = under(area, 1 + height);
    // The keys do not stand side by side on the narrowest page.
    let high = if area.width < 72 { 2 } else { 1 };
    let foot = Rect {
        y: rest.bottom().saturating_sub(high),
        height: rest.height.min(high),
        ..rest
    };
    let body = Rect {
        height: rest.height.saturating_sub(high),
        ..rest
    };
    let (above, below) = ruler(ink, body, pane, night);
    let mut keys = keys(pane, night);
    if 0 < below {
        let words = format!("{below} rows more");
        keys.insert(0, ("PgDn", words, Act::FarDown));
    } else if 0 < above {
        keys.insert(0, ("PgUp", "back up".to_owned(), Act::FarUp));
    }
    let keys: Vec<(&str, &str, Act)> = keys
        .iter()
        .map(|(shown, words, act)| (*shown, words.as_str(), *act))
        .collect();
    Column::new(ink, foot).keys(&keys);
}

/// No figure is at the bench: whose night is it?
fn whose(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let list = lists::nights(pane.sight);
    let mut column = Column::new(ink, area);
    column.line(&list.title, Tone::Gilt);
    column.gap(1);
    let skip = list_skip(pane.view, list.rows.len());
    for (place, row) in list.rows.iter().skip(skip).take(9).enumerate() {
        column.pick(place + 1, &row.words, &row.note);
    }
    if list.rows.len() > 9 {
        column.keys(&[("0", "more", Act::More)]);
    }
}

fn title(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, night: &Night) {
    let name = pane.sight.figure_name(&night.figure);
    let size = night.size.as_ref().map_or_else(String::new, |size| {
        format!("{}, lot {} · {}", size.name, size.lot, size.provenance)
    });
    let used = ink.put((area.x, area.y), name, Tone::Gilt, area.width);
    let width = area.width.saturating_sub(used + 2);
    let right = Rect {
        x: area.x + used + 2,
        width,
        height: 1,
        ..area
    };
    ink.put_right(right, 0, &cut(&size, width), Tone::Rubbed);
}

/// The best sure lay time in large figures, with what goes with it beside. What is only likely
/// is never large: who reads from afar would lay the size on it. Returns its height.
fn lay_plate(ink: &mut Ink<'_>, area: Rect, night: &Night) -> u16 {
    let sign = certainty(night);
    let tone = on_board(sign.tone);
    let head = Sign { tone, ..sign };
    let words = beside_words(night);
    let Some(best) = night.best.filter(|_| is_sure(night)) else {
        let width = area.width.saturating_sub(4);
        let words = wrap(&words.join(" · "), width);
        let rows = words.iter().filter(|row| !row.is_empty()).count() + 1;
        let height = u16::try_from(rows).unwrap_or(u16::MAX).min(area.height);
        let plate = Rect {
            height,
            ..under(area, 1)
        };
        ink.ground(plate, Tone::Board);
        ink.sign(plate.x + 2, plate.y, head, width);
        let inner = Rect {
            x: plate.x + 2,
            width,
            ..plate
        };
        let mut column = Column::new(ink, under(inner, 1));
        for row in words.iter().filter(|row| !row.is_empty()) {
            column.line(row, Tone::Board);
        }
        return height;
    };
    let times = if area.width >= 150 && area.height >= 40 {
        2
    } else {
        1
    };
    let height = (letters::FIGURE_ROWS * times + 1).min(area.height);
    let plate = Rect {
        height,
        ..under(area, 1)
    };
    ink.ground(plate, Tone::Board);
    let digits = Rect {
        x: plate.x + 2,
        width: plate.width.saturating_sub(2),
        ..plate
    };
    let used = letters::draw_figures(ink, digits, &hour(best), times, tone);
    let beside = Rect {
        x: digits.x + used + 2,
        width: digits.width.saturating_sub(used + 3),
        ..plate
    };
    ink.sign(beside.x, beside.y, head, beside.width);
    let mut column = Column::new(ink, under(beside, 1));
    for line in words {
        column.wrap(&line, Tone::Board, 2);
    }
    height
}

fn certainty(night: &Night) -> Sign {
    match night.certainty {
        Some(Certainty::Sure) => Sign::new("●", "lay the size: sure", Tone::Verdigris),
        Some(Certainty::Likely) => Sign::new("▲", "nothing is sure", Tone::Bole),
        None => Sign::new("▲", "no time works", Tone::Bole),
    }
}

fn is_sure(night: &Night) -> bool {
    night.certainty == Some(Certainty::Sure)
}

fn beside_words(night: &Night) -> Vec<String> {
    let mut words = Vec::new();
    let sure = is_sure(night);
    let spans = if night.works.is_empty() {
        &night.likely
    } else {
        &night.works
    };
    let span = |span: &LaySpan| format!("{}–{}", hour(span.from), hour(span.to));
    let spans: Vec<String> = spans.iter().map(span).collect();
    if !spans.is_empty() {
        let how = if sure { "any time" } else { "likely" };
        words.push(format!("{how} {}", spans.join(", ")));
    }
    if let Some(best) = night.best.filter(|_| !sure) {
        words.push(format!("best {}, the chip decides", hour(best)));
    }
    if let Some(come) = night.come_in_at {
        words.push(format!("come in {}", day(come)));
    }
    if let Some(test) = night.first_test {
        let test = day(test);
        words.push(if night.hand_at_test {
            format!("a hand must be there {test}: first test, doors shut")
        } else {
            format!("first test {test}")
        });
    }
    if let Some(margin) = night.margin.filter(|_| sure) {
        words.push(format!("{:.0} min to spare", margin.0.floor()));
    }
    words
}

fn hour(at: DateTime<FixedOffset>) -> String {
    at.format("%H:%M").to_string()
}

fn day(at: DateTime<FixedOffset>) -> String {
    at.format("%a %H:%M").to_string()
}

/// One row of the page below the plate.
enum Line {
    Words(String, Tone),
    /// The hours, every third one.
    Axis,
    Bar(String, Vec<Stretch>),
    Pick(usize, String),
}

/// How much of the ruler is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Detail {
    /// Each place by itself, and gaps between the parts.
    Airy,
    /// Each place by itself.
    Places,
    /// Each panel as a whole.
    Panels,
    /// The same, without who is there and without the signs explained.
    Short,
}

/// Why nothing is sure and what opens it, the bars, the panels in their order, the notes. The
/// bars give way first; what does not fit then is turned to. Returns how many rows lie above
/// and below the page.
fn ruler(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, night: &Night) -> (usize, usize) {
    let name = if area.width < 90 { 14 } else { 24 };
    let scale = NightScale::of(night, i64::from(area.width.saturating_sub(name)));
    let high = usize::from(area.height);
    let rows = |detail| lines(pane, night, (area.width, name), (scale, detail));
    let details = [Detail::Airy, Detail::Places, Detail::Panels];
    let fitting = details.into_iter().map(rows).find(|all| all.len() <= high);
    let all = fitting.unwrap_or_else(|| rows(Detail::Short));
    let above = pane.view.scroll.min(all.len().saturating_sub(high));
    let below = all.len().saturating_sub(above + high);
    let mut column = Column::new(ink, area);
    for row in all.iter().skip(above).take(high) {
        match (row, scale) {
            (Line::Words(words, tone), _) => column.line(words, *tone),
            (Line::Pick(place, words), _) => column.pick(*place, words, ""),
            (Line::Axis, Some(scale)) => axis(&mut column, &scale, name),
            (Line::Bar(label, bar), _) => self::bar(&mut column, (name, label), bar),
            (Line::Axis, None) => {}
        }
    }
    (above, below)
}

fn lines(
    pane: &Pane<'_>,
    night: &Night,
    (width, name): (u16, u16),
    (scale, detail): (Option<NightScale>, Detail),
) -> Vec<Line> {
    let mut all = Vec::new();
    let gap = |all: &mut Vec<Line>| {
        if detail == Detail::Airy {
            all.push(Line::Words(String::new(), Tone::Chalk));
        }
    };
    let say = |all: &mut Vec<Line>, words: &str, tone| {
        let rows = wrap(words, width).into_iter();
        all.extend(rows.map(|row| Line::Words(row, tone)));
    };
    gap(&mut all);
    if let Some(why) = &night.not_now {
        say(&mut all, &format!("▲ {why}"), Tone::Bole);
    }
    if let Some(why) = &night.why_empty {
        say(&mut all, &format!("▲ {why}"), Tone::Bole);
    }
    for way in &night.would_open {
        say(&mut all, &format!("↳ opens it: {way}"), Tone::Verdigris);
    }
    if let Some(scale) = scale {
        bars(&mut all, night, (&scale, usize::from(name)), detail);
        if detail != Detail::Short {
            let words =
                "─ may be laid  ▼ best  ≈ sizing  · not yet  □ takes leaf  ■ leafing  × dead";
            let how = if is_sure(night) { "" } else { "only likely: " };
            say(&mut all, &format!("{how}{words}"), Tone::Rubbed);
        }
    }
    gap(&mut all);
    panels(&mut all, pane, night);
    gap(&mut all);
    for (panel, why) in &night.left_out {
        say(
            &mut all,
            &format!("not planned: {panel}, {why}"),
            Tone::Rubbed,
        );
    }
    for note in &night.notes {
        say(&mut all, &format!("△ {note}"), Tone::Chalk);
    }
    if !night.because.is_empty() {
        say(
            &mut all,
            &format!("because: {}", night.because),
            Tone::Rubbed,
        );
    }
    all
}

/// The bars: a scale of hours, who is there, when to lay, each panel or each of its places.
fn bars(all: &mut Vec<Line>, night: &Night, (scale, name): (&NightScale, usize), detail: Detail) {
    let bar = |label: &str, stretch: &dyn Fn(i64) -> Stretch| {
        Line::Bar(
            label.to_owned(),
            (0..scale.columns()).map(stretch).collect(),
        )
    };
    all.push(Line::Axis);
    if detail != Detail::Short {
        all.push(bar("shop open", &|nth| scale.presence(night, nth)));
    }
    all.push(bar("lay the size", &|nth| scale.laying(night, nth)));
    for row in &night.order {
        if matches!(detail, Detail::Panels | Detail::Short) {
            all.push(bar(&row.piece.name, &|nth| scale.panel(row, nth)));
            continue;
        }
        let mut panel = row.piece.name.as_str();
        for place in &row.places {
            let word = match place.place {
                LeafPlace::Edge => "edge",
                LeafPlace::Flat => "flat",
                LeafPlace::Hollow => "hollow",
            };
            let room = name.saturating_sub(8);
            let short = cut(panel, u16::try_from(room).unwrap_or(u16::MAX));
            let label = format!("{short:<room$} {word}");
            all.push(bar(&label, &|nth| scale.place(row, place, nth)));
            panel = "";
        }
    }
}

/// The hours, every third one.
fn axis(column: &mut Column<'_, '_>, scale: &NightScale, name: u16) {
    let rest = column.rest();
    for (x, nth) in (rest.x + name..rest.right()).zip(0..scale.columns()) {
        if scale.is_marked(nth) && x + 1 < rest.right() {
            let hour = scale.at(nth).format("%H").to_string();
            column.ink.put((x, rest.y), &hour, Tone::Rubbed, 2);
        }
    }
    column.gap(1);
}

fn bar(column: &mut Column<'_, '_>, (name, label): (u16, &str), bar: &[Stretch]) {
    let rest = column.rest();
    let label = cut(label, name.saturating_sub(1));
    column.ink.put((rest.x, rest.y), &label, Tone::Chalk, name);
    for (x, stretch) in (rest.x + name..rest.right()).zip(bar) {
        let (symbol, tone) = sign(*stretch);
        column.ink.put((x, rest.y), symbol, tone, 1);
    }
    column.gap(1);
}

fn sign(stretch: Stretch) -> (&'static str, Tone) {
    match stretch {
        Stretch::Before => (" ", Tone::Rubbed),
        Stretch::Away | Stretch::Shut | Stretch::Wet => ("·", Tone::Rubbed),
        Stretch::There => ("━", Tone::Chalk),
        Stretch::Works => ("─", Tone::Verdigris),
        Stretch::Best => ("▼", Tone::Gilt),
        Stretch::Sizing => ("≈", Tone::Gilt),
        Stretch::Ready => ("□", Tone::Verdigris),
        Stretch::Leafing => ("■", Tone::Gilt),
        Stretch::Dead => ("×", Tone::Bole),
    }
}

/// The panels that wait, in the order in which they are laid; a number takes one out or in.
fn panels(all: &mut Vec<Line>, pane: &Pane<'_>, night: &Night) {
    let rows = lists::panels(pane.view, pane.sight).rows;
    let skip = list_skip(pane.view, rows.len());
    let shown = rows.iter().skip(skip).take(9).enumerate();
    all.extend(shown.map(|(place, row)| Line::Pick(place + 1, row.words.clone())));
    if rows.is_empty() && night.why_empty.is_none() {
        let words = "no panel waits for size".to_owned();
        all.push(Line::Words(words, Tone::Rubbed));
    }
}

/// Returns a panel of the plan as one line; what is only likely says so.
pub(super) fn panel_words(row: &Leafing, certainty: Option<Certainty>) -> String {
    let how = match certainty {
        Some(Certainty::Sure) => "",
        Some(Certainty::Likely) | None => "likely ",
    };
    format!(
        "{}: {how}leaf {}–{}, dead {} · {}, {} + 1 spare",
        row.piece.name,
        day(row.start),
        hour(row.end),
        hour(row.dead),
        counted(row.piece.leaves, "leaf"),
        counted(row.piece.books, "book")
    )
}

fn keys(pane: &Pane<'_>, night: &Night) -> Vec<(&'static str, String, Act)> {
    let gilders = format!("gilders: {}", pane.view.night.gilders());
    let mut keys = vec![
        ("s", "another size".to_owned(), Act::Size),
        ("m", gilders, Act::Hands),
    ];
    let lot = night.size.as_ref().map(|size| size.lot.as_str());
    let own = pane.sight.own_times.iter();
    let may_trust = own
        .filter(|own| own.enough && own.trusted.is_none())
        .any(|own| Some(own.lot.as_str()) == lot);
    if may_trust {
        keys.push(("l", "trust its lot".to_owned(), Act::Lots));
    }
    keys
}
