//! A photograph as pixels: its head read before anything is unpacked, then decoded, turned
//! upright and made small. Pure: bytes in, pixels out. JPEG and PNG only.

use std::io::Cursor;

use zune_jpeg::JpegDecoder;
use zune_jpeg::errors::DecodeErrors;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use super::exif::{Exif, read_exif};

/// Most pixels of a photograph that is taken in: three times those of a large camera. What
/// says that it has more is a mistake, or made to fill the memory.
pub const MOST_PIXELS: u64 = 150_000_000;

/// Longest file that is taken in, bytes; chosen here, some ten times a large camera's JPEG.
pub const MOST_BYTES: u64 = 300 << 20;

/// Why bytes are no photograph that can be shown.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotAPicture {
    /// It is empty.
    #[error("the file is empty")]
    Empty,
    /// It does not begin as a JPEG or a PNG.
    #[error("this is no JPEG and no PNG, whatever its name ends in")]
    Neither,
    /// It begins as one and cannot be read to its end.
    #[error("this {kind} is broken: {why}")]
    Broken {
        /// JPEG or PNG.
        kind: &'static str,
        /// What the reader met.
        why: String,
    },
    /// It says that it is too large.
    #[error("this says it is {width} × {height} pixels: more than any camera takes")]
    TooLarge {
        /// Pixels across.
        width: u64,
        /// Pixels down.
        height: u64,
    },
}

/// What the head of a photograph says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PictureHead {
    /// The usual end of its name: `jpg` or `png`.
    pub ends: &'static str,
    /// Width and height, before it is turned.
    pub pixels: [u32; 2],
    /// When it was taken and how the camera was held, as far as it says.
    pub exif: Exif,
    /// What its colours mean (an ICC profile), where it says.
    pub profile: Option<Vec<u8>>,
}

/// Pixels, row by row from the top, upright.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Picture {
    /// Pixels across.
    pub width: usize,
    /// The pixels: red, green, blue.
    pub pixels: Vec<[u8; 3]>,
}

impl Picture {
    /// Returns how many rows it has.
    pub fn height(&self) -> usize {
        self.pixels.len().checked_div(self.width).unwrap_or(0)
    }

    /// Returns a pixel.
    pub fn at(&self, x: usize, y: usize) -> Option<[u8; 3]> {
        let inside = x < self.width;
        let place = y.checked_mul(self.width)?.checked_add(x)?;
        self.pixels.get(place).copied().filter(|_| inside)
    }

    /// Returns the picture made to fit into so many pixels, its shape kept; never larger.
    /// Each new pixel is the mean of those that it stands for.
    #[must_use]
    pub fn fitted(&self, width: usize, height: usize) -> Self {
        fitted((self.width, &self.pixels), [width, height])
    }

    /// Returns the picture with every pixel so many times as wide and as high.
    #[must_use]
    pub fn enlarged(&self, times: usize) -> Self {
        let mut pixels = Vec::with_capacity(self.pixels.len() * times * times);
        for row in self.pixels.chunks(self.width.max(1)) {
            for _ in 0..times {
                let wide = row.iter().flat_map(|pixel| [*pixel].repeat(times));
                pixels.extend(wide);
            }
        }
        Self {
            width: self.width * times,
            pixels,
        }
    }

    /// Returns the picture turned upright by the orientation of Exif 2.3 (table 6, tag 274):
    /// 1 upright, 3 on its head, 6 and 8 on its side, the others mirrored as well.
    fn upright(self, turned: u8) -> Self {
        let (w, h) = (self.width, self.height());
        let on_side = (5..=8).contains(&turned);
        let (to_w, to_h) = if on_side { (h, w) } else { (w, h) };
        if turned <= 1 || 8 < turned || w == 0 || h == 0 {
            return self;
        }
        let mut pixels = Vec::with_capacity(self.pixels.len());
        for y in 0..to_h {
            for x in 0..to_w {
                let (from_x, from_y) = match turned {
                    2 => (w - 1 - x, y),
                    3 => (w - 1 - x, h - 1 - y),
                    4 => (x, h - 1 - y),
                    5 => (y, x),
                    6 => (y, h - 1 - x),
                    7 => (w - 1 - y, h - 1 - x),
                    _ => (w - 1 - y, x),
                };
                pixels.extend(self.at(from_x, from_y));
            }
        }
        Self {
            width: to_w,
            pixels,
        }
    }
}

/// Makes pixels in rows of a width fit; see [`Picture::fitted`]. It takes them where they lie,
/// for a large photograph once more would fill the memory.
fn fitted((from_w, from): (usize, &[[u8; 3]]), [width, height]: [usize; 2]) -> Picture {
    let from_h = from.len().checked_div(from_w).unwrap_or(0);
    if from_h == 0 || width == 0 || height == 0 {
        return Picture::default();
    }
    // Shape kept: compare w/h of both by their cross products.
    let by_width = from_w.saturating_mul(height) >= from_h.saturating_mul(width);
    let (to_w, to_h) = if by_width {
        let to_w = width.min(from_w);
        (to_w, (from_h * to_w / from_w).max(1))
    } else {
        let to_h = height.min(from_h);
        ((from_w * to_h / from_h).max(1), to_h)
    };
    let mut pixels = Vec::with_capacity(to_w * to_h);
    for y in 0..to_h {
        let rows = y * from_h / to_h..((y + 1) * from_h).div_ceil(to_h);
        for x in 0..to_w {
            let columns = x * from_w / to_w..((x + 1) * from_w).div_ceil(to_w);
            let rows = rows.clone().map(|row| row * from_w);
            let rows = rows.filter_map(|row| from.get(row + columns.start..row + columns.end));
            pixels.push(mean(rows));
        }
    }
    Picture {
        width: to_w,
        pixels,
    }
}

fn mean<'a>(rows: impl Iterator<Item = &'a [[u8; 3]]>) -> [u8; 3] {
    let mut sums = [0_u64; 3];
    let mut count = 0_u64;
    for pixel in rows.flatten() {
        for (sum, channel) in sums.iter_mut().zip(pixel) {
            *sum += u64::from(*channel);
        }
        count += 1;
    }
    sums.map(|sum| u8::try_from(sum / count.max(1)).unwrap_or(u8::MAX))
}

/// Returns what the head of a photograph says. Nothing is unpacked.
///
/// # Errors
/// [`NotAPicture`].
pub fn picture_head(bytes: &[u8]) -> Result<PictureHead, NotAPicture> {
    match sort(bytes)? {
        Sort::Jpeg => {
            let mut decoder = jpeg(bytes);
            decoder.decode_headers().map_err(|why| of_jpeg(&why))?;
            let info = decoder.info().map(|it| [it.width, it.height]);
            let [width, height] = info.unwrap_or_default();
            let exif = decoder.exif().map(|exif| read_exif(exif));
            let said = (exif, decoder.icc_profile());
            head("jpg", [u32::from(width), u32::from(height)], said)
        }
        Sort::Png => {
            let mut decoder = png_decoder(bytes);
            let info = decoder.read_header_info().map_err(|why| of_png(&why))?;
            let size = [info.width, info.height];
            // The Exif of a PNG may stand behind its pixels; what stands before them is read.
            held(size)?;
            let reader = png_decoder(bytes).read_info().map_err(|why| of_png(&why))?;
            let info = reader.info();
            let exif = info.exif_metadata.as_deref().map(read_exif);
            let profile = info.icc_profile.as_ref().map(|it| it.to_vec());
            head("png", size, (exif, profile))
        }
    }
}

fn head(
    ends: &'static str,
    pixels: [u32; 2],
    (exif, profile): (Option<Exif>, Option<Vec<u8>>),
) -> Result<PictureHead, NotAPicture> {
    held(pixels)?;
    Ok(PictureHead {
        ends,
        pixels,
        exif: exif.unwrap_or_default(),
        profile,
    })
}

/// Returns a photograph upright, made to fit into so many pixels.
///
/// # Errors
/// [`NotAPicture`]; nothing is unpacked where the head says that it is too large.
pub fn picture(bytes: &[u8], [width, height]: [usize; 2]) -> Result<Picture, NotAPicture> {
    let head = picture_head(bytes)?;
    // Made small before it is turned: turning the whole would need twice the memory.
    let turned = head.exif.turned.unwrap_or(1);
    let (width, height) = if (5..=8).contains(&turned) {
        (height, width)
    } else {
        (width, height)
    };
    let small = match head.ends {
        "jpg" => decode_jpeg(bytes, head.pixels, [width, height])?,
        _ => decode_png(bytes, [width, height])?,
    };
    Ok(small.upright(turned))
}

#[derive(Debug, Clone, Copy)]
enum Sort {
    Jpeg,
    Png,
}

fn sort(bytes: &[u8]) -> Result<Sort, NotAPicture> {
    match bytes {
        [] => Err(NotAPicture::Empty),
        [0xff, 0xd8, 0xff, ..] => Ok(Sort::Jpeg),
        [0x89, b'P', b'N', b'G', b'\r', b'\n', 0x1a, b'\n', ..] => Ok(Sort::Png),
        _ => Err(NotAPicture::Neither),
    }
}

fn held([width, height]: [u32; 2]) -> Result<(), NotAPicture> {
    let (width, height) = (u64::from(width), u64::from(height));
    if MOST_PIXELS < width * height {
        return Err(NotAPicture::TooLarge { width, height });
    }
    Ok(())
}

fn jpeg(bytes: &[u8]) -> JpegDecoder<ZCursor<&[u8]>> {
    // The reader's own limits let any JPEG through; `held` is the one that counts.
    let options = DecoderOptions::default()
        .set_max_width(usize::from(u16::MAX))
        .set_max_height(usize::from(u16::MAX))
        .set_strict_mode(true)
        .jpeg_set_out_colorspace(ColorSpace::RGB);
    JpegDecoder::new_with_options(ZCursor::new(bytes), options)
}

/// What the reader met, in words for who copied the file.
fn plainly(why: &str) -> String {
    let ends = [
        "Not enough bytes",
        "No more bytes",
        "I/O",
        "Exhausted",
        "exhausted",
        "unexpected end",
    ];
    if ends.iter().any(|end| why.contains(end)) {
        return "the file ends before the picture does, as when copying was broken off".to_owned();
    }
    let strange = ["nsupported", "not supported", "nimplemented"];
    if strange.iter().any(|word| why.contains(word)) {
        let what = "it is of a kind that is not read here: save it as a common RGB picture";
        return what.to_owned();
    }
    "what stands in it does not fit together, as when a file was damaged".to_owned()
}

fn of_jpeg(why: &DecodeErrors) -> NotAPicture {
    NotAPicture::Broken {
        kind: "JPEG",
        why: plainly(&format!("{why:?}")),
    }
}

fn decode_jpeg(bytes: &[u8], [wide, _]: [u32; 2], fit: [usize; 2]) -> Result<Picture, NotAPicture> {
    let raw = jpeg(bytes).decode().map_err(|why| of_jpeg(&why))?;
    let (pixels, _) = raw.as_chunks::<3>();
    let wide = usize::try_from(wide).unwrap_or_default();
    Ok(fitted((wide, pixels), fit))
}

fn png_decoder(bytes: &[u8]) -> png::Decoder<Cursor<&[u8]>> {
    let bytes_of = usize::try_from(MOST_PIXELS * 4).unwrap_or(usize::MAX);
    let mut decoder =
        png::Decoder::new_with_limits(Cursor::new(bytes), png::Limits { bytes: bytes_of });
    decoder.set_transformations(png::Transformations::normalize_to_color8());
    decoder
}

fn of_png(why: &png::DecodingError) -> NotAPicture {
    NotAPicture::Broken {
        kind: "PNG",
        why: plainly(&why.to_string()),
    }
}

/// Lays a pixel on white, as on paper, as far as it does not cover (ISO/IEC 15948, 12.4: sample
/// and background weighed by alpha).
fn on_white(pixel: [u8; 3], cover: u8) -> [u8; 3] {
    let (most, cover) = (u32::from(u8::MAX), u32::from(cover));
    pixel.map(|sample| {
        let laid = u32::from(sample) * cover + most * (most - cover);
        u8::try_from((laid + most / 2) / most).unwrap_or(u8::MAX)
    })
}

fn decode_png(bytes: &[u8], fit: [usize; 2]) -> Result<Picture, NotAPicture> {
    let mut reader = png_decoder(bytes).read_info().map_err(|why| of_png(&why))?;
    let mut raw = vec![0; reader.output_buffer_size().unwrap_or(0)];
    let frame = reader.next_frame(&mut raw).map_err(|why| of_png(&why))?;
    raw.truncate(frame.buffer_size());
    let wide = usize::try_from(frame.width).unwrap_or_default();
    let pixels: Vec<[u8; 3]> = match frame.color_type {
        png::ColorType::Grayscale => raw.iter().map(|grey| [*grey; 3]).collect(),
        png::ColorType::GrayscaleAlpha => {
            let (pairs, _) = raw.as_chunks::<2>();
            let pixels = pairs
                .iter()
                .map(|[grey, cover]| on_white([*grey; 3], *cover));
            pixels.collect()
        }
        png::ColorType::Rgba => {
            let (fours, _) = raw.as_chunks::<4>();
            let pixels = fours.iter();
            pixels
                .map(|[r, g, b, cover]| on_white([*r, *g, *b], *cover))
                .collect()
        }
        // A palette was unpacked to red, green and blue above.
        png::ColorType::Rgb | png::ColorType::Indexed => {
            return Ok(fitted((wide, raw.as_chunks::<3>().0), fit));
        }
    };
    Ok(fitted((wide, &pixels), fit))
}

#[cfg(test)]
mod tests {
    use super::{Picture, on_white};

    /// A letter that no turn and no mirror maps onto itself: rows of `#` and `.`.
    fn drawn(rows: &[&str]) -> Picture {
        let dot = |sign: char| if sign == '#' { [255; 3] } else { [0; 3] };
        Picture {
            width: rows[0].len(),
            pixels: rows.iter().flat_map(|row| row.chars().map(dot)).collect(),
        }
    }

    #[test]
    fn each_orientation_of_exif_is_turned_upright() {
        // Exif 2.3, tag 274: which row and column of the file is the top and the left side.
        let upright = ["##", "#.", "#."];
        for (turned, file) in [
            (1, vec!["##", "#.", "#."]),
            (2, vec!["##", ".#", ".#"]),
            (3, vec![".#", ".#", "##"]),
            (4, vec!["#.", "#.", "##"]),
            (5, vec!["###", "#.."]),
            (6, vec!["#..", "###"]),
            (7, vec!["..#", "###"]),
            (8, vec!["###", "..#"]),
        ] {
            assert_eq!(drawn(&file).upright(turned), drawn(&upright), "{turned}");
        }
    }

    /// The ends and the middle of the scale; what covers half lies half way.
    #[test]
    fn what_does_not_cover_lies_on_white() {
        assert_eq!(on_white([0, 10, 200], 255), [0, 10, 200]);
        assert_eq!(on_white([0, 10, 200], 0), [255; 3]);
        assert_eq!(on_white([0, 255, 55], 51), [204, 255, 215]);
    }

    #[test]
    fn a_picture_made_small_keeps_its_shape_and_its_mean() {
        let wide = drawn(&["##..##..", "##..##..", "........", "........"]);
        let small = wide.fitted(4, 4);
        assert_eq!((small.width, small.height()), (4, 2));
        assert_eq!(small.at(0, 0), Some([255; 3]));
        assert_eq!(small.at(1, 0), Some([0; 3]));
        assert_eq!(wide.fitted(1, 9).at(0, 0), Some([63; 3]));
        assert_eq!(wide.fitted(100, 100), wide, "never made larger");
        assert_eq!(wide.fitted(0, 5), Picture::default());
        assert_eq!(Picture::default().fitted(5, 5), Picture::default());
        let twice = drawn(&["#."]).enlarged(2);
        assert_eq!(twice, drawn(&["##..", "##.."]));
        assert_eq!(twice.enlarged(1), twice);
    }
}
