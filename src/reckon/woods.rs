//! The woods of carved figures and what is printed about their movement.
//!
//! Each row: the name, the change coefficients `[radial, tangential]` per percent of moisture,
//! the total shrinkages `[radial, tangential]` in percent from green to ovendry.
//! Sources: Wood Handbook, FPL-GTR-190 (2010), Table 13-5 (coefficients), Tables 4-3 and 4-4
//! (shrinkage); the rows with a botanical name from R. B. Hoadley in The Structural Conservation of
//! Panel Paintings (1998), Table 1, p. 15. Shrinkages of pines, spruces and tamarack are *from
//! memory*; the coefficients printed for them agree.

use super::known::Known;
use super::limits::SumTrouble;
use super::quantity_text::nearest;

/// One wood of the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wood {
    /// Its name as it is listed.
    pub name: &'static str,
    /// Change of width per percent of moisture, `[radial, tangential]`, where it is printed.
    pub coefficients: Option<[f64; 2]>,
    /// Total shrinkages in percent, `[radial, tangential]`, one row for each source.
    pub shrinkages: &'static [[f64; 2]],
    /// How the row is known.
    pub known: Known,
}

impl Wood {
    /// Returns whether the sources disagree so that the larger movement must be shown.
    pub fn sources_differ(&self) -> bool {
        1 < self.shrinkages.len()
    }
}

/// Returns the wood of this name.
///
/// Capitals, order of words and brackets do not matter: `white fir`, `Fir, white`, `lime`,
/// `Tilia`, `limewood`. A part of a name will do when it fits one wood only.
///
/// # Errors
/// [`SumTrouble::Unknown`] with the nearest name; [`SumTrouble::Several`] with those that it fits.
pub fn wood_called(name: &str) -> Result<&'static Wood, SumTrouble> {
    let asked = words(name);
    let fits = |asked: &[String]| -> Vec<&'static Wood> {
        let all = |wood: &&Wood| {
            !asked.is_empty() && asked.iter().all(|it| words(wood.name).contains(it))
        };
        WOODS.iter().filter(all).collect()
    };
    let mut found = fits(&asked);
    if found.is_empty() {
        let stems: Vec<String> = asked
            .iter()
            .map(|it| it.trim_end_matches("wood").to_owned())
            .collect();
        found = fits(&stems);
    }
    let whole = |wood: &&&Wood| plain_name(wood) == asked;
    if let Some(wood) = found.iter().find(whole) {
        return Ok(wood);
    }
    if let [only] = found.as_slice() {
        return Ok(only);
    }
    let listed = |woods: &[&Wood]| {
        woods
            .iter()
            .map(|it| it.name)
            .collect::<Vec<_>>()
            .join("; ")
    };
    let name = name.trim().to_owned();
    if found.is_empty() {
        return Err(SumTrouble::Unknown {
            kind: "wood",
            name,
            near: nearest_wood(&asked),
            known: listed(&WOODS.iter().collect::<Vec<_>>()),
        });
    }
    Err(SumTrouble::Several {
        kind: "wood",
        name,
        known: listed(&found),
    })
}

/// Returns the words of a wood's name without its botanical name, sorted.
fn plain_name(wood: &Wood) -> Vec<String> {
    words(wood.name.split('(').next().unwrap_or(""))
}

fn nearest_wood(asked: &[String]) -> Option<String> {
    let every: Vec<String> = WOODS.iter().flat_map(|it| words(it.name)).collect();
    let near = |word: &String| nearest(word, every.iter().map(String::as_str));
    let mended: Option<Vec<&str>> = asked.iter().map(near).collect();
    mended
        .filter(|words| !words.is_empty() && words.iter().ne(asked.iter()))
        .map(|words| words.join(" "))
}

fn words(name: &str) -> Vec<String> {
    let mut list: Vec<String> = name
        .to_lowercase()
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect();
    list.sort();
    list
}

const fn listed(
    name: &'static str,
    coefficients: Option<[f64; 2]>,
    shrinkages: &'static [[f64; 2]],
    known: Known,
) -> Wood {
    Wood {
        name,
        coefficients,
        shrinkages,
        known,
    }
}

/// Every wood, in the order of the sources.
#[rustfmt::skip]
pub const WOODS: &[Wood] = &[
    listed("Alder, red", Some([0.001_51, 0.002_56]), &[[4.4, 7.3]], Known::Read),
    listed("Apple", Some([0.002_05, 0.003_76]), &[], Known::Read),
    listed("Ash, black", Some([0.001_72, 0.002_74]), &[[5.0, 7.8]], Known::Read),
    listed("Ash, Oregon", Some([0.001_41, 0.002_85]), &[[4.1, 8.1]], Known::Read),
    listed("Ash, pumpkin", Some([0.001_26, 0.002_19]), &[[3.7, 6.3]], Known::Read),
    listed("Ash, white", Some([0.001_69, 0.002_74]), &[[4.9, 7.8]], Known::Read),
    listed("Ash, green", Some([0.001_69, 0.002_74]), &[[4.6, 7.1]], Known::Read),
    listed("Aspen, quaking", Some([0.001_19, 0.002_34]), &[[3.5, 6.7]], Known::Read),
    listed("Basswood, American", Some([0.002_30, 0.003_30]), &[[6.6, 9.3]], Known::Read),
    listed("Beech, American", Some([0.001_90, 0.004_31]), &[[5.5, 11.9]], Known::Read),
    listed("Birch, paper", Some([0.002_19, 0.003_04]), &[[6.3, 8.6]], Known::Read),
    listed("Birch, river", Some([0.001_62, 0.003_27]), &[[4.7, 9.2]], Known::Read),
    listed("Birch, yellow", Some([0.002_56, 0.003_38]), &[[7.3, 9.5]], Known::Read),
    listed("Birch, sweet", Some([0.002_56, 0.003_38]), &[[6.5, 9.0]], Known::Read),
    listed("Buckeye, yellow", Some([0.001_23, 0.002_85]), &[[3.6, 8.1]], Known::Read),
    listed("Butternut", Some([0.001_16, 0.002_23]), &[[3.4, 6.4]], Known::Read),
    listed("Catalpa, northern", Some([0.000_85, 0.001_69]), &[], Known::Read),
    listed("Cherry, black", Some([0.001_26, 0.002_48]), &[[3.7, 7.1]], Known::Read),
    listed("Chestnut, American", Some([0.001_16, 0.002_34]), &[[3.4, 6.7]], Known::Read),
    listed("Cottonwood, black", Some([0.001_23, 0.003_04]), &[[3.6, 8.6]], Known::Read),
    listed("Cottonwood, eastern", Some([0.001_33, 0.003_27]), &[[3.9, 9.2]], Known::Read),
    listed("Elm, American", Some([0.001_44, 0.003_38]), &[[4.2, 9.5]], Known::Read),
    listed("Elm, rock", Some([0.001_65, 0.002_85]), &[[4.8, 8.1]], Known::Read),
    listed("Elm, slippery", Some([0.001_69, 0.003_15]), &[[4.9, 8.9]], Known::Read),
    listed("Elm, winged", Some([0.001_83, 0.004_19]), &[[5.3, 11.6]], Known::Read),
    listed("Elm, cedar", Some([0.001_83, 0.004_19]), &[[4.7, 10.2]], Known::Read),
    listed("Hackberry", Some([0.001_65, 0.003_15]), &[[4.8, 8.9]], Known::Read),
    listed("Hickory, pecan", Some([0.001_69, 0.003_15]), &[[4.9, 8.9]], Known::Read),
    listed("Honeylocust", Some([0.001_44, 0.002_30]), &[], Known::Read),
    listed("Locust, black", Some([0.001_58, 0.002_52]), &[], Known::Read),
    listed("Madrone, Pacific", Some([0.001_94, 0.004_51]), &[], Known::Read),
    listed("Magnolia, cucumbertree", Some([0.001_80, 0.003_12]), &[], Known::Read),
    listed("Magnolia, southern", Some([0.001_87, 0.002_30]), &[], Known::Read),
    listed("Magnolia, sweetbay", Some([0.001_62, 0.002_93]), &[], Known::Read),
    listed("Maple, bigleaf", Some([0.001_26, 0.002_48]), &[], Known::Read),
    listed("Maple, red", Some([0.001_37, 0.002_89]), &[], Known::Read),
    listed("Maple, silver", Some([0.001_02, 0.002_52]), &[], Known::Read),
    listed("Maple, black", Some([0.001_65, 0.003_53]), &[], Known::Read),
    listed("Maple, sugar", Some([0.001_65, 0.003_53]), &[], Known::Read),
    listed("Oak, black", Some([0.001_23, 0.002_30]), &[], Known::Read),
    listed("Oak, red commercial", Some([0.001_58, 0.003_69]), &[], Known::Read),
    listed("Oak, California red", Some([0.001_23, 0.002_30]), &[], Known::Read),
    listed("Oak, water/laurel/willow (red)", Some([0.001_51, 0.003_50]), &[], Known::Read),
    listed("Oak, white commercial", Some([0.001_80, 0.003_65]), &[[5.6, 10.5]], Known::Read),
    listed("Oak, live (white)", Some([0.002_30, 0.003_38]), &[[6.6, 9.5]], Known::Read),
    listed("Oak, Oregon white", Some([0.001_44, 0.003_27]), &[], Known::Read),
    listed("Oak, overcup (white)", Some([0.001_83, 0.004_62]), &[[5.3, 12.7]], Known::Read),
    listed("Persimmon, common", Some([0.002_78, 0.004_03]), &[[7.9, 11.2]], Known::Read),
    listed("Sassafras", Some([0.001_37, 0.002_16]), &[[4.0, 6.2]], Known::Read),
    listed("Sweetgum", Some([0.001_83, 0.003_65]), &[[5.3, 10.2]], Known::Read),
    listed("Sycamore, American", Some([0.001_72, 0.002_96]), &[[5.0, 8.4]], Known::Read),
    listed("Tanoak", Some([0.001_69, 0.004_23]), &[[4.9, 11.7]], Known::Read),
    listed("Tupelo, black", Some([0.001_76, 0.003_08]), &[[5.1, 8.7]], Known::Read),
    listed("Tupelo, water", Some([0.001_44, 0.002_67]), &[[4.2, 7.6]], Known::Read),
    listed("Walnut, black", Some([0.001_90, 0.002_74]), &[[5.5, 7.8]], Known::Read),
    listed("Yellow-poplar", Some([0.001_58, 0.002_89]), &[[4.6, 8.2]], Known::Quoted),
    listed("Willow, black", Some([0.001_12, 0.003_08]), &[[3.3, 8.7]], Known::Quoted),
    listed("Cedar, eastern red", Some([0.001_06, 0.001_62]), &[[3.1, 4.7]], Known::Quoted),
    listed("Douglas-fir, coast", Some([0.001_65, 0.002_67]), &[[4.8, 7.6]], Known::Quoted),
    listed("Fir, white", Some([0.001_12, 0.002_45]), &[[3.3, 7.0]], Known::Quoted),
    listed("Pine, eastern white", Some([0.000_71, 0.002_12]), &[[2.1, 6.1]], Known::Recalled),
    listed("Pine, loblolly", Some([0.001_65, 0.002_59]), &[[4.8, 7.4]], Known::Recalled),
    listed("Pine, lodgepole", Some([0.001_48, 0.002_34]), &[[4.3, 6.7]], Known::Recalled),
    listed("Pine, longleaf", Some([0.001_76, 0.002_63]), &[[5.1, 7.5]], Known::Recalled),
    listed("Pine, ponderosa", Some([0.001_33, 0.002_16]), &[[3.9, 6.2]], Known::Recalled),
    listed("Pine, red", Some([0.001_30, 0.002_52]), &[[3.8, 7.2]], Known::Recalled),
    listed("Pine, shortleaf", Some([0.001_58, 0.002_71]), &[[4.6, 7.7]], Known::Recalled),
    listed("Pine, sugar", Some([0.000_99, 0.001_94]), &[[2.9, 5.6]], Known::Recalled),
    listed("Pine, western white", Some([0.001_41, 0.002_59]), &[[4.1, 7.4]], Known::Recalled),
    listed("Spruce, Engelmann", Some([0.001_30, 0.002_48]), &[[3.8, 7.1]], Known::Recalled),
    listed("Spruce, Sitka", Some([0.001_48, 0.002_63]), &[[4.3, 7.5]], Known::Recalled),
    listed("Tamarack", Some([0.001_26, 0.002_59]), &[[3.7, 7.4]], Known::Recalled),
    listed("Spruce (Picea)", None, &[[3.6, 7.4]], Known::Read),
    listed("Fir (Abies)", None, &[[3.8, 7.6]], Known::Read),
    listed("Pine, Scots (Pinus sylvestris)", None, &[[4.0, 7.7]], Known::Read),
    listed("Larch (Larix)", None, &[[3.3, 7.8]], Known::Read),
    // Table 13-5 prints a coefficient 1.7 times what Table 4-4's shrinkage gives, and Hoadley's
    // shrinkage lies between, so all are kept and the larger movement is shown.
    listed("Mahogany (Swietenia)", Some([0.001_72, 0.002_38]), &[[3.0, 4.1], [3.2, 5.1]], Known::Quoted),
    listed("Walnut, European (Juglans regia)", None, &[[4.3, 6.4]], Known::Read),
    listed("Chestnut (Castanea)", None, &[[4.0, 6.8]], Known::Read),
    listed("Willow (Salix)", None, &[[4.2, 7.2]], Known::Read),
    listed("Alder (Alnus)", None, &[[4.4, 7.3]], Known::Read),
    listed("Cherry (Prunus)", None, &[[4.2, 7.8]], Known::Read),
    listed("Ash (Fraxinus)", None, &[[5.2, 8.3]], Known::Read),
    listed("Poplar (Populus)", None, &[[3.4, 8.5]], Known::Read),
    listed("Maple (Acer)", None, &[[4.2, 8.8]], Known::Read),
    listed("Elm (Ulmus)", None, &[[5.2, 9.1]], Known::Read),
    listed("Lime (Tilia)", None, &[[6.8, 9.5]], Known::Read),
    listed("Oak, white (Quercus)", None, &[[5.2, 10.2]], Known::Read),
    listed("Beech (Fagus)", None, &[[5.8, 11.8]], Known::Read),
];

#[cfg(test)]
mod tests {
    use super::wood_called;

    #[test]
    fn a_wood_is_found_by_any_of_its_names() {
        for (asked, listed) in [
            ("lime", "Lime (Tilia)"),
            ("Tilia", "Lime (Tilia)"),
            ("limewood", "Lime (Tilia)"),
            ("Basswood, American", "Basswood, American"),
            ("american basswood", "Basswood, American"),
            ("basswood", "Basswood, American"),
            ("yellow-poplar", "Yellow-poplar"),
            ("poplar", "Poplar (Populus)"),
            ("white oak", "Oak, white (Quercus)"),
            ("oak, white commercial", "Oak, white commercial"),
            ("beech", "Beech (Fagus)"),
            ("mahogany", "Mahogany (Swietenia)"),
            (
                "Oak, water/laurel/willow (red)",
                "Oak, water/laurel/willow (red)",
            ),
        ] {
            assert_eq!(wood_called(asked).unwrap().name, listed, "{asked}");
        }
    }

    #[test]
    fn an_unclear_name_lists_what_it_could_be() {
        let trouble = wood_called("walnut").unwrap_err();
        assert_eq!(
            trouble.to_string(),
            "`walnut` could be any of several woods"
        );
        assert_eq!(
            trouble.remedy(),
            "say which wood: Walnut, black; Walnut, European (Juglans regia)"
        );
        let trouble = wood_called("lyme").unwrap_err();
        assert_eq!(
            trouble.to_string(),
            "no wood is called `lyme`; did you mean `lime`?"
        );
        assert!(wood_called("").is_err());
    }
}
