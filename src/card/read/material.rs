//! Reads a material card.

use super::super::{
    Basis, CureHours, GloveFigure, Lot, MOST_HELD, Material, MaterialKind, PotLifePoint, Ratio,
    RecoatHours,
};
use super::fields::Fields;
use super::node::{Node, once, shown};
use super::within::{
    DENSITY, EVAPORATES, FILM, HOURS, HOURS_OR_NONE, LEAF, LOT_PRICE, MASS, MINUTES, PARTS,
    PERCENT, SPREAD, TEMPERATURE, Within,
};
use crate::reckon::SumTrouble;
use crate::reckon::exposure::solvent_called;

pub(super) fn material(node: &Node<'_>) -> Material {
    node.fields(|f| {
        let material = Material {
            id: f.id(),
            name: f.line("name", 80),
            kind: f.word("kind", MaterialKind::Other),
            source: f.line("source", 240),
            comes_off: f.note("comes_off", 160),
            ratio: f.maybe("ratio", ratio),
            pot_life: f.each("pot_life", pot_life),
            closing_min: f.maybe("closing_min", |node| cure(node, &MINUTES)),
            handling_h: f.maybe("handling_h", |node| cure(node, &HOURS)),
            load_h: f.maybe("load_h", |node| cure(node, &HOURS)),
            full_cure_h: f.maybe("full_cure_h", |node| cure(node, &HOURS)),
            recoat: f.maybe("recoat", recoat),
            size_class: f.maybe_word("size_class"),
            tack_h: f.maybe("tack_h", |node| cure(node, &HOURS)),
            dead_h: f.maybe("dead_h", |node| cure(node, &HOURS)),
            dwell_min: f.maybe("dwell_min", |node| cure(node, &MINUTES)),
            spread_m2_per_l: f.maybe_number("spread_m2_per_l", &SPREAD),
            solids_percent: f.maybe_number("solids_percent", &PERCENT),
            dry_film_um: f.maybe_number("dry_film_um", &FILM),
            solvent: f.may("solvent").map(|node| solvent(&node)),
            evaporates_ml_per_min: f.maybe_number("evaporates_ml_per_min", &EVAPORATES),
            range_c: f.maybe_pair("range_c", &TEMPERATURE),
            most_humidity_percent: f.maybe_number("most_humidity_percent", &PERCENT),
            strength: f.words("strength"),
            ghs: f.each("ghs", statement),
            gloves: f.each("gloves", glove),
            leaf_mm: f.maybe_number("leaf_mm", &LEAF),
            leaves_per_book: f.maybe("leaves_per_book", |node| node.whole(1, 1_000)),
            lots: f.each("lots", lot),
        };
        needed_by_kind(f, &material);
        f.unique("gloves", "glove");
        lots_once(f);
        priced_for_something(f, &material);
        material
    })
}

/// Notes what a kind of material cannot do without: a two-part epoxy its ratio and its pot
/// life, a leaf its side.
fn needed_by_kind(f: &mut Fields<'_>, material: &Material) {
    match material.kind {
        MaterialKind::Epoxy => {
            if material.ratio.is_none() {
                f.lacks("ratio");
            }
            if material.pot_life.is_empty() {
                f.lacks("pot_life");
            }
        }
        MaterialKind::Leaf if material.leaf_mm.is_none() => f.lacks("leaf_mm"),
        _ => {}
    }
}

/// Reads a solvent by a name that the ventilation sums know.
fn solvent(node: &Node<'_>) -> String {
    let name = node.line(60);
    if let Err(refusal) = solvent_called(&name)
        && !name.is_empty()
    {
        // A near name says it all; else the whole list does.
        let is_near = matches!(&refusal, SumTrouble::Unknown { near: Some(_), .. });
        let hint = (!is_near).then(|| refusal.remedy());
        node.slip(refusal.to_string(), hint);
    }
    name
}

/// Notes a lot number that stands twice for the same part; A and B of one kit may share one.
fn lots_once(f: &Fields<'_>) {
    let numbers: Vec<Node<'_>> = f.block().all("lots");
    for half in ["", "a", "b"] {
        let same = numbers
            .iter()
            .filter(|lot| lot.at("part").map_or("", |part| part.written()) == half);
        let named: Vec<Node<'_>> = same.filter_map(|lot| lot.at("lot")).collect();
        once(&named, |node| node.written().to_owned());
    }
}

/// Notes a price of which nobody can tell what it is for.
fn priced_for_something(f: &Fields<'_>, material: &Material) {
    let holds = match material.unit() {
        "g" => "holds_g",
        "ml" => "holds_ml",
        _ => "holds_leaves",
    };
    for (node, lot) in f.block().all("lots").iter().zip(&material.lots) {
        if let Some(price) = node.at("price")
            && material.priced_amount(lot).is_none()
        {
            price.slip(
                "`price` does not say for how much".to_owned(),
                Some(format!(
                    "add `{holds}: …` to this lot, what it holds when full"
                )),
            );
        }
    }
}

fn ratio(node: &Node<'_>) -> Ratio {
    node.fields(|f| {
        let ratio = Ratio {
            a: f.number("a", &PARTS),
            b: f.number("b", &PARTS),
            basis: f.word("basis", Basis::Weight),
            density_a: f.maybe_number("density_a", &DENSITY),
            density_b: f.maybe_number("density_b", &DENSITY),
        };
        if ratio.basis == Basis::Volume {
            for (density, name) in [
                (ratio.density_a, "density_a"),
                (ratio.density_b, "density_b"),
            ] {
                if density.is_none() {
                    f.lacks(name);
                }
            }
        }
        ratio
    })
}

fn pot_life(node: &Node<'_>) -> PotLifePoint {
    node.fields(|f| PotLifePoint {
        minutes: f.number("minutes", &MINUTES),
        grams: f.number("grams", &MASS),
        temp_c: f.number("temp_c", &TEMPERATURE),
    })
}

fn cure(node: &Node<'_>, within: &Within) -> CureHours {
    node.fields(|f| {
        let span = CureHours {
            early: f.number("early", within),
            likely: f.number("likely", within),
            late: f.number("late", within),
            at_c: f.number("at_c", &TEMPERATURE),
        };
        if !(span.early <= span.likely && span.likely <= span.late) {
            let what = format!(
                "early {}, likely {} and late {} are not in this order",
                span.early, span.likely, span.late
            );
            f.block().slip(
                what,
                Some("the earliest comes first, the latest last".to_owned()),
            );
        }
        span
    })
}

fn recoat(node: &Node<'_>) -> RecoatHours {
    node.fields(|f| {
        let min = f.need("min_h");
        let window = RecoatHours {
            min_h: min
                .map(|node| node.pair(&HOURS_OR_NONE))
                .unwrap_or_default(),
            max_h: f.maybe_number("max_h", &HOURS),
            at_c: f.number("at_c", &TEMPERATURE),
        };
        let [_, longest] = window.min_h;
        if let (Some(max), Some(node)) = (window.max_h, f.block().at("max_h"))
            && max < longest
        {
            let what = format!("`max_h` {max} h is over before `min_h` {longest} h is reached");
            node.slip(what, Some("compare both with the data sheet".to_owned()));
        }
        window
    })
}

/// Reads a hazard statement such as `H317`, `H360FD` or `EUH066`.
fn statement(node: &Node<'_>) -> String {
    let code = node.line(8);
    let bare = code.strip_prefix("EUH").or_else(|| code.strip_prefix('H'));
    let well = bare.is_some_and(|bare| {
        let letters = bare.trim_start_matches(|sign: char| sign.is_ascii_digit());
        bare.len() - letters.len() == 3 && letters.chars().all(|sign| sign.is_ascii_alphabetic())
    });
    if !well && !code.is_empty() {
        let hint = "write its code from the data sheet, such as `H317`".to_owned();
        node.slip(
            format!("`{}` is not a hazard statement", shown(&code)),
            Some(hint),
        );
    }
    code
}

fn glove(node: &Node<'_>) -> GloveFigure {
    node.fields(|f| GloveFigure {
        glove: f.line("glove", 60),
        breakthrough_min: f.number("breakthrough_min", &MINUTES),
    })
}

fn lot(node: &Node<'_>) -> Lot {
    node.fields(|f| {
        let lot = Lot {
            lot: f.line("lot", 40),
            part: f.note("part", 40),
            opened: f.date("opened"),
            expires: f.date("expires"),
            holds_g: f.maybe("holds_g", |node| node.whole(1, MOST_HELD)),
            holds_ml: f.maybe("holds_ml", |node| node.whole(1, MOST_HELD)),
            holds_leaves: f.maybe("holds_leaves", |node| node.whole(1, MOST_HELD)),
            price: f.maybe_number("price", &LOT_PRICE),
        };
        if !matches!(lot.part.as_str(), "" | "a" | "b")
            && let Some(part) = f.block().at("part")
        {
            part.slip(
                format!("`part` cannot be `{}`", shown(&lot.part)),
                Some("write `a` or `b`, or leave it out for a one-part material".to_owned()),
            );
        }
        lot
    })
}
