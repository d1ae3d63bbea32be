//! What the trials share: moments, drafts, a disk that fails on demand, scenes, golden pages.

pub(crate) mod faulty;
pub(crate) mod golden;
pub(crate) mod nights;
pub(crate) mod picture;
pub(crate) mod record;
pub(crate) mod scenes;
pub(crate) mod sealed;

use chrono::{DateTime, FixedOffset, TimeDelta};
use knuckle::deed::PhotoKept;
use knuckle::journal::Draft;
use serde_json::json;
use sha2::{Digest, Sha256};

/// Returns a moment written as in a journal.
pub(crate) fn moment(text: &str) -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(text).unwrap()
}

/// Returns the moment at which trials begin, `seconds` later.
pub(crate) fn later(seconds: i64) -> DateTime<FixedOffset> {
    moment("2031-03-04T09:00:00.000+01:00") + TimeDelta::seconds(seconds)
}

/// Returns the SHA-256 of bytes, hexadecimal.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    use std::fmt::Write;
    let mut hex = String::new();
    for byte in Sha256::digest(bytes) {
        write!(hex, "{byte:02x}").unwrap();
    }
    hex
}

/// Returns what is kept of a photograph of a part and a station, of which its camera says nothing.
pub(crate) fn photo_kept(
    file: impl Into<String>,
    sha256: impl Into<String>,
    (target, station): (Option<&str>, &str),
) -> PhotoKept {
    PhotoKept {
        file: file.into(),
        sha256: sha256.into(),
        station: station.into(),
        target: target.map(str::to_owned),
        original: None,
        taken: None,
        pixels: None,
        turned: None,
    }
}

/// Returns a PNG of one colour.
pub(crate) fn png(wide: u32, high: u32, rgb: [u8; 3]) -> Vec<u8> {
    painted(wide, high, |_| rgb)
}

/// Returns a PNG whose columns have colours (ISO/IEC 15948): its rows stand in a stored block of
/// a zlib stream (RFC 1950, RFC 1951, 3.2.4), so that nothing has to be packed.
pub(crate) fn painted(wide: u32, high: u32, column: impl Fn(u32) -> [u8; 3]) -> Vec<u8> {
    let row: Vec<u8> = [0].into_iter().chain((0..wide).flat_map(column)).collect();
    let rows: Vec<u8> = (0..high).flat_map(|_| row.clone()).collect();
    let length = u16::try_from(rows.len()).expect("a small picture");
    let mut packed = vec![0x78, 0x01, 0x01];
    packed.extend(length.to_le_bytes());
    packed.extend((!length).to_le_bytes());
    packed.extend(&rows);
    let (mut one, mut two) = (1_u32, 0_u32);
    for byte in &rows {
        one = (one + u32::from(*byte)) % 65521;
        two = (two + one) % 65521;
    }
    packed.extend((two << 16 | one).to_be_bytes());
    let mut head = Vec::new();
    head.extend(wide.to_be_bytes());
    head.extend(high.to_be_bytes());
    head.extend([8, 2, 0, 0, 0]);
    let mut file = b"\x89PNG\r\n\x1a\n".to_vec();
    for (kind, held) in [(b"IHDR", head), (b"IDAT", packed), (b"IEND", Vec::new())] {
        file.extend(u32::try_from(held.len()).unwrap().to_be_bytes());
        let body = [kind.as_slice(), &held].concat();
        file.extend(&body);
        file.extend(crc(&body).to_be_bytes());
    }
    file
}

/// The check sum of a chunk (ISO/IEC 15948, annex D).
pub(crate) fn crc(bytes: &[u8]) -> u32 {
    let mut sum = u32::MAX;
    for byte in bytes {
        sum ^= u32::from(*byte);
        for _ in 0..8 {
            sum = if sum & 1 == 1 {
                sum >> 1 ^ 0xedb8_8320
            } else {
                sum >> 1
            };
        }
    }
    !sum
}

/// Returns a jotted line, as Odile would write it at the long bench.
pub(crate) fn jot(at: DateTime<FixedOffset>, text: &str) -> Draft {
    Draft {
        at,
        by: "Odile".to_owned(),
        bench: "long bench".to_owned(),
        body: json!({"deed": "jot", "text": text})
            .as_object()
            .unwrap()
            .clone(),
        entered_later: None,
    }
}
