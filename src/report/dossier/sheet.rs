//! A page before anybody has drawn it: parts of words, tables, drawings and pictures. What is
//! not known stands here as such, so that no renderer can leave it out.

/// A page: a treatment report, a day.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// What it is, such as `Treatment report: running hare`.
    pub title: String,
    /// To which record every sheet of paper, drawing and picture of it belongs.
    pub label: String,
    /// The day it shows, as it is said under the title.
    pub dated: String,
    /// What stands in front of all parts, told again from them; on many pages nothing.
    pub front: Vec<Fact>,
    /// Its parts in order.
    pub parts: Vec<Part>,
    /// Whether it is to stand on one sheet of paper, where small letters can do that.
    pub wants_one: bool,
    /// Lines of journals that its rows lead to, each in full: for a browser, which can go there.
    pub behind: Vec<Behind>,
}

/// A line of a journal behind the page.
#[derive(Debug, Clone, PartialEq)]
pub struct Behind {
    /// Its number, such as `hare:12`, as it stands in brackets at the end of a row.
    pub number: String,
    /// What is told of it.
    pub facts: Vec<Fact>,
}

/// One part of a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its heading.
    pub title: String,
    /// What stands in it.
    pub blocks: Vec<Block>,
}

/// One thing in a part.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A paragraph.
    Words(String),
    /// A paragraph that nobody may overlook.
    Notice(String),
    /// A heading within the part.
    Head(String),
    /// Things asked for by name, and what is known.
    Facts(Vec<Fact>),
    /// Lines that need no order.
    List(Vec<String>),
    /// Rows under heads.
    Table(Table),
    /// Lines and letters.
    Drawing(Drawing),
    /// A photograph.
    Picture(Picture),
    /// Two photographs of one part, the earlier first, to be looked at side by side.
    Pair([Picture; 2]),
}

/// One thing asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// What is asked.
    pub name: String,
    /// What is known; `None` is shown as [`NOT_RECORDED`].
    pub known: Option<String>,
}

/// What stands where nothing was recorded.
pub const NOT_RECORDED: &str = "not recorded";

/// The heading over what stands in front.
pub const FRONT: &str = "In short";

/// The heading over the pictures that were asked for and that nobody took.
pub(super) const MISSING_PICTURES: &str = "Pictures asked for and not recorded";

/// What stands in a table where a photograph was said to be taken and its file is lacking.
pub(super) const NO_FILE: &str = "no file yet";

/// Rows under heads. A table without rows is shown as its caption and [`NOT_RECORDED`].
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// What it tells.
    pub caption: String,
    /// The heads of its columns.
    pub heads: Vec<&'static str>,
    /// Its rows, each with as many cells as there are heads.
    pub rows: Vec<Vec<Cell>>,
}

/// The head of a column whose cells are never broken: moments.
pub(super) const WHOLE: &str = "when";

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Words.
    Words(String),
    /// Nothing was recorded.
    Lacking,
    /// A colour, and what is said of it; the patch is a pointer, the words decide.
    Swatch([u8; 3], String),
}

/// A drawing of lines and letters; lengths in points of 1/72 inch, down and right from the
/// upper left corner.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// What it is.
    pub title: String,
    /// What it shows, for who cannot see it.
    pub says: String,
    /// Width and height.
    pub size: [f64; 2],
    /// What is drawn, in order.
    pub strokes: Vec<Stroke>,
    /// The same in plain letters.
    pub letters: Vec<String>,
}

/// The widest drawing that fits between the margins of A4, points: 170 mm.
pub const WIDEST: f64 = 480.0;

/// One stroke of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub enum Stroke {
    /// A line.
    Line {
        /// Where it begins.
        from: [f64; 2],
        /// Where it ends.
        to: [f64; 2],
        /// Its ink.
        ink: Ink,
        /// Its pattern.
        dash: Dash,
    },
    /// A box.
    Box {
        /// Upper left corner.
        at: [f64; 2],
        /// Width and height.
        size: [f64; 2],
        /// What it is filled with; empty when `None`.
        fill: Option<Ink>,
    },
    /// A line from corner to corner. Closed, it covers what lies below it.
    Outline {
        /// Its corners.
        corners: Vec<[f64; 2]>,
        /// Whether the last corner leads back to the first.
        closed: bool,
        /// Its pattern.
        dash: Dash,
    },
    /// A small sign at a point.
    Sign {
        /// Its middle.
        at: [f64; 2],
        /// Its shape.
        shape: Shape,
        /// Its ink.
        ink: Ink,
    },
    /// A word.
    Word {
        /// Left end, middle or right end of its foot.
        at: [f64; 2],
        /// The word.
        text: String,
        /// Where `at` is.
        hold: Hold,
    },
}

/// How high the letters of a drawing are, points.
pub const LETTER: f64 = 8.0;

/// The inks of drawings. Never the only means: shapes and dashes differ as well.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Black of ink, for words and frames.
    Black,
    /// Grey of slate, for what stands behind.
    Slate,
    /// Red of bole.
    Bole,
    /// Green of verdigris.
    Verdigris,
    /// Brown of gilt in shadow.
    Gilt,
    /// A colour that was measured.
    Measured([u8; 3]),
}

impl Ink {
    /// Returns red, green and blue.
    pub fn rgb(self) -> [u8; 3] {
        match self {
            Self::Black => [0x1f, 0x1b, 0x16],
            Self::Slate => [0x5b, 0x60, 0x66],
            Self::Bole => [0x8a, 0x2f, 0x22],
            Self::Verdigris => [0x1f, 0x6b, 0x57],
            Self::Gilt => [0x7a, 0x5a, 0x12],
            Self::Measured(rgb) => rgb,
        }
    }
}

/// Patterns of lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dash {
    /// Unbroken.
    Whole,
    /// Broken.
    Broken,
    /// Dots.
    Dotted,
}

/// Shapes of signs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Round.
    Round,
    /// Square.
    Square,
    /// A cross of two strokes.
    Cross,
}

/// Which end of a word is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hold {
    /// Its left end.
    Left,
    /// Its middle.
    Middle,
    /// Its right end.
    Right,
}

/// A photograph, or its place when it is not at hand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// What it shows: part, station, day, file.
    pub caption: String,
    /// The picture itself.
    pub shot: Shot,
}

/// A picture's bytes, or why they are not here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shot {
    /// The whole file as it was kept.
    Whole(Vec<u8>),
    /// A smaller copy, made for the page; the file itself is larger.
    Reduced(Vec<u8>),
    /// It is not here, and why.
    Absent(String),
}

impl Shot {
    /// Returns the bytes that stand on the page.
    ///
    /// # Errors
    /// Why there are none, in words.
    pub fn bytes(&self) -> Result<&[u8], &str> {
        match self {
            Self::Whole(bytes) | Self::Reduced(bytes) => Ok(bytes),
            Self::Absent(why) => Err(why),
        }
    }
}

impl Fact {
    /// Returns a fact; words that are empty are none.
    pub fn new(name: impl Into<String>, known: impl Into<Option<String>>) -> Self {
        let known: Option<String> = known.into();
        Self {
            name: name.into(),
            known: known.filter(|words| !words.trim().is_empty()),
        }
    }
}

impl Table {
    /// Returns the columns that lack something, each with how many of its rows do.
    fn gaps(&self) -> Vec<String> {
        let all = self.rows.len();
        let heads = self.heads.iter().enumerate();
        let gaps = heads.filter_map(|(column, head)| {
            let cells = self.rows.iter().filter_map(|row| row.get(column));
            let lacking = cells.filter(|cell| cell.lacks()).count();
            let words = format!("{}: {head}, in {lacking} of {all} rows", self.caption);
            (0 < lacking).then_some(words)
        });
        gaps.collect()
    }
}

impl Cell {
    /// Returns a cell of words; empty words are nothing recorded.
    pub fn of(words: impl Into<String>) -> Self {
        let words = words.into();
        if words.trim().is_empty() {
            Self::Lacking
        } else {
            Self::Words(words)
        }
    }

    /// Returns whether what is asked for here is not there.
    pub(super) fn lacks(&self) -> bool {
        *self == Self::Lacking || self.words() == NO_FILE
    }

    /// Returns what it says.
    pub fn words(&self) -> &str {
        match self {
            Self::Words(words) | Self::Swatch(_, words) => words,
            Self::Lacking => NOT_RECORDED,
        }
    }
}

impl Sheet {
    /// Returns everything on the page that was not recorded, each with the part it lacks in.
    pub fn lacking(&self) -> Vec<String> {
        let mut all = Vec::new();
        for part in &self.parts {
            let mut is_of_pictures = false;
            for block in &part.blocks {
                match block {
                    Block::Head(head) => is_of_pictures = head == MISSING_PICTURES,
                    Block::List(lines) if is_of_pictures => all.extend(
                        lines
                            .iter()
                            .map(|line| format!("{}: asked for, {line}", part.title)),
                    ),
                    Block::Facts(facts) => all.extend(
                        facts
                            .iter()
                            .filter(|fact| fact.known.is_none())
                            .map(|fact| format!("{}: {}", part.title, fact.name)),
                    ),
                    Block::Table(table) if table.rows.is_empty() => {
                        all.push(format!("{}: {}", part.title, table.caption));
                    }
                    Block::Table(table) => {
                        let gaps = table.gaps().into_iter();
                        all.extend(gaps.map(|gap| format!("{}: {gap}", part.title)));
                    }
                    _ => {}
                }
            }
        }
        all
    }
}
