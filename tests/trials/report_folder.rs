//! The folder for thirty years and the files of reports: checked by common tools and by the
//! audit, never over what is there, whole or not at all; and what a hostile journal cannot do.

use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::Command;

use knuckle::card::PeopleShown;
use knuckle::deed::{Deed, Jotted, LayerPlace, LayerRead, Marker};
use knuckle::disk::{Disk, RealDisk};
use knuckle::report::dossier::{folder_files, verify_folder, write_folder};

use crate::kit::faulty::{FaultyDisk, Ill};
use crate::kit::sealed::{Sealed, at_evening};
use crate::kit::{photo_kept, png, sha256};
use crate::report::of_the_hare;

fn kept(file: &str, bytes: &[u8], station: &str) -> Deed {
    let view = (Some("body-near"), station);
    Deed::PhotoKept(photo_kept(file, sha256(bytes), view))
}

/// A shop in the middle of a day, with a photograph of the hare.
fn with_a_photograph() -> Sealed {
    let sealed = Sealed::at_work();
    let photos = sealed.shop().join("figures/hare/photos");
    fs::create_dir_all(&photos).unwrap();
    let picture = png(40, 30, [0x8a, 0x2f, 0x22]);
    put(&photos.join("hare-body-near-before.png"), &picture);
    let line = kept("photos/hare-body-near-before.png", &picture, "before");
    sealed.write("figures/hare", &[("2026-11-26T09:00:00Z", "odile", line)]);
    sealed
}

fn put(path: &Path, bytes: &[u8]) {
    knuckle::disk::replace(&RealDisk, path, bytes).unwrap();
}

/// Makes the folder of the hare and returns it.
fn made(sealed: &Sealed) -> PathBuf {
    let told = sealed.run(&at_evening(&["report", "hare", "--folder", "../thirty"]));
    assert_eq!((told.code, told.err.as_str()), (0, ""), "{}", told.out);
    assert!(told.out.starts_with("wrote "), "{}", told.out);
    sealed.home.path().join("thirty")
}

/// What the bench wrote stands in the report with its answer or its reason, and a second person
/// is named by the trade.
#[test]
fn departures_stand_in_the_report_with_reason_and_second_person() {
    let sealed = Sealed::at_work();
    let html = page(&sealed);
    for wanted in [
        "overruled temperature with supervisor (16 °C, below 18 °C): the heater is on (joint J3, body boards",
        "otherwise than planned: closed 2 min after the cup was over (joint J3",
        "asked: may J4 be opened today?",
        "noted: clamp 4 slips ␛[2J‹U+202E›",
        "2026-11-25 14:32, joiner: it was clamp 3",
        "2 of these wait for the supervisor&#39;s answer",
        "<td data-head=\"material\">medium epoxy 100:45 by weight</td><td data-head=\"lot\">A-1 + B-1</td>",
        "99.9 g mixed",
        "not with solvents; only by cutting or with heat (common practice)",
    ] {
        assert!(html.contains(wanted), "{wanted}");
    }
    assert!(!html.contains("Marguerite"));
}

/// Makes the page for a browser and returns it.
fn page(sealed: &Sealed) -> String {
    let told = sealed.run(&at_evening(&["report", "hare", "--out", "hare.html"]));
    assert_eq!((told.code, told.err.as_str()), (0, ""), "{}", told.out);
    fs::read_to_string(sealed.shop().join("hare.html")).unwrap()
}

/// A colour is told in words, in numbers and as a patch; the patch alone decides nothing. The
/// numbers of sRGB red in CIELAB are those of every text on sRGB (IEC 61966-2-1).
#[test]
fn layers_are_told_in_words_numbers_and_a_patch() {
    let sealed = Sealed::new();
    let at = |layer| LayerPlace {
        zone: "body-near".into(),
        exposure: "1".into(),
        layer,
    };
    let layer = |number, word: &str, lab: [f64; 3]| {
        Deed::LayerRead(LayerRead {
            word: Some(word.into()),
            material: Some("oil paint".into()),
            munsell: Some("7.5R 4/12".into()),
            lab: vec![lab; 3],
            on_top: Some(vec![Marker::Dirt]),
            ..LayerRead::at(at(number))
        })
    };
    let when = "2026-11-25T09:00:00Z";
    let red = layer(1, "signal red", [53.24, 80.09, 67.20]);
    let white = layer(2, "white", [100.0, 0.0, 0.0]);
    sealed.write(
        "figures/hare",
        &[(when, "odile", red), (when, "odile", white)],
    );
    let html = page(&sealed);
    for wanted in [
        "Layers at body near side, exposure 1, from the wood outward",
        "<span class=\"swatch\" style=\"background:#ff0000\"></span>signal red L* 53.2 a* 80.1 b* 67.2",
        "<span class=\"swatch\" style=\"background:#ffffff\"></span>white L* 100.0 a* 0.0 b* 0.0",
        "7.5R 4/12",
        "screens and printers show other colours",
        "no exposure was cut at",
    ] {
        assert!(html.contains(wanted), "{wanted}: {html}");
    }
    let folder = made(&sealed);
    let layers = fs::read_to_string(folder.join("layers.csv")).unwrap();
    let row = "body-near,1,1,signal red,53.24,80.09,67.2,7.5R 4/12,oil paint,";
    assert!(layers.contains(row), "{layers}");
}

/// `sha256sum` is a part of the GNU core utilities; its list is checked by the tool itself and
/// not by our own reading of it.
#[test]
fn common_tools_alone_verify_the_folder() {
    let sealed = with_a_photograph();
    let folder = made(&sealed);
    let check = || {
        Command::new("sha256sum")
            .args(["--check", "--strict", "SHA256SUMS"])
            .current_dir(&folder)
            .output()
            .unwrap()
    };
    let told = check();
    let out = String::from_utf8(told.stdout).unwrap();
    assert!(told.status.success(), "{out}");
    let listed = out.lines().filter(|line| line.ends_with(": OK")).count();
    assert_eq!(listed, out.lines().count());
    assert_eq!(
        listed,
        files_below(&folder).len() - 1,
        "all but the list itself"
    );
    put(&folder.join("moisture.csv"), b"at\r\n");
    assert!(!check().status.success());
}

/// Runs the shell lines of the read-me on the journal in the folder, as a successor would.
#[test]
fn the_read_me_tells_how_to_check_a_seal_and_it_is_so() {
    let sealed = with_a_photograph();
    let folder = made(&sealed);
    let read_me = fs::read_to_string(folder.join("READ-ME-FIRST.txt")).unwrap();
    let script: Vec<&str> = read_me
        .lines()
        .map(str::trim_start)
        .filter(|line| {
            ["before=", "line=", "printf "]
                .iter()
                .any(|it| line.starts_with(it))
        })
        .collect();
    assert_eq!(script.len(), 3);
    let told = Command::new("sh")
        .args(["-c", &script.join("\n")])
        .current_dir(&folder)
        .output()
        .unwrap();
    let journal = fs::read_to_string(folder.join("journal.jsonl")).unwrap();
    let line: serde_json::Value = serde_json::from_str(journal.lines().nth(1).unwrap()).unwrap();
    let seal = String::from_utf8(told.stdout).unwrap();
    assert_eq!(line["seal"], seal.trim());
}

#[test]
fn the_folder_holds_everything_and_says_what_each_file_is() {
    let sealed = with_a_photograph();
    let folder = made(&sealed);
    let files = files_below(&folder);
    let read_me = fs::read_to_string(folder.join("READ-ME-FIRST.txt")).unwrap();
    for wanted in [
        "READ-ME-FIRST.txt",
        "GLOSSARY.txt",
        "SHA256SUMS",
        "report.txt",
        "report.html",
        "report.pdf",
        "journal.csv",
        "moisture.csv",
        "air.csv",
        "layers.csv",
        "ties.csv",
        "zones.csv",
        "colours.csv",
        "chips.csv",
        "materials.csv",
        "photos.csv",
        "joints.csv",
        "gaps.csv",
        "journal.jsonl",
        "cards/figure.yaml",
        "cards/materials/medium-epoxy.yaml",
        "cards/checklists/mix-and-lay-up.yaml",
        "photos/hare-body-near-before.png",
    ] {
        assert!(files.contains(&wanted.to_owned()), "{wanted}: {files:?}");
        let top = wanted.split('/').next().unwrap();
        let is_itself = top == "READ-ME-FIRST.txt";
        assert!(is_itself || read_me.contains(top), "{top} is not explained");
    }
    let same = |one: &str, other: &str| {
        let shop = fs::read(sealed.shop().join(other)).unwrap();
        assert_eq!(fs::read(folder.join(one)).unwrap(), shop, "{one}");
    };
    same("journal.jsonl", "figures/hare/journal.jsonl");
    same("cards/figure.yaml", "figures/hare/figure.yaml");
    same(
        "photos/hare-body-near-before.png",
        "figures/hare/photos/hare-body-near-before.png",
    );
    let html = fs::read_to_string(folder.join("report.html")).unwrap();
    assert!(html.contains("src=\"data:image/png;base64,iVBORw0KGgo"));
    let journal = fs::read_to_string(folder.join("journal.csv")).unwrap();
    assert_eq!(journal.lines().count(), 12, "a head and eleven lines");
    assert!(
        journal.contains(",joiner,mixed,mix-and-lay-up,J3,1,"),
        "{journal}"
    );
}

#[test]
fn the_audit_says_what_differs_in_a_folder() {
    let sealed = with_a_photograph();
    let folder = made(&sealed);
    let sound = sealed.run(&["audit", "../thirty"]);
    assert_eq!((sound.code, sound.err.as_str()), (0, ""));
    assert!(
        sound
            .out
            .ends_with("files listed, 11 lines: nothing wrong\n"),
        "{}",
        sound.out
    );
    put(&folder.join("GLOSSARY.txt"), b"other words\n");
    fs::remove_file(folder.join("air.csv")).unwrap();
    put(&folder.join("photos/late.png"), b"new");
    let journal = fs::read_to_string(folder.join("journal.jsonl")).unwrap();
    put(
        &folder.join("journal.jsonl"),
        journal.replacen("may J4", "may J5", 1).as_bytes(),
    );
    let told = sealed.run(&["audit", "../thirty"]);
    assert_eq!(told.code, 1);
    assert_eq!(
        told.out.lines().collect::<Vec<_>>(),
        [
            "GLOSSARY.txt: it is not what it was: its SHA-256 differs from the list",
            "air.csv: it is listed and not there",
            "journal.jsonl: it is not what it was: its SHA-256 differs from the list",
            "photos/late.png: it was put in later: the list does not have it",
            "journal.jsonl:6: the seal does not fit: this line was changed, or the one before it was changed or removed",
            &format!(
                "{} files listed, 11 lines: 5 wrong",
                files_below(&folder).len() - 1
            ),
            "leave the folder as it is and look into another copy of it",
        ]
    );
    sealed.refuses(
        &["audit", "."],
        2,
        "this folder has no list of sums (SHA256SUMS)\n where: $SHOP\n    do: name a folder that \
         `knuckle report FIGURE --folder` made; a shop is named by --shop",
    );
}

/// Whoever takes the last line away and lists the sums anew breaks no seal: the table beside the
/// journal still has it.
#[test]
fn the_audit_misses_a_last_line_that_the_table_has() {
    let listed_anew = |folder: &Path| {
        let files = files_below(folder);
        let files = files.iter().filter(|file| *file != "SHA256SUMS");
        let line = |file: &String| {
            let bytes = fs::read(folder.join(file)).unwrap();
            format!("{}  {file}\n", sha256(&bytes))
        };
        put(
            &folder.join("SHA256SUMS"),
            files.map(line).collect::<String>().as_bytes(),
        );
    };
    let sealed = with_a_photograph();
    let folder = made(&sealed);
    let cut = |name: &str| {
        let whole = fs::read_to_string(folder.join(name)).unwrap();
        let (rest, _last) = whole.trim_end().rsplit_once('\n').unwrap();
        put(&folder.join(name), format!("{rest}\n").as_bytes());
        whole
    };
    let journal = cut("journal.jsonl");
    listed_anew(&folder);
    let told = sealed.run(&["audit", "../thirty"]);
    assert_eq!(told.code, 1, "{}", told.out);
    let wanted = "journal.jsonl: line 11 is not here, and journal.csv has it: one of the two was \
                  changed later\n";
    assert!(told.out.starts_with(wanted), "{}", told.out);
    assert!(
        told.out.contains(" listed, 10 lines: 1 wrong"),
        "{}",
        told.out
    );
    // And the other way round.
    put(&folder.join("journal.jsonl"), journal.as_bytes());
    cut("journal.csv");
    cut("journal.csv");
    listed_anew(&folder);
    let told = sealed.run(&["audit", "../thirty", "--json"]);
    assert_eq!(told.code, 1, "{}", told.out);
    for wanted in [
        "\"kind\":\"rows\"",
        "2 lines are not here, the first of them 10, and journal.jsonl has",
    ] {
        assert!(told.out.contains(wanted), "{}", told.out);
    }
}

/// A list that was tampered with must not make the audit read, or follow, anything outside.
#[test]
fn a_hostile_list_or_link_leads_nowhere() {
    let sealed = with_a_photograph();
    let folder = made(&sealed);
    let secret = sealed.home.path().join("secret");
    put(&secret, b"secret");
    let sums = folder.join("SHA256SUMS");
    let list = fs::read_to_string(&sums).unwrap();
    let sum = sha256(b"secret");
    put(
        &sums,
        format!("{list}{sum}  ../secret\n{sum}  linked\nnonsense\n").as_bytes(),
    );
    symlink(&secret, folder.join("linked")).unwrap();
    let (differs, _) = verify_folder(&RealDisk, &folder).unwrap();
    let told: Vec<(&str, &str)> = differs
        .iter()
        .map(|one| (one.file.as_str(), one.kind))
        .collect();
    assert_eq!(
        told,
        [
            ("SHA256SUMS", "list"),
            ("SHA256SUMS", "list"),
            ("linked", "link")
        ]
    );
}

#[test]
fn nothing_that_is_there_is_written_over() {
    let sealed = with_a_photograph();
    let folder = made(&sealed);
    let before = files_below(&folder);
    let report = ["report", "hare", "--folder", "../thirty"];
    sealed.refuses(
        &at_evening(&report),
        2,
        "the folder is there already\n where: $SHOP/../thirty\n    do: name another one; nothing \
         was written and nothing was changed",
    );
    assert_eq!(files_below(&folder), before);
    let out = ["report", "hare", "--out", "hare.txt"];
    sealed.says(&at_evening(&out), "wrote $SHOP/hare.txt\n");
    let first = fs::read(sealed.shop().join("hare.txt")).unwrap();
    sealed.refuses(
        &at_evening(&out),
        2,
        "the file is there already\n where: $SHOP/hare.txt\n    do: name another one, or add \
         --replace; nothing was written",
    );
    let again = [&out[..], &["--replace"]].concat();
    sealed.says(&at_evening(&again), "wrote $SHOP/hare.txt\n");
    assert_eq!(fs::read(sealed.shop().join("hare.txt")).unwrap(), first);
    sealed.refuses(
        &at_evening(&["report", "hare", "--out", "hare.doc"]),
        2,
        "a page becomes a file that ends in .html, .pdf or .txt\n where: hare.doc\n    do: give \
         the file one of these endings; nothing was written",
    );
    sealed.refuses(
        &at_evening(&["report", "hair"]),
        2,
        "no figure is called `hair`; did you mean `hare`?\n where: FIGURE\n    do: there are \
         bandmaster, hare, heron, lantern-woman, lion-boss",
    );
}

/// The disk fails at each of its acts in turn. Afterwards there is the whole folder or none of
/// that name; what was begun is taken away, or lies under a hidden name.
#[test]
fn the_folder_is_written_whole_or_not_at_all() {
    let files: Vec<(String, Vec<u8>)> = ["SHA256SUMS", "photos/one.png", "report.txt"]
        .map(|path| (path.to_owned(), path.as_bytes().to_vec()))
        .to_vec();
    let folder = Path::new("box/thirty");
    let write = |disk: &FaultyDisk| {
        disk.make_folder(Path::new("box")).unwrap();
        let from = disk.asked().len();
        let written = write_folder(disk, folder, &files);
        (written, from)
    };
    let sound = FaultyDisk::default();
    let (written, from) = write(&sound);
    written.unwrap();
    let acts = sound.asked().len() - from;
    assert!(10 < acts);
    let whole = sound.names();
    assert_eq!(whole.len(), 3);
    for at in 0..acts {
        let disk = FaultyDisk::default();
        disk.ail(from + at, Ill::Fails(std::io::ErrorKind::StorageFull));
        let (written, _) = write(&disk);
        let named: Vec<PathBuf> = disk
            .names()
            .into_iter()
            .filter(|name| name.starts_with(folder))
            .collect();
        assert!(
            named.is_empty() || named == whole,
            "act {at}: {named:?}, {written:?}"
        );
        if written.is_ok() {
            assert_eq!(named, whole, "act {at}");
        }
    }
}

/// A journal from anywhere: escapes, HTML, links, paths that climb, pictures that are none.
fn hostile() -> Sealed {
    let sealed = Sealed::new();
    let home = sealed.home.path().to_owned();
    put(&home.join("secret.png"), &png(4, 4, [1, 2, 3]));
    let photos = sealed.shop().join("figures/hare/photos");
    fs::create_dir_all(&photos).unwrap();
    symlink(home.join("secret.png"), photos.join("link.png")).unwrap();
    let script = b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>";
    put(&photos.join("script.svg"), script);
    put(&photos.join("changed.png"), b"\x89PNG\r\n\x1a\nother");
    let secret = fs::read(home.join("secret.png")).unwrap();
    let note = Deed::Jotted(Jotted {
        text: "\u{1b}]0;owned\u{7}\u{1b}[2J </p><script>alert(1)</script> =HYPERLINK(\"x\") \u{202e}txt.exe) Tj ET \\ \u{9b}31m".into(),
    });
    let at = "2026-11-25T09:00:00Z";
    let lines = [
        (at, "odile", note),
        (at, "odile", kept("../../../secret.png", &secret, "up")),
        (at, "odile", kept("/etc/passwd", b"", "away")),
        (at, "odile", kept("photos/link.png", &secret, "link")),
        (
            at,
            "odile",
            kept("photos/script.svg", script, "\"><script>alert(2)</script>"),
        ),
        (
            at,
            "odile",
            kept("photos/changed.png", b"what it was", "changed"),
        ),
        (
            at,
            "<img src=x onerror=alert(3)>",
            Deed::Jotted(Jotted {
                text: "=1+1".into(),
            }),
        ),
    ];
    sealed.write("figures/hare", &lines);
    sealed
}

#[test]
fn a_hostile_journal_does_nothing_in_any_of_the_three_outputs() {
    let sealed = hostile();
    for (file, secret) in [
        ("hare.txt", None),
        ("hare.html", Some("iVBORw0KGgo")),
        ("hare.pdf", None),
    ] {
        let told = sealed.run(&at_evening(&[
            "report", "hare", "--names", "inward", "--out", file,
        ]));
        assert_eq!((told.code, told.err.as_str()), (0, ""), "{file}");
        let bytes = fs::read(sealed.shop().join(file)).unwrap();
        let acts = |byte: &u8| *byte < 0x20 && *byte != b'\n';
        assert!(!bytes.iter().any(acts), "{file} holds a control sign");
        let text = String::from_utf8_lossy(&bytes);
        for sign in ['\u{202e}', '\u{9b}', '\u{7f}'] {
            assert!(!text.contains(sign), "{file}: {sign:?}");
        }
        if let Some(secret) = secret {
            assert!(
                !text.contains(secret),
                "a picture that no line kept is in {file}"
            );
            assert!(!text.contains("<script"), "{file}");
            assert!(!text.contains("<img"), "{file}");
            assert!(!text.contains("onload='"), "{file}");
            assert!(
                text.contains("&lt;script&gt;alert(1)&lt;/script&gt;"),
                "{file}"
            );
            assert!(text.contains("‹U+202E›"), "{file}");
            for why in [
                "leads out of the figure",
                "is a link to something elsewhere",
                "is no picture that a page can show",
                "its SHA-256 differs",
            ] {
                assert!(text.contains(why), "{file}: {why}");
            }
        }
    }
    let told = sealed.run(&at_evening(&["report", "hare"]));
    assert!(!told.out.contains('\u{1b}') && told.out.contains("␛[2J"));
    let json = sealed.run(&at_evening(&["report", "hare", "--json"])).out;
    assert!(!json.contains('\u{202e}') && json.contains("\\u202e"));
    let folder = made(&sealed);
    let photos: Vec<String> = files_below(&folder)
        .into_iter()
        .filter(|file| file.starts_with("photos/"))
        .collect();
    assert_eq!(
        photos,
        ["photos/script.svg"],
        "kept as it came, shown nowhere"
    );
    let journal = fs::read_to_string(folder.join("journal.csv")).unwrap();
    assert!(!journal.contains('\u{1b}') && !journal.contains('\u{202e}'));
    let read_me = fs::read_to_string(folder.join("READ-ME-FIRST.txt")).unwrap();
    for why in [
        "line 2: the name",
        "line 3: the name",
        "line 4: the file is a link",
    ] {
        assert!(read_me.contains(why), "{why}: {read_me}");
    }
}

/// A PDF that a note could break would lose its objects: every one is where the table says.
#[test]
fn a_hostile_note_breaks_no_object_of_a_pdf() {
    let sealed = hostile();
    sealed.run(&at_evening(&["report", "hare", "--out", "hare.pdf"]));
    let bytes = fs::read(sealed.shop().join("hare.pdf")).unwrap();
    let text: String = bytes.iter().copied().map(char::from).collect();
    let (_, table) = text.rsplit_once("\nxref\n").unwrap();
    let begins: Vec<usize> = table
        .lines()
        .filter(|line| line.ends_with(" 00000 n "))
        .map(|line| line.get(..10).unwrap().parse().unwrap())
        .collect();
    assert!(10 < begins.len());
    for (begin, number) in begins.iter().zip(1..) {
        assert!(bytes[*begin..].starts_with(format!("{number} 0 obj\n").as_bytes()));
    }
    assert_eq!(
        text.matches("endstream").count(),
        text.matches("\nendstream\n").count()
    );
}

#[test]
fn a_report_in_json_has_its_keys() {
    let sealed = with_a_photograph();
    let keys = ["part", "title", "kind", "name", "text", "recorded"];
    let rows = sealed.keys(&at_evening(&["report", "hare"]), &keys);
    let owner = rows
        .iter()
        .find(|row| row["name"] == "owner or custodian")
        .unwrap();
    assert_eq!(owner["recorded"], true);
    let lead = rows
        .iter()
        .find(|row| row["name"] == "lead in old paint")
        .unwrap();
    assert_eq!(
        (&lead["recorded"], &lead["text"]),
        (&false.into(), &"".into())
    );
}

#[test]
fn the_day_page_goes_into_a_file_through_the_same_renderers() {
    let sealed = Sealed::at_work();
    let page = ["day", "--page", "--out"];
    for (file, begins) in [
        ("day.html", "<!DOCTYPE html>"),
        ("day.pdf", "%PDF-1.7"),
        ("day.txt", "DAY PAGE"),
    ] {
        let words = [&page[..], &[file]].concat();
        sealed.says(&at_evening(&words), &format!("wrote $SHOP/{file}\n"));
        let bytes = fs::read(sealed.shop().join(file)).unwrap();
        assert!(bytes.starts_with(begins.as_bytes()), "{file}");
        let text = String::from_utf8_lossy(&bytes);
        assert!(text.contains("may J4 be opened today?"), "{file}");
        assert!(text.contains("hare:6"), "{file}");
    }
    // In a browser each number leads to its line in full.
    let html = fs::read_to_string(sealed.shop().join("day.html")).unwrap();
    let leads = html.match_indices("<a href=\"#").map(|(at, lead)| {
        let (id, _) = html
            .get(at + lead.len()..)
            .unwrap()
            .split_once('"')
            .unwrap();
        id
    });
    let leads: Vec<&str> = leads.collect();
    assert!(
        8 < leads.len() && leads.contains(&"line-hare-6"),
        "{leads:?}"
    );
    for id in leads {
        let (_, line) = html.split_once(&format!("<h3 id=\"{id}\">")).expect(id);
        assert!(line.contains("<dt>who</dt><dd>"), "{id}");
    }
    // Only the page goes into a file: who names the file need not say so.
    let told = sealed.run(&at_evening(&["day", "--out", "again.txt"]));
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(told.out.contains("again.txt"), "{}", told.out);
}

/// The sample shop can be reported on without a copy: it lies in the program.
#[test]
fn the_folder_of_the_sample_hare_leaves_nothing_out() {
    let files = of_the_hare(PeopleShown::Outward, |disk, ask| {
        folder_files(disk, Path::new(""), ask).unwrap()
    });
    let read_me = files.iter().find(|(path, _)| path == "READ-ME-FIRST.txt");
    let read_me = String::from_utf8(read_me.unwrap().1.clone()).unwrap();
    assert!(
        read_me.ends_with("COULD NOT BE TAKEN ALONG\n\n  nothing\n"),
        "{read_me}"
    );
    let row = |file: &str, wanted: &str| {
        let (_, bytes) = files.iter().find(|(path, _)| path == file).unwrap();
        let text = String::from_utf8(bytes.clone()).unwrap();
        assert!(text.contains(wanted), "{file}: {wanted}\n{text}");
    };
    let journal = fs::read_to_string("sample-shop/figures/hare/journal.jsonl").unwrap();
    let mut lines = journal.lines().map(|line| line.parse().unwrap());
    let core = lines.rfind(|line: &serde_json::Value| {
        line["measure"] == "moisture_core"
            && line["target"] == "saddle-seat"
            && line["station"] == "1"
    });
    let core = core.unwrap();
    let at = core["at"].as_str().unwrap().replace(".000", "");
    row(
        "moisture.csv",
        &format!("{at},saddle-seat,1,core,{}\r\n", core["value"]),
    );
    row(
        "materials.csv",
        "gel-stripper,\"gel stripper, benzyl alcohol type\",GS-2608-64,",
    );
    row(
        "gaps.csv",
        "J3,\"body boards, near side and back board\",200,3,0.3\r\n",
    );
    row("air.csv", ",bench-room,");
}

fn files_below(folder: &Path) -> Vec<String> {
    let mut all = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let inner = path.strip_prefix(folder).unwrap();
                all.push(inner.to_string_lossy().into_owned());
            }
        }
    }
    all.sort();
    all
}
