//! The page as a whole: head, body, what the last key came to, the rail of the next three
//! deadlines, and the foot with its keys. Drawing reads and never writes.

use ratatui::{buffer::Buffer, layout::Rect, widgets::Widget};

use super::column::Column;
use super::hand::places;
use super::ink::{Ink, Touch, cells, cut, wrap};
use super::keys::{Act, Key, Place, rows_for};
use super::look::{Look, Tone};
use super::sight::Sight;
use super::view::{Over, Page, Said, View};
use super::{bench, clocks, day, dossier, floor, help, night, over, times};

/// The narrowest page, in cells.
pub const LEAST_WIDTH: u16 = 60;
/// The lowest page, in rows.
pub const LEAST_HEIGHT: u16 = 20;

/// Most cells of a name in the head: page, shop and hour stand there too (own choice).
const NAME_CELLS: u16 = 24;

/// All that is drawn.
#[derive(Debug, Clone, Copy)]
pub struct Pane<'a> {
    /// What is seen.
    pub sight: &'a Sight,
    /// What the screen remembers.
    pub view: &'a View,
    /// In which colours.
    pub look: Look,
}

/// What a drawing leaves behind beside the picture.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Drawn {
    /// What can be touched; the last one lies on top.
    pub touches: Vec<Touch>,
    /// Something that must be read did not fit.
    pub hidden: bool,
    /// How many rows of a long list fit on the page; 0 where that does not matter.
    pub rows: usize,
    /// Places kept free for photographs, each with which of the two it is.
    pub photographs: Vec<(usize, Rect)>,
}

impl Widget for &Pane<'_> {
    fn render(self, area: Rect, buffer: &mut Buffer) {
        self.draw(area, buffer);
    }
}

impl Pane<'_> {
    /// Draws the page and returns what can be touched.
    pub fn draw(&self, area: Rect, buffer: &mut Buffer) -> Drawn {
        let mut ink = Ink::new(buffer, self.look);
        ink.ground(area, Tone::Chalk);
        if area.width < LEAST_WIDTH || area.height < LEAST_HEIGHT {
            too_small(&mut ink, area, self.sight);
        } else {
            self.page(&mut ink, area);
        }
        ink.dry()
    }

    fn page(&self, ink: &mut Ink<'_>, area: Rect) {
        let rail = if area.height < 28 { 2 } else { 3 };
        let head = Rect { height: 1, ..area };
        let foot = Rect {
            y: area.bottom() - 1,
            height: 1,
            ..area
        };
        let rail = Rect {
            y: foot.y - rail,
            height: rail,
            ..area
        };
        let rows = self.tally_rows(area.width);
        let tally = Rect {
            y: rail.y - rows,
            height: rows,
            ..area
        };
        let body = Rect {
            x: area.x + 1,
            y: area.y + 1,
            width: area.width - 2,
            height: tally.y - area.y - 1,
        };
        self.head(ink, head);
        let (alarm, body) = over::alarm_room(body, self.sight);
        let body = self.flaw(ink, body);
        self.body(ink, body);
        self.tally(ink, tally);
        self.rail(ink, rail);
        self.foot(ink, foot);
        if self.view.fault.is_none() {
            over::draw(ink, body, self);
        }
        over::alarm(ink, alarm, self);
    }

    /// Says on every page which card is flawed; returns the room that is left.
    fn flaw(&self, ink: &mut Ink<'_>, body: Rect) -> Rect {
        let Some(words) = self.sight.flaw(self.view) else {
            return body;
        };
        let mut column = Column::new(ink, body);
        column.wrap(&format!("▲ {words}"), Tone::Bole, 2);
        column.rest()
    }

    fn body(&self, ink: &mut Ink<'_>, body: Rect) {
        // Head, rail and alarms stay: clocks run on whatever the disk does.
        if let Some(fault) = &self.view.fault {
            return over::fault(ink, body, fault);
        }
        if self.view.over == Over::Help {
            return help::draw(ink, body, self);
        }
        match self.view.page {
            Page::Bench => bench::draw(ink, body, self),
            Page::Clocks => clocks::draw(ink, body, self),
            Page::Floor => floor::draw(ink, body, self),
            Page::Day => day::draw(ink, body, self),
            Page::Dossier => dossier::draw(ink, body, self),
            Page::Night => night::draw(ink, body, self),
        }
    }

    fn head(&self, ink: &mut Ink<'_>, area: Rect) {
        ink.ground(area, Tone::Board);
        let sight = self.sight;
        let now = sight.now.format("%a %d %b  %H:%M").to_string();
        let right = format!("{}  ·  {now} ", self.who());
        let x = ink.put_right(area, 0, &right, Tone::Board);
        ink.touch(Rect::new(x, area.y, cells(&self.who()), 1), Act::Who);
        let room = x.saturating_sub(area.x + 2);
        let mut at = area.x + 1;
        at += ink.put((at, area.y), self.view.page.name(), Tone::BoardGilt, room) + 2;
        if !sight.banner.is_empty() {
            let banner = format!(" {} ", sight.banner);
            let room = x.saturating_sub(at + 1);
            at += ink.put((at, area.y), &banner, Tone::BolePlate, room) + 2;
        }
        if at + 8 < x {
            ink.put(
                (at, area.y),
                &sight.shop.name,
                Tone::BoardRubbed,
                x - at - 1,
            );
        }
    }

    fn who(&self) -> String {
        if self.sight.person.is_empty() {
            "w: who is here?".to_owned()
        } else {
            cut(&self.sight.person, NAME_CELLS)
        }
    }

    /// A refusal is read to its end, for its end says what to do.
    fn tally_rows(&self, width: u16) -> u16 {
        let room = width.saturating_sub(2 + self.strike_key().map_or(0, |key| cells(&key) + 7));
        let refused = matches!(self.view.said, Some(Said::Refused(_)));
        let lines = wrap(&self.tally_words().0, room).len();
        if refused {
            u16::try_from(lines).unwrap_or(1).clamp(1, 3)
        } else {
            1
        }
    }

    fn strike_key(&self) -> Option<String> {
        let left = self.sight.strike_left(self.view)?;
        Some(format!("strikes it, {left} s"))
    }

    /// What the last key came to, else what was done last; and the strike.
    fn tally(&self, ink: &mut Ink<'_>, area: Rect) {
        let mut room = area.width - 2;
        if let Some(words) = self.strike_key() {
            let key = ("u", words);
            let wide = cells(&key.1) + 6;
            room = room.saturating_sub(wide + 1);
            let x = area.right() - wide;
            let tones = [Tone::GiltPlate, Tone::Chalk];
            ink.key((x, area.y), (key.0, &key.1), Act::Strike, tones);
        }
        let (text, tone) = self.tally_words();
        if area.height < 2 {
            ink.put((area.x + 1, area.y), &text, tone, room);
            return;
        }
        for (y, line) in (area.y..area.bottom()).zip(wrap(&text, room)) {
            ink.put((area.x + 1, y), &line, tone, room);
        }
    }

    fn tally_words(&self) -> (String, Tone) {
        match &self.view.said {
            Some(Said::Kept(words)) => (format!("✓ kept: {words}"), Tone::Verdigris),
            Some(Said::Refused(refusal)) => {
                let remedy = refusal.remedy.as_ref();
                let remedy = remedy.map(|remedy| format!(" → {remedy}"));
                let again = if refusal.ask_again {
                    " → Enter once more keeps it"
                } else {
                    ""
                };
                let why = &refusal.why;
                (
                    format!("✗ not now: {why}{}{again}", remedy.unwrap_or_default()),
                    Tone::Bole,
                )
            }
            Some(Said::Hint(words)) => (format!("· {words}"), Tone::Gilt),
            None => (self.done_last(), Tone::Rubbed),
        }
    }

    fn done_last(&self) -> String {
        if self.view.page != Page::Bench {
            return String::new();
        }
        let now = self.sight.now;
        let prompt = self.sight.prompt.as_ref();
        if let Some(last) = prompt.and_then(|prompt| prompt.last_done.as_ref()) {
            let hour = times::hour(last.at, now);
            return format!("done last: {} · {hour} by {}", last.act, last.by);
        }
        match &self.sight.last {
            Some(stamp) => {
                let hour = times::hour(stamp.at, now);
                format!("last line kept {hour} by {}", stamp.by)
            }
            None => String::new(),
        }
    }

    /// The straightedge with three pegs: what comes next, on every screen.
    fn rail(&self, ink: &mut Ink<'_>, area: Rect) {
        ink.ground(area, Tone::Board);
        let edge: String = (0..area.width)
            .map(|x| {
                if x % (area.width / 3) == 2 {
                    '┯'
                } else {
                    '━'
                }
            })
            .collect();
        ink.put((area.x, area.y), &edge, Tone::BoardGilt, area.width);
        let third = area.width / 3;
        let with_end: Vec<_> = self
            .sight
            .clocks
            .iter()
            .filter(|clock| clock.deadline().is_some())
            .collect();
        for place in 0..3u16 {
            let x = area.x + place * third + 2;
            let width = third.saturating_sub(3);
            let Some(clock) = with_end.get(usize::from(place)) else {
                let none = if place == 0 { "nothing runs" } else { "–" };
                ink.put((x, area.y + 1), none, Tone::BoardRubbed, width);
                continue;
            };
            let sign = times::sign(clock);
            let name = format!(" {} ", times::clock_name(clock.clock));
            ink.put((x, area.y), &name, Tone::Board, width);
            let left = times::in_words(clock, self.sight.now);
            let words = format!("{} {left}", sign.symbol);
            ink.put((x, area.y + 1), &words, on_board(sign.tone), width);
            if area.height > 2 {
                let hour = clock.deadline().map(|at| times::hour(at, self.sight.now));
                let figure = self.sight.figure_name(&clock.figure);
                let words = format!("{}  {figure}, {}", hour.unwrap_or_default(), clock.about);
                ink.put((x, area.y + 2), &words, Tone::Board, width);
            }
            let touch = Rect::new(x, area.y, width, area.height);
            ink.touch(touch, Act::Turn(Page::Clocks));
        }
    }

    /// The keys of the place in front first, then those of every screen.
    fn foot(&self, ink: &mut Ink<'_>, area: Rect) {
        ink.ground(area, Tone::Board);
        let mut x = area.x + 1;
        // A narrow page parts its keys by one cell, so that every screen keeps its key.
        let gap = if area.width < 70 { 1 } else { 2 };
        for row in foot_rows(&places(self.view, self.sight), area.width) {
            let words = short(row.words);
            if self.view.fault.is_some() && !matches!(row.act, Act::Back | Act::Quit) {
                continue;
            }
            if x + cells(row.shown) + cells(words) + 1 > area.right() {
                continue;
            }
            let used = ink.put((x, area.y), row.shown, Tone::BoardGilt, 9) + 1;
            let end = x + used + cells(words);
            ink.put((x + used, area.y), words, Tone::BoardRubbed, cells(words));
            ink.touch(Rect::new(x, area.y, end - x, 1), row.act);
            x = end + gap;
        }
    }
}

/// Returns the keys that the foot names, in its order; help, problem and the screens come
/// before the keys that the body names anyway.
fn foot_rows(places: &[Place], width: u16) -> Vec<&'static Key> {
    let mut rows = rows_for(places);
    rows.retain(|row| {
        !matches!(
            row.act,
            Act::Next | Act::PutOff | Act::Pick(_) | Act::Type(_) | Act::Rub
        )
    });
    rows.sort_by_key(|row| match row.act {
        Act::Yes | Act::No | Act::NextLeaf | Act::Mark | Act::Side => 0,
        Act::Help => 1,
        // A narrow page has room for all screens only where this stands behind them.
        Act::Problem if width < 70 => 4,
        Act::Problem => 2,
        Act::Turn(_) => 3,
        Act::Go => 4,
        Act::Who | Act::Air => 5,
        _ => 6,
    });
    rows
}

fn short(words: &str) -> &str {
    words
        .split([':', ',', ';'])
        .next()
        .unwrap_or(words)
        .trim_end()
}

/// Returns the tone of the same pigment on the board.
pub(super) fn on_board(tone: Tone) -> Tone {
    match tone {
        Tone::Bole => Tone::BoardBole,
        Tone::Gilt => Tone::BoardGilt,
        Tone::Verdigris => Tone::BoardVerdigris,
        Tone::Rubbed => Tone::BoardRubbed,
        Tone::Chalk => Tone::Board,
        other => other,
    }
}

/// Even a page that is too small says what rings.
fn too_small(ink: &mut Ink<'_>, area: Rect, sight: &Sight) {
    let mut column = Column::new(ink, area);
    for clock in sight.ringing() {
        column.wrap(&over::alarm_words(clock), Tone::BolePlate, 2);
    }
    let words = format!(
        "this screen is {} × {}; the bench needs {LEAST_WIDTH} × {LEAST_HEIGHT} \
         or more: make the window larger or the letters smaller. Nothing is lost; clocks run on.",
        area.width, area.height
    );
    column.wrap(&words, Tone::Chalk, area.height);
}
