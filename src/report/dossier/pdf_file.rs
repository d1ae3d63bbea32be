//! A PDF as a file (ISO 32000-1, 7.5): numbered objects, the table of where each begins, and
//! the trailer. Nothing is packed, so that the file can be read with any tool; the same objects
//! give the same bytes.

use std::fmt::Write as _;

/// Objects on their way into a file, numbered from 1.
#[derive(Debug, Default)]
pub(super) struct File {
    objects: Vec<Vec<u8>>,
}

impl File {
    /// Takes an object in and returns its number.
    pub(super) fn add(&mut self, object: impl Into<Vec<u8>>) -> usize {
        self.objects.push(object.into());
        self.objects.len()
    }

    /// Keeps a number for an object that comes later; [`File::put`] brings it.
    pub(super) fn keep(&mut self) -> usize {
        self.add("null")
    }

    /// Puts an object under a number that was kept.
    pub(super) fn put(&mut self, number: usize, object: impl Into<Vec<u8>>) {
        let place = number.checked_sub(1);
        if let Some(kept) = place.and_then(|place| self.objects.get_mut(place)) {
            *kept = object.into();
        }
    }

    /// Takes a stream in and returns its number. `entries` stand in its dictionary beside the
    /// length.
    pub(super) fn stream(&mut self, entries: &str, bytes: &[u8]) -> usize {
        let mut object = format!("<< {entries} /Length {} >>\nstream\n", bytes.len()).into_bytes();
        object.extend_from_slice(bytes);
        object.extend_from_slice(b"\nendstream");
        self.add(object)
    }

    /// Returns the file; `root` is the catalogue, `info` what the document says of itself.
    pub(super) fn finish(self, root: usize, info: usize) -> Vec<u8> {
        // The second line tells programs that carry the file that it is not plain text.
        let mut file = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n".to_vec();
        let mut begins = Vec::with_capacity(self.objects.len());
        for (object, number) in self.objects.iter().zip(1..) {
            begins.push(file.len());
            file.extend_from_slice(format!("{number} 0 obj\n").as_bytes());
            file.extend_from_slice(object);
            file.extend_from_slice(b"\nendobj\n");
        }
        let table = file.len();
        let count = self.objects.len() + 1;
        file.extend_from_slice(format!("xref\n0 {count}\n0000000000 65535 f \n").as_bytes());
        for begin in begins {
            file.extend_from_slice(format!("{begin:010} 00000 n \n").as_bytes());
        }
        let trailer = format!(
            "trailer\n<< /Size {count} /Root {root} 0 R /Info {info} 0 R >>\nstartxref\n{table}\n%%EOF\n"
        );
        file.extend_from_slice(trailer.as_bytes());
        file
    }
}

/// Returns a text of `WinAnsi` as a string of a page (7.3.4.2), in plain ASCII.
pub(super) fn shown(signs: &[u8]) -> String {
    let mut text = String::from("(");
    for sign in signs {
        match sign {
            b'(' | b')' | b'\\' => text.extend(['\\', char::from(*sign)]),
            0x20..=0x7e => text.push(char::from(*sign)),
            _ => {
                // Writing to a text cannot fail.
                let _cannot_fail = write!(text, "\\{sign:03o}");
            }
        }
    }
    text.push(')');
    text
}

/// Returns a text as a string outside of pages: UTF-16, the larger byte first (7.9.2.2).
pub(super) fn titled(text: &str) -> String {
    let mut string = String::from("<FEFF");
    for unit in text.encode_utf16() {
        // Writing to a text cannot fail.
        let _cannot_fail = write!(string, "{unit:04X}");
    }
    string.push('>');
    string
}
