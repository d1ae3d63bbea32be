//! Taking down at the step in front: readings, choices, lots, what is read anew, and what is
//! left out with a word why. Start reading at `decide_step`.

use super::decide::{air, said};
use super::decide_step::{Decided, Desk};
use super::front::Front;
use super::lone::{ALONE, WITHIN_CALL};
use super::prompt::{Ask, OpensBy, Verdict};
use super::{Book, Refusal, Written, mixing};
use crate::card::Measure;
use crate::deed::{Deed, DeviationKind, Recorded, Reread, Value};

impl Desk<'_> {
    pub(super) fn enter(&self, value: &Value, again: bool) -> Decided {
        match (&self.ask, value) {
            (
                Ask::Gate(Verdict {
                    opens_by: OpensBy::Surface,
                    ..
                }),
                Value::Number(surface),
            ) => {
                let measure = Measure::SurfaceTemperature;
                let again = in_range(
                    *surface,
                    measure.plausible(),
                    measure.ask_again(),
                    (measure, again),
                )?;
                Ok(self.recorded("surface", (None, Some(measure)), value, again))
            }
            (
                Ask::Reading {
                    record,
                    measure,
                    station,
                    plausible,
                    usual,
                    ..
                },
                Value::Number(number),
            ) => {
                self.warm_first((*measure, *number))?;
                let again = in_range(*number, *plausible, *usual, (*measure, again))?;
                let mut written =
                    self.recorded(record, (station.clone(), Some(*measure)), value, again);
                written.extend(self.air_of_room(*measure, *number)?);
                Ok(written)
            }
            (
                Ask::Choice {
                    record, options, ..
                },
                Value::Text(word),
            ) if options.contains(word) => Ok(self.chosen(record, word)),
            (
                Ask::Lot {
                    record, options, ..
                },
                Value::Text(lot),
            ) => {
                let choice = options
                    .iter()
                    .find(|choice| choice.lot == *lot)
                    .ok_or_else(|| {
                        Refusal::new(format!("no lot `{lot}` is on the shelf for this"))
                    })?;
                match &choice.warning {
                    Some(warning) if !again => Err(Refusal {
                        ask_again: true,
                        ..Refusal::new(format!("lot {lot} is {warning}: take it all the same?"))
                    }),
                    warning => {
                        let station = (!choice.part.is_empty()).then(|| choice.part.clone());
                        Ok(self.recorded(record, (station, None), value, warning.is_some()))
                    }
                }
            }
            (Ask::Photo { record, .. } | Ask::Words { record, .. }, Value::Text(text)) => {
                said(text, "nothing was written")?;
                Ok(self.recorded(record, (None, None), value, false))
            }
            _ => Err(self.not_asked()),
        }
    }

    /// Takes a word down; that nobody is within call is a deviation which the supervisor sees.
    fn chosen(&self, record: &str, word: &str) -> Vec<Written> {
        let value = Value::Text(word.to_owned());
        let mut written = self.recorded(record, (None, None), &value, false);
        if record == WITHIN_CALL && word == ALONE {
            let what = format!("{}: nobody within call", self.front.list.title);
            written.extend(self.deviated(DeviationKind::Other, what));
        }
        written
    }

    fn recorded(
        &self,
        record: &str,
        (station, measure): (Option<String>, Option<Measure>),
        value: &Value,
        asked_again: bool,
    ) -> Vec<Written> {
        self.write(Deed::Recorded(Recorded {
            work: self.work(),
            step: self.step_id(),
            record: record.to_owned(),
            station,
            measure,
            value: value.clone(),
            asked_again,
        }))
    }

    /// Temperature and humidity read at one step are a reading of the room's air.
    fn air_of_room(&self, measure: Measure, number: f64) -> Result<Vec<Written>, Refusal> {
        let other = match measure {
            Measure::AirTemperature => Measure::Humidity,
            Measure::Humidity => Measure::AirTemperature,
            _ => return Ok(Vec::new()),
        };
        let ids: Vec<&str> = self
            .step()
            .into_iter()
            .flat_map(|step| &step.record)
            .filter(|record| record.measure == Some(other))
            .map(|record| record.id.as_str())
            .collect();
        let kept = self.act().and_then(|act| {
            act.records
                .iter()
                .rev()
                .find(|kept| ids.contains(&kept.record.as_str()))
        });
        let Some(Value::Number(kept)) = kept.map(|kept| &kept.value) else {
            return Ok(Vec::new());
        };
        let (temp_c, humidity) = if measure == Measure::AirTemperature {
            (number, *kept)
        } else {
            (*kept, number)
        };
        let room = self.front.case.house.room_of(self.front.case.figure);
        let deed = Deed::Air(air(room, temp_c, humidity, "bench")?);
        Ok(vec![Written {
            book: Book::Shop,
            deed,
        }])
    }

    pub(super) fn read_again(&self) -> Decided {
        let is_read = |step: &str| {
            let act = self.front.job.act(step);
            act.is_some_and(|act| !act.records.is_empty())
        };
        let step = self.front.flat().map_or("", |flat| flat.step.id.as_str());
        let found = if is_read(step) {
            Some(step)
        } else {
            read_before(&self.front).rfind(|step| is_read(step))
        };
        let Some(step) = found else {
            return Err(Refusal::new("nothing was read in this work yet"));
        };
        Ok(self.write(Deed::Reread(Reread {
            work: self.work(),
            step: step.to_owned(),
        })))
    }

    /// Takes down that something was not taken down. Where it was not optional, that is a
    /// deviation which the supervisor sees.
    pub(super) fn leave(&self, why: &str) -> Decided {
        said(why, "say why: not done, or not known")?;
        let (record, station) = match &self.ask {
            Ask::Reading {
                record, station, ..
            } => (record, station.clone()),
            Ask::Choice { record, .. } | Ask::Photo { record, .. } | Ask::Words { record, .. } => {
                (record, None)
            }
            Ask::Lot { record, .. } => (record, None),
            _ => return Err(self.not_asked()),
        };
        let value = Value::Text(format!("not taken: {why}"));
        let mut written = self.recorded(record, (station, None), &value, false);
        let optional = self.step().is_some_and(|step| {
            step.record
                .iter()
                .any(|known| known.id == *record && known.optional)
        });
        if !optional {
            written.extend(
                self.deviated(DeviationKind::Reading, format!("{record} not taken: {why}")),
            );
        }
        Ok(written)
    }
}

/// Returns whether the value had to be confirmed.
pub(super) fn in_range(
    value: f64,
    plausible: [f64; 2],
    usual: [f64; 2],
    (measure, again): (Measure, bool),
) -> Result<bool, Refusal> {
    let inside = |[low, high]: [f64; 2]| low <= value && value <= high;
    let unit = measure.unit();
    if !inside(plausible) {
        let [low, high] = plausible;
        return Err(Refusal::new(format!(
            "{value} {unit} cannot be: {low} to {high} {unit}"
        )));
    }
    if inside(usual) {
        return Ok(false);
    }
    if again {
        return Ok(true);
    }
    let [low, high] = usual;
    Err(Refusal {
        ask_again: true,
        ..Refusal::new(format!(
            "{value} {unit} is unusual ({low} to {high} {unit}): look again"
        ))
    })
}

impl Desk<'_> {
    /// A resin that no batch will be given with is not taken down as brought to its warmth: it
    /// is warmed, or cooled, and read again.
    fn warm_first(&self, (measure, read): (Measure, f64)) -> Result<(), Refusal> {
        let front = &self.front;
        let allowed = mixing::sheets_range(front.case, front.job, front.list);
        match allowed {
            Some([low, high])
                if measure == Measure::ResinTemperature && !(low..=high).contains(&read) =>
            {
                let why = format!("{read} °C: its sheet gives no batch outside {low} to {high} °C");
                Err(Refusal::new(why).remedy("bring the resin there, then read it"))
            }
            _ => Ok(()),
        }
    }
}

/// Returns the steps before the one in front that do nothing but look and read, and may
/// be taken anew when what was read there shuts a gate here.
fn read_before<'a>(front: &'a Front<'_>) -> impl DoubleEndedIterator<Item = &'a str> {
    let before = front.steps.get(..front.at.unwrap_or_default());
    let before = before.unwrap_or_default().iter().map(|flat| &flat.step);
    let only_reads = before.filter(|step| {
        let acts = step.mix.is_some() || step.coats.is_some() || step.hold.is_some();
        !acts && step.starts.is_empty() && step.ends.is_empty() && step.branches.is_empty()
    });
    only_reads.map(|step| step.id.as_str())
}
