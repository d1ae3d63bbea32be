//! A figure card: what the figure is, its zones, joints, panels and its route.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::reckon::solid::Solid;

/// What the shop's own journal is called wherever a figure could stand; no figure has the name.
pub const SHOP_BOOK: &str = "shop";

/// One carved object in care.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Figure {
    /// Short name, the folder's name.
    pub id: String,
    /// Name as a person says it.
    pub name: String,
    /// Title or subject as the owner's papers have it, where it is not the name.
    pub title: String,
    /// Who owns it or has it in custody: a museum, a parish, a ride; on reports for them.
    pub owner: String,
    /// The owner's reference.
    pub owner_reference: String,
    /// Maker or origin, as far as known and from what.
    pub maker: String,
    /// When it was made, as far as known and from what.
    pub made: String,
    /// Marks, numbers and labels found on it, each with its place.
    pub marks: Vec<String>,
    /// What the figure is for: ridden, shown, worship.
    pub purpose: String,
    /// Wood species, a name known to the movement table if possible.
    pub wood: String,
    /// How it is built: laminated, hollow body, solid.
    pub build: String,
    /// Height, length, width in millimetres.
    pub size_mm: [f64; 3],
    /// Date promised to the owner.
    pub promised: Option<NaiveDate>,
    /// The room it stands in at first; a journal line moves it.
    pub room: String,
    /// Zones of its surface.
    pub zones: Vec<Zone>,
    /// Joints.
    pub joints: Vec<Joint>,
    /// Panels of leaf.
    pub panels: Vec<Panel>,
    /// The operations it goes through, in order.
    pub route: Vec<RouteStop>,
}

impl Figure {
    /// Returns the ids of its zones, joints and panels.
    pub fn places(&self) -> impl Iterator<Item = &str> + Clone {
        let zones = self.zones.iter().map(|zone| zone.id.as_str());
        let joints = self.joints.iter().map(|joint| joint.id.as_str());
        let panels = self.panels.iter().map(|panel| panel.id.as_str());
        zones.chain(joints).chain(panels)
    }

    /// Returns a zone as a person says it; one that the card does not know by its id.
    pub fn zone_name<'a>(&'a self, id: &'a str) -> &'a str {
        let zone = self.zones.iter().find(|zone| zone.id == id);
        zone.map_or(id, |zone| &zone.name)
    }
}

/// A named part of the surface.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Zone {
    /// Short name, such as `body-near`.
    pub id: String,
    /// Name as a person says it.
    pub name: String,
    /// Treatment path.
    pub path: Path,
    /// Area measured flat, square metres; 0 while nobody has measured it.
    pub area_m2: f64,
    /// Plain solids that the zone is put together from, where nobody has measured its area.
    pub solids: Vec<ZoneSolid>,
    /// Surface factor of the carving: 1.15 low, 1.3 medium, 1.6 deep relief (common practice);
    /// medium if the card says nothing.
    pub relief: f64,
    /// What it gets in the end.
    pub finish: Finish,
    /// Whether hands, seat or feet wear it.
    pub wear: Wear,
}

impl Default for Zone {
    fn default() -> Self {
        Self {
            id: String::new(),
            name: String::new(),
            path: Path::default(),
            area_m2: 0.0,
            solids: Vec::new(),
            relief: MEDIUM_RELIEF,
            finish: Finish::default(),
            wear: Wear::default(),
        }
    }
}

impl Zone {
    /// Returns the area as if the carving were smooth, square metres: as measured, else the
    /// curved sides of its solids, each by its share; 0 while neither is on the card.
    pub fn flat_area_m2(&self) -> f64 {
        if 0.0 < self.area_m2 {
            return self.area_m2;
        }
        let areas = self.solids.iter().filter_map(ZoneSolid::area_m2);
        areas.sum()
    }

    /// Returns the area of the carving itself, square metres: the flat area times its relief;
    /// 0 while the card knows no area.
    pub fn carved_area_m2(&self) -> f64 {
        self.flat_area_m2() * self.relief
    }
}

/// A plain solid, and the share of its curved side that a zone covers.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ZoneSolid {
    /// Which solid.
    pub solid: SolidShape,
    /// Its sizes in the order of [`Solid`], millimetres: radii and half-lengths, not diameters.
    pub size_mm: Vec<f64>,
    /// Share of its curved side, 0 to 1.
    #[serde(default = "whole")]
    pub share: f64,
}

fn whole() -> f64 {
    1.0
}

impl ZoneSolid {
    /// Returns the solid with its sizes.
    ///
    /// # Errors
    /// What the sizes must be, when there are too many or too few of them.
    pub fn solid(&self) -> Result<Solid, &'static str> {
        match (self.solid, self.size_mm.as_slice()) {
            (SolidShape::Ellipsoid, [a, b, c]) => Ok(Solid::Ellipsoid([*a, *b, *c])),
            (SolidShape::Cylinder, [r, h]) => Ok(Solid::Cylinder([*r, *h])),
            (SolidShape::Cone, [r, h]) => Ok(Solid::Cone([*r, *h])),
            (SolidShape::Frustum, [one, other, h]) => Ok(Solid::Frustum([*one, *other, *h])),
            (shape, _) => Err(shape.sizes()),
        }
    }

    /// Returns the share of its curved side, square metres; none for sizes that make no solid.
    pub fn area_m2(&self) -> Option<f64> {
        Some(self.solid().ok()?.area().ok()?.0 * self.share)
    }
}

/// The solids that a zone may be put together from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SolidShape {
    /// Three half-lengths.
    Ellipsoid,
    /// Radius and height.
    Cylinder,
    /// Radius of the foot and upright height.
    Cone,
    /// Two radii and upright height.
    Frustum,
}

impl SolidShape {
    /// Returns what its sizes are called, in their order.
    pub fn sizes(self) -> &'static str {
        match self {
            Self::Ellipsoid => Solid::Ellipsoid([1.0; 3]),
            Self::Cylinder => Solid::Cylinder([1.0; 2]),
            Self::Cone => Solid::Cone([1.0; 2]),
            Self::Frustum => Solid::Frustum([1.0; 3]),
        }
        .sizes()
    }
}

/// Surface factor of carving of medium relief (*common practice*).
const MEDIUM_RELIEF: f64 = 1.3;

/// Waste of leaf where the card says nothing, percent: the lower end of ornament, so that more
/// leaf is bought rather than less (*common practice*).
const USUAL_WASTE_PERCENT: f64 = 30.0;

/// Chosen attitude for a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Path {
    /// Uncover and show an old layer.
    Keep,
    /// Isolate the old layer and paint over it.
    Cover,
    /// Strip, repair, repaint to the recorded scheme.
    Copy,
    /// Untouched witness patch: no operation may be started on it.
    #[default]
    Leave,
}

/// What a zone gets in the end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Finish {
    /// Paint under varnish.
    #[default]
    Paint,
    /// Gold leaf.
    Gold,
    /// Aluminium leaf, sealed.
    Aluminium,
    /// Bare or waxed wood.
    Wood,
}

/// Whether a zone is worn by use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Wear {
    /// Not touched in use.
    #[default]
    None,
    /// Touched, sat on, stepped on: more coats.
    Worn,
}

/// A numbered meeting of two parts.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Joint {
    /// Number, such as `J3`.
    pub id: String,
    /// What meets what.
    pub between: String,
    /// The zones its seam runs through.
    pub zones: Vec<String>,
    /// Length of the glue line, millimetres.
    pub length_mm: f64,
    /// Width of the glued face, millimetres.
    pub width_mm: f64,
    /// Carries load in use.
    pub loaded: bool,
    /// Gap rows known from an earlier visit; the bench's own readings come before these.
    pub gaps: Vec<JointRow>,
}

/// One row of gap readings across a joint.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JointRow {
    /// Distance from the first end, millimetres.
    pub at_mm: f64,
    /// Readings across, millimetres.
    pub mm: Vec<f64>,
}

/// An area sized and leafed in one go.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Panel {
    /// Short name, such as `breast-strap`.
    pub id: String,
    /// Name as a person says it.
    pub name: String,
    /// The zone it lies in.
    pub zone: String,
    /// Area measured flat, square metres; 0 while nobody has measured it.
    pub area_m2: f64,
    /// Surface factor of the carving; medium if the card says nothing.
    pub relief: f64,
    /// Waste on top, percent (common practice: flats 10, mouldings 15–20, ornament 30–50);
    /// 30 if the card says nothing.
    pub waste_percent: f64,
    /// Material card of the leaf.
    pub leaf: String,
}

impl Default for Panel {
    fn default() -> Self {
        Self {
            id: String::new(),
            name: String::new(),
            zone: String::new(),
            area_m2: 0.0,
            relief: MEDIUM_RELIEF,
            waste_percent: USUAL_WASTE_PERCENT,
            leaf: String::new(),
        }
    }
}

impl Panel {
    /// Returns the area of the carving itself, square metres: the flat area times its relief;
    /// 0 while nobody has measured it.
    pub fn carved_area_m2(&self) -> f64 {
        self.area_m2 * self.relief
    }
}

/// One stop of the route.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RouteStop {
    /// Checklist id.
    pub operation: String,
    /// Zones, joints or panels it is walked on; empty means all of its scope that apply.
    #[serde(default)]
    pub on: Vec<String>,
}
