//! Topics of two-part resin: gap, batch, a cup poured wrong, pot life.

use clap::{Args, ValueEnum};

use super::Answer;
use super::flag::{ReckonTrouble, plain_number, refused, taken, taken_if_given};
use crate::reckon::batch::LARGEST_CUP;
use crate::reckon::{
    GapRow, Grams, Millimetres, MixRatio, SheetPoint, Verdict, correct, gap_volume, promise, read,
    resin_for, split_batch,
};

/// Flags of `reckon gap`.
#[derive(Debug, Clone, Args)]
pub struct GapArgs {
    /// Length of the joint, such as 400mm
    #[arg(long)]
    pub length: String,
    /// Width of the joint, such as 120mm
    #[arg(long)]
    pub width: String,
    /// Readings in mm across the joint at one station, such as "0.3 0.9 2.4", with - for a
    /// missing one; once for each station, evenly spaced from end to end
    #[arg(long = "row", required = true, allow_hyphen_values = true)]
    pub rows: Vec<String>,
}

/// Flags of `reckon batch`.
#[derive(Debug, Clone, Args)]
pub struct BatchArgs {
    /// Grams needed, such as 100g
    #[arg(long)]
    pub need: String,
    /// Parts of resin to parts of hardener, such as 100:45
    #[arg(long)]
    pub ratio: String,
    /// Whether the ratio is by weight or by volume
    #[arg(long, value_enum)]
    pub basis: Basis,
    /// Density of the resin, needed by volume, such as 1.15g/ml
    #[arg(long)]
    pub density_a: Option<String>,
    /// Density of the hardener, needed by volume, such as 1.0g/ml
    #[arg(long)]
    pub density_b: Option<String>,
    /// What the balance can still show, such as 0.1g
    #[arg(long, default_value = "0.1g")]
    pub balance: String,
    /// The most for one cup; without it the largest cup of the table of pot lives, 400g
    #[arg(long)]
    pub cup: Option<String>,
}

/// What a ratio counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Basis {
    /// Parts by weight
    Weight,
    /// Parts by volume
    Volume,
}

/// Flags of `reckon correct`.
#[derive(Debug, Clone, Args)]
pub struct CorrectArgs {
    /// Parts of resin to parts of hardener by weight, such as 100:45
    #[arg(long)]
    pub ratio: String,
    /// Resin in the cup, such as 69g
    #[arg(long)]
    pub poured_a: String,
    /// Hardener in the cup, such as 33g
    #[arg(long)]
    pub poured_b: String,
    /// The most for one cup; without it the largest cup of the table of pot lives, 400g
    #[arg(long)]
    pub cup: Option<String>,
}

/// Flags of `reckon pot-life`.
#[derive(Debug, Clone, Args)]
pub struct PotLifeArgs {
    /// What the data sheet states: minutes, grams, temperature, such as "25min, 100g, 22C";
    /// once for each statement
    #[arg(long = "at", required = true)]
    pub at: Vec<String>,
    /// Grams in the cup, such as 180g
    #[arg(long)]
    pub grams: String,
    /// The highest of resin, room and cup wall, such as 26C
    #[arg(long, allow_hyphen_values = true)]
    pub temp: String,
}

/// Answers `reckon gap`.
///
/// # Errors
/// Flags that cannot be read; readings or sides beyond what is filled with resin.
pub(super) fn answer_gap(args: &GapArgs) -> Result<Answer, ReckonTrouble> {
    let length = taken("--length", &args.length)?;
    let width = taken("--width", &args.width)?;
    let rows: Vec<GapRow> = args
        .rows
        .iter()
        .map(|row| GapRow::new(&readings_in(row)?).map_err(refused("gap")))
        .collect::<Result<_, _>>()?;
    let gap = gap_volume(length, width, &rows).map_err(refused("gap"))?;
    let resin = resin_for(gap);
    Ok(Answer::new()
        .number("mean_gap_mm", gap.mean.0, ("mean gap", 2, "mm"))
        .number("volume_ml", gap.volume.0, ("volume", 1, "ml"))
        .number("fill_g", resin.fill.0, ("to fill it", 0, "g"))
        .number("wet_out_g", resin.wet_out.0, ("to wet the faces", 0, "g"))
        .number(
            "mix_g",
            resin.mix.wait_until().0,
            ("mix, waste included", 0, "g"),
        )
        .count("filled_readings", gap.filled, "missing, taken wide")
        .note("because", resin.mix.because())
        .note(
            "holds",
            "gaps of 0–50 mm, read from edge to edge; take at least three across",
        )
        .note(
            "source",
            "Simpson's rules; 1.15 kg/L, 0.15 kg/m² a face, 50 % waste: common practice",
        ))
}

/// Answers `reckon batch`.
///
/// # Errors
/// Flags that cannot be read; a ratio by volume without both densities; sums that refuse.
pub(super) fn answer_batch(args: &BatchArgs) -> Result<Answer, ReckonTrouble> {
    let need: Grams = taken("--need", &args.need)?;
    let balance = taken("--balance", &args.balance)?;
    let cup = taken_if_given("--cup", args.cup.as_deref())?.unwrap_or(LARGEST_CUP);
    let ratio = ratio_by_weight(args)?;
    let batch = split_batch(need, ratio, cup).map_err(refused("batch"))?;
    let smallest = ratio.smallest_honest(balance).map_err(refused("batch"))?;
    let in_cup = batch.cup_resin.0 + batch.cup_hardener.0;
    let answer = Answer::new()
        .number("a_g", batch.resin.0, ("resin in all", 1, "g"))
        .number("b_g", batch.hardener.0, ("hardener in all", 1, "g"))
        .count("cups", batch.cups, "cups")
        .number("cup_a_g", batch.cup_resin.0, ("resin in one cup", 1, "g"))
        .number(
            "cup_b_g",
            batch.cup_hardener.0,
            ("hardener in one cup", 1, "g"),
        )
        .number("smallest_g", smallest.0, ("smallest honest cup", 0, "g"))
        .truth(
            "can_be_weighed",
            smallest.0 <= in_cup,
            "can be weighed within 2 %",
            ["yes", "no"],
        )
        .note(
            "because",
            format!("100 : {:.1} by weight", ratio.hardener_to_100()),
        );
    let answer = if smallest.0 <= in_cup {
        answer
    } else {
        answer.note(
            "caution",
            format!(
                "{in_cup:.1} g is too little for a balance that reads {} g: mix {:.0} g or take a finer balance",
                balance.0,
                smallest.0.ceil()
            ),
        )
    };
    Ok(answer
        .note(
            "safe_side",
            "start one cup after the other; a large cup heats itself and goes off",
        )
        .note(
            "source",
            "shares of the ratio; 2 % and cups of 400 g at most: common practice",
        ))
}

/// Answers `reckon correct`.
///
/// # Errors
/// Flags that cannot be read; sums that refuse.
pub(super) fn answer_correct(args: &CorrectArgs) -> Result<Answer, ReckonTrouble> {
    let (a, b) = ratio_in(&args.ratio)?;
    let ratio = MixRatio::by_weight(a, b).map_err(refused("correct"))?;
    let poured = (
        taken("--poured-a", &args.poured_a)?,
        taken("--poured-b", &args.poured_b)?,
    );
    let cup = taken_if_given("--cup", args.cup.as_deref())?.unwrap_or(LARGEST_CUP);
    let found = correct(ratio, poured, cup).map_err(refused("correct"))?;
    let act = match (found.verdict, found.is_saved) {
        (Verdict::Good, _) => "stir",
        (Verdict::Amber, true) => "add, then stir",
        (Verdict::Reject, true) => {
            "not stirred yet: add, then stir; stirred: cup outside, weigh anew"
        }
        (_, false) => "cannot be put right in one cup: cup outside, weigh anew",
    };
    Ok(Answer::new()
        .number("off_percent", found.off.0, ("hardener off by", 1, "%"))
        .word("verdict", found.verdict.word(), "verdict")
        .number("add_a_g", found.add_resin.0, ("add resin", 1, "g"))
        .number("add_b_g", found.add_hardener.0, ("add hardener", 1, "g"))
        .word("act", act, "do")
        .note(
            "because",
            "good within 2 %, amber within 5 %, reject beyond",
        )
        .note("safe_side", "more hardener never speeds it up, it weakens")
        .note("source", "common practice"))
}

/// Answers `reckon pot-life`.
///
/// # Errors
/// Flags that cannot be read; cups or sheets beyond the rules.
pub(super) fn answer_pot_life(args: &PotLifeArgs) -> Result<Answer, ReckonTrouble> {
    let sheet: Vec<SheetPoint> = args
        .at
        .iter()
        .map(|text| sheet_point_in(text))
        .collect::<Result<_, _>>()?;
    let grams = taken("--grams", &args.grams)?;
    let temperature = taken("--temp", &args.temp)?;
    let cup = promise(&sheet, grams, temperature).map_err(refused("pot-life"))?;
    Ok(Answer::new()
        .number("early_min", cup.do_before().0, ("promised", 1, "min"))
        .number("likely_min", cup.likely().0, ("likely", 1, "min"))
        .number("late_min", cup.wait_until().0, ("at the latest", 1, "min"))
        .note("because", cup.because())
        .note("safe_side", "work by the promise; a cup that is warm to the hand is over")
        .note("holds", "5–40 °C, 5–5000 g; in a cup, not spread in a tray")
        .note(
            "source",
            "factor 1.5–2.5 per 10 °C and a gallon in 5 min: technical articles on epoxy; rules: common practice",
        ))
}

fn readings_in(row: &str) -> Result<Vec<Option<Millimetres>>, ReckonTrouble> {
    let parted = row.trim().trim_end_matches([',', ';']);
    // Nothing between two commas is a place that was not read: left out, it would shift the rest.
    let words: Vec<&str> = if parted.contains([',', ';']) {
        parted.split([',', ';']).map(str::trim).collect()
    } else {
        parted.split_whitespace().collect()
    };
    words
        .into_iter()
        .map(|word| match word {
            "" | "-" | "–" | "−" => Ok(None),
            _ => read::<Millimetres>(word)
                .or_else(|_| {
                    plain_number("--row", word, "\"0.3 0.9 - 2.4\", in mm").map(Millimetres)
                })
                .map(Some),
        })
        .collect()
}

fn ratio_in(text: &str) -> Result<(f64, f64), ReckonTrouble> {
    let example = "100:45";
    let (a, b) = text.split_once(':').ok_or_else(|| ReckonTrouble::Shape {
        flag: "--ratio",
        what: format!("`{text}` is not a ratio"),
        remedy: format!("write it like {example}"),
    })?;
    Ok((
        plain_number("--ratio", a, example)?,
        plain_number("--ratio", b, example)?,
    ))
}

fn ratio_by_weight(args: &BatchArgs) -> Result<MixRatio, ReckonTrouble> {
    let (a, b) = ratio_in(&args.ratio)?;
    let ratio = match args.basis {
        Basis::Weight => MixRatio::by_weight(a, b),
        Basis::Volume => {
            let density = |flag: &'static str, text: &Option<String>| {
                taken_if_given(flag, text.as_deref())?.ok_or_else(|| ReckonTrouble::Shape {
                    flag,
                    what: "a ratio by volume needs the densities of both parts".to_owned(),
                    remedy: "copy it from the data sheet, such as 1.15g/ml".to_owned(),
                })
            };
            let resin = density("--density-a", &args.density_a)?;
            let hardener = density("--density-b", &args.density_b)?;
            MixRatio::by_volume((a, resin), (b, hardener))
        }
    };
    ratio.map_err(refused("batch"))
}

fn sheet_point_in(text: &str) -> Result<SheetPoint, ReckonTrouble> {
    let parts: Vec<&str> = text.split([',', ';']).map(str::trim).collect();
    let [minutes, grams, temperature] = parts.as_slice() else {
        return Err(ReckonTrouble::Shape {
            flag: "--at",
            what: format!("`{text}` is not minutes, grams and temperature"),
            remedy: "write it like \"25min, 100g, 22C\"".to_owned(),
        });
    };
    Ok(SheetPoint {
        minutes: taken("--at", minutes)?,
        grams: taken("--at", grams)?,
        temperature: taken("--at", temperature)?,
    })
}
