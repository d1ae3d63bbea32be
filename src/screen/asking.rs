//! What is asked of the terminal before its keys are read: whether it takes pictures.
//!
//! First the one question that every terminal answers, its Primary Device Attributes (`CSI c`;
//! DEC, VT330/VT340 Programmer Reference Manual, volume 1, chapter 4; attribute 4 is sixel
//! graphics). Only one that answers is asked for more, with the same question behind it, so
//! that the end of the answers is known. Nothing waits for long, and nothing that was typed
//! meanwhile is lost.

use std::io::{self, ErrorKind, Read, Write};
use std::sync::mpsc::channel;
use std::time::Duration;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use super::easel::{Tongue, cell_pixels};
use super::graphics::MOST_COLOURS;

/// One look for an answer, at most.
const LOOK: Duration = Duration::from_millis(5);

/// Looks for the first answer: a fifth of a second. Chosen here: a terminal on this machine
/// answers within one look, and who waits at a bench does not notice the rest.
const FIRST_LOOKS: u32 = 40;

/// Looks for what a terminal answers that has answered before: a second.
const MORE_LOOKS: u32 = 200;

/// The device attributes, asked.
const ATTRIBUTES: &[u8] = b"\x1b[c";

/// The graphics protocol asked for with a picture of one pixel that is not kept; how many
/// registers of colour sixels have (`CSI ? 1 ; 1 ; 0 S`); and the attributes again.
const MORE: &[u8] = b"\x1b_Gi=31,s=1,v=1,a=q,t=d,f=24;AAAA\x1b\\\x1b[?1;1;0S\x1b[c";

/// What came of asking.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Answer {
    /// How the terminal takes pictures, if at all.
    pub(super) tongue: Option<Tongue>,
    /// What was typed meanwhile.
    pub(super) typed: Vec<KeyEvent>,
}

/// Asks the terminal, whose input is raw already. One that does not say how large its cells
/// are is not asked: no picture could be fitted into them.
pub(super) fn ask_terminal(out: impl Write) -> Answer {
    let line = cell_pixels().and_then(|_| own_line());
    line.map(|line| ask(out, line)).unwrap_or_default()
}

/// Returns the terminal's input, opened once more so that it never makes anybody wait.
fn own_line() -> Option<impl Read> {
    #[cfg(any(target_os = "linux", target_os = "macos"))]
    {
        use std::os::unix::fs::OpenOptionsExt;
        // `O_NONBLOCK` of these systems, from their headers (asm-generic/fcntl.h, fcntl.h).
        let at_once = if cfg!(target_os = "macos") {
            0x4
        } else {
            0o4000
        };
        #[expect(
            clippy::disallowed_methods,
            reason = "the terminal itself, read before its events are; no file of a shop"
        )]
        std::fs::OpenOptions::new()
            .read(true)
            .custom_flags(at_once)
            .open("/dev/tty")
            .ok()
    }
    #[cfg(not(any(target_os = "linux", target_os = "macos")))]
    {
        None::<io::Empty>
    }
}

fn ask(mut out: impl Write, mut line: impl Read) -> Answer {
    let mut bytes = Vec::new();
    let mut heard = Heard::default();
    for (question, looks, answers) in [(ATTRIBUTES, FIRST_LOOKS, 1), (MORE, MORE_LOOKS, 2)] {
        let asked = out.write_all(question).and_then(|()| out.flush());
        if asked.is_err() {
            break;
        }
        let mut left = looks;
        while heard.attributes < answers && 0 < left {
            match take(&mut line, &mut bytes) {
                Ok(true) => heard = listen(&bytes),
                Ok(false) => {
                    left -= 1;
                    wait_a_look();
                }
                Err(_) => left = 0,
            }
        }
        if heard.attributes < answers {
            break;
        }
    }
    Answer {
        tongue: heard.tongue(),
        typed: keys(&heard.typed),
    }
}

/// Takes what has come; says whether anything has.
fn take(line: &mut impl Read, bytes: &mut Vec<u8>) -> io::Result<bool> {
    let mut piece = [0; 256];
    match line.read(&mut piece) {
        Ok(0) => Ok(false),
        Ok(read) => {
            bytes.extend(piece.iter().take(read));
            Ok(true)
        }
        Err(why) if matches!(why.kind(), ErrorKind::WouldBlock | ErrorKind::Interrupted) => {
            Ok(false)
        }
        Err(why) => Err(why),
    }
}

fn wait_a_look() {
    let (_held, nothing) = channel::<()>();
    // Nothing is ever sent: this only lets the time pass.
    let _passed = nothing.recv_timeout(LOOK);
}

/// What a terminal has answered, and what is no answer.
#[derive(Debug, Default, PartialEq)]
struct Heard {
    /// How often it told its attributes.
    attributes: u32,
    sixel: bool,
    graphics: bool,
    registers: Option<usize>,
    typed: Vec<u8>,
}

impl Heard {
    /// The graphics protocol shows every colour, so it comes before sixels.
    fn tongue(&self) -> Option<Tongue> {
        // What says nothing of its registers has what is usual today.
        let colours = self.registers.unwrap_or(MOST_COLOURS);
        let sixel = (self.sixel && 2 <= colours).then_some(Tongue::Sixel { colours });
        if self.graphics {
            Some(Tongue::Apc)
        } else {
            sixel
        }
    }
}

/// Tells answers from keys. An answer that is not whole is neither.
fn listen(bytes: &[u8]) -> Heard {
    let mut heard = Heard::default();
    let mut rest = bytes;
    while let Some((first, behind)) = rest.split_first() {
        let answer = rest
            .strip_prefix(b"\x1b[?")
            .map(|tail| (tail, end_of_control(tail)))
            .or_else(|| {
                let tail = rest.strip_prefix(b"\x1b_G")?;
                Some((tail, end_of_string(tail)))
            });
        match answer {
            None => {
                heard.typed.push(*first);
                rest = behind;
            }
            Some((_, None)) => break,
            Some((tail, Some(end))) => {
                let (words, behind) = tail.split_at(end.min(tail.len()));
                heard.take(words);
                rest = behind;
            }
        }
    }
    heard
}

/// Where a control sequence ends: behind its final byte (ECMA-48, 5.4).
fn end_of_control(tail: &[u8]) -> Option<usize> {
    let last = tail.iter().position(|byte| (0x40..=0x7e).contains(byte));
    last.map(|last| last + 1)
}

/// Where a control string ends: behind its terminator (ECMA-48, 5.6).
fn end_of_string(tail: &[u8]) -> Option<usize> {
    let last = tail.windows(2).position(|two| two == b"\x1b\\");
    last.map(|last| last + 2)
}

impl Heard {
    fn take(&mut self, words: &[u8]) {
        let text = String::from_utf8_lossy(words);
        let numbers = || text.trim_end_matches(|sign: char| !sign.is_ascii_digit());
        let numbers = || numbers().split(';').map(|word| word.parse::<usize>().ok());
        match words.last() {
            Some(b'c') => {
                self.attributes += 1;
                // The first number is the sort of terminal.
                self.sixel |= numbers().skip(1).any(|number| number == Some(4));
            }
            Some(b'S') => {
                let numbers: Vec<Option<usize>> = numbers().collect();
                if let [Some(1), Some(0), Some(registers)] = numbers.as_slice() {
                    self.registers = Some(*registers);
                }
            }
            Some(b'\\') => self.graphics |= text.contains("i=31") && text.contains(";OK"),
            _ => {}
        }
    }
}

/// Typed bytes as keys: what one hand types within a second. A touch or a key of several bytes
/// that is no arrow is let go.
fn keys(typed: &[u8]) -> Vec<KeyEvent> {
    let text = String::from_utf8_lossy(typed);
    let mut keys = Vec::new();
    let mut signs = text.chars().peekable();
    while let Some(sign) = signs.next() {
        let code = match sign {
            '\r' => KeyCode::Enter,
            '\t' => KeyCode::Tab,
            '\u{7f}' => KeyCode::Backspace,
            '\u{1b}' if signs.next_if(|next| ['[', 'O'].contains(next)).is_some() => {
                let last = signs.find(|next| ('\u{40}'..='\u{7e}').contains(next));
                match last {
                    Some('A') => KeyCode::Up,
                    Some('B') => KeyCode::Down,
                    Some('C') => KeyCode::Right,
                    Some('D') => KeyCode::Left,
                    _ => continue,
                }
            }
            '\u{1b}' => KeyCode::Esc,
            '\u{1}'..='\u{1a}' => {
                let letter = char::from_u32(u32::from(sign) + 0x60).unwrap_or_default();
                keys.push(KeyEvent::new(KeyCode::Char(letter), KeyModifiers::CONTROL));
                continue;
            }
            sign if sign.is_control() => continue,
            sign => KeyCode::Char(sign),
        };
        let shift = matches!(code, KeyCode::Char(sign) if sign.is_uppercase());
        let held = if shift {
            KeyModifiers::SHIFT
        } else {
            KeyModifiers::NONE
        };
        keys.push(KeyEvent::new(code, held));
    }
    keys
}

#[cfg(test)]
mod tests {
    use std::collections::VecDeque;
    use std::io::{self, ErrorKind, Read, Write};
    use std::sync::{Arc, Mutex};

    use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

    use super::super::easel::Tongue;
    use super::{ATTRIBUTES, Answer, MORE, ask};

    /// A terminal that answers each question with the next of its answers, in pieces.
    #[derive(Clone, Default)]
    struct Played(Arc<Mutex<Line>>);

    #[derive(Default)]
    struct Line {
        asked: Vec<u8>,
        answers: VecDeque<Vec<u8>>,
        waiting: VecDeque<u8>,
    }

    impl Write for Played {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            let mut played = self.0.lock().unwrap();
            played.asked.extend(bytes);
            let answer = played.answers.pop_front().unwrap_or_default();
            played.waiting.extend(answer);
            Ok(bytes.len())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    impl Read for Played {
        /// Three bytes at a time, so that every answer comes torn.
        fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
            let waiting = &mut self.0.lock().unwrap().waiting;
            let many = waiting.len().min(3);
            if many == 0 {
                return Err(ErrorKind::WouldBlock.into());
            }
            for (place, byte) in into.iter_mut().zip(waiting.drain(..many)) {
                *place = byte;
            }
            Ok(many)
        }
    }

    fn asked(answers: &[&[&'static [u8]]]) -> (Answer, Vec<u8>) {
        let played = Played::default();
        played.0.lock().unwrap().answers = answers.iter().map(|answer| answer.concat()).collect();
        let answer = ask(played.clone(), played.clone());
        let questions = played.0.lock().unwrap().asked.clone();
        (answer, questions)
    }

    fn typed(signs: &str) -> Vec<KeyEvent> {
        let key = |sign| KeyEvent::new(KeyCode::Char(sign), KeyModifiers::NONE);
        signs.chars().map(key).collect()
    }

    #[test]
    fn a_terminal_is_taken_by_its_word_and_nothing_typed_is_lost() {
        let both = [ATTRIBUTES, MORE].concat();
        let sixel = |colours| Some(Tongue::Sixel { colours });
        for (answers, tongue, keys, questions) in [
            // Sixels, with and without a word on registers.
            (
                &[&[&b"\x1b[?62;4;22c"[..]][..], &[b"\x1b[?62;4;22c"]][..],
                sixel(256),
                "",
                &both,
            ),
            (
                &[&[b"\x1b[?63;1;4c"], &[b"\x1b[?1;0;16S", b"\x1b[?63;1;4c"]],
                sixel(16),
                "",
                &both,
            ),
            (&[&[b"\x1b[?4c"], &[b"\x1b[?4c"]], None, "", &both),
            (
                &[&[b"\x1b[?62;4c"], &[b"\x1b[?1;3;0S\x1b[?62;4c"]],
                sixel(256),
                "",
                &both,
            ),
            // The graphics protocol, before sixels; an error is no yes.
            (
                &[&[b"\x1b[?62;4c"], &[b"\x1b_Gi=31;OK\x1b\\", b"\x1b[?62;4c"]],
                Some(Tongue::Apc),
                "",
                &both,
            ),
            (
                &[
                    &[b"\x1b[?62c"],
                    &[b"\x1b_Gi=31;ENOTSUPPORTED\x1b\\", b"\x1b[?62c"],
                ],
                None,
                "",
                &both,
            ),
            // Keys before, between and behind the answers.
            (
                &[&[b"f\x1b[?62;4c2"], &[b"c", b"\x1b[?62;4c", b"?"]],
                sixel(256),
                "f2c",
                &both,
            ),
            // Nobody answers, or not to the end.
            (&[&[]], None, "", &ATTRIBUTES.to_vec()),
            (&[&[b"xy"]], None, "xy", &ATTRIBUTES.to_vec()),
            (&[&[b"\x1b[?62;4c"], &[b"\x1b_Gi=3"]], sixel(256), "", &both),
        ] {
            let (answer, asked) = asked(answers);
            assert_eq!(answer.tongue, tongue, "{answers:?}");
            let heard: Vec<KeyEvent> = answer.typed;
            assert!(heard.starts_with(&typed(keys)), "{answers:?}: {heard:?}");
            assert_eq!(&asked, questions, "{answers:?}");
        }
    }

    #[test]
    fn keys_of_one_byte_and_arrows_are_known_and_nothing_else_becomes_a_key() {
        let known =
            super::keys("aÄ\r\t\u{7f}\u{1b}[A\u{1b}[1;5C\u{3}\u{1b}[<0;3;4M\u{0}\u{1b}".as_bytes());
        let plain = |code| KeyEvent::new(code, KeyModifiers::NONE);
        let wanted = [
            plain(KeyCode::Char('a')),
            KeyEvent::new(KeyCode::Char('Ä'), KeyModifiers::SHIFT),
            plain(KeyCode::Enter),
            plain(KeyCode::Tab),
            plain(KeyCode::Backspace),
            plain(KeyCode::Up),
            plain(KeyCode::Right),
            KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL),
            plain(KeyCode::Esc),
        ];
        assert_eq!(known, wanted);
    }
}
