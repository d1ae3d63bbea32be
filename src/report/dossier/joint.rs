//! The map of a joint: its glued face seen from above, with the gap at every place where the
//! feeler went in.

use super::sheet::{Drawing, Hold, Ink, Shape, Stroke};

/// A joint and its rows of gaps.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct JointMap {
    /// Its number.
    pub(super) id: String,
    /// What meets what.
    pub(super) between: String,
    /// Length along and width across, millimetres; 0 while nobody has measured it.
    pub(super) size_mm: [f64; 2],
    /// Rows: the place along in millimetres, and the gaps across in millimetres.
    pub(super) rows: Vec<(f64, Vec<Option<f64>>)>,
    /// When it was read, in words.
    pub(super) read: String,
}

/// Left edge, upper edge, longest and deepest drawing of a face, points.
const FACE: [f64; 4] = [14.0, 20.0, 440.0, 90.0];

impl JointMap {
    /// Returns the drawing; `None` without a row.
    pub(super) fn draw(&self) -> Option<Drawing> {
        let (last, _) = self.rows.last()?;
        let [long, wide] = self.size_mm;
        let long = long.max(*last).max(1.0);
        let [left, top, most_long, most_deep] = FACE;
        let scale = most_long / long;
        let deep = if 0.0 < wide {
            (wide * scale).clamp(50.0, most_deep)
        } else {
            most_deep
        };
        let mut strokes = vec![Stroke::Box {
            at: [left, top],
            size: [most_long, deep],
            fill: None,
        }];
        for (at, gaps) in &self.rows {
            let x = left + at * scale;
            strokes.push(Stroke::Word {
                at: [x, top - 6.0],
                text: format!("{at:.0}"),
                hold: Hold::Middle,
            });
            strokes.extend(across(gaps, [x, top, deep]));
        }
        let foot = top + deep;
        strokes.push(Stroke::Word {
            at: [left, foot + 14.0],
            text: "places along in mm above; gaps in mm at each place, edge to edge".to_owned(),
            hold: Hold::Left,
        });
        Some(Drawing {
            title: format!("Joint {}: {}", self.id, self.between),
            says: self.says(),
            size: [super::sheet::WIDEST, foot + 20.0],
            strokes,
            letters: self.letters(),
        })
    }

    fn says(&self) -> String {
        let gaps = || {
            self.rows
                .iter()
                .flat_map(|(_, gaps)| gaps.iter().copied().flatten())
        };
        let widest = gaps().max_by(f64::total_cmp).unwrap_or_default();
        let tightest = gaps().min_by(f64::total_cmp).unwrap_or_default();
        let [long, wide] = self.size_mm;
        let size = if 0.0 < long && 0.0 < wide {
            format!("{long:.0} by {wide:.0} mm")
        } else {
            "length and width not recorded".to_owned()
        };
        format!(
            "{size}; gaps from {} to {} mm; {}",
            gap(tightest),
            gap(widest),
            self.read
        )
    }

    fn letters(&self) -> Vec<String> {
        let mut lines = vec!["at mm    gaps in mm, edge to edge".to_owned()];
        for (at, gaps) in &self.rows {
            let gaps: Vec<String> = gaps.iter().map(|mm| format!("{:>5}", said(*mm))).collect();
            lines.push(format!("{at:>5.0}  {}", gaps.join(" ")));
        }
        lines
    }
}

fn gap(mm: f64) -> String {
    crate::report::shown::number(mm, 2)
}

/// A reading, or that there is none.
fn said(mm: Option<f64>) -> String {
    mm.map_or_else(|| "–".to_owned(), gap)
}

/// The gaps of a row, spread from edge to edge.
fn across(gaps: &[Option<f64>], [x, top, deep]: [f64; 3]) -> Vec<Stroke> {
    let steps = gaps.len().saturating_sub(1).max(1);
    #[expect(
        clippy::cast_precision_loss,
        reason = "a handful of readings across a joint"
    )]
    let step = (deep - 16.0) / steps as f64;
    let mut strokes = Vec::new();
    let mut down = top + 8.0;
    for mm in gaps {
        strokes.push(Stroke::Sign {
            at: [x, down],
            shape: Shape::Round,
            ink: Ink::Bole,
        });
        // The last row stands at the right edge; its numbers go to the left.
        let [left, _, long, _] = FACE;
        let (side, hold) = if left + long - 20.0 < x {
            (-5.0, Hold::Right)
        } else {
            (5.0, Hold::Left)
        };
        strokes.push(Stroke::Word {
            at: [x + side, down + 3.0],
            text: said(*mm),
            hold,
        });
        down += step;
    }
    strokes
}
