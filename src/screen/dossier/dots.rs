//! Fine drawing in a terminal: two by four dots in each cell, as the Braille patterns of
//! Unicode have them. Dots outside are left out.

/// A field of dots.
#[derive(Debug, Clone)]
pub(super) struct Dots {
    width: usize,
    cells: Vec<u8>,
}

/// The bit of each dot in a cell, by column and row (Unicode Standard, block Braille Patterns,
/// dots 1 to 8).
const BITS: [[u8; 4]; 2] = [[0x01, 0x02, 0x04, 0x40], [0x08, 0x10, 0x20, 0x80]];

impl Dots {
    /// Returns an empty field of so many cells.
    pub(super) fn new(width: u16, height: u16) -> Self {
        let (width, height) = (usize::from(width), usize::from(height));
        Self {
            width,
            cells: vec![0; width * height],
        }
    }

    /// Sets a dot.
    pub(super) fn set(&mut self, x: usize, y: usize) {
        let bit = BITS.get(x % 2).and_then(|rows| rows.get(y % 4)).copied();
        let place = (y / 4) * self.width + x / 2;
        if let (true, Some(cell)) = (x / 2 < self.width, self.cells.get_mut(place)) {
            *cell |= bit.unwrap_or(0);
        }
    }

    /// Adds the dots of another field of the same size.
    pub(super) fn add(&mut self, other: &Self) {
        for (cell, more) in self.cells.iter_mut().zip(&other.cells) {
            *cell |= more;
        }
    }

    /// Sets the dots of a straight line; places are dots from the left upper corner.
    pub(super) fn line(&mut self, from: [f64; 2], to: [f64; 2]) {
        let ([x, y], [to_x, to_y]) = (from, to);
        let steps = (to_x - x)
            .abs()
            .max((to_y - y).abs())
            .ceil()
            .clamp(1.0, 4000.0);
        let mut step = 0.0;
        while step <= steps {
            let share = step / steps;
            let at = [x + (to_x - x) * share, y + (to_y - y) * share];
            if let (Some(x), Some(y)) = (whole(at[0]), whole(at[1])) {
                self.set(x, y);
            }
            step += 1.0;
        }
    }

    /// Returns the sign of a cell; `None` where no dot is set.
    pub(super) fn sign(&self, x: u16, y: u16) -> Option<char> {
        let place = usize::from(y) * self.width + usize::from(x);
        let bits = self.cells.get(place).copied().filter(|bits| *bits != 0)?;
        char::from_u32(0x2800 + u32::from(bits))
    }
}

/// Returns a place as a whole number of dots; `None` outside of any page.
pub(super) fn whole(place: f64) -> Option<usize> {
    let rounded = place.round();
    if !(0.0..=10_000.0).contains(&rounded) {
        return None;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "held between 0 and ten thousand just above"
    )]
    let whole = rounded as usize;
    Some(whole)
}

#[cfg(test)]
mod tests {
    use super::Dots;

    #[test]
    fn dots_stand_where_unicode_has_them_and_nothing_is_drawn_outside() {
        let mut dots = Dots::new(2, 1);
        dots.set(0, 0);
        dots.set(1, 3);
        dots.set(4, 0);
        dots.set(0, 4);
        // U+2881: dots 1 and 8.
        assert_eq!(dots.sign(0, 0), Some('\u{2881}'));
        assert_eq!(dots.sign(1, 0), None);
        dots.line([2.0, 0.0], [3.0, 3.0]);
        assert!(dots.sign(1, 0).is_some());
        dots.line([f64::NAN, -5.0], [1e9, f64::INFINITY]);
        assert_eq!(dots.sign(5, 5), None);
    }
}
