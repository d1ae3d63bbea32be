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
use knuckle::shop::Cache;

fn main() -> ExitCode {
    let ended = run(env::args_os(), &outside(), (&mut stdout(), &mut stderr()));
    ended.map_or_else(|trouble| trouble.print(), ExitCode::from)
}

/// Reads the environment; nothing else in the program does.
fn outside() -> Outside {
    let dirs = BaseDirs::new();
    let cache = dirs.as_ref().map(BaseDirs::cache_dir);
    let state = dirs
        .as_ref()
        .map(|dirs| dirs.state_dir().unwrap_or(dirs.data_local_dir()));
    Outside {
        disk: Arc::new(RealDisk),
        // A folder that was removed under the program is no place to look for a shop.
        here: env::current_dir().unwrap_or_default(),
        memory: state.map(|state| state.join("knuckle")),
        cache: cache.and_then(|cache| Cache::of(&RealDisk, cache, &env::current_exe().ok()?)),
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
#[expect(clippy::disallowed_methods, reason = "the environment is read here")]
fn bench() -> String {
    let kernel = disk::read(&RealDisk, Path::new("/proc/sys/kernel/hostname"));
    let kernel = kernel.ok().and_then(|bytes| String::from_utf8(bytes).ok());
    let name = kernel.or_else(|| env::var("COMPUTERNAME").ok());
    let name = name.unwrap_or_default().trim().to_owned();
    if name.is_empty() {
        "bench".to_owned()
    } else {
        name
    }
}
