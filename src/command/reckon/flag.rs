//! Flags to quantities, and what is said when that or a sum fails.

use std::io;

use thiserror::Error;

use crate::reckon::{Measured, QuantityTrouble, SumTrouble, read};

/// Why a topic gives no answer: what, where, what to do, and the exit code.
#[derive(Debug, Error)]
pub enum ReckonTrouble {
    /// A flag's text is not the quantity it should be.
    #[error("{source}")]
    Flag {
        /// The flag, such as `--air`.
        flag: &'static str,
        /// Why it cannot be read.
        source: QuantityTrouble,
    },
    /// A flag's text has the wrong shape.
    #[error("{what}")]
    Shape {
        /// The flag, such as `--reading`.
        flag: &'static str,
        /// What is wrong, in one line.
        what: String,
        /// What to write instead.
        remedy: String,
    },
    /// The sum refuses.
    #[error("{source}")]
    Sum {
        /// The topic, such as `emc`.
        topic: &'static str,
        /// Why it refuses.
        source: SumTrouble,
    },
    /// A file cannot be read from disk.
    #[error("cannot read the file: {source}")]
    Unreadable {
        /// The file as given.
        path: String,
        /// What the disk said.
        source: io::Error,
    },
    /// A line of a file is not what it should be.
    #[error("{what}")]
    Line {
        /// The file as given.
        path: String,
        /// The line, counted from 1; 0 stands for the whole file.
        line: usize,
        /// What is wrong, in one line.
        what: String,
        /// What to write instead.
        remedy: String,
    },
    /// The answer cannot be written out.
    #[error("cannot write the answer: {source}")]
    Unwritable {
        /// What the system said.
        source: io::Error,
    },
}

impl ReckonTrouble {
    /// Returns where the trouble is: a flag, a topic or a line of a file.
    pub fn place(&self) -> String {
        match self {
            Self::Flag { flag, .. } | Self::Shape { flag, .. } => (*flag).to_owned(),
            Self::Sum { topic, .. } => format!("reckon {topic}"),
            Self::Unreadable { path, .. } | Self::Line { path, line: 0, .. } => path.clone(),
            Self::Line { path, line, .. } => format!("{path}, line {line}"),
            Self::Unwritable { .. } => "standard output".to_owned(),
        }
    }

    /// Returns what to do about it.
    pub fn remedy(&self) -> String {
        match self {
            Self::Flag { source, .. } => source.remedy(),
            Self::Shape { remedy, .. } | Self::Line { remedy, .. } => remedy.clone(),
            Self::Sum { source, .. } => source.remedy(),
            Self::Unreadable { .. } => "check the name of the file".to_owned(),
            Self::Unwritable { .. } => "make room or check the pipe, then ask again".to_owned(),
        }
    }

    /// Returns the exit code: 2 for bad input, 3 when a file cannot be read or written.
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Unreadable { .. } | Self::Unwritable { .. } => 3,
            _ => 2,
        }
    }

    /// Returns the three lines to show.
    pub fn three_lines(&self) -> String {
        format!(
            "{self}\n where: {}\n    do: {}\n",
            self.place(),
            self.remedy()
        )
    }
}

/// Returns the quantity that a flag holds.
///
/// # Errors
/// [`ReckonTrouble::Flag`] with the flag's name and the accepted units.
pub(super) fn taken<Q: Measured>(flag: &'static str, text: &str) -> Result<Q, ReckonTrouble> {
    read(text).map_err(|source| ReckonTrouble::Flag { flag, source })
}

/// Returns the quantity of a flag that may be left out.
///
/// # Errors
/// As [`taken`].
pub(super) fn taken_if_given<Q: Measured>(
    flag: &'static str,
    text: Option<&str>,
) -> Result<Option<Q>, ReckonTrouble> {
    text.map(|text| taken(flag, text)).transpose()
}

/// Returns the bare number of a flag that counts or compares and so has no unit.
///
/// # Errors
/// [`ReckonTrouble::Shape`] when it is no plain finite number; `example` is shown as the remedy.
pub(super) fn plain_number(
    flag: &'static str,
    text: &str,
    example: &str,
) -> Result<f64, ReckonTrouble> {
    let plain = text.trim().replace('−', "-");
    let begins = |it: char| it.is_ascii_digit() || matches!(it, '-' | '+' | '.');
    match plain.parse::<f64>() {
        Ok(value) if plain.starts_with(begins) && value.abs() <= 1.0e9 => Ok(value),
        _ => Err(ReckonTrouble::Shape {
            flag,
            what: format!("`{plain}` is not a plain number"),
            remedy: format!("write it like {example}"),
        }),
    }
}

/// Returns a map from a sum's refusal to the trouble of this topic.
pub(super) fn refused(topic: &'static str) -> impl Fn(SumTrouble) -> ReckonTrouble {
    move |source| ReckonTrouble::Sum { topic, source }
}
