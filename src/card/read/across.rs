//! Reads all cards of a shop together, and looks at what one says of another.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

use super::super::near::word;
use super::super::rescue::rescued;
use super::super::tree::Tree;
use super::super::{
    Cards, Checklist, ClockName, Figure, Flaw, Material, MaterialKind, Path, SHOP_BOOK, Scope,
};
use super::checklist::{checklist, walk};
use super::figure::figure;
use super::material::material;
use super::node::{Node, Slips, shown};
use super::outline::outline;
use super::shop::{as_far_as_read, shop};

/// Clocks that start without a checklist: gloves, mask and air by deeds of their own, the
/// recoat window by every coat.
const BY_THEMSELVES: [ClockName; 6] = [
    ClockName::Glove,
    ClockName::Cartridge,
    ClockName::Purge,
    ClockName::Drying,
    ClockName::Dust,
    ClockName::Recoat,
];

/// What a file of a shop is, by its path inside the folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Sort {
    Shop,
    Material,
    Checklist,
    Figure,
    Outline,
}

/// A file read as a tree, with the slips found in it so far.
struct Sheet<'f> {
    file: &'f str,
    text: &'f str,
    sort: Sort,
    tree: Tree,
    slips: Slips,
    /// Why the tree is not the whole text; then nothing else is told of the file.
    broken: Option<Flaw>,
}

impl Sheet<'_> {
    fn top(&self) -> Node<'_> {
        Node::top(&self.tree, &self.slips)
    }

    fn id(&self) -> String {
        self.top()
            .at("id")
            .map(|id| id.written().to_owned())
            .unwrap_or_default()
    }

    /// Returns the first flaw in the file's own text, before cards were compared.
    fn flaw(&self) -> Option<Flaw> {
        let broken = self.broken.clone();
        broken.or_else(|| self.slips.first(self.file, self.text))
    }

    /// Returns the id under which a card is kept: its own, or the one by which its file is
    /// called where that cannot be read.
    fn key(&self, id: &str) -> String {
        let is_short =
            |sign: char| sign.is_ascii_lowercase() || sign.is_ascii_digit() || sign == '-';
        if self.flaw().is_none() || (!id.is_empty() && id.chars().all(is_short)) {
            id.to_owned()
        } else {
            unnumbered(stem(self.file)).to_owned()
        }
    }

    fn flaws(self) -> Vec<Flaw> {
        match self.broken {
            Some(flaw) => vec![flaw],
            None => self.slips.into_flaws(self.file, self.text),
        }
    }
}

/// Every id that stands on a card or in a file's name, also of cards that cannot be read, so
/// that one broken card is not reported again by each card that names it.
#[derive(Default)]
struct Names {
    rooms: BTreeSet<String>,
    materials: BTreeSet<String>,
    checklists: BTreeSet<String>,
    /// Whether there is a shop card whose rooms can be read.
    shop: bool,
    clocks: BTreeSet<ClockName>,
}

/// Reads all cards of a shop: pairs of a path inside the shop's folder and the text there, and
/// the built-in checklists in the same way. A checklist of the shop replaces the built-in one
/// of the same id.
///
/// Returns the cards, each as far as it was read ([`Flawed`](crate::card::Flawed) names those
/// with a flaw in their own text), and every flaw of every file, by file, line and column. Paths
/// that are no card's (see `shop`) are passed over.
pub fn read_cards(files: &[(String, String)], builtin: &[(String, String)]) -> (Cards, Vec<Flaw>) {
    let all: Vec<_> = files.iter().chain(builtin).cloned().collect();
    let parts = all.iter().map(|(file, text)| take_apart(file, text));
    read_parts(&all, files.len(), parts.collect(), &[])
}

/// The text of a card taken apart, not yet understood: most of the work of reading it, and the
/// part that looks at no other card.
#[derive(Debug)]
pub struct Parts(Option<(Sort, Tree, Option<Flaw>)>);

/// Takes a text apart; what is no card's path is passed over later.
pub fn take_apart(file: &str, text: &str) -> Parts {
    Parts(sort_of(file).map(|sort| match Tree::read(file, text) {
        Ok(tree) => (sort, tree, None),
        Err(flaw) => (sort, rescued(text), Some(flaw)),
    }))
}

/// As [`read_cards`], from the parts of all texts in their order; so many of them are the
/// shop's own, the rest is built in. Of each card whose text could not be had at all there is
/// a flaw in `unread`.
pub fn read_parts(
    files: &[(String, String)],
    own_files: usize,
    parts: Vec<Parts>,
    unread: &[Flaw],
) -> (Cards, Vec<Flaw>) {
    let mut flaws = Vec::new();
    let mut names = Names::default();
    let mut sheets = Vec::new();
    let mut own = BTreeSet::new();
    let blank = unread.iter().map(|flaw| {
        let sort = sort_of(&flaw.file);
        let parts = sort.map(|sort| (sort, rescued(""), Some(flaw.clone())));
        (flaw.file.as_str(), "", parts, true)
    });
    let given = files.iter().zip(parts).enumerate();
    let given = given.map(|(at, ((file, text), Parts(parts)))| {
        (file.as_str(), text.as_str(), parts, at < own_files)
    });
    for (file, text, parts, is_own) in blank.chain(given) {
        let Some((sort, tree, broken)) = parts else {
            continue;
        };
        let slips = Slips::default();
        let sheet = Sheet {
            file,
            text,
            sort,
            tree,
            slips,
            broken,
        };
        let id = sheet.id();
        // A built-in checklist gives way to the shop's own of the same id.
        if is_own || own.insert((sort, id.clone())) {
            own.extend(is_own.then_some((sort, id)));
            sheets.push(sheet);
        }
        names.add(sort, stem(file));
    }
    for sheet in &sheets {
        names.add(sheet.sort, &sheet.id());
        names.learn(sheet);
    }
    let cards = gather(&sheets);
    ids_once(&sheets);
    for sheet in &sheets {
        across(sheet, &names, &cards);
    }
    for sheet in sheets {
        flaws.extend(sheet.flaws());
    }
    flaws.sort();
    (cards, flaws)
}

fn sort_of(file: &str) -> Option<Sort> {
    let parts: Vec<&str> = file.split('/').collect();
    match parts.as_slice() {
        ["shop.yaml"] => Some(Sort::Shop),
        ["materials", name] if is_yaml(name) => Some(Sort::Material),
        ["figures", _, "figure.yaml"] => Some(Sort::Figure),
        ["figures", _, "outline.yaml"] => Some(Sort::Outline),
        [.., "checklists", name] if is_yaml(name) => Some(Sort::Checklist),
        _ => None,
    }
}

fn is_yaml(name: &str) -> bool {
    name.strip_suffix(".yaml")
        .is_some_and(|stem| !stem.is_empty() && !stem.starts_with('.'))
}

/// Returns the name that a file gives its card: the figure's folder, or the file without its
/// ending.
fn stem(file: &str) -> &str {
    let mut parts = file.rsplit('/');
    let name = parts.next().unwrap_or_default();
    match name {
        "figure.yaml" | "outline.yaml" => parts.next().unwrap_or_default(),
        _ => name.strip_suffix(".yaml").unwrap_or(name),
    }
}

/// Returns the name of a file of a checklist without its number: `06-strip` is called `strip`.
fn unnumbered(stem: &str) -> &str {
    let bare = stem.trim_start_matches(|sign: char| sign.is_ascii_digit());
    bare.trim_start_matches('-')
}

impl Names {
    fn add(&mut self, sort: Sort, id: &str) {
        match sort {
            Sort::Material => self.materials.insert(id.to_owned()),
            Sort::Checklist => self.checklists.insert(unnumbered(id).to_owned()),
            Sort::Shop | Sort::Figure | Sort::Outline => false,
        };
    }

    fn learn(&mut self, sheet: &Sheet<'_>) {
        match sheet.sort {
            Sort::Shop => {
                self.shop = sheet.broken.is_none();
                let rooms = sheet.top().all("rooms");
                let ids = rooms.iter().filter_map(|room| room.at("id"));
                self.rooms.extend(ids.map(|id| id.written().to_owned()));
            }
            Sort::Checklist => {
                for step in walk(&sheet.top()) {
                    let starts = step.all("starts");
                    let clocks = starts.iter().filter_map(|start| start.at("clock"));
                    self.clocks
                        .extend(clocks.filter_map(|clock| word::<ClockName>(clock.written())));
                }
            }
            Sort::Material | Sort::Figure | Sort::Outline => {}
        }
    }
}

/// Reads each sheet; a card with slips is kept as far as it was read.
fn gather(sheets: &[Sheet<'_>]) -> Cards {
    let mut cards = Cards::default();
    for sheet in sheets {
        let top = sheet.top();
        match sheet.sort {
            Sort::Shop => {
                cards.shop = shop(&top);
                cards.flawed.shop = sheet.flaw();
                if cards.flawed.shop.is_some() {
                    cards.shop = as_far_as_read(cards.shop);
                }
            }
            Sort::Material => {
                let mut card = material(&top);
                if !sheet.slips.is_empty() {
                    // A figure of a data sheet counts only where its whole field was read.
                    let whole = sheet.slips.left_out_of(&sheet.tree);
                    card = material(&Node::top(&whole, &Slips::default()));
                }
                card.id = sheet.key(&card.id);
                let into = (&mut cards.materials, &mut cards.flawed.materials);
                keep(sheet, into, card.id.clone(), card);
            }
            Sort::Checklist => {
                let mut card = checklist(&top);
                card.id = sheet.key(&card.id);
                let into = (&mut cards.checklists, &mut cards.flawed.checklists);
                keep(sheet, into, card.id.clone(), card);
            }
            Sort::Outline => {
                let drawing = outline(&top);
                if sheet.flaw().is_none() {
                    cards.outlines.insert(stem(sheet.file).to_owned(), drawing);
                }
            }
            Sort::Figure => {
                let mut card = figure(&top);
                called_as_its_folder(&top, sheet);
                // Its journal lies in the folder, whatever the card says.
                stem(sheet.file).clone_into(&mut card.id);
                let into = (&mut cards.figures, &mut cards.flawed.figures);
                keep(sheet, into, card.id.clone(), card);
            }
        }
    }
    name_the_nameless(&mut cards);
    cards
}

/// Tells a figure that has another name than its folder, or the name of the shop's own book.
fn called_as_its_folder(top: &Node<'_>, sheet: &Sheet<'_>) {
    if let Some(id) = top.at("id").filter(|id| id.written() != stem(sheet.file)) {
        let what = format!(
            "the figure is called `{}`, but its folder `{}`",
            shown(id.written()),
            shown(stem(sheet.file))
        );
        id.slip(what, Some("give both the same name".to_owned()));
    }
    if let Some(id) = top.at("id").filter(|id| id.written() == SHOP_BOOK) {
        let what = format!("no figure can be called `{SHOP_BOOK}`: the shop's own journal is");
        id.slip(what, Some("give figure and folder another name".to_owned()));
    }
}

fn keep<T>(
    sheet: &Sheet<'_>,
    (into, flawed): (&mut BTreeMap<String, T>, &mut BTreeMap<String, Flaw>),
    id: String,
    card: T,
) {
    // The first of two cards with one id stays; `ids_once` reports the second.
    if let Entry::Vacant(place) = into.entry(id) {
        flawed.extend(sheet.flaw().map(|flaw| (place.key().clone(), flaw)));
        place.insert(card);
    }
}

/// Calls flawed cards without a name by their ids; a figure without a room stands in the first.
fn name_the_nameless(cards: &mut Cards) {
    let or_id = |name: &mut String, id: &str| {
        if name.is_empty() {
            id.clone_into(name);
        }
    };
    for id in cards.flawed.figures.keys() {
        if let Some(card) = cards.figures.get_mut(id) {
            or_id(&mut card.name, id);
            let first = cards.shop.rooms.first();
            or_id(&mut card.room, first.map_or("", |room| &room.id));
        }
    }
    for id in cards.flawed.materials.keys() {
        if let Some(card) = cards.materials.get_mut(id) {
            or_id(&mut card.name, id);
        }
    }
    for id in cards.flawed.checklists.keys() {
        if let Some(card) = cards.checklists.get_mut(id) {
            or_id(&mut card.title, id);
        }
    }
}

/// Notes a card whose id another card of its sort has; a built-in one was taken out before.
fn ids_once(sheets: &[Sheet<'_>]) {
    let mut seen: BTreeMap<(Sort, String), &str> = BTreeMap::new();
    for sheet in sheets.iter().filter(|sheet| sheet.sort != Sort::Shop) {
        let Some(node) = sheet.top().at("id").filter(|id| !id.written().is_empty()) else {
            continue;
        };
        if let Some(first) = seen.get(&(sheet.sort, sheet.id())) {
            let what = format!("`{}` is already the id of {first}", shown(node.written()));
            node.slip(what, Some("give each card its own".to_owned()));
        } else {
            seen.insert((sheet.sort, sheet.id()), sheet.file);
        }
    }
}

fn across(sheet: &Sheet<'_>, names: &Names, cards: &Cards) {
    let top = sheet.top();
    match sheet.sort {
        Sort::Figure => {
            if let Some(room) = top.at("room").filter(|_| names.shop) {
                room.known_as("room", names.rooms.iter().map(String::as_str));
            }
            leaves(&top, names, cards);
            for stop in top.all("route") {
                route_stop(&top, &stop, names, cards);
            }
        }
        Sort::Checklist => {
            for step in walk(&top) {
                leads_back(&step, names);
                clocks(&step, names);
            }
        }
        Sort::Outline => {
            let id = stem(sheet.file);
            let whole = |_: &&Figure| !cards.flawed.figures.contains_key(id);
            if let Some(figure) = cards.figures.get(id).filter(whole) {
                drawn(&top, figure);
            }
        }
        Sort::Shop | Sort::Material => {}
    }
}

/// Notes shapes of a drawing whose zone or joint the figure has not.
fn drawn(outline: &Node<'_>, figure: &Figure) {
    let zones = || figure.zones.iter().map(|zone| zone.id.as_str());
    let joints = || figure.joints.iter().map(|joint| joint.id.as_str());
    let sides = outline.all("sides");
    for shape in sides.iter().flat_map(|side| side.all("shapes")) {
        if let Some(zone) = shape.at("zone") {
            zone.known_as("zone", zones());
        }
        if let Some(joint) = shape.at("joint") {
            joint.known_as("joint", joints());
        }
    }
}

/// Notes panels whose leaf no card describes, or whose card is no leaf.
fn leaves(figure: &Node<'_>, names: &Names, cards: &Cards) {
    for leaf in figure
        .all("panels")
        .iter()
        .filter_map(|panel| panel.at("leaf"))
    {
        let known = names.materials.iter().map(String::as_str);
        let whole = |card: &&Material| !cards.flawed.materials.contains_key(&card.id);
        let card = cards.materials.get(leaf.written()).filter(whole);
        if leaf.known_as("material", known)
            && card.is_some_and(|card| card.kind != MaterialKind::Leaf)
        {
            let what = format!("the material `{}` is not a leaf", shown(leaf.written()));
            leaf.slip(what, Some("name a card of `kind: leaf`".to_owned()));
        }
    }
}

fn route_stop(figure: &Node<'_>, stop: &Node<'_>, names: &Names, cards: &Cards) {
    let Some(operation) = stop.at("operation") else {
        return;
    };
    operation.known_as("checklist", names.checklists.iter().map(String::as_str));
    let whole = |list: &&Checklist| !cards.flawed.checklists.contains_key(&list.id);
    let list = cards.checklists.get(operation.written());
    let Some(list) = list.filter(whole) else {
        return;
    };
    let (sort, among) = match list.scope {
        Scope::Figure => {
            if let Some(on) = stop.at("on").filter(|on| !on.items().is_empty()) {
                let what = format!("`{}` is walked on the whole figure", list.id);
                on.slip(what, Some("leave `on` out".to_owned()));
            }
            return;
        }
        Scope::Zone => ("zone", "zones"),
        Scope::Joint => ("joint", "joints"),
        Scope::Panel => ("panel", "panels"),
    };
    let parts = figure.all(among);
    let ids: Vec<Node<'_>> = parts.iter().filter_map(|part| part.at("id")).collect();
    for on in stop.all("on") {
        if !on.known_as(sort, ids.iter().map(Node::written)) || list.scope != Scope::Zone {
            continue;
        }
        let is_it = |zone: &&Node<'_>| zone.at("id").is_some_and(|id| id.written() == on.written());
        let zone = parts.iter().find(is_it);
        if let Some(path) = zone.and_then(|zone| word::<Path>(zone.at("path")?.written())) {
            on_its_path(&on, path, list);
        }
    }
}

/// Notes an operation on a zone whose path forbids it, above all on a witness patch.
fn on_its_path(on: &Node<'_>, path: Path, list: &Checklist) {
    let fits = match list.paths.as_slice() {
        [] => path != Path::Leave,
        paths => paths.contains(&path),
    };
    if !fits {
        let word = match path {
            Path::Keep => "keep",
            Path::Cover => "cover",
            Path::Copy => "copy",
            Path::Leave => "leave",
        };
        let what = format!(
            "the zone `{}` has `path: {word}`, on which `{}` is not done",
            on.written(),
            list.id
        );
        on.slip(what, Some("take the zone out of `on`".to_owned()));
    }
}

fn leads_back(step: &Node<'_>, names: &Names) {
    for back in step
        .all("if")
        .iter()
        .filter_map(|branch| branch.at("back_to"))
    {
        back.known_as("checklist", names.checklists.iter().map(String::as_str));
    }
}

/// Notes clocks that are ended or waited for, but that nothing ever starts.
fn clocks(step: &Node<'_>, names: &Names) {
    let waited = step.at("until").and_then(|until| until.at("clock"));
    for node in step.all("ends").into_iter().chain(waited) {
        let Some(clock) = word::<ClockName>(node.written()) else {
            continue;
        };
        if !names.clocks.contains(&clock) && !BY_THEMSELVES.contains(&clock) {
            let what = format!(
                "no step of any checklist starts the clock `{}`",
                node.written()
            );
            let hint = Some("add it to `starts` of the step where it begins".to_owned());
            node.slip(what, hint);
        }
    }
}
