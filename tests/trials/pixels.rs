//! Photographs in the terminal's own pixels: the real program in terminals that take sixels,
//! that take the graphics protocol, that never answer, and that were asked to show no colour.

use portable_pty::PtySize;

use crate::window::{Shop, Window, answer_alarms};

const MORNING: &str = "2026-11-25T08:10:00+00:00";

/// 120 × 40 cells of 10 × 20 pixels.
const SIZE: PtySize = PtySize {
    rows: 40,
    cols: 120,
    pixel_width: 1200,
    pixel_height: 800,
};

/// Takes sixels in 64 colours, and says so when it is asked; its registers come first.
const SIXEL: &[&str] = &["\x1b[?62;4;22c", "\x1b[?1;0;64S\x1b[?62;4;22c"];

/// Takes the graphics protocol.
const APC: &[&str] = &["\x1b[?62;22c", "\x1b_Gi=31;OK\x1b\\\x1b[?62;22c"];

/// Where a photograph ends and the terminal may show it.
const HUNG: &str = "\x1b\\\x1b[?2026l";

fn bench(shop: &Shop) -> portable_pty::CommandBuilder {
    let args = ["--as", "ines", "--clock", MORNING, "bench", "hare"];
    Window::command(&shop.folder, &args)
}

/// Opens the leaf of photographs of the whole hare.
fn photographs(shop: &Shop, window: &mut Window) {
    answer_alarms(shop, window);
    window.press("i");
    window.wait_for_text("photographs");
    window.press("vvv");
    window.wait_for_text("hare-near-side");
}

/// Waits until so many pieces were written that begin with a text; the last comes back, from
/// there on.
fn written(window: &Window, begin: &str, many: usize) -> String {
    window.wait_for(&format!("{many} of {begin:?}"), |_| {
        many <= window.written().matches(begin).count()
    });
    let all = window.written();
    let last = all.rsplit(begin).next().unwrap_or_default();
    format!("{begin}{last}")
}

/// The numbers of a piece after one of its signs.
fn numbers<const MANY: usize>(piece: &str, split: char) -> [usize; MANY] {
    let numbers: Vec<usize> = piece
        .split(split)
        .take(MANY)
        .map(|word| {
            let digits: String = word.chars().take_while(char::is_ascii_digit).collect();
            digits.parse().unwrap()
        })
        .collect();
    numbers.try_into().unwrap()
}

/// The row and column to which the cursor was sent last before a text, from 0.
fn place(all: &str, before: &str) -> [u16; 2] {
    let (head, _) = all.rsplit_once(before).unwrap();
    let head = head.strip_suffix('H').expect("the cursor is sent there");
    let [row, column] = numbers(head.rsplit("\x1b[").next().unwrap(), ';');
    [row, column].map(|it| u16::try_from(it).unwrap() - 1)
}

/// The photograph of the whole hare, 144 × 100 pixels, lies under its caption, a whole number
/// of times as large, on cells that hold nothing.
#[track_caller]
fn lies_on_blank_cells(window: &Window, at: [u16; 2], [width, height]: [usize; 2]) {
    let times = width / 144;
    assert!(2 <= times, "{width} × {height} is not as large as it fits");
    assert_eq!([width, height], [144 * times, 100 * times]);
    let cells = |pixels: usize, of: usize| u16::try_from(pixels.div_ceil(of)).unwrap();
    let many = [cells(height, 20), cells(width, 10)];
    let caption = window.part([at[0] - 1, at[1]], [1, 9]);
    assert_eq!(caption, "near side", "{}", window.text());
    assert!(at[1] + many[1] < 60, "it stays in its half");
    let under = window.part(at, many);
    assert_eq!(under.trim(), "", "{}", window.text());
    let list = window.text();
    let list = list
        .lines()
        .position(|line| line.contains("hare-near-side"));
    let list = u16::try_from(list.expect("the list of files")).unwrap();
    assert!(at[0] + many[0] <= list, "it ends above the list");
}

#[test]
fn a_terminal_with_sixels_shows_a_photograph_in_its_place_and_takes_it_down() {
    let shop = Shop::new();
    let mut window = Window::answering(bench(&shop), SIZE, SIXEL);
    photographs(&shop, &mut window);
    let end = written(&window, HUNG, 1);
    assert_eq!(end, HUNG, "nothing is written behind it");
    let all = window.written();
    let piece = written(&window, "\x1bP0;1;0q\"1;1;", 1);
    let size = numbers(piece.strip_prefix("\x1bP0;1;0q\"1;1;").unwrap(), ';');
    lies_on_blank_cells(&window, place(&all, "\x1bP0;1;0q"), size);
    let (body, _) = piece.split_once("\x1b\\").expect("its end");
    let registers = body.split('#').filter_map(|it| it.split_once(";2;"));
    let most = registers.map(|(nth, _)| nth.parse::<u32>().unwrap()).max();
    assert!(
        most.unwrap() < 64,
        "no more colours than there are registers"
    );
    assert!(!window.text().contains('▀'), "no cells are painted");
    // Help lies over it: the page is wiped. Behind it the photograph is written once more.
    let wipes = all.matches("\x1b[2J").count();
    window.press("?");
    written(&window, "\x1b[2J", wipes + 1);
    window.wait_for_text("Nothing can be");
    assert_eq!(window.written().matches("\x1bP0;1;0q").count(), 1);
    window.press("?");
    written(&window, "\x1bP0;1;0q", 2);
    window.leave();
}

#[test]
fn a_terminal_with_the_graphics_protocol_shows_a_photograph_and_forgets_it_again() {
    let shop = Shop::new();
    let mut window = Window::answering(bench(&shop), SIZE, APC);
    photographs(&shop, &mut window);
    let begin = "\x1b_Ga=T,f=24,s=";
    written(&window, begin, 1);
    written(&window, HUNG, 1);
    let all = window.written();
    let piece = written(&window, begin, 1);
    let [width] = numbers(piece.strip_prefix(begin).unwrap(), ',');
    let [height] = numbers(piece.split("v=").nth(1).unwrap(), ',');
    lies_on_blank_cells(&window, place(&all, begin), [width, height]);
    assert!(piece.contains(",i=1,C=1,q=2,"), "{piece:.60}");
    let strings = piece.split_terminator("\x1b\\");
    let letters: usize = strings
        .filter_map(|string| string.split_once(';'))
        .map(|(_, letters)| letters.len())
        .sum();
    assert_eq!(letters, width * height * 4, "four letters for three bytes");
    // It goes before the page changes, and nothing is wiped for it.
    let wipes = all.matches("\x1b[2J").count();
    window.press("f");
    let gone = written(&window, "\x1b_Ga=d,d=I,i=1,q=2\x1b\\", 1);
    window.wait_for_text("woman with a lantern");
    assert!(!gone.contains(begin));
    assert_eq!(window.written().matches("\x1b[2J").count(), wipes);
    window.leave();
}

#[test]
fn a_terminal_that_never_answers_gets_cells_and_loses_no_key() {
    let shop = Shop::new();
    let mut window = Window::answering(bench(&shop), SIZE, &[]);
    photographs(&shop, &mut window);
    window.leave();
    // What rang is answered: from here on a key is nothing but a key.
    let before = shop.count();
    let mut window = Window::answering(bench(&shop), SIZE, &[]);
    // Typed while the terminal is still asked.
    window.press("f");
    window.wait_for_text("woman with a lantern");
    photographs(&shop, &mut window);
    window.wait_for("a photograph in cells", |page| page.contains('▀'));
    let all = window.written();
    assert_eq!(all.matches("\x1b[c").count(), 1, "it is asked once");
    assert!(!all.contains("\x1b_G") && !all.contains("\x1bP"));
    // An answer that comes late is no key.
    window.press("\x1b[?62;4;22c");
    window.press("f");
    window.wait_for_text("woman with a lantern");
    window.leave();
    assert_eq!(shop.count(), before, "nothing was done by it");
}

#[test]
fn who_wants_no_colour_or_says_no_size_is_asked_nothing() {
    let shop = Shop::new();
    let mut plain = bench(&shop);
    plain.env("NO_COLOR", "1");
    let mut dumb = bench(&shop);
    dumb.env("TERM", "dumb");
    let sizeless = PtySize {
        pixel_width: 0,
        pixel_height: 0,
        ..SIZE
    };
    for (command, size) in [(plain, SIZE), (dumb, SIZE), (bench(&shop), sizeless)] {
        let mut window = Window::answering(command, size, SIXEL);
        photographs(&shop, &mut window);
        let all = window.written();
        for question in ["\x1b[c", "\x1b_G", "\x1b[?1;1;0S", "\x1bP"] {
            assert!(!all.contains(question), "{question:?}");
        }
        window.leave();
    }
}
