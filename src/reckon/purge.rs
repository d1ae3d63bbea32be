//! How long a room takes to clear, and what vapour it holds while something gives it off.

use super::estimate::Estimate;
use super::limits::{Limits, SumTrouble};
use super::quantity::{CubicMetres, CubicMetresPerMinute, Minutes};

/// Room volumes: our own choice, from a booth to a hall.
pub const ROOM: Limits = Limits {
    quantity: "room volume",
    low: 0.1,
    high: 1.0e6,
    unit: "m³",
    reason: "no workshop is smaller or larger",
};

/// Airflows: our own choice.
pub const AIRFLOW: Limits = Limits {
    quantity: "airflow",
    low: 1.0e-4,
    high: 1.0e6,
    unit: "m³/min",
    reason: "still air never clears, and no fan moves more",
};

/// Air changes: our own choice around the published table, which runs from 1 to 50.
pub const CHANGES: Limits = Limits {
    quantity: "air changes",
    low: 0.01,
    high: 1000.0,
    unit: "per hour",
    reason: "still air never clears",
};

/// Shares of vapour left for which a purge is asked: our own choice.
pub const LEFT: Limits = Limits {
    quantity: "share left",
    low: 1.0e-9,
    high: 0.999_999,
    unit: "of the vapour",
    reason: "give what may be left, such as 1% or 0.01",
};

/// Mixing factors: 1 is perfect mixing, 10 is poor (ACGIH form of the dilution formula, *quoted*).
pub const MIXING: Limits = Limits {
    quantity: "mixing factor",
    low: 1.0,
    high: 10.0,
    unit: "(no unit)",
    reason: "1 is perfect mixing, 10 is poor",
};

/// The mixing factor of a purge when nobody gives one, no unit. *Common practice*: three times the
/// table, because a workshop has dead corners.
pub const USUAL_MIXING: f64 = 3.0;

/// How often the air of a room is renewed, per hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirChanges(f64);

impl AirChanges {
    /// Returns this many air changes per hour.
    ///
    /// # Errors
    /// [`SumTrouble::Outside`] for still air and above 1,000.
    pub fn per_hour(changes: f64) -> Result<Self, SumTrouble> {
        CHANGES.hold(changes).map(Self)
    }

    /// Returns the air changes of a room with this airflow.
    ///
    /// # Errors
    /// [`SumTrouble::Outside`] for a room or an airflow beyond any workshop.
    pub fn of_room(room: CubicMetres, airflow: CubicMetresPerMinute) -> Result<Self, SumTrouble> {
        let changes = AIRFLOW.hold(airflow.0)? * 60.0 / ROOM.hold(room.0)?;
        Self::per_hour(changes)
    }

    /// Returns the bare number per hour.
    pub fn value(self) -> f64 {
        self.0
    }
}

/// Returns how long until only this share of the vapour is left.
///
/// t = −ln(share) · 60/N · K. Early is perfect mixing (K = 1), likely and late carry the mixing
/// factor; nobody takes a mask off on an early bound.
///
/// Holds only once the source is removed or covered (a wet stripped zone is a source) and while
/// clean air comes in. Safe side: `wait_until()` with K = 3 or more. It is an estimate for planning;
/// only a measurement shows what is in the air, and the safety data sheet and local codes win.
///
/// Source: Centers for Disease Control, Guidelines for Environmental Infection Control (2003),
/// Appendix B, Table B.1, at K = 1: 12 changes per hour clear 99 % in 23 minutes.
///
/// ```
/// use knuckle::reckon::purge::{AirChanges, purge};
/// let twelve = AirChanges::per_hour(12.0).unwrap();
/// let it = purge(twelve, 0.01, 1.0).unwrap();
/// assert_eq!(it.wait_until().value().round(), 23.0);
/// ```
///
/// # Errors
/// [`SumTrouble::Outside`] for a share outside 0–1 or a mixing factor outside 1–10.
pub fn purge(
    changes: AirChanges,
    share_left: f64,
    mixing: f64,
) -> Result<Estimate<Minutes>, SumTrouble> {
    let share = LEFT.hold(share_left)?;
    let factor = MIXING.hold(mixing)?;
    let perfect = -share.ln() * 60.0 / changes.0;
    let slow = Minutes(perfect * factor);
    let because = format!(
        "{:.1} air changes per hour, mixing factor {factor}; {perfect:.0} min if mixed perfectly",
        changes.0
    );
    Ok(Estimate::new(Minutes(perfect), slow, slow, because))
}

/// A room in which something gives off vapour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vapour {
    /// Concentration at the beginning, mg/m³.
    pub begin_mg_per_m3: f64,
    /// What is given off, g/h; nought once the source is gone.
    pub given_off_g_per_h: f64,
}

/// Returns the concentration after a time, in mg/m³.
///
/// V dC/dt = G − (Q/K) C, so C(t) = Cₛ + (C₀ − Cₛ) e^(−N t/K) with Cₛ = G K/Q.
///
/// Holds for one well-stirred room and clean supply air. Safe side: K of 3 or more; a corner may be
/// far above the mean.
///
/// Source: ACGIH, Industrial Ventilation, general ventilation (*quoted*); its example, *from memory*:
/// 100 ppm in 100,000 ft³ fall to 25 ppm under 2,000 ft³/min in 69.3 minutes.
///
/// ```
/// use knuckle::reckon::{CubicMetres, Minutes};
/// use knuckle::reckon::purge::{AirChanges, Vapour, concentration};
/// let room = CubicMetres(2831.7);
/// let changes = AirChanges::per_hour(1.2).unwrap();
/// let vapour = Vapour { begin_mg_per_m3: 100.0, given_off_g_per_h: 0.0 };
/// let it = concentration(vapour, (room, changes), 1.0, Minutes(69.3)).unwrap();
/// assert!((it - 25.0).abs() < 0.05);
/// ```
///
/// # Errors
/// [`SumTrouble::Outside`] for the room, the mixing factor, or a negative amount or time.
pub fn concentration(
    vapour: Vapour,
    room: (CubicMetres, AirChanges),
    mixing: f64,
    after: Minutes,
) -> Result<f64, SumTrouble> {
    let begin = AMOUNT.hold(vapour.begin_mg_per_m3)?;
    let steady = steady_concentration(vapour.given_off_g_per_h, room, mixing)?;
    let rate = room.1.0 / mixing / 60.0;
    Ok(steady + (begin - steady) * (-rate * AFTER.hold(after.0)?).exp())
}

/// Returns where the concentration settles while the source goes on, in mg/m³: G K/Q.
///
/// Limits, safe side and source as [`concentration`].
///
/// # Errors
/// As [`concentration`].
pub fn steady_concentration(
    given_off_g_per_h: f64,
    room: (CubicMetres, AirChanges),
    mixing: f64,
) -> Result<f64, SumTrouble> {
    let airflow_m3_per_h = ROOM.hold(room.0.0)? * room.1.0;
    Ok(AMOUNT.hold(given_off_g_per_h)? * 1000.0 * MIXING.hold(mixing)? / airflow_m3_per_h)
}

/// Amounts of vapour: our own choice, never negative.
const AMOUNT: Limits = Limits {
    quantity: "amount of vapour",
    low: 0.0,
    high: 1.0e9,
    unit: "mg/m³ or g/h",
    reason: "there is no less than none",
};

/// Times after the beginning: our own choice, never negative.
const AFTER: Limits = Limits {
    quantity: "time",
    low: 0.0,
    high: 1.0e9,
    unit: "min",
    reason: "the sum looks ahead only",
};
