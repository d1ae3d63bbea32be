//! The real program in a pseudo-terminal, with the moment at which each part of its page came.

use std::io::{Read, Write};
use std::path::Path;
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

/// How long a page is waited for before the bench gives up.
const GIVE_UP: Duration = Duration::from_mins(2);

/// The program in a window of 120×40.
pub(crate) struct Window {
    child: Box<dyn Child + Send + Sync>,
    keys: Box<dyn Write + Send>,
    page: Arc<(Mutex<Page>, Condvar)>,
    /// When it was started.
    pub(crate) began: Instant,
    /// Held open: the window closes with it.
    _master: Box<dyn MasterPty + Send>,
}

/// What came out of the program.
struct Page {
    screen: vt100::Parser,
    /// When something came, and how many bells have rung by then.
    came: Vec<(Instant, usize)>,
}

impl Window {
    /// Starts the program at a shop, with a folder of its own for everything that it may keep
    /// elsewhere.
    pub(crate) fn open(shop: &Path, home: &Path, args: &[&str]) -> Self {
        let size = PtySize {
            rows: 40,
            cols: 120,
            pixel_width: 0,
            pixel_height: 0,
        };
        let pair = native_pty_system().openpty(size).unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_knuckle"));
        command.env_clear();
        command.env("TERM", "xterm-256color");
        command.env("HOME", home);
        command.env("TMPDIR", home);
        // No message of a bench pops up on anybody's desktop.
        command.env("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nowhere");
        command.cwd(shop);
        command.arg("--shop");
        command.arg(shop);
        command.args(args);
        let page = Arc::new((
            Mutex::new(Page {
                screen: vt100::Parser::new(40, 120, 0),
                came: Vec::new(),
            }),
            Condvar::new(),
        ));
        let (theirs, mut out) = (Arc::clone(&page), pair.master.try_clone_reader().unwrap());
        let keys = pair.master.take_writer().unwrap();
        std::thread::spawn(move || {
            let mut bytes = vec![0; 1 << 16];
            let mut bells = 0;
            while let Ok(read @ 1..) = out.read(&mut bytes) {
                let at = Instant::now();
                bells += memchr::memchr_iter(7, &bytes[..read]).count();
                let mut page = theirs.0.lock().unwrap();
                page.screen.process(&bytes[..read]);
                page.came.push((at, bells));
                theirs.1.notify_all();
            }
        });
        let began = Instant::now();
        let child = pair.slave.spawn_command(command).unwrap();
        Self {
            child,
            keys,
            page,
            began,
            _master: pair.master,
        }
    }

    /// Waits until the page shows all of these; returns when the last part of it came.
    pub(crate) fn shows(&self, texts: &[&str]) -> Instant {
        let page = self.page.0.lock().unwrap();
        let lacks = |page: &mut Page| {
            let text = page.screen.screen().contents();
            !texts.iter().all(|wanted| text.contains(wanted))
        };
        let (page, waited) = self
            .page
            .1
            .wait_timeout_while(page, GIVE_UP, lacks)
            .unwrap();
        assert!(
            !waited.timed_out(),
            "never showed {texts:?}:\n{}",
            page.screen.screen().contents()
        );
        page.came.last().unwrap().0
    }

    pub(crate) fn press(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }

    /// Returns when something came out of the program since a moment, and the bells by then.
    pub(crate) fn came_since(&self, since: Instant) -> Vec<(Instant, usize)> {
        let page = self.page.0.lock().unwrap();
        let came = page.came.iter();
        came.filter(|(at, _)| since <= *at).copied().collect()
    }

    /// Returns the system's number of the program.
    pub(crate) fn process(&self) -> u32 {
        self.child.process_id().unwrap()
    }
}

impl Drop for Window {
    fn drop(&mut self) {
        // A bench that failed leaves no program behind.
        drop(self.child.kill());
        drop(self.child.wait());
    }
}
