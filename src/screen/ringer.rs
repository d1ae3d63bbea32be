//! The bell of this terminal and the herald to the desktop, struck by what rings.

use std::io::{Write, stdout};

use chrono::{DateTime, FixedOffset};

use crate::alarm::{Herald, Notice, Quiet, Ring, Rung, bell, due, next_look};
use crate::standing::ClockView;

use super::events::Bell;

/// Rings on the terminal and on the desktop, and remembers what was told and when.
#[derive(Debug)]
pub struct Ringer {
    rung: Rung,
    herald: Herald,
    crying: bool,
    strikes: Strikes,
    told: Vec<Ring>,
}

/// Where the bell is struck.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Strikes {
    /// On the terminal of standard output.
    Terminal,
    /// Nowhere: standard output is a file or another program.
    Nowhere,
}

impl Ringer {
    /// Returns a ringer for a clock that runs so many times as fast as the wall.
    pub fn at_pace(factor: u32) -> Self {
        Self {
            rung: Rung::at_pace(factor),
            herald: Herald::start(|_reach| {}),
            crying: false,
            strikes: Strikes::Terminal,
            told: Vec::new(),
        }
    }

    /// Returns the same ringer with its bell struck somewhere else.
    #[must_use]
    pub fn striking(mut self, strikes: Strikes) -> Self {
        self.strikes = strikes;
        self
    }

    /// Returns what was told at the last look; empty when nothing was due.
    pub fn told(&self) -> &[Ring] {
        &self.told
    }

    /// Waits until the desktop has what rings, for a program that ends right after.
    pub fn settle(&self) {
        self.herald.settle();
    }

    fn cry(&mut self, rings: &[Ring], now: DateTime<FixedOffset>) {
        if let Some(notice) = Notice::of(rings, now) {
            self.herald.cry(notice);
            self.crying = true;
        }
        if self.strikes == Strikes::Nowhere {
            return;
        }
        let strokes = bell(rings).map_or(0, |bell| usize::from(bell.strokes));
        let mut terminal = stdout().lock();
        // A terminal that cannot be written to is met by the drawing, which says so.
        let struck = terminal.write_all("\u{7}".repeat(strokes).as_bytes());
        drop(struck.and_then(|()| terminal.flush()));
    }
}

impl Bell for Ringer {
    fn hear(
        &mut self,
        clocks: &[ClockView],
        quiet: Quiet,
        now: DateTime<FixedOffset>,
    ) -> Option<DateTime<FixedOffset>> {
        let rings = due(clocks, quiet, now, &self.rung);
        if !rings.is_empty() {
            self.cry(&rings, now);
        } else if self.crying && clocks.iter().all(|view| view.ringing.is_none()) {
            self.herald.hush();
            self.crying = false;
        }
        self.rung.keep(clocks, &rings, now);
        self.told = rings;
        next_look(clocks, quiet, now, &self.rung)
    }

    fn warning(&self) -> Option<&'static str> {
        self.herald.reach().warning()
    }
}
