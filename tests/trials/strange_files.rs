//! Files of a shop that are not what their names say: links, pipes, folders, journals that an
//! editor spoilt. What is written never lands elsewhere, nothing waits for ever, and no book
//! begins anew over one that cannot be read.

use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::Command;

use knuckle::disk::{Disk, RealDisk, replace};
use knuckle::journal::{Damage, Looks, read_all};

use crate::kit::faulty::FaultyDisk;
use crate::kit::sealed::{Sealed, Told};

const JOURNAL: &str = "figures/hare/journal.jsonl";

fn jot(sealed: &Sealed) -> Told {
    sealed.run(&["jot", "hare", "x", "--as", "odile"])
}

fn lay(path: &Path, bytes: &[u8]) {
    replace(&RealDisk, path, bytes).unwrap();
}

/// Moves a file or folder of the shop out of it and lays a link in its place.
fn linked(sealed: &Sealed, name: &str) -> PathBuf {
    let away = sealed.home.path().join("elsewhere");
    let place = sealed.shop().join(name);
    RealDisk.rename(&place, &away).unwrap();
    symlink(&away, &place).unwrap();
    away
}

/// Lays a pipe in the place of a file. Nobody ever writes into it.
fn pipe(path: &Path) {
    drop(fs::remove_file(path));
    assert!(Command::new("mkfifo").arg(path).status().unwrap().success());
}

#[test]
fn a_journal_that_is_a_link_is_read_and_never_written_through() {
    let sealed = Sealed::at_work();
    let away = linked(&sealed, JOURNAL);
    let before = fs::read(&away).unwrap();
    let told = jot(&sealed);
    assert_eq!(
        (told.code, told.out.as_str(), told.err.as_str()),
        (
            3,
            "",
            "1 flaw on the cards of this shop: `knuckle check` tells them\n\
             cannot keep the last act: what stands there is a link to somewhere else, not a plain file\n \
             where: figures/hare/journal.jsonl, after line 10\n    \
             do: put the journal itself there, from a copy if need be, then try again; \
             nothing was lost and nothing is half written\n"
        )
    );
    assert_eq!(fs::read(&away).unwrap(), before);
    let told = sealed.run(&["audit"]);
    assert_eq!(told.code, 1);
    let link = "figures/hare/journal.jsonl: this is a link to somewhere else: nothing is written through it\n";
    assert!(told.out.starts_with(link), "{told:?}");
    let told = sealed.run(&["check"]);
    assert!(
        told.out
            .contains("figures/hare/journal.jsonl:1:1: this is a link"),
        "{told:?}"
    );
}

#[test]
fn a_link_that_leads_nowhere_does_not_make_a_journal_there() {
    let sealed = Sealed::new();
    let nowhere = sealed.home.path().join("nowhere");
    symlink(&nowhere, sealed.shop().join(JOURNAL)).unwrap();
    assert_eq!(jot(&sealed).code, 3);
    assert!(fs::symlink_metadata(&nowhere).is_err());
}

#[test]
fn nothing_is_written_into_a_figure_that_lies_elsewhere() {
    let sealed = Sealed::at_work();
    let away = linked(&sealed, "figures/hare");
    let before = fs::read(away.join("journal.jsonl")).unwrap();
    let told = jot(&sealed);
    assert_eq!(
        (told.code, told.err.as_str()),
        (
            3,
            "1 flaw on the cards of this shop: `knuckle check` tells them\n\
             cannot keep the last act: this folder is a link to somewhere else\n \
             where: figures/hare\n    \
             do: put the folder itself in the place of the link; nothing was written\n"
        )
    );
    assert_eq!(fs::read(away.join("journal.jsonl")).unwrap(), before);
    assert_eq!(sealed.run(&["check"]).code, 1);
    let told = sealed.run(&["audit"]);
    assert!(
        told.out.starts_with("figures/hare: this is a link"),
        "{told:?}"
    );
    assert_eq!(sealed.run(&["standing", "hare"]).code, 0);

    symlink(sealed.home.path(), sealed.shop().join("figures/otter")).unwrap();
    let told = sealed.run(&["take-in", "otter"]);
    assert_eq!((told.code, told.out.as_str()), (2, ""));
    let refused = "this folder is a link to somewhere else\n where: figures/otter\n    \
         do: put the folder itself in the place of the link; nothing was written\n";
    assert!(told.err.ends_with(refused), "{told:?}");
    assert!(!sealed.home.path().join("photos").exists());
}

/// A card behind a link is anybody's text: none of it is read, nothing of it is quoted, and the
/// figure stays with what runs on it.
#[test]
fn a_card_that_is_a_link_is_a_flaw_and_is_not_read() {
    for card in [
        "shop.yaml",
        "figures/hare/figure.yaml",
        "materials/quick-size.yaml",
        "checklists/own.yaml",
        "figures/hare/outline.yaml",
    ] {
        let sealed = Sealed::at_work();
        let secret = sealed.home.path().join("elsewhere.yaml");
        lay(
            &secret,
            b"name: a word that is nobody's\nkey: [opens the safe\n",
        );
        let place = sealed.shop().join(card);
        drop(RealDisk.remove(&place));
        drop(RealDisk.make_folder(place.parent().unwrap()));
        symlink(&secret, &place).unwrap();
        let told = sealed.run(&["check"]);
        let flaw = format!("{card}:1:1: this card is a link to somewhere else, and is not read");
        assert!(told.out.contains(&flaw), "{card}: {told:?}");
        assert_eq!(told.code, 1, "{card}");
        let all: [&[&str]; 3] = [&["check"], &["standing"], &["recall", "nobody's"]];
        for words in all {
            let told = sealed.run(words);
            for said in [&told.out, &told.err] {
                assert!(!said.contains("opens the safe"), "{card}: {told:?}");
                assert!(!said.contains("that is nobody"), "{card}: {told:?}");
            }
        }
        assert!(sealed.run(&["standing"]).out.contains("hare"), "{card}");
        let folder = sealed.home.path().join("kept");
        sealed.run(&["report", "hare", "--folder", folder.to_str().unwrap()]);
        let copied = fs::read_to_string(folder.join("cards/figure.yaml")).unwrap_or_default();
        assert!(!copied.contains("opens the safe"), "{card}");
    }
}

#[test]
fn a_folder_of_cards_that_is_a_link_is_a_flaw_and_none_of_it_is_read() {
    let sealed = Sealed::at_work();
    linked(&sealed, "materials");
    let told = sealed.run(&["check"]);
    let flaw = "materials:1:1: this folder of cards is a link to somewhere else, and is not read";
    assert!(told.out.contains(flaw), "{told:?}");
    assert_eq!(told.code, 1);
}

#[test]
fn a_whole_shop_behind_a_link_is_a_shop() {
    let sealed = Sealed::at_work();
    let door = sealed.home.path().join("door");
    symlink(sealed.shop(), &door).unwrap();
    let told = sealed.run_in(&door, &["jot", "hare", "x", "--as", "odile"]);
    assert_eq!((told.code, told.err.as_str()), (0, ""));
}

#[test]
fn a_pipe_or_a_folder_in_the_place_of_a_file_is_refused_at_once() {
    let sealed = Sealed::at_work();
    pipe(&sealed.shop().join(JOURNAL));
    let unread = "hare: its book cannot be read, so nothing of it is shown and nothing kept: what \
                  stands there is a device, a pipe or a socket, not a plain file\n";
    let all: [&[&str]; 4] = [&["standing"], &["day"], &["clocks"], &["ring", "--once"]];
    for words in all {
        let told = sealed.run(words);
        assert_eq!(told.code, 3, "{words:?}");
        assert!(told.err.ends_with(unread), "{words:?}: {told:?}");
    }
    // What the others hold is told all the same, and that a part is missing.
    let jotted = sealed.run(&["jot", "heron", "the heater hums", "--as", "odile"]);
    assert_eq!((jotted.code, jotted.err.as_str()), (0, ""));
    let asked: [&[&str]; 3] = [
        &["recall", "heater"],
        &["recall", "--lot", "A-1"],
        &["recall", "--humidity-above", "1%"],
    ];
    for words in asked {
        let told = sealed.run(words);
        assert_eq!(told.code, 3, "{words:?}");
        assert!(told.err.ends_with(unread), "{words:?}: {told:?}");
    }
    assert!(sealed.run(asked[0]).out.contains("the heater hums"));
    // Of a figure alone that cannot be read there is nothing to tell.
    let told = sealed.run(&["recall", "--figure", "hare"]);
    assert_eq!(told.code, 3);
    assert!(
        told.err
            .starts_with("cannot read the journal: what stands there is a device"),
        "{told:?}"
    );
    // The others are kept as before.
    let heron = sealed.run(&["jot", "heron", "the neck is dry", "--as", "odile"]);
    assert_eq!((heron.code, heron.err.as_str()), (0, ""));
    let hare = sealed.run(&["jot", "hare", "the ear is dry", "--as", "odile"]);
    assert_eq!(hare.code, 2, "{hare:?}");
    assert!(hare.err.starts_with("its book cannot be read"), "{hare:?}");
    let told = sealed.run(&["audit"]);
    assert_eq!(told.code, 1);
    assert!(
        told.out
            .starts_with("figures/hare/journal.jsonl: what stands there"),
        "{told:?}"
    );

    pipe(&sealed.shop().join("figures/heron/figure.yaml"));
    let card = sealed.shop().join("materials/slow-size.yaml");
    fs::remove_file(&card).unwrap();
    fs::create_dir(&card).unwrap();
    let told = sealed.run(&["check"]);
    assert_eq!(told.code, 3);
    let pipe = "figures/heron/figure.yaml:1:1: cannot read the file: what stands there is a device, a pipe or a socket";
    assert!(told.out.contains(pipe), "{told:?}");
}

/// The text of a journal as an editor saves it in UTF-16 with its mark (The Unicode Standard,
/// section 2.6: FF FE, then each letter low byte first).
fn wide(text: &str) -> Vec<u8> {
    let units = std::iter::once(0xfeff).chain(text.encode_utf16());
    units.flat_map(u16::to_le_bytes).collect()
}

#[test]
fn a_journal_without_one_readable_line_is_told_and_left_as_it_is() {
    let sealed = Sealed::at_work();
    let path = sealed.shop().join(JOURNAL);
    let sound = fs::read_to_string(&path).unwrap();
    let noise: Vec<u8> = (0..4000_u32)
        .map(|at| u8::try_from(at * at % 251).unwrap() | 1)
        .collect();
    let spoilt = [
        (
            wide(&sound),
            "it looks as if an editor had saved it as UTF-16",
        ),
        (
            wide(&sound)[2..].to_vec(),
            "it looks as if an editor had saved it as UTF-16",
        ),
        (
            vec![0; 4096],
            "it holds nothing but zeros, as a pulled plug can leave them",
        ),
        (noise, "what stands there was not written by this program"),
        (
            sound.replace("{\"n\"", "{ \"x\"").into_bytes(),
            "what stands there was not written by this program",
        ),
    ];
    for (bytes, looks) in spoilt {
        lay(&path, &bytes);
        let told = jot(&sealed);
        let refused = format!(
            "cannot keep the last act: no line of this journal can be read, {looks}\n \
             where: figures/hare/journal.jsonl\n    \
             do: put a copy of the journal in its place, then try again; the file was left as it is\n"
        );
        assert_eq!((told.code, told.err), (3, refused));
        assert_eq!(fs::read(&path).unwrap(), bytes);
        let beside = fs::read_dir(path.parent().unwrap()).unwrap();
        let torn = |name: &std::ffi::OsStr| name.to_string_lossy().contains("torn");
        assert!(
            !beside
                .map(|it| it.unwrap().file_name())
                .any(|name| torn(&name))
        );
        let note = format!(
            "hare: no line of its book can be read, so nothing of it is shown: {looks}; bring back a copy\n"
        );
        for words in [
            &["standing"][..],
            &["standing", "hare"],
            &["day"],
            &["day", "--page"],
            &["report", "hare"],
        ] {
            let told = sealed.run(words);
            assert_eq!((told.code, told.err), (1, note.clone()), "{words:?}");
        }
        assert_eq!(sealed.run(&["standing", "heron"]).code, 0);
        let told = sealed.run(&["audit"]);
        assert_eq!(told.code, 1);
        let line = format!("figures/hare/journal.jsonl:1: no line of it can be read: {looks}\n");
        assert!(told.out.starts_with(&line), "{told:?}");
    }
    lay(&path, sound.as_bytes());
    assert_eq!(jot(&sealed).code, 0);
}

#[test]
fn only_what_begins_like_a_first_line_is_a_torn_first_line() {
    let reads = |bytes: &[u8]| {
        let disk = FaultyDisk::default();
        disk.put(Path::new("j"), bytes);
        let reading = read_all(&disk, Path::new("j")).unwrap();
        (reading.torn.is_some(), reading.strange)
    };
    assert_eq!(reads(b""), (false, None));
    for torn in [
        &b"{"[..],
        b"{\"n\":1",
        b"{\"n\":1,\"at\":\"2031",
        b"{\"n\":1,\0\0\0\0",
    ] {
        assert_eq!(reads(torn), (true, None), "{torn:?}");
    }
    for strange in [
        &b"a"[..],
        b"{\"n\":2,",
        b"{\"n\":1,\"at\"\n{\"n\":2",
        b"\n\n",
    ] {
        assert_eq!(reads(strange), (false, Some(Looks::Foreign)), "{strange:?}");
    }
}

#[test]
fn missing_and_broken_lines_are_told_wherever_the_figure_is_shown() {
    let sealed = Sealed::at_work();
    let path = sealed.shop().join(JOURNAL);
    let sound = fs::read_to_string(&path).unwrap();
    let without: Vec<&str> = sound
        .lines()
        .enumerate()
        .filter(|(at, _)| *at != 3)
        .map(|(_, line)| line)
        .collect();
    lay(&path, format!("{}\n", without.join("\n")).as_bytes());
    let places = read_all(&RealDisk, &path).unwrap().damage();
    let Some(Damage::Places(places)) = places else {
        panic!("{places:?}");
    };
    let at = if places == 1 {
        "1 place".to_owned()
    } else {
        format!("{places} places")
    };
    let note = format!(
        "hare: lines of its book are missing or broken at {at}: `knuckle audit` tells where\n"
    );
    // The second time the answer could come from what the first left in its cache.
    for words in [
        &["standing"][..],
        &["standing"],
        &["standing", "hare"],
        &["day", "2026-11-25"],
        &["report", "hare"],
    ] {
        let told = sealed.run(words);
        assert_eq!(
            (told.code, told.err.as_str()),
            (0, note.as_str()),
            "{words:?}"
        );
    }
    let told = sealed.run(&["standing", "heron"]);
    assert_eq!((told.code, told.err.as_str()), (0, ""));
}

#[test]
fn no_figure_is_called_as_the_shop_s_own_book() {
    let sealed = Sealed::new();
    sealed.refuses(
        &["take-in", "shop"],
        2,
        "no figure can be called `shop`: the shop's own journal is\n where: FIGURE\n    \
         do: give the figure another name; nothing was changed",
    );
    assert!(!sealed.shop().join("figures/shop").exists());
    let figures = sealed.shop().join("figures");
    let (hare, shop) = (figures.join("hare"), figures.join("shop"));
    RealDisk.rename(&hare, &shop).unwrap();
    sealed.change("figures/shop/figure.yaml", ["id: hare", "id: shop"]);
    let told = sealed.run(&["check"]);
    assert_eq!(told.code, 1);
    assert!(
        told.out.contains("no figure can be called `shop`"),
        "{told:?}"
    );
}

#[test]
fn a_file_in_the_place_of_a_shop_does_not_accuse_the_disk() {
    let sealed = Sealed::new();
    let says = |place: &str| {
        format!(
            "this is a file, not the folder of a shop\n where: {place}\n    \
             do: name the folder, not a file in it; nothing was changed"
        )
    };
    sealed.refuses(
        &["--shop", "shop.yaml", "standing"],
        2,
        &says("$SHOP/shop.yaml"),
    );
    sealed.refuses(&["open-shop", "shop.yaml"], 2, &says("$SHOP/shop.yaml"));
    sealed.refuses(&["open-shop", "/dev/null"], 2, &says("/dev/null"));
}

#[test]
fn a_report_says_why_it_is_not_written_through_a_link() {
    let sealed = Sealed::at_work();
    let away = sealed.home.path().join("kept.txt");
    lay(&away, b"kept");
    symlink(&away, sealed.shop().join("hare.txt")).unwrap();
    sealed.refuses(
        &["report", "hare", "--out", "hare.txt", "--replace"],
        2,
        "this is a link to somewhere else, and nothing is written through it\n \
         where: $SHOP/hare.txt\n    do: name another file, or take the link away; nothing was written",
    );
    assert_eq!(fs::read(&away).unwrap(), b"kept");
}

#[test]
fn the_audit_holds_photographs_against_their_hashes() {
    let sealed = Sealed::at_work();
    let photo = sealed.home.path().join("near.png");
    lay(&photo, &crate::kit::png(40, 30, [90, 60, 30]));
    let from = photo.to_str().unwrap();
    let take = [
        "photo",
        "hare",
        from,
        "--station",
        "near side",
        "--as",
        "odile",
    ];
    assert_eq!(sealed.run(&take).code, 0);
    let photos = sealed.shop().join("figures/hare/photos");
    let kept = fs::read_dir(&photos)
        .unwrap()
        .next()
        .unwrap()
        .unwrap()
        .path();
    let name = kept.file_name().unwrap().to_str().unwrap();
    let wrong = || sealed.run(&["audit"]);
    assert_eq!(wrong().code, 0);
    lay(&kept, b"another one");
    let changed = format!(
        "figures/hare/photos/{name}: line n=11 took it in: \
         this is not the photograph that was taken in: its hash differs\n"
    );
    let told = wrong();
    assert_eq!(told.code, 1);
    assert!(told.out.starts_with(&changed), "{told:?}");
    fs::remove_file(&kept).unwrap();
    let told = wrong();
    assert_eq!(told.code, 1);
    let missing = format!("figures/hare/photos/{name}: line n=11 took it in: ");
    assert!(told.out.starts_with(&missing), "{told:?}");
}
