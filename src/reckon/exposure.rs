//! Exposure limits and physical figures of solvents, each with its source and how it is known.
//!
//! A limit is no border between safe and unsafe: keep exposure as low as you can. Editions change;
//! the safety data sheet, the label and local codes win over every figure here. A figure from
//! memory is a preset to be confirmed on the data sheet, never a fact.

use super::known::Known;
use super::limits::SumTrouble;
use super::quantity_text::nearest;

/// A limit for a day's breathing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExposureLimit {
    /// Eight-hour mean in parts per million.
    pub ppm: f64,
    /// Who sets it and under what name, such as `US OSHA PEL`.
    pub authority: &'static str,
    /// The text in which it stands.
    pub source: &'static str,
    /// How it is known.
    pub known: Known,
}

/// What the ventilation sums need to know of a solvent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solvent {
    /// Its name as it is listed.
    pub name: &'static str,
    /// Other names by which it is found.
    pub also: &'static [&'static str],
    /// Weight of one millilitre at 20 °C, g.
    pub density_g_per_ml: f64,
    /// Molar mass, g/mol.
    pub molar_mass: f64,
    /// Lower explosive limit, percent by volume in air.
    pub lel_percent: f64,
    /// How the explosive limit is known; density and mass are handbook figures.
    pub lel_known: Known,
    /// The limits that are known, strictest first; empty where no authority sets one.
    pub limits: &'static [ExposureLimit],
}

impl Solvent {
    /// Returns the strictest limit known here, if any authority sets one.
    pub fn strictest(&self) -> Option<&'static ExposureLimit> {
        self.limits.first()
    }
}

/// Returns the solvent of this name, whatever its capitals.
///
/// # Errors
/// [`SumTrouble::Unknown`] with the nearest name and the list.
pub fn solvent_called(name: &str) -> Result<&'static Solvent, SumTrouble> {
    let plain = |it: &str| -> String {
        it.to_lowercase()
            .chars()
            .filter(|letter| letter.is_alphanumeric())
            .collect()
    };
    let asked = plain(name);
    let is_it =
        |it: &&Solvent| plain(it.name) == asked || it.also.iter().any(|name| plain(name) == asked);
    SOLVENTS.iter().find(is_it).ok_or_else(|| {
        let names = SOLVENTS
            .iter()
            .flat_map(|it| it.also.iter().copied().chain([it.name]));
        let listed: Vec<&str> = SOLVENTS.iter().map(|it| it.name).collect();
        SumTrouble::Unknown {
            kind: "solvent",
            name: name.trim().to_owned(),
            near: nearest(&name.trim().to_lowercase(), names).map(str::to_owned),
            known: listed.join("; "),
        }
    })
}

const fn limit(
    ppm: f64,
    authority: &'static str,
    source: &'static str,
    known: Known,
) -> ExposureLimit {
    ExposureLimit {
        ppm,
        authority,
        source,
        known,
    }
}

const fn solvent(
    name: (&'static str, &'static [&'static str]),
    figures: [f64; 3],
    lel_known: Known,
    limits: &'static [ExposureLimit],
) -> Solvent {
    let [density_g_per_ml, molar_mass, lel_percent] = figures;
    Solvent {
        name: name.0,
        also: name.1,
        density_g_per_ml,
        molar_mass,
        lel_percent,
        lel_known,
        limits,
    }
}

use Known::{Quoted, Read, Recalled};

/// Strippers and thinners. Figures `[g/ml at 20 °C, g/mol, LEL %]`. Density and molar mass:
/// handbook figures; where two handbooks differ in the last digit the heavier one, which asks for
/// more air. LEL: NIOSH Pocket Guide, NFPA 497 (2008) or the OSHA preamble 62 FR 1494 where
/// *read* or *quoted*; a text that was read goes before one from memory, and the lower of two alike.
#[rustfmt::skip]
pub const SOLVENTS: &[Solvent] = &[
    solvent(("methylene chloride", &["dichloromethane", "DCM"]), [1.326, 84.93, 12.0], Read, &[
        limit(2.0, "US EPA ECEL", "40 CFR 751 subpart B (2024)", Quoted),
        limit(25.0, "US OSHA PEL", "29 CFR 1910.1052(c)", Read),
        limit(100.0, "GB HSE WEL", "EH40/2005, 4th ed. 2020", Recalled),
    ]),
    solvent(("N-methyl-2-pyrrolidone", &["NMP"]), [1.03, 99.13, 1.3], Quoted, &[
        limit(1.0, "California Cal/OSHA PEL", "Table AC-1, as reported in 2020", Quoted),
        limit(10.0, "US AIHA WEEL", "ILO abstract CIS 00-654 (1999)", Quoted),
    ]),
    solvent(("benzyl alcohol", &[]), [1.045, 108.14, 0.99], Quoted, &[
        limit(5.0, "DE AGW", "TRGS 900", Recalled),
        limit(10.0, "US AIHA WEEL", "WEEL list", Recalled),
    ]),
    solvent(("formic acid", &[]), [1.22, 46.03, 18.0], Quoted, &[
        limit(5.0, "US OSHA PEL", "29 CFR 1910.1000 Table Z-1", Read),
    ]),
    solvent(("acetone", &["propanone"]), [0.791, 58.08, 2.5], Quoted, &[
        limit(250.0, "US NIOSH REL", "OSHA chemical sampling page", Read),
        limit(1000.0, "US OSHA PEL", "29 CFR 1910.1000 Table Z-1", Read),
    ]),
    solvent(("toluene", &["toluol"]), [0.867, 92.14, 1.1], Read, &[
        limit(20.0, "US ACGIH TLV", "ACGIH 2007, quoted in a property library", Quoted),
        limit(100.0, "US NIOSH REL", "NIOSH Pocket Guide p. 311", Read),
        limit(200.0, "US OSHA PEL", "29 CFR 1910.1000 Table Z-2", Read),
    ]),
    solvent(("methanol", &["methyl alcohol", "wood spirit"]), [0.791, 32.04, 6.0], Quoted, &[
        limit(200.0, "US OSHA PEL", "29 CFR 1910.1000 Table Z-1", Quoted),
    ]),
    solvent(("dimethyl adipate", &[]), [1.06, 174.19, 0.8], Recalled, &[]),
    solvent(("dimethyl glutarate", &[]), [1.09, 160.17, 0.9], Recalled, &[]),
    solvent(("dimethyl succinate", &[]), [1.12, 146.14, 1.0], Recalled, &[]),
    solvent(("xylene", &["xylol"]), [0.864, 106.17, 0.9], Read, &[
        limit(100.0, "US OSHA PEL", "NIOSH IDLH document 95-47-6", Read),
    ]),
    solvent(("white spirit", &["Stoddard solvent", "mineral spirits"]), [0.78, 144.0, 0.7], Recalled, &[
        limit(100.0, "US ACGIH TLV", "OSHA chemical sampling page", Read),
        limit(500.0, "US OSHA PEL", "29 CFR 1910.1000 Table Z-1", Read),
    ]),
    // A light white spirit, reckoned as its main part; it asks for more air than the mean grade.
    solvent(("nonane", &["white spirit (as nonane)"]), [0.718, 128.26, 0.7], Recalled, &[
        limit(200.0, "US NIOSH REL", "NIOSH Pocket Guide", Recalled),
    ]),
    solvent(("turpentine", &["gum turpentine"]), [0.86, 136.0, 0.8], Read, &[
        limit(20.0, "US ACGIH TLV", "Ontario list, quoted in a property library", Quoted),
        limit(100.0, "US OSHA PEL", "NIOSH Pocket Guide npgd0648", Read),
    ]),
    solvent(("isopropanol", &["isopropyl alcohol", "2-propanol"]), [0.787, 60.1, 2.0], Quoted, &[
        limit(400.0, "US OSHA PEL", "29 CFR 1910.1000 Table Z-1", Recalled),
    ]),
    solvent(("ethanol", &["ethyl alcohol", "alcohol", "methylated spirit"]), [0.789, 46.07, 3.3], Quoted, &[
        limit(1000.0, "US OSHA PEL", "29 CFR 1910.1000 Table Z-1", Recalled),
    ]),
    solvent(("methyl ethyl ketone", &["MEK", "butanone"]), [0.805, 72.11, 1.4], Quoted, &[
        limit(200.0, "US OSHA PEL", "29 CFR 1910.1000 Table Z-1", Recalled),
    ]),
    solvent(("ethyl acetate", &[]), [0.9, 88.11, 2.0], Quoted, &[
        limit(400.0, "US OSHA PEL", "29 CFR 1910.1000 Table Z-1", Recalled),
    ]),
    solvent(("n-butyl acetate", &["butyl acetate"]), [0.882, 116.16, 1.7], Quoted, &[
        limit(150.0, "US OSHA PEL", "29 CFR 1910.1000 Table Z-1", Recalled),
    ]),
    solvent(("1,3-dioxolane", &["dioxolane"]), [1.06, 74.08, 2.3], Quoted, &[
        limit(20.0, "US ACGIH TLV", "Ontario list, quoted in a property library", Quoted),
    ]),
    solvent(("d-limonene", &["limonene", "citrus solvent"]), [0.842, 136.23, 0.7], Quoted, &[
        limit(30.0, "US AIHA WEEL", "WEEL list", Recalled),
    ]),
];

#[cfg(test)]
mod tests {
    use super::{SOLVENTS, solvent_called};
    use crate::reckon::Known;

    #[test]
    fn the_strictest_limit_stands_first() {
        for it in SOLVENTS {
            let ppm: Vec<f64> = it.limits.iter().map(|limit| limit.ppm).collect();
            assert!(ppm.is_sorted(), "{}", it.name);
            assert!(0.0 < it.lel_percent && it.lel_percent < 20.0);
        }
    }

    #[test]
    fn a_limit_from_memory_is_a_preset_and_says_so() {
        let recalled = solvent_called("ethanol").unwrap().strictest().unwrap();
        assert_eq!(recalled.known, Known::Recalled);
        assert!(!recalled.known.is_read());
        assert_eq!(recalled.known.words(), "preset, confirm on the data sheet");
        assert!(
            solvent_called("acetone")
                .unwrap()
                .strictest()
                .unwrap()
                .known
                .is_read()
        );
    }

    #[test]
    fn a_solvent_is_found_by_its_other_names_and_a_slip_is_mended() {
        assert_eq!(solvent_called("dcm").unwrap().name, "methylene chloride");
        assert_eq!(solvent_called("White Spirit").unwrap().name, "white spirit");
        let trouble = solvent_called("tolune").unwrap_err();
        assert_eq!(
            trouble.to_string(),
            "no solvent is called `tolune`; did you mean `toluene`?"
        );
    }
}
