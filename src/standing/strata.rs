//! Units that lie above, below or level with each other: their order from the bottom up, and
//! the circles that no order can have. Pure sum on numbered units; what a unit is, `layers`
//! knows.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// More relations than this are not searched for circles: no figure has so many readings, and
/// a search grows with their square (count; chosen here).
const MOST_SEARCHED: usize = 4000;

/// One relation that was said, by its place in the list that it was given in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Link {
    /// A relation of one unit below another.
    Below(usize),
    /// A relation of two level units.
    Level(usize),
}

/// Units in their order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Strata {
    /// Groups of level units from the bottom up. Every unit is in exactly one group.
    pub(super) groups: Vec<Vec<usize>>,
    /// Circles: relations that lead back to where they began. Every relation `below` that lies
    /// on any circle lies on one of these.
    pub(super) circles: Vec<Vec<Link>>,
}

/// Returns the order of `units` units, numbered from 0, under relations of one below the
/// other and of two level units. Relations that name no such unit are left out.
///
/// A relation on a circle orders nothing; all others hold in the order that comes back.
pub(super) fn strata(units: usize, below: &[(usize, usize)], level: &[(usize, usize)]) -> Strata {
    let heads = heads(units, level);
    let circles = if ordered(units, &heads, below, &BTreeSet::new()).1 {
        Vec::new()
    } else {
        let all: BTreeSet<usize> = (0..units).collect();
        Relations::new(units, below, level).circles(&all, &BTreeSet::new())
    };
    let on_circle: BTreeSet<usize> = circles
        .iter()
        .flatten()
        .filter_map(|link| match link {
            Link::Below(at) => Some(*at),
            Link::Level(_) => None,
        })
        .collect();
    let (order, _) = ordered(units, &heads, below, &on_circle);
    let mut members: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (unit, head) in heads.iter().enumerate() {
        members.entry(*head).or_default().push(unit);
    }
    let groups = order.iter().filter_map(|head| members.remove(head));
    Strata {
        groups: groups.collect(),
        circles,
    }
}

/// Returns for each unit the smallest unit of its group.
fn heads(units: usize, level: &[(usize, usize)]) -> Vec<usize> {
    let links = Relations::new(units, &[], level);
    let mut heads: Vec<Option<usize>> = vec![None; units];
    for head in 0..units {
        let mut next = vec![head];
        while let Some(unit) = next.pop() {
            if let Some(slot) = heads.get_mut(unit).filter(|slot| slot.is_none()) {
                *slot = Some(head);
                next.extend(links.from(unit).iter().map(|(other, _)| *other));
            }
        }
    }
    heads.into_iter().flatten().collect()
}

/// Returns the heads of groups from the bottom up, lowest first, and whether all of them found
/// a place; those on or above a circle come last otherwise.
fn ordered(
    units: usize,
    heads: &[usize],
    below: &[(usize, usize)],
    but: &BTreeSet<usize>,
) -> (Vec<usize>, bool) {
    let head = |unit: usize| heads.get(unit).copied();
    let edges: BTreeSet<(usize, usize)> = below
        .iter()
        .enumerate()
        .filter(|(at, _)| !but.contains(at))
        .filter_map(|(_, (low, high))| Some((head(*low)?, head(*high)?)))
        .collect();
    let mut under: BTreeMap<usize, usize> = BTreeMap::new();
    let mut over: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (low, high) in &edges {
        *under.entry(*high).or_default() += 1;
        over.entry(*low).or_default().push(*high);
    }
    let all: BTreeSet<usize> = heads.iter().copied().collect();
    let mut ready: BTreeSet<(usize, usize)> = all
        .iter()
        .filter(|unit| !under.contains_key(unit))
        .map(|unit| (0, *unit))
        .collect();
    let mut depth: BTreeMap<usize, usize> = BTreeMap::new();
    let mut order = Vec::with_capacity(units);
    while let Some((deep, unit)) = ready.pop_first() {
        order.push(unit);
        for high in over.get(&unit).into_iter().flatten() {
            let deepest = depth.entry(*high).or_default();
            *deepest = (*deepest).max(deep + 1);
            if let Some(left) = under.get_mut(high) {
                *left -= 1;
                if *left == 0 {
                    ready.insert((*deepest, *high));
                }
            }
        }
    }
    let whole = order.len() == all.len();
    let placed: BTreeSet<usize> = order.iter().copied().collect();
    order.extend(all.difference(&placed));
    (order, whole)
}

type Links = Vec<Vec<(usize, Link)>>;

/// Relations of numbered units, as ways from each to the next.
pub(super) struct Relations<'a> {
    below: &'a [(usize, usize)],
    level: &'a [(usize, usize)],
    links: Links,
}

impl<'a> Relations<'a> {
    /// Takes relations in; those that name no such unit are left out.
    pub(super) fn new(
        units: usize,
        below: &'a [(usize, usize)],
        level: &'a [(usize, usize)],
    ) -> Self {
        let mut links: Links = vec![Vec::new(); units];
        let mut add = |from: usize, to: usize, link: Link| {
            if to < units
                && let Some(from) = links.get_mut(from)
            {
                from.push((to, link));
            }
        };
        for (at, (low, high)) in below.iter().enumerate() {
            add(*low, *high, Link::Below(at));
        }
        for (at, (one, other)) in level.iter().enumerate() {
            add(*one, *other, Link::Level(at));
            add(*other, *one, Link::Level(at));
        }
        Self {
            below,
            level,
            links,
        }
    }

    fn from(&self, unit: usize) -> &[(usize, Link)] {
        self.links.get(unit).map_or(&[], Vec::as_slice)
    }

    /// Returns the unit that a circle begins with.
    pub(super) fn begins(&self, circle: &[Link]) -> Option<usize> {
        let pair = match circle.first()? {
            Link::Below(at) => self.below.get(*at),
            Link::Level(at) => self.level.get(*at),
        };
        pair.map(|(one, _)| *one)
    }

    /// Returns the units to which ways lead from a unit, and from which ways lead back.
    pub(super) fn around(&self, unit: usize) -> BTreeSet<usize> {
        let mut back: Vec<Vec<usize>> = vec![Vec::new(); self.links.len()];
        for (from, links) in self.links.iter().enumerate() {
            for (to, _) in links {
                if let Some(back) = back.get_mut(*to) {
                    back.push(from);
                }
            }
        }
        let ahead = reached(unit, |at| self.from(at).iter().map(|(to, _)| *to).collect());
        let behind = reached(unit, |at| back.get(at).cloned().unwrap_or_default());
        ahead.intersection(&behind).copied().collect()
    }

    /// Returns a shortest circle through every relation `below` that lies on one within these
    /// units, but for those that an earlier circle already holds. What is gone counts as unsaid.
    pub(super) fn circles(
        &self,
        within: &BTreeSet<usize>,
        gone: &BTreeSet<Link>,
    ) -> Vec<Vec<Link>> {
        let mut told: BTreeSet<Link> = gone.clone();
        let mut found = Vec::new();
        for (at, (low, high)) in self.below.iter().enumerate().take(MOST_SEARCHED) {
            let link = Link::Below(at);
            if told.contains(&link) || !within.contains(low) || !within.contains(high) {
                continue;
            }
            if let Some(back) = self.shortest([*high, *low], (within, gone)) {
                let circle: Vec<Link> = std::iter::once(link).chain(back).collect();
                told.extend(&circle);
                found.push(circle);
            }
        }
        found
    }

    /// Returns the links of a shortest way; empty where it leads nowhere else.
    fn shortest(
        &self,
        [from, to]: [usize; 2],
        (within, gone): (&BTreeSet<usize>, &BTreeSet<Link>),
    ) -> Option<Vec<Link>> {
        let mut came: BTreeMap<usize, Option<(usize, Link)>> = BTreeMap::from([(from, None)]);
        let mut next = VecDeque::from([from]);
        while let Some(unit) = next.pop_front() {
            if unit == to {
                let mut way = Vec::new();
                let mut at = unit;
                while let Some(Some((before, link))) = came.get(&at) {
                    way.push(*link);
                    at = *before;
                }
                way.reverse();
                return Some(way);
            }
            for (other, link) in self.from(unit) {
                let is_open = within.contains(other) && !gone.contains(link);
                if is_open && !came.contains_key(other) {
                    came.insert(*other, Some((unit, *link)));
                    next.push_back(*other);
                }
            }
        }
        None
    }
}

/// Returns the units to which steps lead from a unit, itself among them.
fn reached(unit: usize, steps: impl Fn(usize) -> Vec<usize>) -> BTreeSet<usize> {
    let mut reached = BTreeSet::new();
    let mut next = vec![unit];
    while let Some(unit) = next.pop() {
        if reached.insert(unit) {
            next.extend(steps(unit));
        }
    }
    reached
}

#[cfg(test)]
mod tests {
    use super::{Link, Strata, strata};
    use proptest::prelude::*;

    /// Every pair of units that some way of relations joins, by brute force: the ways of one
    /// step, closed again and again until nothing is added.
    fn reached(units: usize, below: &[(usize, usize)], level: &[(usize, usize)]) -> Vec<Vec<bool>> {
        let mut reached = vec![vec![false; units]; units];
        for (unit, row) in reached.iter_mut().enumerate() {
            row[unit] = true;
        }
        for (low, high) in below {
            reached[*low][*high] = true;
        }
        for (one, other) in level {
            reached[*one][*other] = true;
            reached[*other][*one] = true;
        }
        for middle in 0..units {
            for from in 0..units {
                for to in 0..units {
                    reached[from][to] |= reached[from][middle] && reached[middle][to];
                }
            }
        }
        reached
    }

    fn place(found: &Strata, unit: usize) -> usize {
        found
            .groups
            .iter()
            .position(|group| group.contains(&unit))
            .unwrap()
    }

    /// A circle is one way that closes, over relations that were really given.
    fn closes(circle: &[Link], below: &[(usize, usize)], level: &[(usize, usize)]) -> bool {
        let Link::Below(first) = circle[0] else {
            return false;
        };
        let (start, mut at) = below[first];
        for link in &circle[1..] {
            at = match link {
                Link::Below(n) if below[*n].0 == at => below[*n].1,
                Link::Level(n) if level[*n].0 == at => level[*n].1,
                Link::Level(n) if level[*n].1 == at => level[*n].0,
                _ => return false,
            };
        }
        at == start
    }

    fn relations(units: usize) -> impl Strategy<Value = Vec<(usize, usize)>> {
        prop::collection::vec((0..units, 0..units), 0..10)
    }

    proptest! {
        #[test]
        fn a_circle_is_found_where_there_is_one_and_all_else_keeps_its_order(
            units in 1..9_usize,
            (below, level) in (relations(8), relations(8)),
        ) {
            let inside = |pair: &&(usize, usize)| pair.0 < units && pair.1 < units;
            let below: Vec<_> = below.iter().filter(inside).copied().collect();
            let level: Vec<_> = level.iter().filter(inside).take(4).copied().collect();
            let found = strata(units, &below, &level);
            let reached = reached(units, &below, &level);
            let on_circle = |(low, high): &(usize, usize)| reached[*high][*low];
            prop_assert_eq!(found.circles.is_empty(), !below.iter().any(on_circle));
            for circle in &found.circles {
                prop_assert!(closes(circle, &below, &level), "{:?}", circle);
            }
            for (at, pair) in below.iter().enumerate() {
                let told = found.circles.iter().flatten().any(|it| *it == Link::Below(at));
                prop_assert_eq!(told, on_circle(pair));
                if !told {
                    prop_assert!(place(&found, pair.0) < place(&found, pair.1));
                }
            }
            for (one, other) in &level {
                prop_assert_eq!(place(&found, *one), place(&found, *other));
            }
            let mut all: Vec<usize> = found.groups.concat();
            all.sort_unstable();
            prop_assert_eq!(all, (0..units).collect::<Vec<_>>());
        }
    }

    #[test]
    fn the_relations_of_a_circle_are_named() {
        // 0 under 1 under 2, and 2 level with 0.
        let found = strata(3, &[(0, 1), (1, 2)], &[(2, 0)]);
        let circle = vec![Link::Below(0), Link::Below(1), Link::Level(0)];
        assert_eq!(found.circles, [circle]);
        assert_eq!(found.groups, [vec![0, 2], vec![1]]);
        assert_eq!(strata(0, &[(3, 4)], &[]), Strata::default());
    }
}
