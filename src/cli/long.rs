//! Runs that take long: the bar that shows how far they are, and Ctrl-C.

use super::complain;
use circuit::Corner;
use explore::Progress;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::collections::BTreeMap;
use std::io::IsTerminal;
use std::ops::ControlFlow;
use std::sync::{Mutex, OnceLock, PoisonError};
use std::time::{Duration, Instant};

/// A run that is over sooner shows no bar.
const LONG: Duration = Duration::from_secs(1);

/// Exit status of a run that Ctrl-C has ended: 128 and the number of SIGINT, as shells have it.
const INTERRUPTED: i32 = 130;

/// The bar of this run.
static BAR: OnceLock<Bar> = OnceLock::new();

/// A bar on standard error over the states found at all corners, where that is a terminal and the run is long.
struct Bar {
    began: Instant,
    bar: ProgressBar,
    /// By corner: states done, states found.
    at: Mutex<BTreeMap<Corner, (u64, u64)>>,
}

/// Begins a run: counts its time, and ends the program at Ctrl-C, but never within the writing of a job, so that its
/// files are then all there, or none is.
pub fn begin() {
    let style = ProgressStyle::with_template("solving {wide_bar} {pos} of {len} states found so far, {elapsed}");
    let bar = ProgressBar::with_draw_target(Some(0), ProgressDrawTarget::hidden());
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    // OK because a run begins once; a second beginning would only leave the first bar.
    let _ = BAR.set(Bar { began: Instant::now(), bar, at: Mutex::default() });
    // OK because without a handler Ctrl-C ends the program at once, and a file is still whole or not there.
    let _ = ctrlc::set_handler(|| {
        let _held = files::between_writes();
        clear();
        complain("interrupted; nothing is half-written\n");
        std::process::exit(INTERRUPTED);
    });
}

/// Takes note of how far a search is.
pub fn watch(progress: Progress) -> ControlFlow<()> {
    if let Some(bar) = BAR.get().filter(|bar| bar.began.elapsed() >= LONG && std::io::stderr().is_terminal()) {
        bar.show(progress);
    }
    ControlFlow::Continue(())
}

/// Takes the bar away before anything else is printed.
pub fn clear() {
    if let Some(bar) = BAR.get() {
        bar.bar.finish_and_clear();
    }
}

impl Bar {
    fn show(&self, progress: Progress) {
        if self.bar.is_hidden() {
            self.bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        let mut at = self.at.lock().unwrap_or_else(PoisonError::into_inner);
        at.insert(progress.corner, (progress.found - progress.waiting, progress.found));
        let (done, found) = at.values().fold((0, 0), |(done, found), one| (done + one.0, found + one.1));
        self.bar.set_length(found);
        self.bar.set_position(done);
    }
}
