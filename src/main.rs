//! The door: arguments and environment go in, the exit code comes out.

use std::env;
use std::io::{stderr, stdout};
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;

use directories::BaseDirs;
use knuckle::command::{Outside, run};
use knuckle::disk::{self, RealDisk};
use knuckle::screen::look::Depth;

fn main() -> ExitCode {
    let ended = run(env::args_os(), &outside(), (&mut stdout(), &mut stderr()));
    match ended {
        Ok(kind) => kind.into(),
        Err(trouble) => trouble.print(),
    }
}

/// Reads the environment; nothing else in the program does.
fn outside() -> Outside {
    let memory = BaseDirs::new().map(|dirs| {
        let state = dirs.state_dir().unwrap_or(dirs.data_local_dir());
        state.join("knuckle")
    });
    Outside {
        disk: Arc::new(RealDisk),
        // A folder that was removed under the program is no place to look for a shop.
        here: env::current_dir().unwrap_or_default(),
        memory,
        passing: env::temp_dir(),
        depth: depth(),
        bench: bench(),
    }
}

/// How many colours the terminal shows; none where `NO_COLOR` says so.
fn depth() -> Depth {
    match supports_color::on(supports_color::Stream::Stdout) {
        None => Depth::Plain,
        Some(level) if level.has_16m => Depth::Full,
        Some(level) if level.has_256 => Depth::Many,
        Some(_) => Depth::Sixteen,
    }
}

/// The name of this computer, as the system has it.
#[expect(
    clippy::disallowed_methods,
    reason = "this is where the environment is read"
)]
fn bench() -> String {
    let kernel = disk::read(&RealDisk, Path::new("/proc/sys/kernel/hostname"));
    let kernel = kernel.ok().and_then(|bytes| String::from_utf8(bytes).ok());
    let name = kernel
        .or_else(|| env::var("HOSTNAME").ok())
        .or_else(|| env::var("COMPUTERNAME").ok())
        .map(|name| name.trim().to_owned());
    name.filter(|name| !name.is_empty())
        .unwrap_or_else(|| "bench".to_owned())
}
