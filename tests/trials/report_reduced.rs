//! Photographs that are too large for a page: a smaller copy stands there, upright and of the
//! same colours, and the file stays what it is in the shop and in the folder for thirty years.

use std::fs;

use jpeg_encoder::{ColorType, Encoder, SamplingFactor};
use knuckle::deed::{Deed, Line, PhotoKept};
use knuckle::disk::RealDisk;
use knuckle::report::dossier::{Block, Part, Picture, Sheet, Shot, base64, pdf, read_shots};
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;

use crate::kit::sealed::at_evening;
use crate::kit::{moment, photo_kept, png, sha256};
use crate::photographs_bad::with_photographs;
use crate::report_pages::{has, pixels};

type Rgb = [u8; 3];

/// A JPEG, and what else its head says, as fine as can be.
fn jpeg([wide, high]: [u16; 2], colour: impl Fn(u16) -> Rgb, said: Said<'_>) -> Vec<u8> {
    let rows = (0..high).flat_map(|_| (0..wide).flat_map(&colour));
    let pixels: Vec<u8> = rows.collect();
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, 100);
    if let Some((factors, one_by_one, in_steps)) = said.packed {
        encoder.set_sampling_factor(factors);
        // Tables made to measure: this encoder packs each colour in a scan of its own then.
        encoder.set_optimized_huffman_tables(one_by_one);
        encoder.set_progressive(in_steps);
    }
    if let Some(turned) = said.turned {
        // A TIFF head and one entry, tag 0x0112 (Exif 2.3, 4.6).
        let mut block = b"MM\0\x2a\0\0\0\x08\0\x01".to_vec();
        block.extend([0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, turned, 0, 0, 0, 0, 0, 0]);
        encoder.add_exif_metadata(&block).unwrap();
    }
    if let Some(profile) = said.profile {
        encoder.add_icc_profile(profile).unwrap();
    }
    encoder.encode(&pixels, wide, high, ColorType::Rgb).unwrap();
    bytes
}

#[derive(Clone, Copy, Default)]
struct Said<'a> {
    turned: Option<u8>,
    profile: Option<&'a [u8]>,
    /// How finely its colours are packed, whether one by one, whether in steps.
    packed: Option<(SamplingFactor, bool, bool)>,
}

/// A PNG of any colours.
fn drawn([wide, high]: [u32; 2], colour: impl Fn(u32, u32) -> Rgb) -> Vec<u8> {
    let rows = (0..high).flat_map(|y| (0..wide).map(move |x| (x, y)));
    let pixels: Vec<u8> = rows.flat_map(|(x, y)| colour(x, y)).collect();
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, wide, high);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_compression(png::Compression::Fast);
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(&pixels).unwrap();
    writer.finish().unwrap();
    bytes
}

fn kept(name: &str, bytes: &[u8]) -> Deed {
    let file = format!("photos/{name}");
    let kept: PhotoKept = photo_kept(file, sha256(bytes), (None, "before"));
    Deed::PhotoKept(kept)
}

/// What stands on the page of one photograph.
fn shown(name: &str, bytes: &[u8]) -> Shot {
    let sealed = with_photographs(&[(name, bytes)]);
    let line = Line {
        n: 1,
        at: moment("2026-11-25T09:00:00Z"),
        by: "odile".into(),
        bench: "bench".into(),
        deed: kept(name, bytes),
        entered_later: None,
        strange: Vec::new(),
    };
    let folder = sealed.shop().join("figures/hare");
    let shots = read_shots(&RealDisk, &folder, &[line]);
    shots.into_values().next().unwrap()
}

fn reduced(name: &str, bytes: &[u8]) -> Vec<u8> {
    match shown(name, bytes) {
        Shot::Reduced(small) => small,
        Shot::Whole(_) => panic!("{name} went in as it is"),
        Shot::Absent(why) => panic!("{name}: {why}"),
    }
}

/// A JPEG unpacked by its reader alone: its size and its pixels.
struct Seen {
    wide: usize,
    high: usize,
    pixels: Vec<Rgb>,
    profile: Option<Vec<u8>>,
}

impl Seen {
    fn of(bytes: &[u8]) -> Self {
        let mut decoder = JpegDecoder::new(ZCursor::new(bytes));
        let raw = decoder.decode().unwrap();
        let (wide, high) = decoder.dimensions().unwrap();
        let (pixels, rest) = raw.as_chunks::<3>();
        assert!(rest.is_empty() && pixels.len() == wide * high);
        Self {
            wide,
            high,
            pixels: pixels.to_vec(),
            profile: decoder.icc_profile(),
        }
    }

    /// The mean of a field of pixels.
    fn mean(&self, [left, top]: [usize; 2], side: usize) -> [f64; 3] {
        let rows = (top..top + side).map(|y| y * self.wide + left);
        let pixels = rows.flat_map(|from| &self.pixels[from..from + side]);
        let mut sums = [0.0; 3];
        for pixel in pixels {
            for (sum, part) in sums.iter_mut().zip(pixel) {
                *sum += f64::from(*part);
            }
        }
        let count = f64::from(u32::try_from(side * side).unwrap());
        sums.map(|sum| sum / count)
    }
}

/// Every other column is light. A picture that drops pixels shows one of both sorts only.
fn striped(x: u32, y: u32) -> Rgb {
    let light = if x % 2 == 1 { 80 } else { 0 };
    let red = u8::try_from(x * 100 / 3200).unwrap();
    let green = u8::try_from(y * 100 / 400).unwrap();
    [40 + red + light, 40 + green + light, 60 + light]
}

/// Against the mean of the source's own pixels over the same field, reckoned here; 2 of 255 is
/// what rounding and packing may take.
#[test]
fn a_smaller_copy_is_the_mean_of_the_pixels_it_stands_for() {
    let bytes = drawn([3200, 400], striped);
    let small = reduced("wide.png", &bytes);
    assert!(small.len() < bytes.len() / 10, "{}", small.len());
    let seen = Seen::of(&small);
    assert_eq!((seen.wide, seen.high), (1600, 200));
    for (left, top) in [(0, 0), (320, 40), (800, 100), (1550, 150)] {
        let found = seen.mean([left, top], 40);
        let mut wanted = [0.0; 3];
        for x in 2 * left..2 * (left + 40) {
            for y in 2 * top..2 * (top + 40) {
                let pixel = striped(u32::try_from(x).unwrap(), u32::try_from(y).unwrap());
                for (sum, part) in wanted.iter_mut().zip(pixel) {
                    *sum += f64::from(part) / 6400.0;
                }
            }
        }
        for (found, wanted) in found.iter().zip(wanted) {
            assert!(
                (found - wanted).abs() < 2.0,
                "{found} is not {wanted} at {left}, {top}"
            );
        }
    }
    assert_eq!(small, reduced("wide.png", &bytes), "the same bytes again");
}

/// Its left half is dark and its first row is the right side (orientation 6), so upright its
/// upper half is dark.
#[test]
fn a_smaller_copy_stands_upright_and_its_colours_mean_what_they_meant() {
    let halves = |x: u16| if x < 1000 { [40; 3] } else { [200; 3] };
    let profile = |colours: &[u8; 4]| {
        let mut profile = vec![7; 600];
        profile[16..20].copy_from_slice(colours);
        profile
    };
    for (colours, goes_along) in [(b"RGB ", true), (b"CMYK", false)] {
        let profile = profile(colours);
        let said = Said {
            turned: Some(6),
            profile: Some(&profile),
            packed: None,
        };
        let small = Seen::of(&reduced("side.jpg", &jpeg([2000, 320], halves, said)));
        assert_eq!((small.wide, small.high), (256, 1600));
        let near = |found: [f64; 3], grey: f64| found.iter().all(|it| (it - grey).abs() < 3.0);
        assert!(near(small.mean([100, 200], 60), 40.0));
        assert!(near(small.mean([100, 1300], 60), 200.0));
        assert_eq!(small.profile, goes_along.then_some(profile));
    }
}

#[test]
fn what_is_small_enough_goes_in_as_it_is_and_a_heavy_png_is_packed() {
    let grey = |_: u16| [90; 3];
    for bytes in [
        jpeg([1600, 40], grey, Said::default()),
        png(120, 60, [9; 3]),
        drawn([1600, 40], striped),
    ] {
        assert_eq!(shown("small", &bytes), Shot::Whole(bytes));
    }
    assert!(matches!(
        shown("a", &jpeg([1601, 40], grey, Said::default())),
        Shot::Reduced(_)
    ));
    // Grain that nothing packs well, by a linear congruence (*common practice*).
    let grain = |x: u32, y: u32| {
        let mixed = (x * 7919 + y * 104_729 + 12345).wrapping_mul(1_103_515_245) >> 16;
        let [_, _, one, two] = mixed.to_be_bytes();
        [one, two, one ^ two]
    };
    let heavy = drawn([500, 300], grain);
    assert!(256 << 10 < heavy.len());
    let small = reduced("heavy.png", &heavy);
    assert!(small.len() < heavy.len());
    let seen = Seen::of(&small);
    assert_eq!((seen.wide, seen.high), (500, 300));
}

/// A PNG of one colour, with what it needs to be let through.
fn glassy(colour: png::ColorType, pixel: &[u8], lets_through: Option<&[u8]>) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 120, 60);
    encoder.set_color(colour);
    if colour == png::ColorType::Indexed {
        encoder.set_palette(vec![0, 0, 0]);
    }
    if let Some(lets_through) = lets_through {
        encoder.set_trns(lets_through.to_vec());
    }
    let mut writer = encoder.write_header().unwrap();
    let pixels = pixel.repeat(120 * 60);
    writer.write_image_data(&pixels).unwrap();
    writer.finish().unwrap();
    bytes
}

/// Black that lets all through is the white of the paper, in whichever way a PNG says so
/// (ISO/IEC 15948, 4.3.2): on the screen, and in the PDF, where another program looks at it.
#[test]
fn what_lets_through_lies_on_white() {
    // A fifth of grey 100 and four fifths of white.
    let half = 224;
    for (bytes, grey) in [
        (glassy(png::ColorType::Rgba, &[0, 0, 0, 0], None), 255),
        (
            glassy(png::ColorType::Rgba, &[100, 100, 100, 51], None),
            half,
        ),
        (
            glassy(png::ColorType::Rgba, &[100, 100, 100, 255], None),
            100,
        ),
        (glassy(png::ColorType::GrayscaleAlpha, &[0, 0], None), 255),
        (glassy(png::ColorType::Indexed, &[0], Some(&[0])), 255),
        (glassy(png::ColorType::Rgb, &[0, 0, 0], Some(&[0; 6])), 255),
        (glassy(png::ColorType::Grayscale, &[0], Some(&[0; 2])), 255),
    ] {
        let seen = knuckle::shop::picture(&bytes, [20, 20]).unwrap();
        assert_eq!(seen.at(3, 3), Some([grey; 3]));
        if !has("pdftoppm") {
            continue;
        }
        let sheet = Sheet {
            wants_one: false,
            behind: Vec::new(),
            front: Vec::new(),
            title: "Glass".into(),
            label: "a label".into(),
            dated: "today".into(),
            parts: vec![Part {
                title: "Pictures".into(),
                blocks: vec![Block::Picture(Picture {
                    caption: "a pane".into(),
                    shot: Shot::Whole(bytes),
                })],
            }],
        };
        let sheets = pixels(&pdf(&sheet));
        let black = sheets[0].greys.iter().filter(|one| **one < 40).count();
        assert!(black < 2000, "{black} black dots");
        let here = sheets[0].greys.iter().filter(|one| one.abs_diff(grey) <= 1);
        assert!(6000 < here.count(), "{grey}");
    }
}

/// What cannot be unpacked stands as it stood: whole, since its head is sound.
#[test]
fn a_large_photograph_that_is_broken_goes_in_as_it_is() {
    let mut bytes = jpeg([1700, 40], |_| [90; 3], Said::default());
    bytes.truncate(bytes.len() - 40);
    assert_eq!(shown("cut.jpg", &bytes), Shot::Whole(bytes));
}

/// However a JPEG is packed, the copy has its colours, or the file goes in as it is.
#[test]
fn no_way_of_packing_turns_the_colours_of_a_copy() {
    use SamplingFactor::{F_1_1, F_1_2, F_1_4, F_2_1, F_2_2, F_2_4, F_4_1, F_4_2};
    let (mut copies, mut whole) = (0, 0);
    for factors in [F_1_1, F_2_1, F_1_2, F_2_2, F_4_1, F_4_2, F_1_4, F_2_4] {
        for (one_by_one, in_steps) in [(false, false), (true, false), (false, true)] {
            let packed = Some((factors, one_by_one, in_steps));
            let said = Said {
                packed,
                ..Said::default()
            };
            let bytes = jpeg([1640, 64], |_| [150, 100, 60], said);
            match shown("a.jpg", &bytes) {
                Shot::Reduced(small) => {
                    let found = Seen::of(&small).mean([700, 10], 40);
                    for (found, wanted) in found.iter().zip([150.0, 100.0, 60.0]) {
                        assert!((found - wanted).abs() < 3.0, "{packed:?}: {found}");
                    }
                    copies += 1;
                }
                Shot::Whole(as_it_was) => {
                    assert_eq!(as_it_was, bytes);
                    whole += 1;
                }
                Shot::Absent(why) => panic!("{why}"),
            }
        }
    }
    // In steps all eight, in one scan the four that cameras use.
    assert_eq!((copies, whole), (12, 12));
}

#[test]
fn the_report_says_which_are_smaller_and_the_full_ones_stay_byte_for_byte() {
    let large = jpeg(
        [2400, 300],
        |x| [u8::try_from(x % 200).unwrap(), 60, 90],
        Said::default(),
    );
    let small = jpeg([200, 100], |_| [120; 3], Said::default());
    let sealed = with_photographs(&[("large.jpg", &large), ("small.jpg", &small)]);
    for name in ["hare.html", "hare.pdf", "hare.txt"] {
        let told = sealed.run(&at_evening(&["report", "hare", "--out", name]));
        assert_eq!((told.code, told.err.as_str()), (0, ""), "{}", told.out);
    }
    let page = fs::read_to_string(sealed.shop().join("hare.html")).unwrap();
    let copy = reduced("large.jpg", &large);
    assert!(page.contains(&base64(&copy)) && !page.contains(&base64(&large)));
    assert!(page.contains(&base64(&small)));
    let paper = fs::read(sealed.shop().join("hare.pdf")).unwrap();
    let has = |wanted: &[u8]| paper.windows(wanted.len()).any(|some| some == wanted);
    assert!(has(&copy) && has(&small) && !has(&large));
    let text = fs::read_to_string(sealed.shop().join("hare.txt")).unwrap();
    for told in [page, text] {
        let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains("at most 1600 pixels long"), "{told}");
        for (file, is_smaller) in [("large.jpg", true), ("small.jpg", false)] {
            let bytes = if is_smaller { &large } else { &small };
            let caption = format!("file photos/{file}, SHA-256 {}", sha256(bytes));
            let (_, rest) = told.split_once(&caption).unwrap();
            assert_eq!(
                rest.starts_with("; shown here as a smaller copy"),
                is_smaller
            );
        }
    }
    let told = sealed.run(&at_evening(&["report", "hare", "--folder", "../thirty"]));
    assert_eq!((told.code, told.err.as_str()), (0, ""));
    let folder = sealed.home.path().join("thirty/photos");
    for (name, bytes) in [("large.jpg", &large), ("small.jpg", &small)] {
        assert_eq!(&fs::read(folder.join(name)).unwrap(), bytes);
        let kept = sealed.shop().join("figures/hare/photos").join(name);
        assert_eq!(&fs::read(kept).unwrap(), bytes);
    }
}
