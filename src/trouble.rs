//! The only thing that is printed as an error: what, where, what to do.
//!
//! Every room has its own error type beside the code that raises it and turns it into a
//! [`Trouble`] there; this file knows none of them. It knows only the shape of a message
//! and the four exit codes. A refusal at the bench is not a trouble and never comes here.

use std::fmt;
use std::io::{self, Write};
use std::path::Path;
use std::process::ExitCode;

/// How the program ends; scripts rely on these four numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ExitKind {
    /// 0: everything is well.
    Well,
    /// 1: the program did what was asked and found something wrong.
    Found,
    /// 2: misuse of a command, or bad input.
    Misuse,
    /// 3: something could not be read or written.
    Disk,
}

impl ExitKind {
    /// Returns the number that the shell sees, 0 to 3.
    pub fn code(self) -> u8 {
        match self {
            Self::Well => 0,
            Self::Found => 1,
            Self::Misuse => 2,
            Self::Disk => 3,
        }
    }
}

impl From<ExitKind> for ExitCode {
    fn from(kind: ExitKind) -> Self {
        Self::from(kind.code())
    }
}

/// One trouble in the form in which people see it.
///
/// The lines are lower case, without a full stop, and blame nobody. The form is
///
/// ```text
/// what went wrong
///  where: file, line or field
///     do: what helps, and what was left untouched
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    /// What went wrong, with its cause, units and limits.
    pub what: String,
    /// The file, line or field; left out when there is none.
    pub place: Option<String>,
    /// What to do, and what was left untouched; left out when nothing helps.
    pub remedy: Option<String>,
    /// How the program ends when this trouble ends it.
    pub exit: ExitKind,
}

impl Trouble {
    /// Returns a trouble without a place and a remedy.
    pub fn new(exit: ExitKind, what: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            place: None,
            remedy: None,
            exit,
        }
    }

    /// Returns a misuse or bad input with its place and what helps.
    pub fn misuse(
        what: impl Into<String>,
        place: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self::new(ExitKind::Misuse, what).at(place).remedy(remedy)
    }

    /// Returns the trouble with its place named.
    #[must_use]
    pub fn at(mut self, place: impl Into<String>) -> Self {
        self.place = Some(place.into());
        self
    }

    /// Returns the trouble with what to do about it.
    #[must_use]
    pub fn remedy(mut self, remedy: impl Into<String>) -> Self {
        self.remedy = Some(remedy.into());
        self
    }

    /// Returns the trouble with its place shortened as seen from the folder of the shop,
    /// so that a message shows `figures/hare/journal.jsonl` and not a path across the disk.
    #[must_use]
    pub fn seen_from(mut self, shop: &Path) -> Self {
        self.place = self.place.map(|place| {
            let shop = shop.to_string_lossy();
            match place.strip_prefix(shop.as_ref()) {
                Some(rest) if rest.starts_with(['/', '\\']) => {
                    rest.trim_start_matches(['/', '\\']).to_owned()
                }
                _ => place,
            }
        });
        self
    }

    /// Writes the trouble in its three lines.
    ///
    /// # Errors
    /// Fails only when `out` does; the caller has nobody left to tell.
    pub fn write_to(&self, out: &mut impl Write) -> io::Result<()> {
        writeln!(out, "{self}")
    }

    /// Prints the trouble on the error stream and returns the exit code.
    ///
    /// An error stream that nobody reads is not a second trouble: the exit code still tells.
    pub fn print(&self) -> ExitCode {
        let told = self.write_to(&mut io::stderr().lock());
        drop(told);
        self.exit.into()
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.what)?;
        if let Some(place) = &self.place {
            write!(f, "\n where: {place}")?;
        }
        if let Some(remedy) = &self.remedy {
            write!(f, "\n    do: {remedy}")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::{ExitKind, Trouble};
    use std::path::Path;

    #[test]
    fn a_trouble_is_printed_in_three_lines() {
        let trouble = Trouble::new(ExitKind::Disk, "cannot keep the last act: the disk is full")
            .at("/srv/shop/figures/hare/journal.jsonl, after line 812")
            .remedy("make room, then try again; nothing was lost and nothing is half written")
            .seen_from(Path::new("/srv/shop"));
        let mut out = Vec::new();
        trouble.write_to(&mut out).unwrap();
        assert_eq!(
            String::from_utf8(out).unwrap(),
            "cannot keep the last act: the disk is full\n \
             where: figures/hare/journal.jsonl, after line 812\n    \
             do: make room, then try again; nothing was lost and nothing is half written\n"
        );
    }

    #[test]
    fn a_line_that_has_nothing_to_say_is_left_out() {
        let trouble = Trouble::new(ExitKind::Misuse, "a figure has to be named");
        assert_eq!(trouble.to_string(), "a figure has to be named");
    }

    #[test]
    fn only_a_whole_folder_name_is_cut_from_a_place() {
        let trouble = |shop| {
            Trouble::new(ExitKind::Disk, "x")
                .at("/srv/shop-two/shop.yaml")
                .seen_from(Path::new(shop))
                .place
        };
        assert_eq!(trouble("/srv/shop"), Some("/srv/shop-two/shop.yaml".into()));
        assert_eq!(trouble("/srv/shop-two"), Some("shop.yaml".into()));
    }

    #[test]
    fn the_exit_codes_are_the_four_that_scripts_rely_on() {
        let kinds = [
            ExitKind::Well,
            ExitKind::Found,
            ExitKind::Misuse,
            ExitKind::Disk,
        ];
        assert_eq!(kinds.map(ExitKind::code), [0, 1, 2, 3]);
    }
}
