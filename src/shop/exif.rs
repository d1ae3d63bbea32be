//! The two things that a photograph says of itself and that a dossier needs: when it was
//! taken, and how the camera was held. Source: Exif 2.3 (CIPA DC-008), over TIFF 6.0.
//!
//! Everything here comes from a stranger's file: no place is believed before it was looked up,
//! and nothing is followed twice.

use chrono::NaiveDateTime;

/// What a photograph says of itself.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Exif {
    /// When it was taken by the camera's own clock, as `2026-11-03 09:12:40`.
    pub taken: Option<String>,
    /// Orientation, 1 to 8.
    pub turned: Option<u8>,
}

/// Tag of the orientation (Exif 2.3, table 4; no unit).
const ORIENTATION: u16 = 0x0112;
/// Tag of the moment at which the file was written (Exif 2.3, table 4; no unit).
const WRITTEN: u16 = 0x0132;
/// Tag of the moment at which the picture was taken (Exif 2.3, table 7; no unit).
const TAKEN: u16 = 0x9003;
/// Tag that points to the list of the picture's own fields (Exif 2.3, table 3; no unit).
const MORE: u16 = 0x8769;

/// Bytes of one entry of a list (TIFF 6.0, section 2).
const ENTRY: usize = 12;

/// Returns what the block says; nothing where it says nothing that can be read.
pub fn read_exif(block: &[u8]) -> Exif {
    // Some writers keep the name of the segment in front of the block.
    let block = block.strip_prefix(b"Exif\0\0").unwrap_or(block);
    let Some(tiff) = Tiff::of(block) else {
        return Exif::default();
    };
    let Some(first) = tiff.number(4, 4) else {
        return Exif::default();
    };
    let own = tiff
        .entry(first, MORE)
        .and_then(|entry| tiff.number(entry + 8, 4));
    let taken = own.and_then(|list| tiff.moment(list, TAKEN));
    Exif {
        taken: taken.or_else(|| tiff.moment(first, WRITTEN)),
        turned: tiff
            .entry(first, ORIENTATION)
            .and_then(|entry| tiff.number(entry + 8, 2))
            .and_then(|turned| u8::try_from(turned).ok())
            .filter(|turned| (1..=8).contains(turned)),
    }
}

#[derive(Debug, Clone, Copy)]
struct Tiff<'a> {
    bytes: &'a [u8],
    low_first: bool,
}

impl<'a> Tiff<'a> {
    fn of(bytes: &'a [u8]) -> Option<Self> {
        let low_first = match bytes {
            [b'I', b'I', 42, 0, ..] => true,
            [b'M', b'M', 0, 42, ..] => false,
            _ => return None,
        };
        Some(Self { bytes, low_first })
    }

    fn number(&self, at: usize, long: usize) -> Option<usize> {
        let bytes = self.bytes.get(at..at.checked_add(long)?)?;
        let add = |number: usize, byte: &u8| (number << 8) | usize::from(*byte);
        Some(if self.low_first {
            bytes.iter().rev().fold(0, add)
        } else {
            bytes.iter().fold(0, add)
        })
    }

    /// The place of an entry in a list.
    fn entry(&self, list: usize, tag: u16) -> Option<usize> {
        let count = self.number(list, 2)?;
        let first = list.checked_add(2)?;
        (0..count)
            .map_while(|nth| {
                let at = first.checked_add(nth * ENTRY)?;
                Some((at, self.number(at, 2)?))
            })
            .find(|(_, found)| *found == usize::from(tag))
            .map(|(at, _)| at)
    }

    /// A moment is written as `2026:11:03 09:12:40`; a camera without a clock leaves it blank.
    fn moment(&self, list: usize, tag: u16) -> Option<String> {
        let entry = self.entry(list, tag)?;
        let at = self.number(entry.checked_add(8)?, 4)?;
        let text = self.bytes.get(at..at.checked_add(19)?)?;
        let text = std::str::from_utf8(text).ok()?;
        let moment = NaiveDateTime::parse_from_str(text, "%Y:%m:%d %H:%M:%S").ok()?;
        Some(moment.format("%Y-%m-%d %H:%M:%S").to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::{Exif, read_exif};
    use proptest::prelude::*;

    /// A block by TIFF 6.0, section 2, in one of the two orders: orientation, and a list of
    /// its own with the moment.
    fn block(low_first: bool) -> Vec<u8> {
        let short = |n: u16| {
            if low_first {
                n.to_le_bytes()
            } else {
                n.to_be_bytes()
            }
        };
        let long = |n: u32| {
            if low_first {
                n.to_le_bytes()
            } else {
                n.to_be_bytes()
            }
        };
        let mut bytes = if low_first {
            b"II".to_vec()
        } else {
            b"MM".to_vec()
        };
        bytes.extend(short(42));
        bytes.extend(long(8));
        bytes.extend(short(2));
        bytes.extend([short(0x0112), short(3)].concat());
        bytes.extend(long(1));
        bytes.extend([short(6), short(0)].concat());
        bytes.extend([short(0x8769), short(4)].concat());
        bytes.extend([long(1), long(38), long(0)].concat());
        bytes.extend(short(1));
        bytes.extend([short(0x9003), short(2)].concat());
        bytes.extend([long(20), long(56), long(0)].concat());
        bytes.extend(b"2026:11:03 09:12:40\0");
        bytes
    }

    #[test]
    fn moment_and_orientation_are_read_in_both_orders() {
        for low_first in [true, false] {
            let said = Exif {
                taken: Some("2026-11-03 09:12:40".to_owned()),
                turned: Some(6),
            };
            assert_eq!(read_exif(&block(low_first)), said);
            let named = [b"Exif\0\0".to_vec(), block(low_first)].concat();
            assert_eq!(read_exif(&named), said);
        }
    }

    proptest! {
        #[test]
        fn no_block_stops_the_reader(
            cut in 0..80_usize,
            slips in prop::collection::vec((0..76_usize, any::<u8>()), 0..6),
            any in prop::collection::vec(any::<u8>(), 0..40),
        ) {
            let mut block = block(true);
            for (at, byte) in slips {
                if let Some(slot) = block.get_mut(at) {
                    *slot = byte;
                }
            }
            block.truncate(cut);
            let read = read_exif(&block);
            prop_assert!(read.turned.is_none_or(|turned| (1..=8).contains(&turned)));
            prop_assert_eq!(read_exif(&any).taken, None);
        }
    }
}
