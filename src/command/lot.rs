//! `lot`: opens a tin, or pours one into a jar.

use super::opened::Opened;
use super::paper::Paper;
use super::{LotAct, LotArgs};
use crate::card::MOST_HELD;
use crate::deed::Pack;
use crate::reckon::{Grams, Millilitres, read};
use crate::standing::Intent;
use crate::trouble::{ExitKind, Trouble};

/// What a tin may be held to hold.
const UNITS: &str = "g, kg, ml, L, leaves";

/// Keeps the line.
///
/// # Errors
/// When nobody is named, the material or lot is not known, the name looks like another one,
/// what it holds or its price cannot be, or the line cannot be kept.
pub(super) fn run(
    shop: &Opened,
    args: &LotArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let moment = shop.moment()?;
    let intent = match &args.act {
        LotAct::Open {
            material,
            lot,
            part,
            expires,
            holds,
            price,
        } => {
            let held = holds.as_deref().map_or(Ok(Pack::default()), held)?;
            Intent::OpenLot {
                material: material.clone(),
                lot: lot.clone(),
                part: part.clone(),
                expires: *expires,
                pack: Pack {
                    price: *price,
                    ..held
                },
            }
        }
        LotAct::Decant { lot, into } => Intent::Decant {
            lot: lot.clone(),
            into: into.clone(),
        },
    };
    let ended = shop.act(&intent, &moment, paper)?;
    if let LotAct::Open { lot, expires, .. } = &args.act
        && expires.is_some_and(|date| date < shop.now.date_naive())
    {
        paper.note(&format!(
            "lot {lot} is past its date: look at the tin again"
        ));
    }
    Ok(ended)
}

/// Reads what a tin holds: grams, millilitres or leaves, each in whole ones.
fn held(text: &str) -> Result<Pack, Trouble> {
    let none = Pack::default();
    let leaves = text.trim().strip_suffix("leaves").map(str::trim);
    if let Some(count) = leaves.and_then(|count| count.parse().ok()) {
        let holds_leaves = Some(count);
        return Ok(Pack {
            holds_leaves,
            ..none
        });
    }
    if let Ok(grams) = read::<Grams>(text) {
        let holds_g = Some(whole(grams.0, text)?);
        return Ok(Pack { holds_g, ..none });
    }
    match read::<Millilitres>(text) {
        Ok(ml) => {
            let holds_ml = Some(whole(ml.0, text)?);
            Ok(Pack { holds_ml, ..none })
        }
        Err(_no_amount) => {
            let remedy = format!("write the number with one of these units: {UNITS}");
            let what = format!("`{text}` is not what a tin holds");
            Err(Trouble::misuse(what, "--holds", remedy))
        }
    }
}

/// Returns an amount in whole ones; the half gram of a tin is not known.
fn whole(amount: f64, text: &str) -> Result<u32, Trouble> {
    let whole = amount.round();
    if (1.0..=f64::from(MOST_HELD)).contains(&whole) {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a whole number from 1 to a million"
        )]
        let whole = whole as u32;
        return Ok(whole);
    }
    let what = format!("`{text}` is no amount of a tin");
    let remedy = format!("it holds from 1 to {MOST_HELD} g, ml or leaves");
    Err(Trouble::misuse(what, "--holds", remedy))
}
