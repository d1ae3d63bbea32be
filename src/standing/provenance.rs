//! Which lots a line has to do with, how jars hang together, and what has come over it since.
//! Made from lines alone, so that a recall needs no standing. Start reading at [`Pours`].

use std::collections::{BTreeMap, BTreeSet};

use crate::card::{Cards, Figure, MaterialKind};
use crate::deed::{Deed, Line, Value, Work};

/// The operation that sends a figure out of the house.
const GOES_OUT: &str = "hand-over";

/// The operation with which a figure comes in, or back.
const COMES_IN: &str = "receive";

/// The operation that takes every coat off a zone.
pub(super) const TAKES_OFF: &str = "strip";

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
    let mut records = list.all_steps().flat_map(|step| &step.record);
    records.any(|known| known.id == record && known.lot.is_some())
}

/// Returns whether a material stays on the wood as a layer over what was there.
pub fn is_layer(kind: MaterialKind) -> bool {
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
    /// It lies on the surface, so that a stripping takes it off; a mix may have run into a
    /// seam or into the wood and stays.
    on_top: bool,
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
    /// It was a coat and is stripped off; the line that ended the stripping.
    Stripped(u64),
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
    /// Strippings that were finished: the line of each, and where.
    pub stripped: Vec<(u64, Spot)>,
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
            on_top: !matches!(line.deed, Deed::Mixed(_)),
        };
        match &line.deed {
            Deed::Finished(deed) if deed.work.operation == GOES_OUT => {
                self.gone_out = Some(line.n);
            }
            Deed::Finished(deed) if deed.work.operation == TAKES_OFF => {
                let spot = Spot::of(card, deed.work.target.as_deref());
                self.stripped.push((line.n, spot));
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
    /// Covered is only what lies whole under later layers, stripped only a coat whose every
    /// zone was stripped since; where that cannot be known, it counts as reachable, for then
    /// somebody looks. A coat that was stripped covers nothing any more.
    pub fn reach(&self, n: u64, spot: &Spot) -> Reach {
        if let Some(out) = self.gone_out.filter(|out| n < *out) {
            return Reach::GoneOut(out);
        }
        let is_coat = self.laid.iter().any(|laid| laid.n == n && laid.on_top);
        if let Some(line) = self.off(n, spot).filter(|_| is_coat) {
            return Reach::Stripped(line);
        }
        let over = |zone: Option<&str>| {
            let mut later = self.laid.iter().filter(|laid| n < laid.n);
            later
                .find(|laid| laid.spot.covers(spot, zone) && !self.is_off(laid))
                .map(|laid| laid.n)
        };
        let closed: Option<Vec<u64>> = spot.zones().into_iter().map(over).collect();
        match closed.and_then(|lines| lines.into_iter().max()) {
            Some(line) => Reach::Covered(line),
            None => Reach::Reachable,
        }
    }

    fn is_off(&self, laid: &Laid) -> bool {
        laid.on_top && self.off(laid.n, &laid.spot).is_some()
    }

    /// The line with which all of a part was stripped after a line; of a seam never.
    fn off(&self, n: u64, spot: &Spot) -> Option<u64> {
        if matches!(spot, Spot::Joint(..)) {
            return None;
        }
        let over = |zone: Option<&str>| {
            let mut later = self.stripped.iter().filter(|(line, _)| n < *line);
            later
                .find(|(_, stripped)| stripped.covers(spot, zone))
                .map(|(line, _)| *line)
        };
        let zones: Option<Vec<u64>> = spot.zones().into_iter().map(over).collect();
        zones?.into_iter().max()
    }

    /// Returns the material that lies under a layer of the line: the last other one below it.
    pub fn under(&self, n: u64, spot: &Spot, material: &str) -> Option<&Laid> {
        let zones = spot.zones();
        self.laid.iter().rev().find(|laid| {
            let here = || zones.iter().any(|zone| laid.spot.covers(spot, *zone));
            let off = self.off(laid.n, &laid.spot).filter(|_| laid.on_top);
            let was_there = off.is_none_or(|off| n < off);
            laid.n < n && laid.material != material && was_there && here()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(n: u64, rest: &str) -> Line {
        let head = format!(r#"{{"n":{n},"at":"2026-11-02T09:00:00.000+00:00","by":"odile","#);
        let text = format!(r#"{head}"bench":"b",{rest},"seal":"00"}}"#);
        Line::read(&text).unwrap()
    }

    fn coat(n: u64, zone: &str, material: &str) -> Line {
        let coat = format!(r#"{{"material":"{material}","lot":"L-{n}","number":1,"of":3}}"#);
        let rest = format!(
            r#""deed":"done","operation":"prime","target":"{zone}","round":1,"step":"coat#1","coat":{coat}"#
        );
        read(n, &rest)
    }

    fn strip(n: u64, zone: &str) -> Line {
        let rest = format!(
            r#""deed":"finished","operation":"strip","target":"{zone}","round":1,"how":"done""#
        );
        read(n, &rest)
    }

    fn past(lines: &[Line]) -> Past {
        let mut past = Past::default();
        for line in lines {
            past.take(line, None, (&Cards::default(), &|_| None));
        }
        past
    }

    #[test]
    fn a_coat_that_was_stripped_is_off_and_covers_nothing_any_more() {
        let past = past(&[
            coat(4, "seat", "primer"),
            coat(7, "seat", "colour"),
            strip(9, "seat"),
            coat(12, "seat", "varnish"),
        ]);
        assert_eq!(past.laid.len(), 3, "{past:?}");
        let seat = Spot::Zone("seat".to_owned());
        assert_eq!(past.reach(4, &seat), Reach::Stripped(9));
        assert_eq!(past.reach(7, &seat), Reach::Stripped(9));
        assert_eq!(past.reach(12, &seat), Reach::Reachable);
        // The stripped coats lay under nothing of what came later.
        assert_eq!(past.under(12, &seat, "varnish"), None);
        assert_eq!(past.under(7, &seat, "colour").map(|laid| laid.n), Some(4));
    }

    #[test]
    fn what_is_no_coat_is_never_stripped_off_and_lies_open_again() {
        let past = past(&[coat(7, "seat", "colour"), strip(9, "seat")]);
        let seam = Spot::Joint("J3".to_owned(), vec!["seat".to_owned()]);
        // Glue of line 3, and a thinner of line 5: covered by the colour until that went.
        assert_eq!(past.reach(3, &seam), Reach::Reachable);
        assert_eq!(
            past.reach(5, &Spot::Zone("seat".to_owned())),
            Reach::Reachable
        );
    }

    #[test]
    fn another_zone_or_half_a_figure_stripped_takes_nothing_off() {
        let past = past(&[coat(4, "seat", "primer"), strip(9, "mane")]);
        let seat = Spot::Zone("seat".to_owned());
        assert_eq!(past.reach(4, &seat), Reach::Reachable);
        assert_eq!(past.reach(4, &Spot::Whole), Reach::Reachable);
    }
}
