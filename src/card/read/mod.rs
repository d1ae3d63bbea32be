//! Reads cards: text in, a card or all its flaws out. Start at [`read_cards`].
//!
//! One file per card; `node` asks the questions, `within` holds the ranges, `across` looks at
//! what one card says of another.

mod across;
mod checklist;
mod fields;
mod figure;
mod material;
mod node;
mod outline;
mod shop;
mod within;
mod work_hours;

use super::tree::Tree;
use super::{Checklist, Figure, Flaw, Material, Outline, Shop};
use node::{Node, Slips};

pub use across::{Parts, read_cards, read_parts, take_apart};

/// Reads the shop card.
///
/// # Errors
///
/// All flaws of the text, in the order of its lines.
pub fn read_shop(file: &str, text: &str) -> Result<Shop, Vec<Flaw>> {
    read_one(file, text, shop::shop)
}

/// Reads a figure card. What it says of the shop, of materials and of checklists is looked at
/// by [`read_cards`] only.
///
/// # Errors
///
/// All flaws of the text, in the order of its lines.
pub fn read_figure(file: &str, text: &str) -> Result<Figure, Vec<Flaw>> {
    read_one(file, text, figure::figure)
}

/// Reads a material card.
///
/// # Errors
///
/// All flaws of the text, in the order of its lines.
pub fn read_material(file: &str, text: &str) -> Result<Material, Vec<Flaw>> {
    read_one(file, text, material::material)
}

/// Reads a checklist. Whether the operations it sends back to exist is looked at by
/// [`read_cards`] only.
///
/// # Errors
///
/// All flaws of the text, in the order of its lines.
pub fn read_checklist(file: &str, text: &str) -> Result<Checklist, Vec<Flaw>> {
    read_one(file, text, checklist::checklist)
}

/// Reads the outline of a figure. Whether the figure has its zones and joints is looked at by
/// [`read_cards`] only.
///
/// # Errors
///
/// All flaws of the text, in the order of its lines.
pub fn read_outline(file: &str, text: &str) -> Result<Outline, Vec<Flaw>> {
    read_one(file, text, outline::outline)
}

fn read_one<T>(file: &str, text: &str, read: fn(&Node<'_>) -> T) -> Result<T, Vec<Flaw>> {
    let tree = Tree::read(file, text).map_err(|flaw| vec![flaw])?;
    let slips = Slips::default();
    let card = read(&Node::top(&tree, &slips));
    if slips.is_empty() {
        Ok(card)
    } else {
        Err(slips.into_flaws(file, text))
    }
}
