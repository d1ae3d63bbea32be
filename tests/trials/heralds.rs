//! The way to the desktop: a real private session bus with a small notification service of
//! our own on it, one that answers late, one that is dead, and none at all.
//!
//! The address of the bus is read from the environment of the process, so each herald lives
//! in a child: this test program again, started with the name of the trial and told by the
//! environment to play the child. Parent and child speak by lines; every wait has a limit at
//! which the trial fails, and no result depends on how long anything took.

use std::collections::HashMap;
use std::io::{BufRead, BufReader, Write};
use std::os::unix::net::UnixListener;
use std::path::Path;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::Mutex;
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender, TryRecvError};
use std::thread;
use std::time::Duration;

use knuckle::alarm::{Herald, NotPosted, Notice, Post, Quiet, Reach, Turn, Urgency};
use tempfile::TempDir;
use zbus::blocking::{Connection, connection};
use zbus::zvariant::OwnedValue;

/// Present in the environment of a child only.
const CHILD: &str = "KNUCKLE_TRIAL_HERALD";

/// When a trial gives up: nothing here takes a fraction of it, even on a busy machine.
const GIVE_UP: Duration = Duration::from_mins(2);

fn notice(summary: &str, turn: Turn) -> Notice {
    Notice {
        summary: summary.to_owned(),
        body: "hare: stop using the cup, take it outside".to_owned(),
        urgency: Urgency::High,
        quiet: Quiet::Off,
        turn,
    }
}

fn reach_word(reach: &Reach) -> &'static str {
    match reach {
        Reach::Untried => "untried",
        Reach::Reached => "reached",
        Reach::Silent => "silent",
        Reach::Away(_) => "away",
    }
}

// ---- the child ----

#[expect(
    clippy::disallowed_methods,
    reason = "the parent tells its child by the environment what to do"
)]
fn is_child() -> bool {
    std::env::var_os(CHILD).is_some()
}

/// Tells the parent, by a line of its own.
fn say(line: &str) {
    let mut out = std::io::stdout();
    writeln!(out, "\nherald: {line}").unwrap();
    out.flush().unwrap();
}

/// Waits until the parent says so.
fn await_word() {
    let mut line = String::new();
    let read = std::io::stdin().read_line(&mut line).unwrap();
    assert_ne!(read, 0, "the parent is gone");
}

/// Starts a herald that reports what becomes of each message.
fn herald() -> (Herald, Receiver<Reach>) {
    let (tell, told) = mpsc::channel();
    let herald = Herald::start(move |reach| {
        // The child may be done already; then there is nobody left to tell.
        drop(tell.send(reach.clone()));
    });
    (herald, told)
}

// ---- the parent ----

/// A child that plays the herald of the trial of this name.
struct Player {
    child: Child,
    words: Option<ChildStdin>,
    lines: Receiver<String>,
}

impl Player {
    fn start(trial: &str, bus: &str) -> Self {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args([trial, "--exact", "--nocapture", "--test-threads=1"])
            .env(CHILD, "1")
            .env("DBUS_SESSION_BUS_ADDRESS", bus)
            .env_remove("XDG_RUNTIME_DIR")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let out = BufReader::new(child.stdout.take().unwrap());
        let (send, lines) = mpsc::channel();
        thread::spawn(move || {
            for line in out.lines().map_while(Result::ok) {
                if let Some(said) = line.strip_prefix("herald: ") {
                    drop(send.send(said.to_owned()));
                }
            }
        });
        Self {
            words: child.stdin.take(),
            child,
            lines,
        }
    }

    #[track_caller]
    fn says(&self, expected: &str) {
        assert_eq!(wait_for(&self.lines).as_deref(), Some(expected));
    }

    fn go_on(&mut self) {
        writeln!(self.words.as_mut().unwrap(), "go on").unwrap();
    }

    /// Waits for the child's own end, which a thread that cannot be left would put off.
    #[track_caller]
    fn ends_well(mut self) {
        assert_eq!(wait_for(&self.lines), None, "it says nothing more");
        assert!(self.child.wait().unwrap().success());
    }
}

impl Drop for Player {
    fn drop(&mut self) {
        // It has ended by itself where all went well.
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

/// Returns the next word, `None` when its sender is gone; fails at the limit.
#[track_caller]
fn wait_for<T>(words: &Receiver<T>) -> Option<T> {
    match words.recv_timeout(GIVE_UP) {
        Ok(word) => Some(word),
        Err(RecvTimeoutError::Disconnected) => None,
        Err(RecvTimeoutError::Timeout) => panic!("nothing came for {GIVE_UP:?}"),
    }
}

/// A session bus of our own, without any service on it. It ends with the trial.
struct Bus {
    daemon: Child,
    address: String,
    _folder: TempDir,
}

impl Bus {
    #[expect(
        clippy::disallowed_methods,
        reason = "the configuration of a bus is no file of ours to keep"
    )]
    fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let config = folder.path().join("bus.conf");
        std::fs::write(&config, bus_config(&folder.path().join("bus"))).unwrap();
        let mut daemon = Command::new("dbus-daemon")
            .arg(format!("--config-file={}", config.display()))
            .args(["--print-address", "--nofork"])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .spawn()
            .expect("dbus-daemon is missing: install the package `dbus-daemon` (Debian)");
        let mut address = String::new();
        BufReader::new(daemon.stdout.take().unwrap())
            .read_line(&mut address)
            .unwrap();
        let address = address.trim().to_owned();
        assert!(address.starts_with("unix:"), "no bus came up: {address:?}");
        Self {
            daemon,
            address,
            _folder: folder,
        }
    }

    fn serve(&self, service: Service) -> Connection {
        connection::Builder::address(self.address.as_str())
            .unwrap()
            .serve_at("/org/freedesktop/Notifications", service)
            .unwrap()
            .name("org.freedesktop.Notifications")
            .unwrap()
            .build()
            .unwrap()
    }
}

impl Drop for Bus {
    fn drop(&mut self) {
        drop(self.daemon.kill());
        drop(self.daemon.wait());
    }
}

fn bus_config(socket: &Path) -> String {
    format!(
        "<!DOCTYPE busconfig PUBLIC \"-//freedesktop//DTD D-BUS Bus Configuration 1.0//EN\"
 \"http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd\">
<busconfig>
  <type>session</type>
  <listen>unix:path={}</listen>
  <auth>EXTERNAL</auth>
  <policy context=\"default\">
    <allow send_destination=\"*\" eavesdrop=\"true\"/>
    <allow eavesdrop=\"true\"/>
    <allow own=\"*\"/>
  </policy>
</busconfig>
",
        socket.display()
    )
}

/// What came over the bus.
#[derive(Debug, PartialEq)]
enum Came {
    Notify {
        app: String,
        replaces: u32,
        icon: String,
        summary: String,
        body: String,
        actions: Vec<String>,
        urgency: Option<u8>,
        suppress_sound: Option<bool>,
        expires: i32,
    },
    Close(u32),
}

/// A notification service as the Desktop Notifications Specification 1.2 describes it
/// (freedesktop.org): it numbers what it shows, and keeps the number of what is replaced.
struct Service {
    came: Sender<Came>,
    /// Before it answers, it waits for a word here; without one it answers at once.
    hold: Option<Mutex<Receiver<()>>>,
    shown: u32,
}

#[zbus::interface(name = "org.freedesktop.Notifications")]
impl Service {
    #[expect(
        clippy::too_many_arguments,
        reason = "the published interface has eight"
    )]
    fn notify(
        &mut self,
        app_name: String,
        replaces_id: u32,
        app_icon: String,
        summary: String,
        body: String,
        actions: Vec<String>,
        mut hints: HashMap<String, OwnedValue>,
        expire_timeout: i32,
    ) -> u32 {
        let came = Came::Notify {
            app: app_name,
            replaces: replaces_id,
            icon: app_icon,
            summary,
            body,
            actions,
            urgency: hints.remove("urgency").map(|hint| hint.try_into().unwrap()),
            suppress_sound: hints
                .remove("suppress-sound")
                .map(|hint| hint.try_into().unwrap()),
            expires: expire_timeout,
        };
        self.came.send(came).unwrap();
        if let Some(hold) = &self.hold {
            hold.lock().unwrap().recv_timeout(GIVE_UP).unwrap();
        }
        if replaces_id == 0 {
            self.shown += 1;
            self.shown
        } else {
            replaces_id
        }
    }

    fn close_notification(&mut self, id: u32) {
        self.came.send(Came::Close(id)).unwrap();
    }
}

// ---- the trials ----

/// Urgency hint: a byte, 0 low, 1 normal, 2 critical; 0 as a time means that it never
/// expires; `suppress-sound` is a boolean (Desktop Notifications Specification 1.2).
#[test]
fn the_desktop_is_told_what_rings_how_urgent_it_is_and_when_it_is_over() {
    if is_child() {
        return tell_the_desktop();
    }
    let bus = Bus::start();
    let (came, seen) = mpsc::channel();
    let service = bus.serve(Service {
        came,
        hold: None,
        shown: 40,
    });
    let trial = "heralds::the_desktop_is_told_what_rings_how_urgent_it_is_and_when_it_is_over";
    let player = Player::start(trial, &bus.address);
    for _ in 0..4 {
        player.says("reached");
    }
    player.says("taken down");
    player.ends_well();
    let expect = |replaces, (summary, body): (&str, &str), urgency, suppress_sound| Came::Notify {
        app: "knuckle".to_owned(),
        replaces,
        icon: String::new(),
        summary: summary.to_owned(),
        body: body.to_owned(),
        // Nothing on the desktop answers an alarm.
        actions: Vec::new(),
        urgency: Some(urgency),
        suppress_sound,
        expires: 0,
    };
    let half = ("* half", "lay fresh gloves ready");
    let soon = ("** soon", "use the cup up");
    let over = ("*** over", "take it outside\nsince 09:00");
    let expected = [
        expect(0, half, 0, None),
        // Something new is a new message, then the old one goes.
        expect(0, soon, 1, Some(true)),
        Came::Close(41),
        expect(0, over, 2, None),
        Came::Close(42),
        // A repeat is written over it.
        expect(43, over, 2, None),
        Came::Close(43),
    ];
    drop(service);
    drop(bus);
    assert_eq!(seen.try_iter().collect::<Vec<_>>(), expected);
}

fn tell_the_desktop() {
    let (herald, told) = herald();
    assert_eq!(herald.reach(), Reach::Untried);
    let all = [
        ("* half", "lay fresh gloves ready", Urgency::Low, Quiet::Off),
        ("** soon", "use the cup up", Urgency::Middle, Quiet::On),
        (
            "*** over",
            "take it outside\nsince 09:00",
            Urgency::High,
            Quiet::Off,
        ),
    ];
    let mut notices: Vec<_> = all
        .into_iter()
        .map(|(summary, body, urgency, quiet)| Notice {
            summary: summary.to_owned(),
            body: body.to_owned(),
            urgency,
            quiet,
            turn: Turn::First,
        })
        .collect();
    let mut again = notices[2].clone();
    again.turn = Turn::Again;
    notices.push(again);
    for notice in notices {
        herald.cry(notice);
        say(reach_word(&wait_for(&told).unwrap()));
        assert_eq!(herald.reach().warning(), None);
    }
    herald.hush();
    wait_for(&told).unwrap();
    say("taken down");
}

/// The service holds its answer back until the caller is through with all its rings.
#[test]
fn a_slow_desktop_holds_up_nobody_and_gets_the_newest_only() {
    if is_child() {
        return cry_while_the_desktop_thinks();
    }
    let bus = Bus::start();
    let (came, seen) = mpsc::channel();
    let (release, hold) = mpsc::channel();
    let service = bus.serve(Service {
        came,
        hold: Some(Mutex::new(hold)),
        shown: 0,
    });
    let trial = "heralds::a_slow_desktop_holds_up_nobody_and_gets_the_newest_only";
    let mut player = Player::start(trial, &bus.address);
    let summary = |came: Option<Came>| match came {
        Some(Came::Notify { summary, .. }) => summary,
        other => panic!("{other:?}"),
    };
    assert_eq!(summary(wait_for(&seen)), "ring 1");
    player.go_on();
    player.says("through with 50, silent");
    // Only now does the service answer, first to ring 1, then to what came of the others.
    release.send(()).unwrap();
    player.says("reached");
    assert_eq!(summary(wait_for(&seen)), "ring 50");
    release.send(()).unwrap();
    player.says("reached");
    player.ends_well();
    drop(service);
    let rest: Vec<_> = seen.try_iter().collect();
    assert!(
        rest.iter().all(|came| matches!(came, Came::Close(_))),
        "rings 2 to 49 were passed over: {rest:?}"
    );
}

fn cry_while_the_desktop_thinks() {
    let (herald, told) = herald();
    herald.cry(notice("ring 1", Turn::First));
    await_word();
    for ring in 2..=50 {
        herald.cry(notice(&format!("ring {ring}"), Turn::First));
    }
    say(&format!("through with 50, {}", reach_word(&herald.reach())));
    for _ in 0..2 {
        say(reach_word(&wait_for(&told).unwrap()));
    }
}

/// A socket that accepts and never answers: nothing in this trial writes to it, so whatever
/// the child gets through, it gets through without an answer.
#[test]
fn a_dead_bus_holds_up_neither_the_rings_nor_the_end() {
    if is_child() {
        return cry_at_a_dead_bus();
    }
    let folder = tempfile::tempdir().unwrap();
    let socket = folder.path().join("bus");
    let listener = UnixListener::bind(&socket).unwrap();
    let trial = "heralds::a_dead_bus_holds_up_neither_the_rings_nor_the_end";
    let address = format!("unix:path={}", socket.display());
    let (send, accepted) = mpsc::channel();
    thread::spawn(move || {
        for stream in listener.incoming() {
            // Who holds the streams keeps them open.
            drop(send.send(stream.unwrap()));
        }
    });
    let mut player = Player::start(trial, &address);
    let open = wait_for(&accepted).unwrap();
    player.go_on();
    player.says("through with 50, silent");
    player.says("the desktop does not answer: alarms ring here only");
    player.says("dropped");
    player.ends_well();
    drop(open);
}

fn cry_at_a_dead_bus() {
    let (herald, told) = herald();
    herald.cry(notice("ring 1", Turn::First));
    await_word();
    for ring in 2..=50 {
        herald.cry(notice(&format!("ring {ring}"), Turn::Again));
    }
    say(&format!("through with 50, {}", reach_word(&herald.reach())));
    say(herald.reach().warning().unwrap());
    herald.hush();
    drop(herald);
    assert_eq!(
        told.try_recv(),
        Err(TryRecvError::Empty),
        "no try has come to an end, and its thread is still at it"
    );
    say("dropped");
}

#[test]
fn without_a_bus_alarms_ring_here_only_and_that_is_no_error() {
    if is_child() {
        return cry_into_the_void();
    }
    let folder = tempfile::tempdir().unwrap();
    let address = format!("unix:path={}", folder.path().join("none").display());
    let trial = "heralds::without_a_bus_alarms_ring_here_only_and_that_is_no_error";
    check_away(Player::start(trial, &address));
}

/// A bus on which nobody takes notifications.
#[test]
fn a_bus_without_a_desktop_is_no_error_either() {
    if is_child() {
        return cry_into_the_void();
    }
    let bus = Bus::start();
    let trial = "heralds::a_bus_without_a_desktop_is_no_error_either";
    check_away(Player::start(trial, &bus.address));
}

#[track_caller]
fn check_away(player: Player) {
    for _ in 0..2 {
        player.says("away");
        player.says("no desktop bus: alarms ring here only");
    }
    player.ends_well();
}

fn cry_into_the_void() {
    let (herald, told) = herald();
    // The next ring tries again: a desktop may come later.
    for _ in 0..2 {
        herald.cry(notice("over", Turn::Again));
        say(reach_word(&wait_for(&told).unwrap()));
        say(herald.reach().warning().unwrap());
    }
    herald.hush();
    wait_for(&told).unwrap();
}

/// A place that keeps what it was shown, and answers when it is told to.
struct Board {
    shown: Sender<Notice>,
    answers: Receiver<Result<(), NotPosted>>,
}

impl Post for Board {
    fn show(&mut self, notice: &Notice) -> Result<(), NotPosted> {
        self.shown.send(notice.clone()).unwrap();
        self.answers.recv_timeout(GIVE_UP).unwrap()
    }

    fn take_down(&mut self) {}
}

/// What was new in a message that was passed over is still new in the one that took its
/// place; and the state follows each try.
#[test]
fn what_was_passed_over_stays_new() {
    let (shown, seen) = mpsc::channel();
    let (answer, answers) = mpsc::channel();
    let (tell, told) = mpsc::channel();
    let herald = Herald::with(Board { shown, answers }, move |reach: &Reach| {
        tell.send(reach.clone()).unwrap();
    });
    herald.cry(notice("first", Turn::Again));
    assert_eq!(wait_for(&seen).unwrap().turn, Turn::Again);
    herald.cry(notice("new", Turn::First));
    assert_eq!(herald.reach(), Reach::Untried, "nothing is passed over yet");
    herald.cry(notice("newest", Turn::Again));
    assert_eq!(herald.reach(), Reach::Silent);
    answer.send(Ok(())).unwrap();
    assert_eq!(wait_for(&told), Some(Reach::Reached));
    let newest = wait_for(&seen).unwrap();
    assert_eq!(
        (newest.summary.as_str(), newest.turn),
        ("newest", Turn::First)
    );
    let away = NotPosted {
        why: "nobody there".to_owned(),
    };
    assert_eq!(away.to_string(), "the desktop took no alarm: nobody there");
    answer.send(Err(away.clone())).unwrap();
    assert_eq!(wait_for(&told), Some(Reach::Away(away)));
    drop(herald);
    assert_eq!(wait_for(&seen), None, "the thread has let go of its post");
}
