//! Which lots a line has to do with, how jars hang together, and what has come over it since.
//! Made from lines alone, so that a recall needs no standing. Start reading at [`Pours`].

use std::collections::{BTreeMap, BTreeSet};

use crate::card::{Cards, Figure, MaterialKind};
use crate::deed::{Deed, Line, Value, Work};

/// The operation that sends a figure out of the house.
const GOES_OUT: &str = "hand-over";

/// The operation with which a figure comes in, or back.
const COMES_IN: &str = "receive";

/// How lots run into jars: every jar with what was poured into it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Pours {
    from: BTreeMap<String, BTreeSet<String>>,
}

impl Pours {
    /// Returns the pours among lines of the shop's journal; struck ones count for nothing.
    pub fn of<'a>(lines: impl IntoIterator<Item = &'a Line> + Clone) -> Self {
        let struck = struck(lines.clone());
        let mut pours = Self::default();
        for line in lines {
            if let Deed::LotDecanted(deed) = &line.deed
                && !struck.contains(&line.n)
            {
                let sources = pours.from.entry(deed.into.clone()).or_default();
                sources.insert(deed.lot.clone());
            }
        }
        pours
    }

    /// Returns the lot itself and every jar that something of it came into.
    pub fn below(&self, lot: &str) -> BTreeSet<String> {
        self.reached(lot, |pours, name| {
            let filled = pours.from.iter();
            let filled = filled.filter(|(_, sources)| sources.contains(name));
            filled.map(|(jar, _)| jar.as_str()).collect()
        })
    }

    /// Returns the jar itself and every jar and lot that it holds something of.
    pub fn above(&self, jar: &str) -> BTreeSet<String> {
        self.reached(jar, |pours, name| {
            let sources = pours.from.get(name).into_iter().flatten();
            sources.map(String::as_str).collect()
        })
    }

    /// Returns the way from a jar up to the tin, the jar first; where a jar was filled twice,
    /// along the first name. A lot that is no jar is a way of one.
    pub fn way_up(&self, jar: &str) -> Vec<String> {
        let mut way = vec![jar.to_owned()];
        while let Some(next) = way.last().and_then(|last| self.from.get(last)) {
            match next.iter().find(|name| !way.contains(name)) {
                Some(name) => way.push(name.clone()),
                None => break,
            }
        }
        way
    }

    fn reached<'s>(
        &'s self,
        from: &str,
        next: impl Fn(&'s Self, &str) -> Vec<&'s str>,
    ) -> BTreeSet<String> {
        let mut found = BTreeSet::from([from.to_owned()]);
        let mut open = vec![from.to_owned()];
        while let Some(name) = open.pop() {
            for other in next(self, &name) {
                if found.insert(other.to_owned()) {
                    open.push(other.to_owned());
                }
            }
        }
        found
    }
}

/// Returns the numbers of the lines that are struck by lines among these.
pub fn struck<'a>(lines: impl IntoIterator<Item = &'a Line>) -> BTreeSet<u64> {
    let lines = lines.into_iter();
    lines
        .filter_map(|line| match &line.deed {
            Deed::Struck(deed) => Some(deed.line),
            _ => None,
        })
        .collect()
}

/// Returns the lots and jars that a line has to do with: opened, poured, picked, mixed, laid.
/// What was only planned is none of them.
pub fn lots_of<'a>(line: &'a Line, cards: &Cards) -> Vec<&'a str> {
    match &line.deed {
        Deed::LotOpened(deed) => vec![&deed.lot],
        Deed::LotDecanted(deed) => vec![&deed.lot, &deed.into],
        Deed::Recorded(deed) => match &deed.value {
            Value::Text(lot) if is_lot_record(cards, &deed.work.operation, &deed.record) => {
                vec![lot]
            }
            _ => Vec::new(),
        },
        Deed::Mixed(deed) => deed.lots.iter().map(String::as_str).collect(),
        Deed::Done(deed) => {
            let coat = deed.coat.as_ref();
            let lot = coat.and_then(|coat| coat.lot.as_deref());
            lot.into_iter().collect()
        }
        _ => Vec::new(),
    }
}

/// Returns whether a record of an operation takes down a lot; where the operation has no card
/// any more, whatever looks like a lot may be one.
pub fn is_lot_record(cards: &Cards, operation: &str, record: &str) -> bool {
    let Some(list) = cards.checklists.get(operation) else {
        return true;
    };
    let between = list.steps.iter().filter_map(|step| step.coats.as_ref());
    let between = between.flat_map(|coats| &coats.between);
    let mut records = list.steps.iter().chain(between).flat_map(|s| &s.record);
    records.any(|known| known.id == record && known.lot.is_some())
}

/// Whether a material stays on the wood as a layer over what was there.
fn is_layer(kind: MaterialKind) -> bool {
    matches!(
        kind,
        MaterialKind::Filler
            | MaterialKind::Primer
            | MaterialKind::Colour
            | MaterialKind::Glaze
            | MaterialKind::Size
            | MaterialKind::Leaf
            | MaterialKind::Varnish
            | MaterialKind::Isolating
    )
}

/// A part of a figure that a line is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Spot {
    /// The whole figure.
    Whole,
    /// A zone.
    Zone(String),
    /// A panel of leaf, and the zone it lies in.
    Panel(String, String),
    /// A joint, and the zones its seam runs through.
    Joint(String, Vec<String>),
}

impl Spot {
    /// Returns the part that a target names; a name that no card knows is a zone of its own.
    pub fn of(card: Option<&Figure>, target: Option<&str>) -> Self {
        let Some(target) = target else {
            return Self::Whole;
        };
        let panel = card.and_then(|card| card.panels.iter().find(|known| known.id == target));
        let joint = card.and_then(|card| card.joints.iter().find(|known| known.id == target));
        match (panel, joint) {
            (Some(panel), _) => Self::Panel(target.to_owned(), panel.zone.clone()),
            (_, Some(joint)) => Self::Joint(target.to_owned(), joint.zones.clone()),
            _ => Self::Zone(target.to_owned()),
        }
    }

    /// Returns whether it has to do with a zone, joint or panel of this name.
    pub fn touches(&self, name: &str) -> bool {
        match self {
            Self::Whole => true,
            Self::Zone(zone) => zone == name,
            Self::Panel(panel, zone) => panel == name || zone == name,
            Self::Joint(joint, zones) => joint == name || zones.iter().any(|zone| zone == name),
        }
    }

    /// Returns whether a layer here comes over all of another part, as far as one zone of it
    /// goes. A joint and a panel are less than their zones.
    fn covers(&self, other: &Self, zone: Option<&str>) -> bool {
        match (self, other) {
            (Self::Whole, _) => true,
            (Self::Zone(own), _) => zone == Some(own),
            (Self::Panel(own, _), Self::Panel(under, _))
            | (Self::Joint(own, _), Self::Joint(under, _)) => own == under,
            _ => false,
        }
    }

    fn zones(&self) -> Vec<Option<&str>> {
        match self {
            Self::Whole => vec![None],
            Self::Zone(zone) | Self::Panel(_, zone) => vec![Some(zone)],
            Self::Joint(_, zones) if zones.is_empty() => vec![None],
            Self::Joint(_, zones) => zones.iter().map(|zone| Some(zone.as_str())).collect(),
        }
    }
}

/// A layer that a line laid.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Laid {
    /// Number of the line.
    pub n: u64,
    /// Where.
    pub spot: Spot,
    /// Material id, or the lot where nothing more is known.
    pub material: String,
    /// Only its lot was picked; the coat may follow in a line of its own.
    picked: bool,
}

/// What can be reached of something that was used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reach {
    /// Nothing lies over it.
    Reachable,
    /// All of it lies under later layers; the line of the one that closed it.
    Covered(u64),
    /// The figure has left the house; the line that says so.
    GoneOut(u64),
    /// It is about the tin itself.
    OnShelf,
}

/// Which material a lot is of, and its kind; `None` for a lot that nobody knows.
pub(super) type MaterialOf<'a> = &'a dyn Fn(&str) -> Option<(String, MaterialKind)>;

/// What has come over the parts of one figure, from its lines in their order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Past {
    /// Layers in the order of their lines.
    pub laid: Vec<Laid>,
    /// The line with which it left the house, if it has not come back since.
    pub gone_out: Option<u64>,
}

impl Past {
    /// Takes a line in. `material_of` says which material a lot is of, and its kind.
    pub fn take(
        &mut self,
        line: &Line,
        card: Option<&Figure>,
        (cards, material_of): (&Cards, MaterialOf<'_>),
    ) {
        let lay = |work: &Work, material: String| Laid {
            n: line.n,
            spot: Spot::of(card, work.target.as_deref()),
            material,
            picked: matches!(line.deed, Deed::Recorded(_)),
        };
        match &line.deed {
            Deed::Finished(deed) if deed.work.operation == GOES_OUT => {
                self.gone_out = Some(line.n);
            }
            Deed::Begun(deed) if deed.work.operation == COMES_IN => self.gone_out = None,
            Deed::Done(deed) => {
                if let Some(coat) = &deed.coat {
                    let laid = lay(&deed.work, coat.material.clone());
                    // The coat stands for the picking of its lot.
                    let same = |last: &Laid| {
                        last.picked && last.spot == laid.spot && last.material == laid.material
                    };
                    while self.laid.last().is_some_and(same) {
                        self.laid.pop();
                    }
                    self.laid.push(laid);
                }
            }
            Deed::Mixed(deed) => self.laid.push(lay(&deed.work, deed.material.clone())),
            Deed::Recorded(deed) => {
                let lot = lots_of(line, cards).into_iter().next();
                if let Some((material, kind)) = lot.and_then(material_of)
                    && is_layer(kind)
                {
                    self.laid.push(lay(&deed.work, material));
                }
            }
            _ => {}
        }
    }

    /// Returns what can be reached of something used in a line at a part.
    ///
    /// Covered is only what lies whole under later layers; where that cannot be known, it
    /// counts as reachable, for then somebody looks.
    pub fn reach(&self, n: u64, spot: &Spot) -> Reach {
        if let Some(out) = self.gone_out.filter(|out| n < *out) {
            return Reach::GoneOut(out);
        }
        let over = |zone: Option<&str>| {
            let mut later = self.laid.iter().filter(|laid| n < laid.n);
            later
                .find(|laid| laid.spot.covers(spot, zone))
                .map(|laid| laid.n)
        };
        let closed: Option<Vec<u64>> = spot.zones().into_iter().map(over).collect();
        match closed.and_then(|lines| lines.into_iter().max()) {
            Some(line) => Reach::Covered(line),
            None => Reach::Reachable,
        }
    }

    /// Returns the material that lies under a layer of the line: the last other one below it.
    pub fn under(&self, n: u64, spot: &Spot, material: &str) -> Option<&Laid> {
        let zones = spot.zones();
        self.laid.iter().rev().find(|laid| {
            let here = || zones.iter().any(|zone| laid.spot.covers(spot, *zone));
            laid.n < n && laid.material != material && here()
        })
    }
}
