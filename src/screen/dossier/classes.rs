//! What the map shows zones by: each class is colour and symbol and word, and a texture for
//! the surface, so that nothing depends on colour alone.

use crate::card::{Finish, Path, Wear};
use crate::standing::{Progress, ZoneFacts};

use super::super::look::Tone;

/// What the map is coloured and marked by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum MapMark {
    /// The path chosen.
    #[default]
    Path,
    /// How far the work is.
    Stage,
    /// Coats on it.
    Coats,
    /// Grade of condition.
    Grade,
    /// Wear.
    Wear,
    /// Leaf or paint.
    Leaf,
}

impl MapMark {
    /// Every mark, in its order.
    pub(super) const ALL: [Self; 6] = [
        Self::Path,
        Self::Stage,
        Self::Coats,
        Self::Grade,
        Self::Wear,
        Self::Leaf,
    ];

    /// Returns the next one, round and round.
    #[must_use]
    pub fn next(self) -> Self {
        let at = Self::ALL.iter().position(|mark| *mark == self);
        let next = (at.unwrap_or(0) + 1) % Self::ALL.len();
        Self::ALL.get(next).copied().unwrap_or_default()
    }

    /// Returns its name.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Path => "path",
            Self::Stage => "stage",
            Self::Coats => "coats",
            Self::Grade => "condition",
            Self::Wear => "wear",
            Self::Leaf => "leaf",
        }
    }
}

/// One class of a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Class {
    /// One cell wide.
    pub(super) symbol: &'static str,
    /// The word.
    pub(super) word: &'static str,
    /// Its colour.
    pub(super) tone: Tone,
    /// The texture of its surface, one cell wide.
    pub(super) texture: &'static str,
}

const fn class(
    symbol: &'static str,
    word: &'static str,
    tone: Tone,
    texture: &'static str,
) -> Class {
    Class {
        symbol,
        word,
        tone,
        texture,
    }
}

/// Returns the class of a zone.
pub(super) fn of(mark: MapMark, zone: &ZoneFacts) -> Class {
    match mark {
        MapMark::Path => path(zone.path),
        MapMark::Stage => stage(zone.progress),
        MapMark::Coats => coats(zone.coats_in_all()),
        MapMark::Grade => grade(zone.grade),
        MapMark::Wear => wear(zone.wear),
        MapMark::Leaf => leaf(zone.finish),
    }
}

/// Returns every class of a mark, for who asks what a symbol means.
pub(super) fn all(mark: MapMark) -> Vec<Class> {
    use Progress::{Bared, Gilt, Mended, Painted, Released, Studied, Untouched, Varnished};
    match mark {
        MapMark::Path => [Path::Keep, Path::Cover, Path::Copy, Path::Leave]
            .map(path)
            .to_vec(),
        MapMark::Stage => [
            Untouched, Studied, Bared, Mended, Painted, Gilt, Varnished, Released,
        ]
        .map(stage)
        .to_vec(),
        MapMark::Coats => [0, 1, 3, 6, 9].map(coats).to_vec(),
        MapMark::Grade => [None, Some(0.0), Some(1.0), Some(2.0), Some(3.0), Some(4.0)]
            .map(grade)
            .to_vec(),
        MapMark::Wear => [Wear::Worn, Wear::None].map(wear).to_vec(),
        MapMark::Leaf => [Finish::Gold, Finish::Aluminium, Finish::Paint, Finish::Wood]
            .map(leaf)
            .to_vec(),
    }
}

fn path(path: Path) -> Class {
    match path {
        Path::Keep => class("◈", "keep", Tone::Gilt, "▒"),
        Path::Cover => class("◐", "cover", Tone::Chalk, "·"),
        Path::Copy => class("◆", "copy", Tone::Verdigris, "░"),
        Path::Leave => class("■", "leave", Tone::Bole, "▓"),
    }
}

fn coats(laid: u32) -> Class {
    match laid {
        0 => class("○", "no coat", Tone::Rubbed, " "),
        1..=2 => class("◔", "1–2 coats", Tone::Chalk, "·"),
        3..=5 => class("◑", "3–5 coats", Tone::Gilt, "░"),
        6..=8 => class("◕", "6–8 coats", Tone::Gilt, "▒"),
        _ => class("●", "9 coats or more", Tone::Verdigris, "▓"),
    }
}

fn wear(wear: Wear) -> Class {
    match wear {
        Wear::Worn => class("✕", "worn in use", Tone::Bole, "▒"),
        Wear::None => class("○", "not touched", Tone::Verdigris, "·"),
    }
}

fn leaf(finish: Finish) -> Class {
    match finish {
        Finish::Gold => class("★", "gold leaf", Tone::Gilt, "▓"),
        Finish::Aluminium => class("☆", "aluminium leaf", Tone::Chalk, "▒"),
        Finish::Paint => class("●", "paint", Tone::Verdigris, "·"),
        Finish::Wood => class("≡", "wood", Tone::Rubbed, "░"),
    }
}

fn stage(progress: Progress) -> Class {
    match progress {
        Progress::Untouched => class("○", "nothing begun", Tone::Rubbed, " "),
        Progress::Studied => class("◇", "studied", Tone::Chalk, "·"),
        Progress::Bared => class("◌", "stripped", Tone::Bole, "░"),
        Progress::Mended => class("◧", "mended", Tone::Bole, "▒"),
        Progress::Painted => class("◆", "primed, painted", Tone::Gilt, "▒"),
        Progress::Gilt => class("★", "gilt", Tone::Gilt, "▓"),
        Progress::Varnished => class("◉", "varnished", Tone::Verdigris, "▒"),
        Progress::Released => class("✓", "released", Tone::Verdigris, "▓"),
    }
}

fn grade(grade: Option<f64>) -> Class {
    match grade {
        None => class("–", "not graded", Tone::Rubbed, " "),
        Some(grade) if grade < 0.5 => class("○", "0 sound", Tone::Verdigris, "·"),
        Some(grade) if grade < 1.5 => class("◔", "1 slight", Tone::Chalk, "░"),
        Some(grade) if grade < 2.5 => class("◑", "2 marked", Tone::Gilt, "░"),
        Some(grade) if grade < 3.5 => class("◕", "3 bad", Tone::Bole, "▒"),
        Some(_) => class("●", "4 failing", Tone::Bole, "▓"),
    }
}
