//! Deeds of the paint-layer study and of what is repainted after it: a layer read in an
//! exposure, two layers tied, a chip of new colour measured.

use serde::{Deserialize, Serialize};

/// Where a layer lies: an exposure is the small opening cut through the paint.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct LayerPlace {
    /// Zone id.
    pub zone: String,
    /// Number of the exposure in its zone, such as `1`.
    pub exposure: String,
    /// Number of the layer, counted from the wood outward; the wood is 0.
    pub layer: u32,
}

/// What lies on a layer and shows that it once was the outside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Marker {
    /// A line of dirt.
    Dirt,
    /// A varnish.
    Varnish,
    /// Fine cracks that end at it.
    Cracks,
    /// Wear from use.
    Wear,
}

/// A metal in the stack.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Metal {
    /// Leaf.
    Leaf,
    /// Bronze powder.
    BronzePowder,
}

/// How the spot was when its colour was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Spot {
    /// Clean and dry.
    Dry,
    /// Clean and wetted.
    Wetted,
}

/// A layer was read in an exposure; read again later, what was not said anew still holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LayerRead {
    /// Where it lies.
    #[serde(flatten)]
    pub place: LayerPlace,
    /// Its colour in a word, such as `dark green`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub word: Option<String>,
    /// What it seems to be, such as `oil paint`, `P?` where a sample was sent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// Munsell notation as it was noted, such as `5G 3/4`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub munsell: Option<String>,
    /// Readings of its colour: L*, a*, b*.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lab: Vec<[f64; 3]>,
    /// How the spot was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spot: Option<Spot>,
    /// The light it was read under.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light: Option<String>,
    /// Gloss in a word.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gloss: Option<String>,
    /// Thickness in a word: thin, medium, thick, or in µm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub band: Option<String>,
    /// Metal in it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub metal: Option<Metal>,
    /// What lies on it; empty where somebody looked and found nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on_top: Option<Vec<Marker>>,
    /// It came out of the dark: oil paint is yellowed there and bleaches in daylight.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub dug_out: bool,
    /// The exposure lost its lowest layer or was misread: it no longer counts.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub void: bool,
}

impl LayerRead {
    /// Returns a reading of a place that says nothing yet.
    pub fn at(place: LayerPlace) -> Self {
        Self {
            place,
            word: None,
            material: None,
            munsell: None,
            lab: Vec::new(),
            spot: None,
            light: None,
            gloss: None,
            band: None,
            metal: None,
            on_top: None,
            dug_out: false,
            void: false,
        }
    }
}

/// How one layer lies to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Relation {
    /// Further from the wood.
    Above,
    /// Nearer to the wood.
    Below,
    /// Laid in the same act.
    SameAs,
}

impl Relation {
    /// Returns how the other layer lies to this one.
    #[must_use]
    pub fn turned(self) -> Self {
        match self {
            Self::Above => Self::Below,
            Self::Below => Self::Above,
            Self::SameAs => Self::SameAs,
        }
    }
}

/// Two layers were tied to each other.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LayersTied {
    /// The one.
    pub one: LayerPlace,
    /// How it lies to the other.
    pub relation: Relation,
    /// The other.
    pub other: LayerPlace,
    /// By what: `gold leaf`, `fat varnish`, `dated coat`.
    pub by_marker: String,
}

/// A chip looked at under one light.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LightSeen {
    /// The light, such as `daylight` or `lamp`.
    pub light: String,
    /// Whether the eye saw a match.
    pub matches: bool,
}

/// A chip of new colour was measured against the layer that it repeats.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ChipRead {
    /// Zone that is to be painted.
    pub zone: String,
    /// The layer that it repeats.
    pub wanted: LayerPlace,
    /// Readings of the chip: L*, a*, b*.
    pub lab: Vec<[f64; 3]>,
    /// The chip was dry.
    pub dry: bool,
    /// The chip was varnished, and the varnish dry.
    pub varnished: bool,
    /// The lights it was looked at under.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lights: Vec<LightSeen>,
    /// The difference agreed with the owner, CIEDE2000; the usual one if absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub agreed: Option<f64>,
}
