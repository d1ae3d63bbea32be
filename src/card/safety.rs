//! What stands above every card: the sentence that this tool only reminds, and the shop's own
//! emergency lines.

use super::Emergency;

/// The sentence in full, for the first start and for what is printed.
pub const DEFERRAL: &str = "This tool reminds; it does not permit. Local codes, the product safety \
data sheet and label, and qualified or licensed practice win wherever they differ from a card. It \
measures no air and knows no medical facts about you. In doubt, stop.";

/// The sentence in short, for the foot of a step.
pub const DEFERRAL_SHORT: &str =
    "Local codes, the data sheet and licensed practice come before this card. In doubt, stop.";

/// What stands in place of an emergency line that nobody has filled in.
pub const SET_YOUR_NUMBER: &str = "SET YOUR NUMBER";

impl Emergency {
    /// Returns each line: whose it is, and the number as the shop set it.
    fn lines(&self) -> [(&'static str, &str); 3] {
        [
            ("ambulance", self.ambulance.trim()),
            ("poison information", self.poison.trim()),
            ("doctor", self.doctor.trim()),
        ]
    }

    /// Returns whose numbers are missing.
    pub fn missing(&self) -> Vec<&'static str> {
        let lines = self.lines().into_iter();
        let empty = lines.filter(|(_, number)| number.is_empty());
        empty.map(|(whose, _)| whose).collect()
    }

    /// Returns the first line in words, where there is no room for all.
    pub fn first_in_words(&self) -> String {
        let number = match self.ambulance.trim() {
            "" => SET_YOUR_NUMBER,
            number => number,
        };
        format!("emergency: ambulance {number}")
    }

    /// Returns all lines in words, an empty one as [`SET_YOUR_NUMBER`].
    pub fn in_words(&self) -> String {
        let lines = self.lines().map(|(whose, number)| {
            let number = if number.is_empty() {
                SET_YOUR_NUMBER
            } else {
                number
            };
            format!("{whose} {number}")
        });
        format!("emergency: {}", lines.join(", "))
    }
}
