//! What every leaf of the Dossier shows, and every symbol, texture and colour on it: the
//! Dossier's part of the help.

use super::super::look::Tone;
use super::Leaf;
use super::classes::{self, MapMark};
use super::joints;
use crate::standing::JointState;

/// Returns the rows of the legend, each in the colour that it speaks of; those set in are
/// short and stay as they are, the others may be broken between words.
pub(in crate::screen) fn legend() -> Vec<(String, Tone)> {
    let mut rows = Vec::new();
    for leaf in Leaf::ALL {
        rows.push((String::new(), Tone::Chalk));
        rows.push((format!("leaf {}", leaf.name()), Tone::Gilt));
        let said = says(leaf).iter();
        rows.extend(said.map(|words| ((*words).to_owned(), Tone::Chalk)));
        match leaf {
            Leaf::Map => map(&mut rows),
            Leaf::Joints => rows.extend(JOINTS.map(|state| {
                let sign = joints::sign(state);
                let (symbol, word) = (sign.symbol, sign.word);
                (
                    format!("  {symbol} {word}{}", in_colour(sign.tone)),
                    sign.tone,
                )
            })),
            Leaf::Layers | Leaf::Photos | Leaf::Plots => {}
        }
    }
    rows
}

/// Every state of a joint, as it is told here.
const JOINTS: [JointState; 8] = [
    JointState::NotSurveyed,
    JointState::Sound,
    JointState::Open,
    JointState::FilledLoose,
    JointState::Split,
    JointState::Apart,
    JointState::InClamps,
    JointState::Reglued,
];

/// What a leaf shows, and the marks on it that stand in no list of classes.
fn says(leaf: Leaf) -> &'static [&'static str] {
    match leaf {
        Leaf::Map => &[
            "The figure from its sides. Each zone has its number, the same as in the report, and \
             its symbol; J and a number is a joint. On a red plate: the part picked, and what is \
             known of it stands beside the map. On a gold plate: what a digit picks now.",
        ],
        Leaf::Joints => &[
            "Each joint with its boards, gap map, what fills it, what was settled, clamps, grams, \
             lots and batches. 2.30▾ in the gap map is over 0.5 mm: filled and not squeezed; \
             6.10! is over 5 mm: it wants a slip of wood; – was not read.",
        ],
        Leaf::Layers => &[
            "A table for each exposure, from the wood outward, its ties in sentences below it; a \
             digit brings one to the front. The campaigns follow behind the tables.",
            "▀▀▀ is the colour as far as the screen shows it. The numbers decide: L* a* b*, the \
             middle of three readings; ± tells how far the worst of them lies from it, ! that \
             this is too far.",
            "★ leaf or metal; not tied: it may be of any campaign; not seen at: nothing of the \
             campaign was found there.",
            "▲ readings that cannot all be right: no campaign has a number until that is settled; \
             ? a tie that a metal suggests and nobody has said.",
            "Chips of new colour: ● passes, ✕ does not pass, ○ no verdict yet.",
        ],
        Leaf::Photos => &[
            "Left the first picture of a part; right the last, or the one that a digit picks.",
            "● taken in, with its file; ◇ said to be taken, no file yet; ▲ missing, or taken in \
             after work began. The page of the whole figure lists those of every part.",
        ],
        Leaf::Plots => &[
            "Moisture, air, coats and knuckle tests over time. Letters name the curves; ┄ is the \
             most that passes.",
        ],
    }
}

fn map(rows: &mut Vec<(String, Tone)>) {
    for mark in MapMark::ALL {
        let words = format!("by {}", mark.name());
        rows.push((words, Tone::Chalk));
        rows.extend(classes::all(mark).into_iter().map(|class| {
            let surface = class.texture.repeat(3);
            let words = format!(
                "  {} {surface} {}{}",
                class.symbol,
                class.word,
                in_colour(class.tone)
            );
            (words, class.tone)
        }));
    }
}

/// The colour of a tone in a word, for who cannot tell it.
fn in_colour(tone: Tone) -> &'static str {
    match tone {
        Tone::Rubbed => ", grey",
        Tone::Bole => ", red",
        Tone::Gilt => ", gold",
        Tone::Verdigris => ", green",
        _ => ", white",
    }
}
