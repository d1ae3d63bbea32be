//! Where a command writes: lines, columns, or JSON objects. What it writes is read, never
//! acted upon by a terminal.

use std::io::{self, ErrorKind, Write};

use serde::Serialize;
use unicode_width::UnicodeWidthStr;

use crate::card::DEFERRAL;
use crate::disk::in_words;
use crate::journal::Damage;
use crate::report::{book_name, harmless, harmless_json};
use crate::standing::Book;
use crate::trouble::{ExitKind, Trouble};

/// What is asked for, and notes beside it.
pub(super) struct Paper<'a> {
    out: &'a mut dyn Write,
    notes: &'a mut dyn Write,
    /// Whether the answer is wanted in JSON.
    pub(super) json: bool,
}

impl<'a> Paper<'a> {
    pub(super) fn new(out: &'a mut dyn Write, notes: &'a mut dyn Write) -> Self {
        Self {
            out,
            notes,
            json: false,
        }
    }

    /// Writes a text of this program's own making as it stands.
    ///
    /// # Errors
    /// When it cannot be written; a reader that has gone away is no trouble.
    pub(super) fn page(&mut self, text: &str) -> Result<(), Trouble> {
        unless_gone(
            self.out
                .write_all(text.as_bytes())
                .and_then(|()| self.out.flush()),
        )
    }

    /// Writes one line.
    ///
    /// # Errors
    /// As [`Paper::page`].
    pub(super) fn line(&mut self, text: &str) -> Result<(), Trouble> {
        self.page(&format!("{}\n", harmless(text)))
    }

    /// Writes the sentence above every card under a printed record; answers in JSON go to
    /// programs and do without.
    ///
    /// # Errors
    /// As [`Paper::page`].
    pub(super) fn deferral(&mut self) -> Result<(), Trouble> {
        if self.json {
            return Ok(());
        }
        self.page(&format!("\n{DEFERRAL}\n"))
    }

    /// Writes rows as columns of even width.
    ///
    /// # Errors
    /// As [`Paper::page`].
    pub(super) fn columns<const N: usize>(&mut self, rows: &[[String; N]]) -> Result<(), Trouble> {
        self.page(&columns(rows))
    }

    /// Writes one JSON object for each thing, each on a line of its own.
    ///
    /// # Errors
    /// As [`Paper::page`].
    pub(super) fn objects<T: Serialize>(
        &mut self,
        things: impl IntoIterator<Item = T>,
    ) -> Result<(), Trouble> {
        let mut text = String::new();
        for thing in things {
            let json = serde_json::to_string(&thing).map_err(|cause| {
                Trouble::new(ExitKind::Disk, format!("cannot write the answer: {cause}"))
            })?;
            text.push_str(&harmless_json(&json));
            text.push('\n');
        }
        self.page(&text)
    }

    /// Says beside the answer which books are not sound, and returns how the command ends by
    /// that: an answer that a book is missing from is not well.
    pub(super) fn damaged<'d>(
        &mut self,
        damaged: impl IntoIterator<Item = (&'d Book, &'d Damage)>,
    ) -> ExitKind {
        let mut ended = ExitKind::Well;
        for (book, damage) in damaged {
            self.note(&format!("{}: {damage}", book_name(book)));
            ended = match (damage, ended) {
                (Damage::Unread(_), _) | (_, ExitKind::Disk) => ExitKind::Disk,
                (Damage::NoLine(_) | Damage::Gone { .. }, _) => ExitKind::Found,
                (
                    Damage::Places(_)
                    | Damage::Short { .. }
                    | Damage::Another { .. }
                    | Damage::Torn,
                    _,
                ) => ended,
            };
        }
        ended
    }

    /// Writes a line of the answer; beside it where the answer is JSON.
    ///
    /// # Errors
    /// As [`Paper::page`].
    pub(super) fn aside(&mut self, text: &str) -> Result<(), Trouble> {
        if self.json {
            self.note(text);
            return Ok(());
        }
        self.line(text)
    }

    /// Says something beside the answer. Nobody has to read it, so it cannot fail.
    pub(super) fn note(&mut self, text: &str) {
        drop(writeln!(self.notes, "{}", harmless(text)));
    }
}

/// Returns rows as columns of even width, two spaces between them, the last one as it is.
/// A column that is empty in every row is left out.
fn columns<const N: usize>(rows: &[[String; N]]) -> String {
    let rows: Vec<[String; N]> = rows
        .iter()
        .map(|row| row.each_ref().map(|cell| harmless(cell).into_owned()))
        .collect();
    let mut widths = [0; N];
    for row in &rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = cell.width().max(*width);
        }
    }
    let mut text = String::new();
    for row in &rows {
        let mut line = String::new();
        for (width, cell) in widths.iter().zip(row).filter(|(width, _)| 0 < **width) {
            let pad = " ".repeat(width.saturating_sub(cell.width()));
            line.extend([cell, pad.as_str(), "  "]);
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

fn unless_gone(written: io::Result<()>) -> Result<(), Trouble> {
    match written {
        Err(cause) if cause.kind() != ErrorKind::BrokenPipe => Err(Trouble::new(
            ExitKind::Disk,
            format!("cannot write the answer: {}", in_words(&cause)),
        )
        .at("standard output")
        .remedy("make room or check the pipe, then ask again")),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::{Paper, columns};
    use std::io::{self, ErrorKind, Write};

    #[test]
    fn columns_are_even_and_empty_ones_are_left_out() {
        let row = |a: &str, b: &str, c: &str| [a.to_owned(), b.to_owned(), c.to_owned()];
        assert_eq!(
            columns(&[row("hare", "", "a"), row("lion-boss", "", "b\u{1b}")]),
            "hare       a\nlion-boss  b␛\n"
        );
    }

    struct Gone(ErrorKind);

    impl Write for Gone {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(self.0.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_reader_that_has_gone_away_is_no_trouble_and_a_full_disk_is() {
        let (mut gone, mut notes) = (Gone(ErrorKind::BrokenPipe), Vec::new());
        assert_eq!(Paper::new(&mut gone, &mut notes).line("x"), Ok(()));
        let mut full = Gone(ErrorKind::StorageFull);
        let trouble = Paper::new(&mut full, &mut notes).line("x").unwrap_err();
        assert_eq!(
            trouble.to_string(),
            "cannot write the answer: the disk is full\n where: standard output\n    \
             do: make room or check the pipe, then ask again"
        );
    }
}
