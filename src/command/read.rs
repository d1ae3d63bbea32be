//! `read FIGURE WHAT VALUE`: a reading of a figure, or a word of a test, that is entered after
//! the fact, such as from a slip of paper.

use super::misuse::taken;
use super::opened::Opened;
use super::paper::Paper;
use super::{ReadingArgs, names};
use crate::card::{Measure, WordScale};
use crate::reckon::{Celsius, Grams, Millilitres, Millimetres, Minutes, Percent};
use crate::standing::{Cup, Intent, Late, Said};
use crate::trouble::{ExitKind, Trouble};

/// What can be read of a figure, as it is typed.
const MEASURES: [(&str, Measure); 20] = [
    ("moisture-core", Measure::MoistureCore),
    ("moisture-skin", Measure::MoistureSkin),
    ("piece-moisture", Measure::PieceMoisture),
    ("surface-temperature", Measure::SurfaceTemperature),
    ("resin-temperature", Measure::ResinTemperature),
    ("ph", Measure::Ph),
    ("gap", Measure::Gap),
    ("joint-step", Measure::JointStep),
    ("decay-depth", Measure::DecayDepth),
    ("width", Measure::Width),
    ("mass", Measure::Mass),
    ("leaves", Measure::Leaves),
    ("books", Measure::Books),
    ("holidays", Measure::Holidays),
    ("grit", Measure::Grit),
    ("dwell", Measure::Dwell),
    ("volume", Measure::Volume),
    ("thinning", Measure::Thinning),
    ("duration", Measure::Duration),
    ("grade", Measure::Grade),
];

/// The scales of words, as they are typed.
const SCALES: [(&str, WordScale); 4] = [
    ("size", WordScale::Tack),
    ("powder", WordScale::Powder),
    ("nail", WordScale::Nail),
    ("cup", WordScale::Cup),
];

/// The wall of a live cup, as it is typed.
const CUP_WALL: &str = "cup-wall";

/// Keeps the reading.
///
/// # Errors
/// When nobody is named, the figure is unknown, nothing asked for it at that time, the value
/// cannot be believed, or the line cannot be kept.
pub(super) fn run(
    shop: &Opened,
    args: &ReadingArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    names::figure(&shop.cards, &args.figure, "FIGURE")?;
    if let Some(part) = &args.target {
        names::part(&shop.cards, (&args.figure, part), "--target")?;
    }
    let mut moment = shop.moment()?;
    if let Some(at) = args.at {
        moment.at = shop.taken_at(at)?;
    }
    if typed_name(&args.what) == CUP_WALL {
        let wall_c = taken::<Celsius>("VALUE", &args.value)?.value();
        let read = Intent::ReadCup {
            figure: args.figure.clone(),
            cup: Cup::On(args.target.clone()),
            wall_c,
        };
        return shop.act(&read, &moment, paper);
    }
    let late = Late {
        said: said(&args.what, &args.value)?,
        target: args.target.clone(),
        station: args.place.clone(),
        again: args.looked_again,
    };
    let figure = args.figure.clone();
    shop.act(&Intent::EnterLater { figure, late }, &moment, paper)
}

fn typed_name(what: &str) -> String {
    what.trim().to_lowercase().replace('_', "-")
}

fn said(what: &str, value: &str) -> Result<Said, Trouble> {
    let typed = typed_name(what);
    if let Some((_, scale)) = SCALES.iter().find(|(name, _)| *name == typed) {
        let word = value.trim().to_lowercase();
        return Ok(Said::Word {
            scale: *scale,
            word,
        });
    }
    let measure = MEASURES.iter().find(|(name, _)| *name == typed);
    let Some((_, measure)) = measure else {
        let known = MEASURES.iter().map(|(name, _)| *name);
        let known = known.chain(SCALES.iter().map(|(name, _)| *name));
        let known = known.chain([CUP_WALL]);
        return Err(names::unknown(
            ("no reading of a figure", "WHAT"),
            &typed,
            known,
        ));
    };
    let value = number(*measure, value)?;
    Ok(Said::Reading {
        measure: *measure,
        value,
    })
}

/// Returns the number in the measure's unit. What has a unit must be typed with one, so that
/// inches are not taken for millimetres.
fn number(measure: Measure, text: &str) -> Result<f64, Trouble> {
    match measure.unit() {
        "°C" => taken::<Celsius>("VALUE", text).map(Celsius::value),
        "%" => taken::<Percent>("VALUE", text).map(Percent::value),
        "mm" => taken::<Millimetres>("VALUE", text).map(Millimetres::value),
        "g" => taken::<Grams>("VALUE", text).map(Grams::value),
        "ml" => taken::<Millilitres>("VALUE", text).map(Millilitres::value),
        "min" => taken::<Minutes>("VALUE", text).map(Minutes::value),
        _ => {
            let number: Option<f64> = text.trim().parse().ok();
            number.filter(|number| number.is_finite()).ok_or_else(|| {
                Trouble::misuse(
                    format!("`{text}` is not a number"),
                    "VALUE",
                    "write a number such as 7.5",
                )
            })
        }
    }
}
