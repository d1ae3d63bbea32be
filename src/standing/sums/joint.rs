//! A joint's glue: what its gap holds, grams with what the wood drinks and what is lost, in how
//! many cups, and the smallest batch that the balance weighs honestly.

use super::{Here, StepSum, Weight, short};
use crate::card::{MaterialKind, Measure, Mix, Need, Step};
use crate::reckon::counted;
use crate::standing::mixing;
use crate::standing::prompt::BatchOffer;

/// Returns what the joint takes, from its first gap reading to the mix.
pub(super) fn at(here: &Here<'_>) -> Vec<StepSum> {
    let reads = |step: &Step| {
        let mut measures = step.record.iter().filter_map(|record| record.measure);
        measures.any(|measure| measure == Measure::Gap)
    };
    let gap_mix = |step: &Step| {
        let mix = step.mix.as_ref();
        mix.is_some_and(|mix| mix.need == Need::Gap)
    };
    let mixes = here.steps.iter().any(|flat| gap_mix(&flat.step));
    // A list that only measures keeps its figures in sight to its end: the cups are settled there.
    let last = |step: &Step| if mixes { gap_mix(step) } else { true };
    if !here.is_between(reads, last) {
        return Vec::new();
    }
    let mix = Mix {
        of: MaterialKind::Epoxy,
        need: Need::Gap,
    };
    let Ok(resin) = mixing::joint_resin(here.case) else {
        // Before the first row there is nothing to reckon; the grid in front says what to read.
        return Vec::new();
    };
    let most = resin.resin.mix.wait_until().0;
    let offers = mixing::offers(here.case, here.job, &mix);
    let cups: Vec<String> = offers
        .iter()
        .filter(|offer| offer.refused.is_none())
        .map(cups)
        .collect();
    let mut sum = StepSum::new(
        "joint",
        format!(
            "gap {} ml at {:.2} mm mean: mix up to {} g with wet-out and waste",
            short(resin.gap.volume.0.ceil()),
            resin.gap.mean.0,
            short(most.ceil())
        ),
    )
    .more(resin.resin.mix.because().to_owned())
    .number("joint_mean_gap_mm", resin.gap.mean.0)
    .number("joint_gap_ml", resin.gap.volume.0)
    .number("joint_mix_likely_g", resin.resin.mix.likely().0)
    .number("joint_mix_late_g", most);
    if 0 < resin.gap.filled {
        sum = sum.minded(Weight::Mind).more(format!(
            "{} not read, taken as the widest",
            counted(resin.gap.filled, "place")
        ));
    }
    for words in cups {
        sum = sum.more(words);
    }
    let refused = offers.iter().filter_map(|offer| {
        let why = offer.refused.as_ref()?;
        Some(format!("{}: {why}", offer.name))
    });
    for words in refused {
        sum = sum.more(words);
    }
    vec![with_honest(here, sum, &offers)]
}

fn cups(offer: &BatchOffer) -> String {
    let [a, b] = offer.grams;
    format!(
        "{}: {} × ({} g + {} g), each good for {:.0} min",
        offer.name,
        offer.cups,
        short(a),
        short(b),
        offer.promise_min.floor()
    )
}

/// Adds the smallest honest cup of each material.
fn with_honest(here: &Here<'_>, mut sum: StepSum, offers: &[BatchOffer]) -> StepSum {
    let shop = &here.case.house.cards.shop;
    for offer in offers {
        let card = here.case.house.cards.materials.get(&offer.material);
        let Some(ratio) = card.and_then(|card| card.ratio) else {
            continue;
        };
        let least = mixing::least_honest(here.case, ratio);
        if 0.0 < least {
            sum = sum.more(format!(
                "{}: a cup under {} g cannot be weighed honestly on a balance of {} g; a finer one, or syringes by the sheet's ratio by volume, make less (common practice)",
                offer.name,
                short(least.ceil()),
                short(shop.balance_g)
            ));
        }
    }
    sum
}
