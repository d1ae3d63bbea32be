//! Readings over time as a drawing: curves against a scale, or words along a line for each row.
//! The same readings become plain letters for the text.

use chrono::{DateTime, FixedOffset, TimeDelta};

use crate::reckon::counted;
use crate::standing::is_one_round;

use super::sheet::{Block, Dash, Drawing, Hold, Ink, Shape, Stroke, WIDEST};

/// A moment and what was read then.
pub(super) type Point = (DateTime<FixedOffset>, f64);

/// Curves over time.
#[derive(Debug, Clone)]
pub(super) struct Plot {
    /// What it is.
    pub(super) title: String,
    /// The unit of its scale.
    pub(super) unit: String,
    /// Its curves; those without points are left out.
    pub(super) curves: Vec<Curve>,
    /// A limit that the readings are held against: what it is, and where it lies.
    pub(super) limit: Option<(String, f64)>,
}

/// One curve.
#[derive(Debug, Clone)]
pub(super) struct Curve {
    /// What was read, and where.
    pub(super) name: String,
    /// The readings, oldest first.
    pub(super) points: Vec<Point>,
}

/// How curves differ: by sign, dash, ink, and a letter in the text.
const LOOKS: [(Shape, Dash, Ink, char); 4] = [
    (Shape::Round, Dash::Whole, Ink::Bole, 'o'),
    (Shape::Square, Dash::Broken, Ink::Verdigris, '+'),
    (Shape::Cross, Dash::Dotted, Ink::Gilt, 'x'),
    (Shape::Round, Dash::Broken, Ink::Slate, '*'),
];

/// Frame of the curves, points: left, top, width, height.
const FRAME: [f64; 4] = [36.0, 8.0, WIDEST - 46.0, 120.0];

/// Columns and rows of a plot in letters.
const GRID: [usize; 2] = [60, 9];

/// The span of a scale or of time, never empty.
#[derive(Debug, Clone, Copy)]
struct Span {
    from: f64,
    to: f64,
}

impl Span {
    fn of(values: impl Iterator<Item = f64> + Clone) -> Option<Self> {
        let from = values.clone().min_by(f64::total_cmp)?;
        let to = values.max_by(f64::total_cmp)?;
        // One value alone stands in the middle.
        let room = if to - from < 1e-9 { 1.0 } else { 0.0 };
        Some(Self {
            from: from - room,
            to: to + room,
        })
    }

    /// A little more on both sides, so that no curve lies on the frame.
    fn wider(self) -> Self {
        let room = (self.to - self.from) * 0.08;
        Self {
            from: self.from - room,
            to: self.to + room,
        }
    }

    /// Where a value lies, 0 to 1.
    fn share(self, value: f64) -> f64 {
        ((value - self.from) / (self.to - self.from)).clamp(0.0, 1.0)
    }
}

#[expect(
    clippy::cast_precision_loss,
    reason = "seconds of centuries fit in a double"
)]
fn seconds(at: DateTime<FixedOffset>) -> f64 {
    at.timestamp() as f64
}

/// Returns a day and hour as an axis shows it.
fn day(at: DateTime<FixedOffset>) -> String {
    at.format("%-d %b %H:%M").to_string()
}

impl Plot {
    /// Returns the drawing, or a line of words where all was read in one round; `None` when
    /// nothing was read at all.
    pub(super) fn told(&self) -> Option<Block> {
        let moments = self.points().map(|(at, _)| *at);
        if is_one_round(moments.clone()) {
            let ends = [moments.clone().min()?, moments.max()?];
            return Some(Block::Words(format!("{}: {}", self.title, self.says(ends))));
        }
        self.draw().map(Block::Drawing)
    }

    fn points(&self) -> impl Iterator<Item = &Point> + Clone {
        self.curves.iter().flat_map(|curve| &curve.points)
    }

    fn draw(&self) -> Option<Drawing> {
        let points = || self.points();
        let limit = self.limit.iter().map(|(_, value)| *value);
        let scale = Span::of(points().map(|(_, value)| *value).chain(limit))?.wider();
        let time = Span::of(points().map(|(at, _)| seconds(*at)))?;
        let ends = [
            points().map(|(at, _)| *at).min()?,
            points().map(|(at, _)| *at).max()?,
        ];
        let [left, top, wide, high] = FRAME;
        let mut strokes = self.frame(scale, ends);
        let mut names = top + high + 26.0;
        if let Some((name, value)) = &self.limit {
            let down = top + high * (1.0 - scale.share(*value));
            strokes.push(Stroke::Line {
                from: [left, down],
                to: [left + wide, down],
                ink: Ink::Black,
                dash: Dash::Broken,
            });
            // Its name stands with those of the curves: over the line it would run into them.
            strokes.push(Stroke::Line {
                from: [left, names - 2.5],
                to: [left + 8.0, names - 2.5],
                ink: Ink::Black,
                dash: Dash::Broken,
            });
            strokes.push(word([left + 12.0, names], name.clone(), Hold::Left));
            names += 11.0;
        }
        for (curve, look) in self.shown() {
            let place = |(at, value): &Point| {
                [
                    left + wide * time.share(seconds(*at)),
                    top + high * (1.0 - scale.share(*value)),
                ]
            };
            strokes.extend(joined(&curve.points, place, look));
            strokes.push(Stroke::Sign {
                at: [left + 4.0, names - 2.5],
                shape: look.0,
                ink: look.2,
            });
            strokes.push(word([left + 12.0, names], self.named(curve), Hold::Left));
            names += 11.0;
        }
        Some(Drawing {
            title: self.title.clone(),
            says: self.says(ends),
            size: [WIDEST, names],
            strokes,
            letters: self.letters((scale, time), ends),
        })
    }

    fn shown(&self) -> impl Iterator<Item = (&Curve, (Shape, Dash, Ink, char))> {
        let curves = self.curves.iter().filter(|curve| !curve.points.is_empty());
        curves.zip(LOOKS.into_iter().cycle())
    }

    fn frame(&self, scale: Span, [first, last]: [DateTime<FixedOffset>; 2]) -> Vec<Stroke> {
        let [left, top, wide, high] = FRAME;
        let foot = top + high;
        let mut strokes = vec![Stroke::Box {
            at: [left, top],
            size: [wide, high],
            fill: None,
        }];
        for part in [0.0, 0.5, 1.0] {
            let value = scale.from + (scale.to - scale.from) * (1.0 - part);
            let down = top + high * part;
            strokes.push(word(
                [left - 4.0, down + 3.0],
                self.marked(value),
                Hold::Right,
            ));
            strokes.push(Stroke::Line {
                from: [left, down],
                to: [left + wide, down],
                ink: Ink::Slate,
                dash: Dash::Dotted,
            });
        }
        strokes.extend(ends([left, wide], foot + 11.0, [first, last]));
        strokes
    }

    /// A value with its unit, as the scale shows it.
    fn marked(&self, value: f64) -> String {
        let gap = if self.unit.is_empty() { "" } else { " " };
        format!("{}{gap}{}", number(value), self.unit)
    }

    fn named(&self, curve: &Curve) -> String {
        let values = || curve.points.iter().map(|(_, value)| *value);
        let (Some(low), Some(high)) = (
            values().min_by(f64::total_cmp),
            values().max_by(f64::total_cmp),
        ) else {
            return curve.name.clone();
        };
        let readings = counted(curve.points.len(), "reading");
        let (low, high) = (number(low), number(high));
        let span = if low == high {
            low
        } else {
            format!("{low} to {high}")
        };
        format!("{}: {readings}, {span} {}", curve.name, self.unit)
    }

    fn says(&self, [first, last]: [DateTime<FixedOffset>; 2]) -> String {
        let mut curves: Vec<String> = self.shown().map(|(curve, _)| self.named(curve)).collect();
        curves.extend(self.limit.iter().map(|(name, _)| name.clone()));
        let days = [first, last].map(|at| at.format("%-d %b %Y").to_string());
        let [first, last] = &days;
        let days = if first == last {
            first.clone()
        } else {
            days.join(" to ")
        };
        format!("{days}: {}", curves.join("; "))
    }

    fn letters(
        &self,
        (scale, time): (Span, Span),
        [first, last]: [DateTime<FixedOffset>; 2],
    ) -> Vec<String> {
        let [columns, rows] = GRID;
        let mut grid = vec![vec![' '; columns]; rows];
        if let Some((_, value)) = &self.limit {
            let row = cell(1.0 - scale.share(*value), rows);
            if let Some(row) = grid.get_mut(row) {
                row.fill('-');
            }
        }
        for (curve, (_, _, _, letter)) in self.shown() {
            for (at, value) in &curve.points {
                let column = cell(time.share(seconds(*at)), columns);
                let row = cell(1.0 - scale.share(*value), rows);
                if let Some(place) = grid.get_mut(row).and_then(|row| row.get_mut(column)) {
                    *place = letter;
                }
            }
        }
        let mut lines: Vec<String> = grid
            .iter()
            .zip(0..)
            .map(|(row, down)| {
                let label = match down {
                    0 => number(scale.to),
                    down if down + 1 == rows => number(scale.from),
                    _ => String::new(),
                };
                format!("{label:>8} |{}", row.iter().collect::<String>())
            })
            .collect();
        lines.push(format!("{:>8} +{}", self.unit, "-".repeat(columns)));
        let (from, to) = (day(first), day(last));
        let between = columns.saturating_sub(from.len() + to.len());
        lines.push(if first == last {
            format!("{:10}{from:^columns$}", "").trim_end().to_owned()
        } else {
            format!("{:10}{from}{}{to}", "", " ".repeat(between))
        });
        if let Some((name, _)) = &self.limit {
            lines.push(format!("{:>8}   {name}", '-'));
        }
        for (curve, (_, _, _, letter)) in self.shown() {
            lines.push(format!("{:>8}   {}", letter, curve.name));
        }
        lines
    }
}

/// Returns the place of a share, 0 to 1, among so many.
fn cell(share: f64, many: usize) -> usize {
    #[expect(clippy::cast_precision_loss, reason = "columns of a line")]
    let place = share * many.saturating_sub(1) as f64;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share of at most 1 of the columns of a line"
    )]
    let place = place.round() as usize;
    place
}

fn number(value: f64) -> String {
    crate::report::shown::number(value, 1)
}

fn word(at: [f64; 2], text: String, hold: Hold) -> Stroke {
    Stroke::Word { at, text, hold }
}

/// The first and the last moment under an axis; where there is only one, that one, under its
/// reading.
fn ends(
    [left, wide]: [f64; 2],
    down: f64,
    [first, last]: [DateTime<FixedOffset>; 2],
) -> Vec<Stroke> {
    if first == last {
        return vec![word([left + wide / 2.0, down], day(first), Hold::Middle)];
    }
    vec![
        word([left, down], day(first), Hold::Left),
        word([left + wide, down], day(last), Hold::Right),
    ]
}

/// The readings of a curve as signs, joined where the silence between two is short against
/// the whole: a line over a silence would tell what nobody read.
fn joined(
    points: &[Point],
    place: impl Fn(&Point) -> [f64; 2],
    (shape, dash, ink, _): (Shape, Dash, Ink, char),
) -> Vec<Stroke> {
    let mut strokes = Vec::new();
    for pair in points.windows(2) {
        if let [one, next] = pair
            && next.0 - one.0 <= TimeDelta::hours(LONGEST_JOIN_H)
        {
            strokes.push(Stroke::Line {
                from: place(one),
                to: place(next),
                ink,
                dash,
            });
        }
    }
    // Of a log of hundreds the line alone is told.
    if points.len() <= MOST_SIGNS {
        strokes.extend(points.iter().map(|point| Stroke::Sign {
            at: place(point),
            shape,
            ink,
        }));
    }
    strokes
}

/// Readings further apart than this are not joined by a line, hours. Chosen here: a week, for
/// wood is read every few days.
const LONGEST_JOIN_H: i64 = 168;

/// Curves with more readings than this are drawn without a sign at each. Chosen here.
const MOST_SIGNS: usize = 60;

/// Words along a line of time, one line for each row: coats of a zone, test words of a place.
#[derive(Debug, Clone)]
pub(super) struct Timeline {
    /// What it is.
    pub(super) title: String,
    /// Rows: a name, and its moments with a short word each.
    pub(super) rows: Vec<(String, Vec<Said>)>,
}

/// A moment and what was said or done then.
pub(super) type Said = (DateTime<FixedOffset>, String);

/// Where the names of rows end, points.
const NAMES: f64 = 120.0;

/// From one row to the next, points.
const ROW: f64 = 22.0;

impl Timeline {
    /// Returns the drawing; `None` when there is no row.
    pub(super) fn draw(&self) -> Option<Drawing> {
        let moments = || self.rows.iter().flat_map(|(_, row)| row.iter());
        let time = Span::of(moments().map(|(at, _)| seconds(*at)))?;
        let first = moments().map(|(at, _)| *at).min()?;
        let last = moments().map(|(at, _)| *at).max()?;
        let (left, wide) = (NAMES + 8.0, WIDEST - NAMES - 34.0);
        let mut strokes = Vec::new();
        let mut down = 14.0;
        for ((name, row), look) in self.rows.iter().zip(LOOKS.into_iter().cycle()) {
            strokes.push(word([NAMES, down + 3.0], name.clone(), Hold::Right));
            strokes.push(Stroke::Line {
                from: [left, down],
                to: [left + wide, down],
                ink: Ink::Slate,
                dash: Dash::Dotted,
            });
            for ((at, said), number) in row.iter().zip(0_u32..) {
                let x = left + wide * time.share(seconds(*at));
                strokes.push(Stroke::Sign {
                    at: [x, down],
                    shape: look.0,
                    ink: look.2,
                });
                // Above and below by turns, so that neighbours can be read.
                let over = if number % 2 == 0 { -5.0 } else { 11.0 };
                strokes.push(word([x, down + over], said.clone(), Hold::Middle));
            }
            down += ROW;
        }
        strokes.extend(ends([left, wide], down + 6.0, [first, last]));
        Some(Drawing {
            title: self.title.clone(),
            says: self.says(),
            size: [WIDEST, down + 12.0],
            strokes,
            // The words stand in the sentence; a line of letters has no room for them.
            letters: Vec::new(),
        })
    }

    fn says(&self) -> String {
        let rows: Vec<String> = self
            .rows
            .iter()
            .map(|(name, row)| {
                let words: Vec<String> = row
                    .iter()
                    .map(|(at, said)| format!("{} {said}", day(*at)))
                    .collect();
                format!("{name}: {}", words.join(", "))
            })
            .collect();
        rows.join("; ")
    }
}
