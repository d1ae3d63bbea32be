//! Makes what is not there yet: a new shop, a new figure, a copy of the sample shop. Nothing
//! that is there is ever written over.

use std::path::{Path, PathBuf};

use super::ShopFault;
use super::embedded::sample_files;
use super::find::{is_shop, is_there, link_to};
use super::load::figure_card;
use crate::card::{Cards, SHOP_BOOK};
use crate::disk::{self, Disk};

/// The material cards that a new shop begins with, taken from the sample shop without lots.
const BEGINNING: [&str; 6] = [
    "medium-epoxy",
    "slow-epoxy",
    "oil-primer",
    "slow-size",
    "gold-leaf-80",
    "oil-varnish",
];

/// Makes a new shop: a commented shop card, a few generic material cards without lots, and the
/// folders.
///
/// # Errors
///
/// [`ShopFault::ShopIsThere`] when the folder is a shop; [`ShopFault::Disk`] when it cannot be
/// written. The shop card is written last, so that a shop made by half is none, and calling
/// again goes on where it stopped.
pub fn open_shop(disk: &dyn Disk, folder: &Path) -> Result<(), ShopFault> {
    refuse_shop(disk, folder)?;
    for inner in ["materials", "checklists", "figures"] {
        disk::make_folders(disk, &folder.join(inner))?;
    }
    for (path, bytes) in sample_files() {
        let is_wanted = BEGINNING
            .iter()
            .any(|id| path == format!("materials/{id}.yaml"));
        let to = folder.join(&path);
        if is_wanted && !is_there(disk, &to)? {
            let text = String::from_utf8_lossy(&bytes);
            disk::replace(disk, &to, without_lots(&text).as_bytes())?;
        }
    }
    disk::replace(disk, &folder.join("shop.yaml"), SHOP.as_bytes())?;
    Ok(())
}

/// Returns a material card with its lots, which stand last, left out.
fn without_lots(card: &str) -> String {
    let kept = card
        .lines()
        .take_while(|line| !line.starts_with("lots:"))
        .map(|line| format!("{line}\n"));
    kept.chain([LOTS.to_owned()]).collect()
}

/// Copies the sample shop to a folder.
///
/// # Errors
///
/// As [`open_shop`].
pub fn copy_sample(disk: &dyn Disk, to: &Path) -> Result<(), ShopFault> {
    refuse_shop(disk, to)?;
    let (card, rest): (Vec<_>, Vec<_>) = sample_files()
        .into_iter()
        .partition(|(path, _)| path == "shop.yaml");
    for (path, bytes) in rest.into_iter().chain(card) {
        let file = to.join(path);
        disk::make_folders(disk, disk::parent_of(&file))?;
        disk::replace(disk, &file, &bytes)?;
    }
    Ok(())
}

fn refuse_shop(disk: &dyn Disk, folder: &Path) -> Result<(), ShopFault> {
    if is_shop(disk, folder)? {
        let folder = folder.to_owned();
        return Err(ShopFault::ShopIsThere { folder });
    }
    Ok(())
}

/// What a new figure is, as far as its zones go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carving {
    /// An animal with saddle and trappings.
    Animal,
    /// A standing figure.
    Standing,
    /// Anything else: one zone and a witness patch to begin with.
    Other,
}

/// A figure to take in.
#[derive(Debug, Clone, Copy)]
pub struct NewFigure<'a> {
    /// Its short name, which becomes its folder.
    pub id: &'a str,
    /// What it is.
    pub carving: Carving,
}

/// Makes the folder of a new figure with a commented card, and returns the card's path.
///
/// Every zone begins on the path `leave`, so that nothing that cannot be undone can be begun
/// before somebody has decided; no zone has an area before somebody has measured it. The route
/// goes through all checklists in their order.
///
/// # Errors
///
/// [`ShopFault::NotAName`], [`ShopFault::NotFree`], [`ShopFault::FigureIsThere`],
/// [`ShopFault::Elsewhere`], or [`ShopFault::Disk`] when the
/// folder cannot be written.
pub fn take_in(
    disk: &dyn Disk,
    folder: &Path,
    cards: &Cards,
    figure: NewFigure<'_>,
) -> Result<PathBuf, ShopFault> {
    let id = figure.id.to_owned();
    let is_name = !id.is_empty()
        && id.len() <= 40
        && !id.starts_with('-')
        && !id.ends_with('-')
        && id
            .chars()
            .all(|sign| sign.is_ascii_lowercase() || sign.is_ascii_digit() || sign == '-');
    if !is_name {
        return Err(ShopFault::NotAName { id });
    }
    if id == SHOP_BOOK {
        return Err(ShopFault::NotFree { id });
    }
    if let Some(folder) = link_to(disk, folder, &id) {
        return Err(ShopFault::Elsewhere { folder });
    }
    let path = figure_card(folder, &id);
    let taken = ShopFault::FigureIsThere {
        id,
        folder: disk::parent_of(&path).to_owned(),
    };
    if is_there(disk, &path)? {
        return Err(taken);
    }
    disk::make_folders(disk, &disk::parent_of(&path).join("photos"))?;
    match disk::make(disk, &path, card_of(cards, figure).as_bytes()) {
        // Somebody else took in a figure of this name at the same moment.
        Err(fault) if fault.is_taken() => Err(taken),
        made => Ok(made.map(|()| path)?),
    }
}

fn card_of(cards: &Cards, figure: NewFigure<'_>) -> String {
    let name = figure.id.replace('-', " ");
    let room = cards
        .shop
        .rooms
        .first()
        .map_or("bench-room", |room| &room.id);
    let zones: Vec<String> = zones_of(figure.carving)
        .iter()
        .map(|(id, name)| {
            format!("  - {{ id: {id}, name: {name}, path: leave, finish: paint, wear: none }}")
        })
        .collect();
    let mut lists: Vec<_> = cards.checklists.values().collect();
    lists.sort_by_key(|list| (list.order, &list.id));
    let route: Vec<String> = lists
        .iter()
        .map(|list| format!("  - operation: {}", list.id))
        .collect();
    let zone = match figure.carving {
        Carving::Animal => "body-near",
        Carving::Standing => "torso",
        Carving::Other => "body",
    };
    FIGURE
        .replace("{zone}", zone)
        .replace("{id}", figure.id)
        .replace("{name}", &name)
        .replace("{room}", room)
        .replace("{zones}", &zones.join("\n"))
        .replace("{route}", &route.join("\n"))
}

/// The usual zones, near side and off side (*common practice*). One witness patch is always
/// among them.
fn zones_of(carving: Carving) -> Vec<(String, String)> {
    let listed = match carving {
        Carving::Animal => ANIMAL,
        Carving::Standing => STANDING,
        Carving::Other => "body",
    };
    let mut zones: Vec<(String, String)> = listed
        .split(", ")
        .chain(["witness patch"])
        .map(|name| (name.replace(' ', "-"), name.to_owned()))
        .collect();
    if carving == Carving::Animal {
        for leg in ["fore near", "fore off", "hind near", "hind off"] {
            for part in ["upper", "joint", "lower", "hoof"] {
                let name = format!("{leg} {part}");
                zones.push((name.replace(' ', "-"), name));
            }
        }
    }
    zones
}

/// Zones of an animal without its legs (*common practice*).
const ANIMAL: &str = "muzzle, face, eye, ears, forelock, bridle, neck near, neck off, mane near, \
    mane off, breast strap, body near, body off, saddle seat, cantle, flaps near, flaps off, \
    blanket near, blanket off, girth, belly, croup, tail, ornament";

/// Zones of a standing figure (*common practice*).
const STANDING: &str = "head, hair, face, torso, drapery front, drapery side, drapery back, arms, \
    hands, attributes, base, hollow back";

/// The card of a new shop.
const SHOP: &str = include_str!("fresh/shop.yaml");

/// The card of a new figure, with places to fill in.
const FIGURE: &str = include_str!("fresh/figure.yaml");

/// What a new material card says of lots.
const LOTS: &str = include_str!("fresh/lots.yaml");
