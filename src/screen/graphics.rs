//! Pictures as bytes that a terminal shows in its own pixels, from where its cursor stands.
//! Pure: a picture in, bytes out.
//!
//! Two ways: sixels (DEC, VT330/VT340 Programmer Reference Manual, volume 2, chapter 14), and
//! the terminal graphics protocol, which is carried by the APC string of ECMA-48.

use crate::report::dossier::base64;
use crate::shop::Picture;

/// Most colours of one sixel picture: a register's number stands in one byte here.
pub(super) const MOST_COLOURS: usize = 256;

/// Rows of pixels in one band of sixels.
pub(super) const BAND: usize = 6;

/// Bytes of a picture in one APC string: 4096 letters of base 64, the most that the protocol
/// allows at a time.
const CHUNK: usize = 3072;

/// Shades of a cube of 32 steps a side.
const SHADES: usize = 32 * 32 * 32;

/// A shade, by its place in the cube.
type Shade = usize;

/// Returns a picture as sixels, in at most so many colours. Nothing is drawn below its last
/// band, and no line is begun there, so that the page stays where it is.
pub(super) fn sixel(picture: &Picture, colours: usize) -> Vec<u8> {
    let (width, height) = (picture.width, picture.height());
    let (palette, shades) = palette(picture, colours.clamp(2, MOST_COLOURS));
    // Second number 1: a pixel that no sixel sets stays as it is.
    let mut out = format!("\x1bP0;1;0q\"1;1;{width};{height}").into_bytes();
    for (nth, colour) in palette.iter().enumerate() {
        let [red, green, blue] = colour.map(percent);
        out.extend(format!("#{nth};2;{red};{green};{blue}").bytes());
    }
    for (nth, rows) in picture.pixels.chunks(width.max(1) * BAND).enumerate() {
        if 0 < nth {
            out.push(b'-');
        }
        band(&mut out, rows, width, &shades);
    }
    out.extend(b"\x1b\\");
    out
}

/// One band: for each colour in it the sixels of that colour, one over the other.
fn band(out: &mut Vec<u8>, rows: &[[u8; 3]], width: usize, shades: &[u8]) {
    let mut masks: Vec<Vec<u8>> = vec![Vec::new(); MOST_COLOURS];
    for (row, line) in (0_u8..).zip(rows.chunks(width.max(1))) {
        for (column, pixel) in line.iter().enumerate() {
            let colour = shades.get(shade(*pixel)).copied().unwrap_or(0);
            let Some(mask) = masks.get_mut(usize::from(colour)) else {
                continue;
            };
            if mask.is_empty() {
                mask.resize(width, 0);
            }
            if let Some(sixel) = mask.get_mut(column) {
                *sixel |= 1 << row;
            }
        }
    }
    let used = masks
        .iter()
        .enumerate()
        .filter(|(_, mask)| !mask.is_empty());
    for (nth, (colour, mask)) in used.enumerate() {
        if 0 < nth {
            out.push(b'$');
        }
        out.extend(format!("#{colour}").bytes());
        for run in mask.chunk_by(|one, next| one == next) {
            let sign = run.first().copied().unwrap_or(0) + b'?';
            match run.len() {
                short @ ..=3 => out.extend(std::iter::repeat_n(sign, short)),
                long => {
                    out.extend(format!("!{long}").bytes());
                    out.push(sign);
                }
            }
        }
    }
}

/// A channel as a sixel terminal takes it, 0 to 100.
fn percent(channel: u8) -> u32 {
    (u32::from(channel) * 100 + 127) / 255
}

fn shade([red, green, blue]: [u8; 3]) -> Shade {
    let [red, green, blue] = [red, green, blue].map(|channel| usize::from(channel >> 3));
    red << 10 | green << 5 | blue
}

/// A shade with how many pixels have it, and the sum of their colours.
#[derive(Debug, Clone, Copy)]
struct Heap {
    shade: Shade,
    count: u64,
    sums: [u64; 3],
}

impl Heap {
    /// A channel of the shade, 0 to 31.
    fn side(&self, channel: usize) -> usize {
        self.shade >> (10 - 5 * channel) & 31
    }
}

/// Returns at most so many colours that stand for those of a picture, and which of them stands
/// for each shade. The shades are parted at the median of the longest side of the box that
/// weighs most, over and over (median cut).
fn palette(picture: &Picture, most: usize) -> (Vec<[u8; 3]>, Vec<u8>) {
    let empty = |shade| Heap {
        shade,
        count: 0,
        sums: [0; 3],
    };
    let mut heaps: Vec<Heap> = (0..SHADES).map(empty).collect();
    for pixel in &picture.pixels {
        let Some(heap) = heaps.get_mut(shade(*pixel)) else {
            continue;
        };
        heap.count += 1;
        for (sum, channel) in heap.sums.iter_mut().zip(pixel) {
            *sum += u64::from(*channel);
        }
    }
    heaps.retain(|heap| 0 < heap.count);
    let mut done: Vec<Vec<Heap>> = Vec::new();
    let mut open = vec![Boxed::of(heaps)];
    while done.len() + open.len() < most {
        let heaviest = open.iter().enumerate().max_by_key(|(_, it)| it.weight);
        let Some((at, _)) = heaviest else { break };
        let (low, high) = open.swap_remove(at).parted();
        for part in [low, high] {
            if part.len() < 2 {
                done.extend((!part.is_empty()).then_some(part));
            } else {
                open.push(Boxed::of(part));
            }
        }
    }
    done.extend(open.into_iter().map(|it| it.heaps));
    let mut shades = vec![0; SHADES];
    for (nth, heaps) in (0_u8..=u8::MAX).zip(&done) {
        for heap in heaps {
            if let Some(stands) = shades.get_mut(heap.shade) {
                *stands = nth;
            }
        }
    }
    (done.iter().map(|heaps| mean(heaps)).collect(), shades)
}

/// Shades that one colour would stand for.
struct Boxed {
    heaps: Vec<Heap>,
    longest: usize,
    /// Pixels times the length of the longest side; 0 only for a box of one shade.
    weight: u64,
}

impl Boxed {
    fn of(heaps: Vec<Heap>) -> Self {
        let side = |channel: usize| {
            let values = || heaps.iter().map(|heap| heap.side(channel));
            values().max().unwrap_or(0) - values().min().unwrap_or(0)
        };
        let longest = (0..3).max_by_key(|channel| side(*channel)).unwrap_or(0);
        let pixels: u64 = heaps.iter().map(|heap| heap.count).sum();
        let weight = pixels * u64::try_from(side(longest)).unwrap_or(0);
        Self {
            heaps,
            longest,
            weight,
        }
    }

    fn parted(mut self) -> (Vec<Heap>, Vec<Heap>) {
        self.heaps.sort_by_key(|heap| heap.side(self.longest));
        let half = self.heaps.iter().map(|heap| heap.count).sum::<u64>() / 2;
        let mut passed = 0;
        let below = self.heaps.iter().take_while(|heap| {
            passed += heap.count;
            passed <= half
        });
        let last = self.heaps.len().saturating_sub(1);
        let at = below.count().max(1).min(last);
        let high = self.heaps.split_off(at);
        (self.heaps, high)
    }
}

fn mean(heaps: &[Heap]) -> [u8; 3] {
    let count: u64 = heaps.iter().map(|heap| heap.count).sum();
    [0, 1, 2].map(|channel| {
        let sum: u64 = heaps.iter().filter_map(|heap| heap.sums.get(channel)).sum();
        u8::try_from((sum + count / 2) / count.max(1)).unwrap_or(u8::MAX)
    })
}

/// Returns a picture for the graphics protocol, under a number of its own. The cursor stays
/// (`C=1`), so that nothing scrolls, and the terminal answers nothing (`q=2`).
pub(super) fn apc(picture: &Picture, id: u32) -> Vec<u8> {
    let (width, height) = (picture.width, picture.height());
    let raw = picture.pixels.as_flattened();
    let chunks = raw.chunks(CHUNK);
    let last = chunks.len().saturating_sub(1);
    let mut out = Vec::new();
    for (nth, chunk) in chunks.enumerate() {
        let more = u8::from(nth < last);
        let head = if nth == 0 {
            format!("a=T,f=24,s={width},v={height},i={id},C=1,q=2,m={more}")
        } else {
            format!("m={more},q=2")
        };
        out.extend(format!("\x1b_G{head};").bytes());
        out.extend(base64(chunk).bytes());
        out.extend(b"\x1b\\");
    }
    out
}

/// Returns what takes such a picture from the page and from the terminal's memory.
pub(super) fn apc_gone(id: u32) -> Vec<u8> {
    format!("\x1b_Ga=d,d=I,i={id},q=2\x1b\\").into_bytes()
}

#[cfg(test)]
mod tests {
    use super::{apc, apc_gone, palette, sixel};
    use crate::shop::Picture;

    /// Light from the left, warm from above, a dark ring: many more colours than registers.
    fn photograph(width: usize, height: usize) -> Picture {
        let pixel = |at: usize| {
            let (x, y) = (at % width, at / width);
            let channel = |value: usize| u8::try_from(value % 256).unwrap();
            [
                channel(x * 255 / width),
                channel(y * 255 / height),
                channel((x + y) * 127 / (width + height) + 60),
            ]
        };
        Picture {
            width,
            pixels: (0..width * height).map(pixel).collect(),
        }
    }

    fn flat(colours: &[[u8; 3]], width: usize) -> Picture {
        Picture {
            width,
            pixels: colours.to_vec(),
        }
    }

    /// What a sixel terminal would show, read by the manual's chapter 14 sign by sign: pixels
    /// that nothing set are `None`. Also how often a new line was begun.
    fn shown(bytes: &[u8]) -> (usize, Vec<Option<[u8; 3]>>, usize) {
        let text = std::str::from_utf8(bytes).unwrap();
        let body = text.strip_prefix("\x1bP0;1;0q").unwrap();
        let body = body.strip_suffix("\x1b\\").unwrap();
        let mut signs = body.chars().peekable();
        let mut registers = vec![[0_u8; 3]; 256];
        let (mut width, mut pixels) = (0, Vec::new());
        let (mut colour, mut x, mut y, mut times) = (0, 0, 0, 1);
        while let Some(sign) = signs.next() {
            let mut numbers = Vec::new();
            if ['"', '#', '!'].contains(&sign) {
                let mut word = String::new();
                while let Some(digit) = signs.next_if(|it| it.is_ascii_digit() || *it == ';') {
                    word.push(digit);
                }
                numbers = word.split(';').map(|it| it.parse().unwrap()).collect();
            }
            match (sign, numbers.as_slice()) {
                ('"', &[1, 1, wide, high]) => {
                    width = wide;
                    pixels = vec![None; wide * high];
                }
                ('#', &[register, 2, red, green, blue]) => {
                    let channel = |percent: usize| u8::try_from(percent * 255 / 100).unwrap();
                    registers[register] = [red, green, blue].map(channel);
                }
                ('#', &[register]) => colour = register,
                ('!', &[count]) => times = count,
                ('$', _) => x = 0,
                ('-', _) => (x, y) = (0, y + 6),
                ('?'..='~', _) => {
                    let bits = u32::from(sign) - u32::from('?');
                    for _ in 0..times {
                        for row in (0..6).filter(|row| bits >> row & 1 == 1) {
                            assert!(x < width, "a sixel beside the picture");
                            pixels[(y + row) * width + x] = Some(registers[colour]);
                        }
                        x += 1;
                    }
                    times = 1;
                }
                other => panic!("no sixel sign: {other:?}"),
            }
        }
        (width, pixels, y / 6)
    }

    #[test]
    fn sixels_show_the_picture_again_within_what_registers_can_tell() {
        for (width, height, colours) in [(61, 47, 256), (90, 36, 256), (61, 47, 16), (1, 1, 2)] {
            let picture = photograph(width, height);
            let (wide, pixels, lines) = shown(&sixel(&picture, colours));
            assert_eq!(wide, width);
            assert_eq!(lines, (height - 1) / 6, "no line is begun below the last");
            assert_eq!(pixels.len(), width * height);
            let mut worst = 0;
            let mut sum = 0;
            for (shown, wanted) in pixels.iter().zip(&picture.pixels) {
                let shown = shown.expect("every pixel is set");
                for (one, other) in shown.iter().zip(wanted) {
                    let off = usize::from(one.abs_diff(*other));
                    (worst, sum) = (worst.max(off), sum + off);
                }
            }
            let mean = sum / (pixels.len() * 3);
            // 256 boxes over two free channels are some 16 × 16: sides of 16, their middle
            // half of that off, plus 1.3 of rounding to percent. 16 boxes: four times that.
            let most = if colours == 16 { (64, 20) } else { (24, 6) };
            assert!(
                worst <= most.0 && mean <= most.1,
                "{colours}: {worst}, {mean}"
            );
        }
    }

    #[test]
    fn few_colours_come_back_but_for_the_rounding_to_percent() {
        let four = [[0, 0, 0], [255, 255, 255], [134, 44, 27], [232, 188, 79]];
        let picture = flat(&four.repeat(6), 4);
        let (_, pixels, _) = shown(&sixel(&picture, 256));
        for (shown, wanted) in pixels.iter().zip(&picture.pixels) {
            let shown = shown.unwrap();
            let off = shown.iter().zip(wanted);
            assert!(off.map(|(one, other)| one.abs_diff(*other)).max().unwrap() <= 2);
        }
        assert_eq!(palette(&picture, 256).0.len(), 4);
        assert!(palette(&photograph(64, 64), 16).0.len() <= 16);
        assert_eq!(shown(&sixel(&Picture::default(), 16)).0, 0);
    }

    /// Base 64 read back by RFC 4648: six bits of each letter, from the left.
    fn unpacked(letters: &str) -> Vec<u8> {
        let mut bits = String::new();
        for letter in letters.trim_end_matches('=').chars() {
            let value = match letter {
                'A'..='Z' => u32::from(letter) - 65,
                'a'..='z' => u32::from(letter) - 71,
                '0'..='9' => u32::from(letter) + 4,
                '+' => 62,
                '/' => 63,
                other => panic!("{other} is no letter of base 64"),
            };
            bits.extend(format!("{value:06b}").chars());
        }
        let whole = bits.len() / 8 * 8;
        let bytes = bits.as_bytes()[..whole].chunks(8);
        bytes
            .map(|byte| u8::from_str_radix(std::str::from_utf8(byte).unwrap(), 2).unwrap())
            .collect()
    }

    #[test]
    fn the_graphics_protocol_carries_every_pixel_in_pieces_that_it_allows() {
        let picture = photograph(61, 47);
        let bytes = apc(&picture, 7);
        let text = String::from_utf8(bytes).unwrap();
        let pieces: Vec<&str> = text.split_terminator("\x1b\\").collect();
        let mut carried = Vec::new();
        for (nth, piece) in pieces.iter().enumerate() {
            let (head, letters) = piece.split_once(';').unwrap();
            let more = u8::from(nth + 1 < pieces.len());
            let wanted = if nth == 0 {
                format!("\x1b_Ga=T,f=24,s=61,v=47,i=7,C=1,q=2,m={more}")
            } else {
                format!("\x1b_Gm={more},q=2")
            };
            assert_eq!(head, wanted);
            assert!(letters.len() <= 4096 && (more == 0 || letters.len() % 4 == 0));
            carried.extend(unpacked(letters));
        }
        assert!(1 < pieces.len());
        assert_eq!(carried, picture.pixels.as_flattened());
        assert_eq!(apc_gone(7), b"\x1b_Ga=d,d=I,i=7,q=2\x1b\\");
    }
}
