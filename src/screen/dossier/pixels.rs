//! Photographs and swatches in cells: two pixels in each, one above the other. Where a
//! terminal shows too few colours they become shades of chalk.

use ratatui::layout::Rect;

use crate::reckon::colour::Colour;
use crate::shop::Picture;

use super::super::ink::Ink;
use super::super::look::{Rgb, Tone};

/// Shades of one cell from dark to light.
const SHADES: [&str; 5] = [" ", "░", "▒", "▓", "█"];

/// Draws a picture at the left upper corner of an area, as large as it fits; returns the rows
/// used.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, picture: &Picture) -> u16 {
    let small = picture.fitted(usize::from(area.width), usize::from(area.height) * 2);
    let rows = small.height().div_ceil(2);
    for row in 0..rows {
        for column in 0..small.width {
            let top = small.at(column, row * 2).unwrap_or_default();
            let low = small.at(column, row * 2 + 1).unwrap_or(top);
            let (Ok(x), Ok(y)) = (u16::try_from(column), u16::try_from(row)) else {
                continue;
            };
            let at = (area.x + x, area.y + y);
            if !ink.pixels(at, [top, low]) {
                ink.put(at, shade(top, low), Tone::Chalk, 1);
            }
        }
    }
    u16::try_from(rows).unwrap_or(area.height)
}

fn shade(top: Rgb, low: Rgb) -> &'static str {
    let light = |[red, green, blue]: Rgb| {
        // Luma of ITU-R BT.601, in thousandths.
        u32::from(red) * 299 + u32::from(green) * 587 + u32::from(blue) * 114
    };
    let both = u32::midpoint(light(top), light(low));
    let step = usize::try_from(both * 5 / 255_001).unwrap_or(0);
    SHADES.get(step).copied().unwrap_or("█")
}

/// Draws a swatch of so many cells; nothing where the terminal shows too few colours, for a
/// wrong colour is worse than none. Returns the cells used.
pub(super) fn swatch(ink: &mut Ink<'_>, (x, y): (u16, u16), colour: Colour, wide: u16) -> u16 {
    let rgb = colour.to_srgb();
    for nth in 0..wide {
        if !ink.pixels((x + nth, y), [rgb, rgb]) {
            return 0;
        }
    }
    wide
}
