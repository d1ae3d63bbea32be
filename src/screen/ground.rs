//! The terminal under the page. It is the usual one, but for two things. It is never asked where
//! its cursor stands: the answer would come among the keys, where the reading thread takes it,
//! and the page shows no cursor anyway. And a page is shown whole: a terminal that can wait for
//! its end (private mode 2026) never shows half of one, with a key on it that is answered already.

use std::io::{self, BufWriter, Stdout};

use crossterm::queue;
use crossterm::terminal::{BeginSynchronizedUpdate, EndSynchronizedUpdate};
use ratatui::backend::{Backend, ClearType, CrosstermBackend, WindowSize};
use ratatui::buffer::Cell;
use ratatui::layout::{Position, Size};

/// The terminal, written to through crossterm.
#[derive(Debug)]
pub(super) struct Ground(CrosstermBackend<BufWriter<Stdout>>);

/// Room for what a large page writes, bytes.
const PAGE: usize = 1 << 16;

impl Ground {
    /// Returns the terminal that a process writes to.
    pub(super) fn of(out: Stdout) -> Self {
        Self(CrosstermBackend::new(BufWriter::with_capacity(PAGE, out)))
    }
}

impl Backend for Ground {
    type Error = io::Error;

    fn draw<'a, I>(&mut self, content: I) -> io::Result<()>
    where
        I: Iterator<Item = (u16, u16, &'a Cell)>,
    {
        let mut content = content.peekable();
        if content.peek().is_none() {
            return Ok(());
        }
        queue!(self.0, BeginSynchronizedUpdate)?;
        self.0.draw(content)?;
        queue!(self.0, EndSynchronizedUpdate)
    }

    fn hide_cursor(&mut self) -> io::Result<()> {
        self.0.hide_cursor()
    }

    fn show_cursor(&mut self) -> io::Result<()> {
        self.0.show_cursor()
    }

    fn get_cursor_position(&mut self) -> io::Result<Position> {
        Ok(Position::ORIGIN)
    }

    fn set_cursor_position<P: Into<Position>>(&mut self, position: P) -> io::Result<()> {
        self.0.set_cursor_position(position)
    }

    fn clear(&mut self) -> io::Result<()> {
        self.0.clear()
    }

    fn clear_region(&mut self, clear_type: ClearType) -> io::Result<()> {
        self.0.clear_region(clear_type)
    }

    fn size(&self) -> io::Result<Size> {
        self.0.size()
    }

    fn window_size(&mut self) -> io::Result<WindowSize> {
        self.0.window_size()
    }

    fn flush(&mut self) -> io::Result<()> {
        Backend::flush(&mut self.0)
    }
}
