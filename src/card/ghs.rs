//! GHS hazard statements, as the data sheets of the trade print them.
//!
//! Source: UN Globally Harmonized System of Classification and Labelling of Chemicals (an open
//! standard), Annex 3; EU supplemental statements of the CLP regulation. The wording was read
//! in public copies of the list; what the label of the product says wins.

/// One hazard statement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hazard {
    /// Its code, such as `H317`.
    pub code: &'static str,
    /// Its text.
    pub text: &'static str,
    /// Its signal word is "Danger" in every category, not "Warning".
    pub danger: bool,
}

/// Returns a hazard statement by its code; letters after the number (`H360FD`) are passed over.
pub fn hazard(code: &str) -> Option<&'static Hazard> {
    let code = code.trim();
    let exact = HAZARDS.iter().find(|hazard| hazard.code == code);
    exact.or_else(|| {
        let bare = code.trim_end_matches(|letter: char| letter.is_ascii_alphabetic());
        HAZARDS.iter().find(|hazard| hazard.code == bare)
    })
}

/// The statements that products of this trade carry.
const HAZARDS: [Hazard; 44] = [
    Hazard {
        code: "H225",
        text: "Highly flammable liquid and vapour",
        danger: true,
    },
    Hazard {
        code: "H226",
        text: "Flammable liquid and vapour",
        danger: false,
    },
    Hazard {
        code: "H227",
        text: "Combustible liquid",
        danger: false,
    },
    Hazard {
        code: "H228",
        text: "Flammable solid",
        danger: false,
    },
    Hazard {
        code: "H251",
        text: "Self-heating; may catch fire",
        danger: true,
    },
    Hazard {
        code: "H252",
        text: "Self-heating in large quantities; may catch fire",
        danger: false,
    },
    Hazard {
        code: "H290",
        text: "May be corrosive to metals",
        danger: false,
    },
    Hazard {
        code: "H301",
        text: "Toxic if swallowed",
        danger: true,
    },
    Hazard {
        code: "H302",
        text: "Harmful if swallowed",
        danger: false,
    },
    Hazard {
        code: "H304",
        text: "May be fatal if swallowed and enters airways",
        danger: true,
    },
    Hazard {
        code: "H311",
        text: "Toxic in contact with skin",
        danger: true,
    },
    Hazard {
        code: "H312",
        text: "Harmful in contact with skin",
        danger: false,
    },
    Hazard {
        code: "H314",
        text: "Causes severe skin burns and eye damage",
        danger: true,
    },
    Hazard {
        code: "H315",
        text: "Causes skin irritation",
        danger: false,
    },
    Hazard {
        code: "H317",
        text: "May cause an allergic skin reaction",
        danger: false,
    },
    Hazard {
        code: "H318",
        text: "Causes serious eye damage",
        danger: true,
    },
    Hazard {
        code: "H319",
        text: "Causes serious eye irritation",
        danger: false,
    },
    Hazard {
        code: "H331",
        text: "Toxic if inhaled",
        danger: true,
    },
    Hazard {
        code: "H332",
        text: "Harmful if inhaled",
        danger: false,
    },
    Hazard {
        code: "H334",
        text: "May cause allergy or asthma symptoms or breathing difficulties if inhaled",
        danger: true,
    },
    Hazard {
        code: "H335",
        text: "May cause respiratory irritation",
        danger: false,
    },
    Hazard {
        code: "H336",
        text: "May cause drowsiness or dizziness",
        danger: false,
    },
    Hazard {
        code: "H340",
        text: "May cause genetic defects",
        danger: true,
    },
    Hazard {
        code: "H341",
        text: "Suspected of causing genetic defects",
        danger: false,
    },
    Hazard {
        code: "H350",
        text: "May cause cancer",
        danger: true,
    },
    Hazard {
        code: "H351",
        text: "Suspected of causing cancer",
        danger: false,
    },
    Hazard {
        code: "H360",
        text: "May damage fertility or the unborn child",
        danger: true,
    },
    Hazard {
        code: "H361",
        text: "Suspected of damaging fertility or the unborn child",
        danger: false,
    },
    Hazard {
        code: "H370",
        text: "Causes damage to organs",
        danger: true,
    },
    Hazard {
        code: "H371",
        text: "May cause damage to organs",
        danger: false,
    },
    Hazard {
        code: "H372",
        text: "Causes damage to organs through prolonged or repeated exposure",
        danger: true,
    },
    Hazard {
        code: "H373",
        text: "May cause damage to organs through prolonged or repeated exposure",
        danger: false,
    },
    Hazard {
        code: "H400",
        text: "Very toxic to aquatic life",
        danger: false,
    },
    Hazard {
        code: "H410",
        text: "Very toxic to aquatic life with long lasting effects",
        danger: false,
    },
    Hazard {
        code: "H411",
        text: "Toxic to aquatic life with long lasting effects",
        danger: false,
    },
    Hazard {
        code: "H412",
        text: "Harmful to aquatic life with long lasting effects",
        danger: false,
    },
    Hazard {
        code: "H413",
        text: "May cause long lasting harmful effects to aquatic life",
        danger: false,
    },
    Hazard {
        code: "EUH066",
        text: "Repeated exposure may cause skin dryness or cracking",
        danger: false,
    },
    Hazard {
        code: "EUH201",
        text: "Contains lead. Should not be used on surfaces liable to be chewed or sucked by children",
        danger: false,
    },
    Hazard {
        code: "EUH203",
        text: "Contains chromium(VI). May produce an allergic reaction",
        danger: false,
    },
    Hazard {
        code: "EUH205",
        text: "Contains epoxy constituents. May produce an allergic reaction",
        danger: false,
    },
    Hazard {
        code: "EUH208",
        text: "Contains <name of sensitising substance>. May produce an allergic reaction",
        danger: false,
    },
    Hazard {
        code: "EUH209",
        text: "Can become highly flammable in use",
        danger: false,
    },
    Hazard {
        code: "EUH209A",
        text: "Can become flammable in use",
        danger: false,
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn statements_are_found_with_and_without_letters() {
        assert_eq!(
            hazard("H317").unwrap().text,
            "May cause an allergic skin reaction"
        );
        assert!(hazard("H314").unwrap().danger);
        assert_eq!(hazard("H360FD"), hazard("H360"));
        assert_eq!(
            hazard("EUH209A").unwrap().text,
            "Can become flammable in use"
        );
        assert_eq!(hazard("H999"), None);
    }
}
