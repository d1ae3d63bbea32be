//! The real program on a real disk that fails: system calls that answer with an error, a disk
//! that fills up, a folder that can only be read, a right that was taken away, a kill between
//! write and sync. After each: no acknowledged line is missing, none is false, the words say
//! what to do, and reading goes on.
//!
//! This needs `strace` and name spaces of Linux. Where one of them is missing or forbidden the
//! trial says so aloud and shows nothing; `.ci/run` brings them.

#![expect(
    clippy::print_stderr,
    reason = "what could not be shown here is said aloud"
)]

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use knuckle::disk::RealDisk;
use knuckle::journal::{read_all, verify};

use crate::kit::sealed::Sealed;

/// The program, called with these words in front of its own, in the shop of a sealed home.
struct Under<'a> {
    sealed: &'a Sealed,
    wrapper: Vec<String>,
}

impl Under<'_> {
    fn run(&self, words: &[&str]) -> Output {
        let home = self.sealed.home.path();
        let mut all = self.wrapper.clone();
        all.push(env!("CARGO_BIN_EXE_knuckle").to_owned());
        all.extend(words.iter().map(|word| (*word).to_owned()));
        sealed_command(&all, home)
            .current_dir(self.sealed.shop())
            .output()
            .unwrap()
    }
}

fn sealed_command(words: &[String], home: &Path) -> Command {
    let mut command = Command::new(&words[0]);
    command
        .args(&words[1..])
        .env_clear()
        .env("PATH", "/usr/sbin:/usr/bin:/sbin:/bin")
        .env("HOME", home)
        .env("XDG_STATE_HOME", home.join("state"))
        .env("XDG_CACHE_HOME", home.join("cache"))
        .env("TMPDIR", home)
        .env("TZ", "UTC");
    command
}

/// Returns whether a tool does what the trial needs here; says so aloud when it does not.
pub(crate) fn can(words: &[&str]) -> bool {
    let tried = Command::new(words[0]).args(&words[1..]).output();
    let can = tried.is_ok_and(|tried| tried.status.success());
    if !can {
        eprintln!("NOT SHOWN HERE: `{}` does not work", words.join(" "));
    }
    can
}

fn journal(sealed: &Sealed) -> PathBuf {
    sealed.shop().join("figures/hare/journal.jsonl")
}

/// The words of the notes in the journal of the hare, in their order.
fn notes(path: &Path) -> Vec<String> {
    let reading = read_all(&RealDisk, path).unwrap();
    let texts = reading.lines.iter().filter_map(|line| {
        let fields = line.fields();
        Some(fields.get("text")?.as_str()?.to_owned())
    });
    texts.collect()
}

const JOT: [&str; 6] = [
    "--as",
    "odile",
    "--clock",
    "2026-11-26T08:00:00Z",
    "jot",
    "hare",
];

fn jot(text: &str) -> Vec<&str> {
    [JOT.as_slice(), &[text]].concat()
}

fn said(ended: &Output) -> (Option<i32>, String) {
    let text = String::from_utf8_lossy(&ended.stderr).into_owned();
    (ended.status.code(), text)
}

/// What becomes of a note while a call of the system fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fate {
    /// It is kept and said to be kept: the call was made again.
    Kept,
    /// It is not kept, and the message says what to do.
    Refused(&'static str),
    /// The program was killed; the note may be there or not.
    Killed,
}

/// Lets a call on the journal go wrong and looks at what is left.
#[track_caller]
fn check_call(inject: &str, fate: Fate) {
    let sealed = Sealed::at_work();
    let journal = journal(&sealed);
    let well = Under {
        sealed: &sealed,
        wrapper: Vec::new(),
    };
    assert!(well.run(&jot("first")).status.success());
    let before = fs::read(&journal).unwrap();
    let ill = Under {
        sealed: &sealed,
        wrapper: ["strace", "-f", "-qq", "-o", "/dev/null", "-P"]
            .map(str::to_owned)
            .into_iter()
            .chain([journal.display().to_string()])
            .chain(["-e", "trace=write,fdatasync,ftruncate,flock"].map(str::to_owned))
            .chain(["-e".to_owned(), format!("inject={inject}")])
            .collect(),
    };
    let (code, told) = said(&ill.run(&jot("second")));
    match fate {
        Fate::Kept => assert_eq!((code, told.as_str()), (Some(0), ""), "{inject}"),
        Fate::Refused(words) => {
            assert_eq!(code, Some(3), "{inject}: {told}");
            assert!(told.contains(words), "{inject}: {told}");
            assert_eq!(fs::read(&journal).unwrap(), before, "{inject}");
        }
        Fate::Killed => assert!(!told.contains("kept"), "{inject}: {told}"),
    }
    // Reading goes on, and so does writing once the disk is well again.
    let read = well.run(&["day", "2026-11-26"]);
    assert!(read.status.success(), "{inject}: {:?}", said(&read));
    let (code, told) = said(&well.run(&jot("third")));
    assert_eq!(code, Some(0), "{inject}: {told}");
    let kept = notes(&journal);
    let at = |text: &str| kept.iter().filter(|kept| *kept == text).count();
    assert_eq!((at("first"), at("third")), (1, 1), "{inject}: {kept:?}");
    match fate {
        Fate::Kept => assert_eq!(at("second"), 1, "{inject}"),
        Fate::Refused(_) => assert_eq!(at("second"), 0, "{inject}"),
        Fate::Killed => assert!(at("second") <= 1, "{inject}"),
    }
    assert_eq!(verify(&RealDisk, &journal).unwrap(), [], "{inject}");
}

#[test]
fn whatever_call_of_the_system_fails_no_line_is_lost_and_none_is_false() {
    if !can(&["strace", "-f", "-qq", "-o", "/dev/null", "true"]) {
        return;
    }
    let nothing_lost = "nothing was lost and nothing is half written";
    for inject in [
        "write:error=ENOSPC",
        "write:error=EIO",
        "write:error=EDQUOT",
    ] {
        check_call(inject, Fate::Refused(nothing_lost));
    }
    // The system says that it took ten bytes of the line and no more.
    check_call("write:retval=10", Fate::Refused(nothing_lost));
    check_call(
        "fdatasync:error=EIO:when=1",
        Fate::Refused("cannot be sure"),
    );
    // A share without locks: of the three answers that systems give, each is one.
    for inject in [
        "flock:error=ENOLCK",
        "flock:error=EOPNOTSUPP",
        "flock:error=ENOSYS",
    ] {
        check_call(inject, Fate::Refused("this disk cannot lock files"));
    }
    // An interruption is none: the call is made again.
    check_call("flock:error=EINTR:when=1..3", Fate::Kept);
    check_call("write:error=EINTR:when=1..3", Fate::Kept);
    check_call("fdatasync:error=EINTR:when=1..3", Fate::Kept);
    check_call("write:signal=KILL:when=1", Fate::Killed);
    check_call("fdatasync:signal=KILL:when=1", Fate::Killed);
}

/// Runs a script in a name space of mounts of its own, which ends with it.
fn in_own_mounts(sealed: &Sealed, script: &str) -> Output {
    let words = ["unshare", "-r", "-m", "sh", "-c", script];
    sealed_command(&words.map(str::to_owned), sealed.home.path())
        .env("KNUCKLE", env!("CARGO_BIN_EXE_knuckle"))
        .env("SHOP", sealed.shop())
        .output()
        .unwrap()
}

#[test]
fn a_disk_that_really_fills_up_loses_nothing_that_was_said_to_be_kept() {
    let try_mount = "mount -t tmpfs -o size=64k tmpfs /mnt";
    if !can(&["unshare", "-r", "-m", "sh", "-c", try_mount]) {
        return;
    }
    let sealed = Sealed::new();
    let script = r#"
        set -e
        mkdir disk
        mount -t tmpfs -o size=1m tmpfs disk
        cp -r "$SHOP" disk/shop
        jot() { "$KNUCKLE" --shop disk/shop --as odile --clock 2026-11-26T08:00:00Z jot hare "$1"; }
        jot first >/dev/null
        cat /dev/zero >disk/fill 2>/dev/null || true
        for count in $(seq 60); do
            if jot "$count $(printf '%0200d' 0)" >/dev/null 2>said; then echo "kept $count"; else
                echo "full $count"; fi
        done
        "$KNUCKLE" --shop disk/shop --clock 2026-11-26T08:00:00Z day >/dev/null && echo "read"
        cat said >&2
        rm disk/fill
        jot last >/dev/null && echo "kept again"
        cp disk/shop/figures/hare/journal.jsonl kept.jsonl
    "#;
    let home = sealed.home.path();
    let ended = in_own_mounts(&sealed, &format!("cd '{}'\n{script}", home.display()));
    let out = String::from_utf8(ended.stdout.clone()).unwrap();
    let (code, told) = said(&ended);
    assert_eq!(code, Some(0), "{out}{told}");
    assert!(
        out.contains("full ") && out.ends_with("read\nkept again\n"),
        "{out}{told}"
    );
    assert_eq!(
        told,
        "cannot keep the last act: the disk is full\n where: figures/hare/journal.jsonl, after line LINE\n    do: make room, then try again; nothing was lost and nothing is half written\n"
            .replace("LINE", &(out.matches("kept ").count()).to_string())
    );
    let path = home.join("kept.jsonl");
    assert_eq!(verify(&RealDisk, &path).unwrap(), []);
    let acknowledged = out.lines().filter_map(|line| line.strip_prefix("kept "));
    let acknowledged: Vec<&str> = acknowledged.filter(|count| *count != "again").collect();
    let kept = notes(&path);
    let counts: Vec<&str> = kept
        .iter()
        .map(|note| note.split(' ').next().unwrap())
        .collect();
    let wanted: Vec<&str> = ["first"]
        .into_iter()
        .chain(acknowledged)
        .chain(["last"])
        .collect();
    assert_eq!(counts, wanted);
}

#[test]
fn a_shop_on_a_disk_that_can_only_be_read_is_read() {
    let try_mount = "mount --bind /mnt /mnt && mount -o remount,ro,bind /mnt";
    if !can(&["unshare", "-r", "-m", "sh", "-c", try_mount]) {
        return;
    }
    let sealed = Sealed::at_work();
    let before = fs::read(journal(&sealed)).unwrap();
    let script = r#"
        mount --bind "$SHOP" "$SHOP" && mount -o remount,ro,bind "$SHOP" && cd "$SHOP" || exit 9
        for words in "standing" "clocks" "day 2026-11-25" "check" "audit"; do
            "$KNUCKLE" --clock 2026-11-25T18:00:00Z $words >/dev/null || exit 8
        done
        "$KNUCKLE" --as odile --clock 2026-11-26T08:00:00Z jot hare "no"
    "#;
    let (code, told) = said(&in_own_mounts(&sealed, script));
    assert_eq!(code, Some(3), "{told}");
    assert_eq!(
        told,
        "cannot keep the last act: the disk can only be read\n where: figures/hare/journal.jsonl, after line 10\n    do: make the disk writable, then try again; nothing was lost and nothing is half written\n"
    );
    assert_eq!(fs::read(journal(&sealed)).unwrap(), before);
}

/// Somebody who may read the shop and may not write it: nobody, when root runs the trial.
#[test]
fn without_the_right_to_write_the_shop_is_read_and_the_words_say_whom_to_ask() {
    let by_root = [
        "setpriv",
        "--reuid=65534",
        "--regid=65534",
        "--clear-groups",
    ];
    let sealed = Sealed::at_work();
    let home = sealed.home.path().to_owned();
    let mut words: Vec<String> = Vec::new();
    if can(&["test", "-w", "/"]) {
        // The program may lie where nobody else can look; so it goes along.
        let program = home.join("program");
        fs::copy(env!("CARGO_BIN_EXE_knuckle"), &program).unwrap();
        if !can(&[&by_root[..], &["true"]].concat()) {
            return;
        }
        words.extend(by_root.map(str::to_owned));
        words.push(program.display().to_string());
    } else {
        words.push(env!("CARGO_BIN_EXE_knuckle").to_owned());
    }
    let allow = |path: &Path, mode| {
        fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
    };
    allow(&home, 0o755);
    allow(&journal(&sealed), 0o444);
    let run = |more: &[&str]| {
        let all: Vec<String> = words
            .iter()
            .cloned()
            .chain(more.iter().map(|word| (*word).to_owned()))
            .collect();
        let ended = sealed_command(&all, &home)
            .current_dir(sealed.shop())
            .output()
            .unwrap();
        said(&ended)
    };
    assert_eq!(run(&["day", "2026-11-25"]), (Some(0), String::new()));
    let (code, told) = run(&jot("no"));
    assert_eq!(code, Some(3));
    assert_eq!(
        told,
        "cannot keep the last act: this user is not allowed to\n where: figures/hare/journal.jsonl, after line 10\n    do: ask whoever keeps this computer for the right to write it, then try again; nothing was lost and nothing is half written\n"
    );
    // A right to read that was taken away is told at the reading, never passed over.
    allow(&journal(&sealed), 0o000);
    let (code, told) = run(&["day", "2026-11-25"]);
    assert_eq!(code, Some(3));
    assert!(
        told.starts_with("hare: its book cannot be read, "),
        "{told}"
    );
    allow(&journal(&sealed), 0o644);
}
