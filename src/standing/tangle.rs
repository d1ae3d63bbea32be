//! Circles that hang together, and what has to be taken away so that none is left: one relation
//! that all of them share, or the fewest that come to hand. Pure sum on numbered units, as in
//! `strata`.

use std::collections::BTreeSet;

use super::strata::{Link, Relations};

/// More relations than this are not sought to be taken away together: who has to look at so many
/// looks at all (count; chosen here).
const MOST_TOGETHER: usize = 4;

/// In a tangle of more circles nothing is sought that goes together (count; chosen here).
const MOST_CIRCLES: usize = 64;

/// Circles that hang together: from each unit of them some way leads to every other and back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Tangle {
    /// The circles that were found in it.
    pub(super) circles: Vec<Vec<Link>>,
    /// What takes all its circles away.
    pub(super) way_out: WayOut,
}

/// What takes all circles of a tangle away.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum WayOut {
    /// Any one of these: each lies on every circle.
    AnyOf(Vec<Link>),
    /// None alone, these together, and no fewer.
    AllOf(Vec<Link>),
    /// Nothing that was found.
    Unknown,
}

/// Returns the tangles of some circles of these relations, and the way out of each. Only what
/// `may_go` says is looked at as what may be taken away.
pub(super) fn tangles(
    relations: &Relations<'_>,
    circles: Vec<Vec<Link>>,
    may_go: impl Fn(Link) -> bool,
) -> Vec<Tangle> {
    let mut rest = circles;
    let mut tangles = Vec::new();
    while let Some(unit) = rest.first().and_then(|it| relations.begins(it)) {
        let within = relations.around(unit);
        let is_here = |circle: &Vec<Link>| {
            let begins = relations.begins(circle);
            begins.is_some_and(|unit| within.contains(&unit))
        };
        let (mut here, other) = rest.into_iter().partition::<Vec<_>, _>(is_here);
        rest = other;
        // The shortest is told first: it is the quickest to look at again.
        here.sort_by_key(Vec::len);
        tangles.push(Tangle {
            way_out: way_out(relations, (&here, &within), &may_go),
            circles: here,
        });
    }
    tangles
}

fn way_out(
    relations: &Relations<'_>,
    (circles, within): (&[Vec<Link>], &BTreeSet<usize>),
    may_go: &impl Fn(Link) -> bool,
) -> WayOut {
    let is_cut = |gone: &BTreeSet<Link>| relations.circles(within, gone).is_empty();
    // What lies on every circle lies on the first.
    let on_first = circles.first().into_iter().flatten().copied();
    let shared: Vec<Link> = on_first
        .filter(|link| may_go(*link) && is_cut(&BTreeSet::from([*link])))
        .collect();
    if !shared.is_empty() {
        return WayOut::AnyOf(shared);
    }
    if MOST_CIRCLES < circles.len() {
        return WayOut::Unknown;
    }
    let together = (2..=MOST_TOGETHER).find_map(|most| {
        let mut gone = BTreeSet::new();
        is_cut_by(relations, (within, may_go), (most, &mut gone)).then_some(gone)
    });
    together.map_or(WayOut::Unknown, |gone| {
        WayOut::AllOf(gone.into_iter().collect())
    })
}

/// Takes so many more relations away that no circle is left, if that can be: one of each circle
/// has to go. What was said later is tried first, for the circles came with it.
fn is_cut_by(
    relations: &Relations<'_>,
    (within, may_go): (&BTreeSet<usize>, &impl Fn(Link) -> bool),
    (most, gone): (usize, &mut BTreeSet<Link>),
) -> bool {
    let circles = relations.circles(within, gone);
    let Some(circle) = circles.iter().min_by_key(|circle| circle.len()) else {
        return true;
    };
    let Some(most) = most.checked_sub(1) else {
        return false;
    };
    let mut on_it: Vec<Link> = circle.iter().copied().filter(|it| may_go(*it)).collect();
    on_it.sort_by_key(|link| match link {
        Link::Below(at) | Link::Level(at) => std::cmp::Reverse(*at),
    });
    on_it.into_iter().any(|link| {
        gone.insert(link);
        let is_cut = is_cut_by(relations, (within, may_go), (most, gone));
        if !is_cut {
            gone.remove(&link);
        }
        is_cut
    })
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use proptest::prelude::*;

    use super::super::strata::{Link, Relations, strata};
    use super::{Tangle, WayOut, tangles};

    type Pairs = Vec<(usize, usize)>;

    /// Every circle there is, by brute force: all ways that meet no unit twice are walked, and
    /// those that close and go up at least once are kept, each as the set of its relations.
    fn all_circles(units: usize, below: &Pairs, level: &Pairs) -> BTreeSet<BTreeSet<Link>> {
        let up = below.iter().enumerate();
        let up = up.map(|(at, (low, high))| (*low, *high, Link::Below(at)));
        let across = level.iter().enumerate().flat_map(|(at, (one, other))| {
            let link = Link::Level(at);
            [(*one, *other, link), (*other, *one, link)]
        });
        let steps: Vec<(usize, usize, Link)> = up.chain(across).collect();
        let mut found = BTreeSet::new();
        for start in 0..units {
            let mut ways = vec![(start, vec![start], BTreeSet::new())];
            while let Some((at, met, links)) = ways.pop() {
                for (from, to, link) in &steps {
                    if *from != at || links.contains(link) {
                        continue;
                    }
                    let mut links = links.clone();
                    links.insert(*link);
                    let goes_up = links.iter().any(|it| matches!(it, Link::Below(_)));
                    if *to == start && goes_up {
                        found.insert(links);
                    } else if !met.contains(to) {
                        ways.push((*to, [met.as_slice(), &[*to]].concat(), links));
                    }
                }
            }
        }
        found
    }

    fn found(units: usize, below: &Pairs, level: &Pairs, fixed: &BTreeSet<Link>) -> Vec<Tangle> {
        let circles = strata(units, below, level).circles;
        let relations = Relations::new(units, below, level);
        tangles(&relations, circles, |link| !fixed.contains(&link))
    }

    /// Whether some of these, at most so many, do.
    fn some_of(all: &[Link], most: usize, does: &dyn Fn(&[Link]) -> bool) -> bool {
        (0..1_u32 << all.len()).any(|which| {
            let picked = all.iter().zip(0..).filter(|(_, at)| which >> at & 1 == 1);
            let picked: Vec<Link> = picked.map(|(link, _)| *link).collect();
            picked.len() <= most && does(&picked)
        })
    }

    fn relations(units: usize, most: usize) -> impl Strategy<Value = Pairs> {
        prop::collection::vec((0..units, 0..units), 0..most)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(400))]

        /// The tangles part all circles among them; what is told alone lies on every circle of its
        /// tangle and nothing else does; what is told together meets every circle, and no fewer do.
        #[test]
        fn what_is_told_lies_on_every_circle_and_without_it_none_is_left(
            below in relations(6, 9),
            level in relations(6, 4),
            fixed in prop::collection::btree_set((0..9_usize).prop_map(Link::Below), 0..4),
        ) {
            let units = 6;
            let all = all_circles(units, &below, &level);
            let found = found(units, &below, &level, &fixed);
            prop_assert_eq!(all.is_empty(), found.is_empty());
            let mut seen = 0;
            for tangle in &found {
                let told: BTreeSet<Link> = tangle.circles.iter().flatten().copied().collect();
                let goes_up = |link: &&Link| matches!(link, Link::Below(_));
                let told: BTreeSet<&Link> = told.iter().filter(goes_up).collect();
                // Every relation upward of a tangle stands on one of its circles that are told.
                let here = |circle: &&BTreeSet<Link>| circle.iter().any(|it| told.contains(it));
                let here: Vec<&BTreeSet<Link>> = all.iter().filter(here).collect();
                seen += here.len();
                let meets_all = |gone: &[Link]| {
                    here.iter().all(|circle| gone.iter().any(|link| circle.contains(link)))
                };
                let links: BTreeSet<Link> = here.iter().flat_map(|it| it.iter()).copied().collect();
                let shared: BTreeSet<Link> = links
                    .iter()
                    .filter(|link| !fixed.contains(link) && meets_all(&[**link]))
                    .copied()
                    .collect();
                match &tangle.way_out {
                    WayOut::AnyOf(some) => {
                        prop_assert!(!some.is_empty());
                        prop_assert_eq!(some.iter().copied().collect::<BTreeSet<_>>(), shared);
                    }
                    WayOut::AllOf(some) => {
                        prop_assert!(shared.is_empty());
                        prop_assert!(1 < some.len() && meets_all(some));
                        prop_assert!(some.iter().all(|it| !fixed.contains(it)));
                        let may_go: Vec<Link> =
                            links.iter().filter(|it| !fixed.contains(it)).copied().collect();
                        prop_assert!(!some_of(&may_go, some.len() - 1, &meets_all), "fewer do");
                    }
                    WayOut::Unknown => {
                        let may_go: Vec<Link> =
                            links.iter().filter(|it| !fixed.contains(it)).copied().collect();
                        let is_found = some_of(&may_go, super::MOST_TOGETHER, &meets_all);
                        prop_assert!(!is_found, "a way out was not found");
                    }
                }
            }
            prop_assert_eq!(seen, all.len(), "each circle is of one tangle");
        }
    }

    #[test]
    fn one_wrong_tie_of_two_stacks_is_the_one_that_is_told() {
        // Two stacks of three, tied level by level; the third tie says that the lowest of one
        // lies over the highest of the other.
        let below = vec![(0, 1), (1, 2), (3, 4), (4, 5), (5, 0)];
        let level = vec![(0, 3), (1, 4)];
        let counted: BTreeSet<Link> = (0..4).map(Link::Below).collect();
        let found = found(6, &below, &level, &counted);
        assert_eq!(found.len(), 1);
        assert!(1 < found[0].circles.len());
        assert_eq!(found[0].way_out, WayOut::AnyOf(vec![Link::Below(4)]));
    }
}
