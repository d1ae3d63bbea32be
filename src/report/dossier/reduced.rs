//! A photograph made small for a page: upright, packed as JPEG, its colours as the camera named
//! them. Pure: bytes in, bytes out; the file itself is never touched.

use jpeg_encoder::{ColorType, Encoder};

use super::media::{Kind, is_of_a_camera, kind_of};
use crate::shop::{Picture, PictureHead, picture, picture_head};

/// The longest side of a photograph on a page, pixels. Chosen here: 300 to the inch across
/// 13 cm of paper.
pub(super) const LONGEST: u16 = 1600;

/// How finely a smaller copy is packed, of 100 (the scale of the Independent JPEG Group).
/// Chosen here: nothing is seen of it at arm's length.
const FINENESS: u8 = 80;

/// A PNG that is no longer than that goes in as it is up to so many bytes. Chosen here: below it
/// there is nothing to save; a drawing keeps its sharp lines.
const LIGHT_PNG: usize = 256 << 10;

/// Longest profile of colours that goes along, bytes; chosen here, a hundred times a camera's.
const LONGEST_PROFILE: usize = 1 << 20;

/// Returns a smaller copy of a photograph that is too large for a page. `None` for one that is
/// small enough, and for what cannot be unpacked, or not rightly.
pub(super) fn reduced(bytes: &[u8]) -> Option<Vec<u8>> {
    let kind = kind_of(bytes)?;
    let head = picture_head(bytes).ok()?;
    let is_long = head.pixels.iter().any(|side| u32::from(LONGEST) < *side);
    let is_heavy = kind == Kind::Png && LIGHT_PNG < bytes.len();
    let can_be_read = kind != Kind::Jpeg || is_of_a_camera(bytes);
    if !can_be_read || (!is_long && !is_heavy) {
        return None;
    }
    let small = picture(bytes, [usize::from(LONGEST); 2]).ok()?;
    let packed = packed(&small, &head)?;
    (is_long || packed.len() < bytes.len()).then_some(packed)
}

fn packed(picture: &Picture, head: &PictureHead) -> Option<Vec<u8>> {
    let size = [picture.width, picture.height()].map(u16::try_from);
    let [Ok(wide), Ok(high)] = size else {
        return None;
    };
    let mut bytes = Vec::new();
    // One scan for all colours, which every reader takes; tables made to measure would need three.
    let mut encoder = Encoder::new(&mut bytes, FINENESS);
    if let Some(profile) = head.profile.as_deref().filter(|it| is_of_light(it)) {
        encoder.add_icc_profile(profile).ok()?;
    }
    let pixels = picture.pixels.as_flattened();
    encoder.encode(pixels, wide, high, ColorType::Rgb).ok()?;
    Some(bytes)
}

/// Whether a profile is one of red, green and blue (ICC.1:2022, 7.2.6), as the pixels are once
/// they were unpacked.
fn is_of_light(profile: &[u8]) -> bool {
    profile.len() <= LONGEST_PROFILE && profile.get(16..20) == Some(b"RGB ")
}
