//! What rings: which alarms are raised or repeated now, in which words, and how they reach
//! people who do not look at the screen.
//!
//! | what | mark | rings | again after |
//! |---|---|---|---|
//! | do before (cup, closing, gloves, cartridge) | 50 % | low `*` | 5 min |
//! | | 75 and 90 % | middle `**` | 60 s |
//! | | 100 %, the early bound | high `***` | 20 s |
//! | wait until (clamps, load, cure, purge, …) | the late bound has come | low `*` | 5 min |
//! | window (size, stripper, recoat) | opened | low `*` | 5 min |
//! | | 90 % of the window | middle `**` | 60 s |
//! | | closed; recoat | high `***`; middle `**` | 20 s; 60 s |
//! | a wait that cannot be reckoned | at once | middle `**` | 60 s |
//!
//! The pure part is [`due`] with its memory, the [`Rung`]: all that rings at a moment is told
//! at once, as one list. Nothing answers an alarm but a person; answering is an intent that is
//! journaled, not a matter of this room. In quiet work ([`Quiet`]) nothing sounds, and the
//! visible form pulses slowly. The [`Herald`] carries the list to the desktop on a thread of
//! its own and never holds up its caller. This room prints nothing: the screen writes the
//! [`Bell`].
//!
//! Three priorities, each with a text mark of its own, and an alarm that comes back until a
//! person answers it: ANSI/ISA-18.2 and IEC 60601-1-8, both *from memory*. The intervals are
//! own judgement. Start reading at [`due`].

mod bell;
mod desktop;
mod herald;
mod ring;
mod words;

pub use bell::{Bell, Pulse, bell, pulse};
pub use desktop::Desktop;
pub use herald::{Herald, NotPosted, Notice, Post, Reach};
pub use ring::{LATE_AFTER, Quiet, Ring, Rung, Turn, due, next_look, ringing};
pub use words::{Urgency, short, urgency, words};
