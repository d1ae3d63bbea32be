//! What kind of picture a file is, by its own first bytes and never by its name; and as much of
//! its build as a page of paper needs to take it in without unpacking it.

use crate::shop::{picture, picture_head};

/// Kinds of pictures that a page can show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// JPEG (ITU-T T.81).
    Jpeg,
    /// PNG (ISO/IEC 15948).
    Png,
    /// GIF.
    Gif,
    /// WebP.
    Webp,
}

impl Kind {
    /// Returns its name on the web (IANA media types).
    pub(super) fn mime(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::Gif => "image/gif",
            Self::Webp => "image/webp",
        }
    }
}

/// Returns what kind of picture the bytes are, if they are one that a page can show. Drawings
/// that can hold a script (SVG) are none.
pub(super) fn kind_of(bytes: &[u8]) -> Option<Kind> {
    if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
        Some(Kind::Jpeg)
    } else if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        Some(Kind::Png)
    } else if bytes.starts_with(b"GIF87a") || bytes.starts_with(b"GIF89a") {
        Some(Kind::Gif)
    } else if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        Some(Kind::Webp)
    } else {
        None
    }
}

/// A picture as PDF takes it in: its packed bytes and how they are to be unpacked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Packed {
    /// Width and height in pixels, before it is turned.
    pub(super) size: [u32; 2],
    /// How the camera was held: the orientation of Exif, 1 to 8.
    pub(super) turned: u8,
    /// The entries of the picture's dictionary beside its size and length.
    pub(super) entries: String,
    /// The bytes.
    pub(super) bytes: Vec<u8>,
}

/// Widest and highest picture that is unpacked to go onto paper, pixels: 200 to the inch of the
/// largest place that a page gives it.
const UNPACKED: [usize; 2] = [940, 700];

/// Returns a picture as PDF takes it in: as it was packed, turned as the camera was held; else
/// unpacked and made smaller. `None` for what cannot be unpacked here.
pub(super) fn packed(bytes: &[u8]) -> Option<Packed> {
    let direct = match kind_of(bytes)? {
        Kind::Jpeg => jpeg(bytes),
        Kind::Png => png(bytes),
        Kind::Gif | Kind::Webp => None,
    };
    let Some(packed) = direct else {
        return unpacked(bytes);
    };
    let head = picture_head(bytes).ok();
    let turned = head.and_then(|head| head.exif.turned).unwrap_or(1);
    Some(Packed { turned, ..packed })
}

/// Takes the pixels themselves, upright and made smaller.
fn unpacked(bytes: &[u8]) -> Option<Packed> {
    let picture = picture(bytes, UNPACKED).ok()?;
    let size = [picture.width, picture.height()].map(u32::try_from);
    let [Ok(wide), Ok(high)] = size else {
        return None;
    };
    let packed = Packed {
        size: [wide, high],
        turned: 1,
        entries: "/ColorSpace /DeviceRGB /BitsPerComponent 8".to_owned(),
        bytes: picture.pixels.iter().flatten().copied().collect(),
    };
    (0 < wide && 0 < high).then_some(packed)
}

fn two(bytes: &[u8], at: usize) -> Option<u32> {
    match bytes.get(at..)? {
        [high, low, ..] => Some(u32::from(*high) << 8 | u32::from(*low)),
        _ => None,
    }
}

/// Returns the segments of a JPEG up to its first scan: the marker and what it holds, without
/// its length (ITU-T T.81, B.1.1.4).
fn segments(bytes: &[u8]) -> impl Iterator<Item = (u8, &[u8])> {
    let (mut at, mut is_over) = (2_usize, false);
    std::iter::from_fn(move || {
        while (bytes.get(at), bytes.get(at + 1)) == (Some(&0xff), Some(&0xff)) {
            at += 1;
        }
        let marker = *bytes.get(at + 1)?;
        if is_over || *bytes.get(at)? != 0xff {
            return None;
        }
        let from = at.checked_add(4)?;
        let length = usize::try_from(two(bytes, at + 2)?).ok()?;
        at = at.checked_add(2)?.checked_add(length.max(2))?;
        is_over = marker == SCAN;
        Some((marker, bytes.get(from..at)?))
    })
}

/// The marker of a scan (ITU-T T.81, table B.1).
const SCAN: u8 = 0xda;

/// The marker of the number of units between two marks to begin again (the same).
const RESTARTS: u8 = 0xdd;

/// Whether a JPEG is packed as cameras pack theirs: in one scan of all its colours, none finer
/// than another more than twice each way; or in steps and without marks to begin again. Of
/// others the reader of this program makes wrong colours, which was found by packing one picture
/// in every way; they are left as they are.
pub(super) fn is_of_a_camera(bytes: &[u8]) -> bool {
    let (mut frame, mut restarts) = (None, false);
    for (marker, held) in segments(bytes) {
        match (marker, held) {
            // B.2.2: depth, height, width, number of colours; of each its factors.
            (0xc0..=0xc2, [_, _, _, _, _, colours, each @ ..]) => {
                let (each, _) = each.as_chunks::<3>();
                let fit = |[_, factors, _]: &[u8; 3]| factors >> 4 <= 2 && factors & 0x0f <= 2;
                frame = Some((marker == 0xc2, *colours, each.iter().all(fit)));
            }
            (RESTARTS, [high, low]) => restarts = [*high, *low] != [0, 0],
            (SCAN, [colours, ..]) => {
                return match frame {
                    Some((true, ..)) => !restarts,
                    Some((false, all, fit)) => all == *colours && fit,
                    None => false,
                };
            }
            _ => {}
        }
    }
    false
}

/// Looks for the frame of a JPEG, which holds depth, height, width and the number of colours
/// (ITU-T T.81, B.2.2).
fn jpeg(bytes: &[u8]) -> Option<Packed> {
    let (_, frame) = segments(bytes).find(|(marker, _)| matches!(marker, 0xc0..=0xc2))?;
    let size = [two(frame, 3)?, two(frame, 1)?];
    let space = match frame.get(5)? {
        1 => "DeviceGray",
        3 => "DeviceRGB",
        // Four inks are kept upside down by some programs; nobody can tell which.
        _ => return None,
    };
    let is_deep = *frame.first()? != 8 || size.contains(&0);
    (!is_deep).then(|| Packed {
        size,
        turned: 1,
        entries: format!("/ColorSpace /{space} /BitsPerComponent 8 /Filter /DCTDecode"),
        bytes: bytes.to_vec(),
    })
}

/// Takes the packed rows out of a PNG. They are packed as PDF packs them (ISO 32000-1, 7.4.4.4,
/// predictor 15), so long as the picture is not interlaced and has no transparency.
fn png(bytes: &[u8]) -> Option<Packed> {
    let mut at = 8;
    let (mut head, mut colours, mut rows) = (None, Vec::new(), Vec::new());
    while let Some(length) = four(bytes, at) {
        let length = usize::try_from(length).ok()?;
        let kind = bytes.get(at + 4..at + 8)?;
        let from = at + 8;
        let chunk = bytes.get(from..from.checked_add(length)?)?;
        match kind {
            b"IHDR" => head = Some(chunk),
            b"PLTE" => colours = chunk.to_vec(),
            b"IDAT" => rows.extend_from_slice(chunk),
            b"tRNS" => return None,
            b"IEND" => break,
            _ => {}
        }
        at = from.checked_add(length)?.checked_add(4)?;
    }
    let head = head?;
    let size = [four(head, 0)?, four(head, 4)?];
    let (depth, colour, interlaced) = (*head.get(8)?, *head.get(9)?, *head.get(12)?);
    if interlaced != 0 || size.contains(&0) || rows.is_empty() || 8 < depth {
        return None;
    }
    let (space, signs) = match colour {
        0 => ("/DeviceGray".to_owned(), 1),
        2 => ("/DeviceRGB".to_owned(), 3),
        3 => (indexed(&colours)?, 1),
        _ => return None,
    };
    let parms = format!(
        "/Predictor 15 /Colors {signs} /BitsPerComponent {depth} /Columns {}",
        size.first()?
    );
    Some(Packed {
        size,
        turned: 1,
        entries: format!(
            "/ColorSpace {space} /BitsPerComponent {depth} /Filter /FlateDecode /DecodeParms << {parms} >>"
        ),
        bytes: rows,
    })
}

fn indexed(colours: &[u8]) -> Option<String> {
    let last = (colours.len() / 3).checked_sub(1)?;
    let hex = crate::disk::hex(colours);
    Some(format!("[/Indexed /DeviceRGB {last} <{hex}>]"))
}

fn four(bytes: &[u8], at: usize) -> Option<u32> {
    Some(two(bytes, at)? << 16 | two(bytes, at.checked_add(2)?)?)
}

/// The letters of base 64 (RFC 4648, table 1).
const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// Returns bytes in base 64 (RFC 4648, section 4).
pub fn base64(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let byte = |at: usize| u32::from(three.get(at).copied().unwrap_or_default());
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for place in 0..4_usize {
            let six = bits >> (18 - 6 * place) & 63;
            let letter = usize::try_from(six).ok().and_then(|six| LETTERS.get(six));
            match letter {
                Some(letter) if place <= three.len() => text.push(char::from(*letter)),
                _ => text.push('='),
            }
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::{Kind, base64, kind_of, packed};

    /// The test vectors of RFC 4648, section 10.
    #[test]
    fn base64_is_that_of_the_standard() {
        for (bytes, text) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(bytes.as_bytes()), text);
        }
    }

    #[test]
    fn a_picture_is_known_by_its_bytes_and_a_script_is_none() {
        assert_eq!(kind_of(b"\xff\xd8\xff\xe0"), Some(Kind::Jpeg));
        assert_eq!(kind_of(b"RIFF\0\0\0\0WEBPVP8 "), Some(Kind::Webp));
        assert_eq!(kind_of(b"<svg onload='a()'>"), None);
        assert_eq!(kind_of(b"root:x:0:0"), None);
    }

    #[test]
    fn a_broken_picture_is_none_and_stops_nothing() {
        for bytes in [
            &b"\xff\xd8\xff"[..],
            b"\xff\xd8\xff\xe0\xff\xff",
            b"\xff\xd8\xff\xc0\0\x11\x08",
            b"\x89PNG\r\n\x1a\n",
            b"\x89PNG\r\n\x1a\n\xff\xff\xff\xffIHDR",
            b"GIF89a",
        ] {
            assert_eq!(packed(bytes), None);
        }
    }
}
