//! Photographs in the terminal's own pixels: written over a place that the page leaves blank,
//! after the page, and taken away before the place holds anything else.

use std::fmt;
use std::io::{self, Write};
use std::sync::Arc;

use crossterm::cursor::MoveTo;
use crossterm::queue;
use crossterm::terminal::{BeginSynchronizedUpdate, EndSynchronizedUpdate, window_size};
use ratatui::layout::{Rect, Size};

use crate::shop::Picture;

use super::graphics::{BAND, apc, apc_gone, sixel};

/// A photograph and the place on the page that is kept free for it.
#[derive(Debug, Clone)]
pub struct Hung {
    /// The place, cells.
    pub area: Rect,
    /// The photograph.
    pub picture: Arc<Picture>,
}

impl PartialEq for Hung {
    fn eq(&self, other: &Self) -> bool {
        self.area == other.area && Arc::ptr_eq(&self.picture, &other.picture)
    }
}

/// Where photographs hang in the terminal's own pixels.
pub trait Easel {
    /// Returns the size of a cell in pixels; `None` where pictures are made of cells.
    fn cell(&mut self) -> Option<[u16; 2]>;

    /// Takes down what hangs and is not wanted any more on a page of this size; says whether
    /// the whole page has to be drawn anew for it.
    fn take_down(&mut self, page: Size, wanted: &[Hung]) -> bool;

    /// Hangs what is wanted on the page that was just drawn; what hangs already is left.
    fn hang(&mut self, page: Size, wanted: Vec<Hung>);
}

/// No easel: every picture is made of cells.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoEasel;

impl Easel for NoEasel {
    fn cell(&mut self) -> Option<[u16; 2]> {
        None
    }

    fn take_down(&mut self, _page: Size, _wanted: &[Hung]) -> bool {
        false
    }

    fn hang(&mut self, _page: Size, _wanted: Vec<Hung>) {}
}

/// How a terminal takes pictures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tongue {
    /// By the graphics protocol over APC.
    Apc,
    /// By sixels, in so many colours.
    Sixel {
        /// Registers of colour.
        colours: usize,
    },
}

/// The terminal as an easel.
pub(super) struct TerminalEasel<W> {
    out: W,
    tongue: Option<Tongue>,
    cell: Option<[u16; 2]>,
    hung: (Size, Vec<Hung>),
}

impl<W> fmt::Debug for TerminalEasel<W> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("TerminalEasel")
            .field("tongue", &self.tongue)
            .field("hung", &self.hung)
            .finish_non_exhaustive()
    }
}

/// Returns the size of a cell of this terminal in pixels; `None` where it does not say.
pub(super) fn cell_pixels() -> Option<[u16; 2]> {
    let size = window_size().ok()?;
    let cell = [
        size.width.checked_div(size.columns)?,
        size.height.checked_div(size.rows)?,
    ];
    (!cell.contains(&0)).then_some(cell)
}

impl<W: Write> TerminalEasel<W> {
    /// Returns an easel of a terminal that takes pictures so; `None` takes none.
    pub(super) fn new(out: W, tongue: Option<Tongue>) -> Self {
        Self {
            out,
            tongue,
            cell: None,
            hung: (Size::ZERO, Vec::new()),
        }
    }

    fn write(&mut self, wanted: &[Hung], cell: [u16; 2], tongue: Tongue) -> io::Result<()> {
        queue!(self.out, BeginSynchronizedUpdate)?;
        for (id, hung) in (1_u32..).zip(wanted) {
            queue!(self.out, MoveTo(hung.area.x, hung.area.y))?;
            let bytes = match tongue {
                Tongue::Apc => apc(&in_place(hung, cell, 1), id),
                Tongue::Sixel { colours } => sixel(&in_place(hung, cell, BAND), colours),
            };
            self.out.write_all(&bytes)?;
        }
        queue!(self.out, EndSynchronizedUpdate)?;
        self.out.flush()
    }

    fn write_gone(&mut self) -> io::Result<()> {
        for (id, _) in (1_u32..).zip(&self.hung.1) {
            self.out.write_all(&apc_gone(id))?;
        }
        self.out.flush()
    }
}

/// A picture made to fit its place: smaller pixel by pixel, or every pixel larger; as high as
/// whole bands that the place has room for.
fn in_place(hung: &Hung, cell: [u16; 2], band: usize) -> Picture {
    let [across, down] = cell.map(usize::from);
    let width = usize::from(hung.area.width) * across;
    let height = usize::from(hung.area.height) * down / band * band;
    let small = hung.picture.fitted(width, height);
    let times = [
        width.checked_div(small.width),
        height.checked_div(small.height()),
    ];
    let times = times.into_iter().flatten().min().unwrap_or(1);
    small.enlarged(times.max(1))
}

impl<W: Write> Easel for TerminalEasel<W> {
    fn cell(&mut self) -> Option<[u16; 2]> {
        let cell = self.tongue.and_then(|_| cell_pixels());
        if cell != self.cell {
            // Letters of another size: what hangs has the wrong one.
            self.hung.0 = Size::ZERO;
            self.cell = cell;
        }
        cell
    }

    fn take_down(&mut self, page: Size, wanted: &[Hung]) -> bool {
        let (on, hung) = &self.hung;
        if hung.is_empty() || (*on == page && hung == wanted) {
            return false;
        }
        let wiped = match self.tongue {
            Some(Tongue::Apc) => self.write_gone().is_ok(),
            _ => false,
        };
        self.hung.1.clear();
        !wiped
    }

    fn hang(&mut self, page: Size, wanted: Vec<Hung>) {
        if self.hung == (page, wanted.clone()) {
            return;
        }
        if let (Some(cell), Some(tongue), false) = (self.cell, self.tongue, wanted.is_empty()) {
            // What cannot be written to is told by the next page; until then, cells.
            if self.write(&wanted, cell, tongue).is_err() {
                self.tongue = None;
            }
        }
        self.hung = (page, wanted);
    }
}
