//! Words, photographs and corrections.

use serde::{Deserialize, Serialize};

/// A free note.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Jotted {
    /// The note.
    pub text: String,
}

/// A question for the supervisor.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Asked {
    /// The question.
    pub text: String,
}

/// A photograph was taken in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotoKept {
    /// Path within the figure's folder.
    pub file: String,
    /// SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
    /// Station or view.
    pub station: String,
    /// Zone, joint or panel it shows; absent for the whole figure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target: Option<String>,
    /// The name it came with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub original: Option<String>,
    /// When the camera says it was taken, by the camera's own clock, such as
    /// `2026-11-03 09:12:40`; no zone, for most cameras know none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken: Option<String>,
    /// Width and height in pixels, before it is turned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pixels: Option<[u32; 2]>,
    /// How the camera was held: the orientation of Exif 2.3, 1 to 8; upright if absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turned: Option<u8>,
}

/// An earlier line was struck: it stays in the journal and no longer counts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Struck {
    /// The line.
    pub line: u64,
    /// Why.
    pub why: String,
}
