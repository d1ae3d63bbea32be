//! The Dossier: one figure's record on the screen, leaf by leaf. The map of its zones, its
//! joints, its layers of old paint, its photographs, and its readings over time.
//!
//! All that is shown is taken once, when the Dossier is opened and after a line was kept;
//! drawing only lays it out.

mod classes;
mod dots;
mod joints;
mod layers;
mod legend;
mod map;
mod photos;
mod pixels;
mod plots;
mod raster;
mod roll;
mod seen;

use ratatui::layout::Rect;

use super::column::Column;
use super::hand::Reply;
use super::ink::{Ink, cells};
use super::keys::Act;
use super::look::Tone;
use super::pane::Pane;
use super::sight::Sight;
use super::view::View;

pub use classes::MapMark;
pub(super) use legend::legend;
pub use seen::{Dossier, Part, Shown};

/// From this width on all leaves are named, cells.
const LEAVES_NAMED: u16 = 76;

/// The leaves of the Dossier.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Leaf {
    /// The map of zones.
    #[default]
    Map,
    /// Joints.
    Joints,
    /// Layers of old paint.
    Layers,
    /// Photographs.
    Photos,
    /// Readings over time.
    Plots,
}

impl Leaf {
    /// Every leaf, in its order.
    pub const ALL: [Self; 5] = [
        Self::Map,
        Self::Joints,
        Self::Layers,
        Self::Photos,
        Self::Plots,
    ];

    fn name(self) -> &'static str {
        match self {
            Self::Map => "map",
            Self::Joints => "joints",
            Self::Layers => "old paint",
            Self::Photos => "photographs",
            Self::Plots => "readings",
        }
    }

    fn step(self, by: usize) -> Self {
        let at = Self::ALL.iter().position(|leaf| *leaf == self).unwrap_or(0);
        let next = (at + by) % Self::ALL.len();
        Self::ALL.get(next).copied().unwrap_or_default()
    }
}

/// What the screen remembers of the Dossier.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DossierView {
    /// The leaf in front.
    pub leaf: Leaf,
    /// What the map is coloured by.
    pub mark: MapMark,
    /// The part picked: 0 is the whole figure, then zones and joints as on the card.
    pub part: usize,
    /// The side of the outline in front.
    pub side: usize,
    /// The photograph picked, from the last one back.
    pub photo: Option<usize>,
    /// The plot in front.
    pub plot: usize,
}

/// Draws the Dossier.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let Some(dossier) = pane.sight.dossier.as_deref() else {
        return which_figure(ink, area, pane);
    };
    let head = Rect { height: 1, ..area };
    title(ink, head, (pane, dossier));
    let body = Rect {
        y: area.y + 1,
        height: area.height.saturating_sub(1),
        ..area
    };
    match pane.view.dossier.leaf {
        Leaf::Map => map::draw(ink, body, pane, dossier),
        Leaf::Joints => joints::draw(ink, body, pane, dossier),
        Leaf::Layers => layers::draw(ink, body, pane, dossier),
        Leaf::Photos => photos::draw(ink, body, pane, dossier),
        Leaf::Plots => plots::draw(ink, body, pane, dossier),
    }
}

/// The figure and its leaves, the one in front on a plate; each can be touched.
fn title(ink: &mut Ink<'_>, area: Rect, (pane, dossier): (&Pane<'_>, &Dossier)) {
    if area.width < LEAVES_NAMED {
        let leaf = pane.view.dossier.leaf;
        let at = Leaf::ALL.iter().position(|it| *it == leaf).unwrap_or(0) + 1;
        let words = format!(" {} {at} of {} ", leaf.name(), Leaf::ALL.len());
        let x = ink.put_right(area, 0, &words, Tone::GiltPlate);
        ink.touch(Rect::new(x, area.y, cells(&words), 1), Act::NextLeaf);
        let room = x.saturating_sub(area.x + 1);
        ink.put((area.x, area.y), &dossier.name, Tone::Gilt, room);
        return;
    }
    let words: u16 = Leaf::ALL.iter().map(|leaf| cells(leaf.name()) + 3).sum();
    let room = area.width.saturating_sub(words);
    ink.put((area.x, area.y), &dossier.name, Tone::Gilt, room);
    let mut x = area.right().saturating_sub(words) + 1;
    for (nth, leaf) in (0u8..).zip(Leaf::ALL) {
        let (plate, wide) = if leaf == pane.view.dossier.leaf {
            (Tone::GiltPlate, cells(leaf.name()) + 2)
        } else {
            (Tone::Rubbed, cells(leaf.name()) + 2)
        };
        ink.put((x, area.y), &format!(" {} ", leaf.name()), plate, wide);
        ink.touch(Rect::new(x, area.y, wide, 1), Act::Leaf(nth));
        x += wide + 1;
    }
}

fn which_figure(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let mut column = Column::new(ink, area);
    column.line("whose dossier? its number opens it", Tone::Gilt);
    let skip = super::hand::list_skip(pane.view, pane.sight.figures.len());
    for (nth, (id, name)) in pane.sight.figures.iter().skip(skip).take(9).enumerate() {
        column.pick(nth + 1, name, id);
    }
    if pane.sight.figures.len() > 9 {
        column.keys(&[("0", "more figures", Act::More)]);
    }
}

/// Does an act on the Dossier. It only turns the view: nothing is ever asked of the shop.
pub(super) fn act(view: &mut View, sight: &Sight, act: Act) -> Reply {
    let Some(dossier) = sight.dossier.as_deref() else {
        if let Act::Pick(digit) = act {
            let skip = super::hand::list_skip(view, sight.figures.len());
            let place = (usize::from(digit) + skip).checked_sub(1);
            let picked = place.and_then(|place| sight.figures.keys().nth(place));
            if let Some(figure) = picked {
                view.figure = Some(figure.clone());
                (view.work, view.skip) = (None, 0);
                view.dossier = DossierView::default();
            }
        }
        return Reply::Nothing;
    };
    match act {
        Act::NextLeaf => turn(view, view.dossier.leaf.step(1)),
        Act::LeafBefore => turn(view, view.dossier.leaf.step(Leaf::ALL.len() - 1)),
        Act::Leaf(nth) => {
            let leaf = Leaf::ALL.get(usize::from(nth)).copied();
            turn(view, leaf.unwrap_or_default());
        }
        Act::Mark => view.dossier.mark = view.dossier.mark.next(),
        Act::Side => {
            let sides = dossier.sides.len().max(1);
            view.dossier.side = (view.dossier.side + 1) % sides;
        }
        Act::NextPart => step(view, dossier, 1),
        Act::PartBefore => step(view, dossier, usize::MAX),
        Act::Part(part) => pick(view, dossier, usize::from(part)),
        Act::Pick(digit) => {
            let rows = rows(view.dossier.leaf, dossier, view);
            let skip = super::hand::list_skip(view, rows.len());
            let place = (usize::from(digit) + skip).checked_sub(1);
            if let Some(row) = place.and_then(|place| rows.get(place)) {
                take(view, dossier, *row);
            }
        }
        _ => {}
    }
    Reply::Nothing
}

fn turn(view: &mut View, leaf: Leaf) {
    view.dossier.leaf = leaf;
    (view.skip, view.scroll, view.dossier.photo) = (0, 0, None);
}

/// The things that digits and arrows pick on a leaf, by their number.
fn rows(leaf: Leaf, dossier: &Dossier, view: &View) -> Vec<usize> {
    match leaf {
        Leaf::Map => dossier.numbered(),
        Leaf::Joints => dossier.parts_of(|part| matches!(part, Part::Joint(_))),
        Leaf::Layers => dossier.studied_parts(),
        Leaf::Photos => (0..dossier.photos_of(view.dossier.part).len()).collect(),
        Leaf::Plots => (0..dossier.plots.len()).collect(),
    }
}

fn take(view: &mut View, dossier: &Dossier, row: usize) {
    match view.dossier.leaf {
        Leaf::Plots => {
            view.dossier.plot = row;
            view.scroll = 0;
        }
        Leaf::Photos => view.dossier.photo = Some(row),
        _ => pick(view, dossier, row),
    }
}

fn pick(view: &mut View, dossier: &Dossier, part: usize) {
    if part < dossier.parts.len() {
        view.dossier.part = part;
        view.dossier.photo = None;
        view.scroll = 0;
        // The side that shows the part comes to the front.
        let shows = |side: usize| dossier.sides.get(side).is_some_and(|side| side.shows(part));
        if !shows(view.dossier.side)
            && let Some(side) = (0..dossier.sides.len()).find(|side| shows(*side))
        {
            view.dossier.side = side;
        }
    }
}

/// The next thing of the leaf, or the one before it (`usize::MAX` steps), round and round.
fn step(view: &mut View, dossier: &Dossier, by: usize) {
    let leaf = view.dossier.leaf;
    let all = match leaf {
        Leaf::Photos => dossier.parts_with_photos(),
        // The whole figure has no number; the arrows come by it.
        Leaf::Map => (0..dossier.parts.len()).collect(),
        _ => rows(leaf, dossier, view),
    };
    if all.is_empty() {
        return;
    }
    let now = match leaf {
        Leaf::Plots => view.dossier.plot,
        _ => view.dossier.part,
    };
    let at = all.iter().position(|row| *row == now);
    let next = match (at, by) {
        (None, _) => 0,
        (Some(at), 1) => (at + 1) % all.len(),
        (Some(at), _) => (at + all.len() - 1) % all.len(),
    };
    if let Some(row) = all.get(next) {
        if leaf == Leaf::Plots {
            view.dossier.plot = *row;
            view.scroll = 0;
        } else {
            pick(view, dossier, *row);
        }
        view.skip = match leaf {
            Leaf::Photos => 0,
            Leaf::Map => next.saturating_sub(1) / 9 * 9,
            _ => next / 9 * 9,
        };
    }
}
