//! Work side by side. The only room that starts threads.
//!
//! What must hold: results are the same, and in the same order, whether or not threads run. Without threads (feature
//! `serial`, WebAssembly, or within [`serially`]) everything runs on the caller's thread.
//!
//! No more threads run at once than the machine has processors, however deep the work is divided: with more, the longest
//! piece would get too small a share of them and end last, alone. A piece that no thread has begun is done by the thread
//! that would else wait for it.

#![expect(clippy::disallowed_methods, reason = "this is the room that starts threads")]

use std::cell::Cell;
use std::num::NonZero;
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Condvar, LazyLock, Mutex, MutexGuard, PoisonError};
use std::thread::{ScopedJoinHandle, available_parallelism, scope};

thread_local! {
    static SERIAL: Cell<bool> = const { Cell::new(cfg!(any(feature = "serial", target_family = "wasm"))) };
}

static PROCESSORS: LazyLock<usize> = LazyLock::new(|| available_parallelism().map_or(1, NonZero::get));

/// How many threads run. The first thread counts, a thread that waits for others does not.
static RUNNING: Running = Running { count: Mutex::new(1), changed: Condvar::new() };

struct Running {
    count: Mutex<isize>,
    changed: Condvar,
}

/// The right of a started thread to run, until it is dropped.
struct Turn;

impl Running {
    /// Waits until one more thread may run; `None` once nothing is left to do.
    fn begin(&self, is_left: impl Fn() -> bool) -> Option<Turn> {
        let mut count = lock(&self.count);
        while is_left() {
            if *count < *PROCESSORS as isize {
                *count += 1;
                return Some(Turn);
            }
            count = self.changed.wait(count).unwrap_or_else(PoisonError::into_inner);
        }
        None
    }

    /// Has waiting threads look again.
    fn changes(&self, by: isize) {
        *lock(&self.count) += by;
        self.changed.notify_all();
    }

    /// The result of a thread. Meanwhile another one may run in place of this one.
    fn join<T>(&self, thread: ScopedJoinHandle<T>) -> T {
        self.changes(-1);
        let joined = thread.join();
        // This thread goes on at once: it may hold what others wait for.
        self.changes(1);
        joined.unwrap_or_else(|panic| resume_unwind(panic))
    }
}

impl Drop for Turn {
    fn drop(&mut self) {
        RUNNING.changes(-1);
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Runs `work` without starting a thread anywhere in it.
pub fn serially<T>(work: impl FnOnce() -> T) -> T {
    let before = SERIAL.replace(true);
    let done = work();
    SERIAL.set(before);
    done
}

/// Two results, worked out side by side. The caller's thread begins with `other`.
pub fn both<A: Send, B>(one: impl FnOnce() -> A + Send, other: impl FnOnce() -> B) -> (A, B) {
    if SERIAL.get() || *PROCESSORS < 2 {
        return (one(), other());
    }
    let left = Mutex::new(Some(one));
    let take = || lock(&left).take();
    scope(|scope| {
        let thread = scope.spawn(|| {
            let turn = RUNNING.begin(|| lock(&left).is_some());
            let one = turn.as_ref().and_then(|_| take());
            one.map(|one| one())
        });
        let other = other();
        if let Some(one) = take() {
            RUNNING.changes(0);
            return (one(), other);
        }
        match RUNNING.join(thread) {
            Some(one) => (one, other),
            // OK because the thread ends without a result only if this one took the work.
            None => unreachable!("nobody else takes the work"),
        }
    })
}

/// A result for each item, in the order of the items. Threads take the next item in turn.
pub fn each<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let threads = items.len().min(*PROCESSORS);
    if SERIAL.get() || threads < 2 {
        return items.iter().map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let share = || {
        let mut done = Vec::new();
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(item) = items.get(at) else { return done };
            done.push((at, work(item)));
        }
    };
    let helps = || {
        let turn = RUNNING.begin(|| next.load(Ordering::Relaxed) < items.len());
        turn.map_or(vec![], |_turn| share())
    };
    let mut done = scope(|scope| {
        let others: Vec<_> = (1..threads).map(|_| scope.spawn(helps)).collect();
        let mut done = share();
        for other in others {
            done.extend(RUNNING.join(other));
        }
        done
    });
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, result)| result).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::thread::{ThreadId, current};

    fn here() -> ThreadId {
        current().id()
    }

    #[test]
    fn results_stand_in_the_order_of_the_items() {
        let items: Vec<u64> = (0..1000).collect();
        let work = |n: &u64| (0..*n % 97).fold(*n, |sum, k| sum.wrapping_mul(31).wrapping_add(k));
        let expected: Vec<u64> = items.iter().map(work).collect();
        assert_eq!(each(&items, work), expected);
        assert_eq!(serially(|| each(&items, work)), expected);
        assert_eq!(each(&[] as &[u64], work), []);
    }

    #[test]
    fn serial_work_stays_on_its_thread() {
        let caller = here();
        serially(|| {
            assert_eq!(both(here, here), (caller, caller));
            assert!(each(&[0; 100], |_| here()).iter().all(|thread| *thread == caller));
        });
        let begun = AtomicUsize::new(0);
        let one = || {
            begun.store(1, Ordering::SeqCst);
            here()
        };
        // The caller would take the work itself if nobody had begun it.
        let other = || {
            while begun.load(Ordering::SeqCst) == 0 && *PROCESSORS > 1 && !cfg!(feature = "serial") {
                std::thread::yield_now();
            }
            here()
        };
        let (one, other) = both(one, other);
        let alone = cfg!(feature = "serial") || *PROCESSORS < 2;
        assert_eq!((one == caller, other == caller), (alone, true));
    }

    #[test]
    fn no_more_threads_run_than_there_are_processors() {
        static NOW: AtomicUsize = AtomicUsize::new(0);
        static MOST: AtomicUsize = AtomicUsize::new(0);
        fn sum(from: u64, to: u64) -> u64 {
            if to - from > 1 {
                let middle = (from + to) / 2;
                let (one, other) = both(|| sum(from, middle), || sum(middle, to));
                return one + other;
            }
            MOST.fetch_max(NOW.fetch_add(1, Ordering::SeqCst) + 1, Ordering::SeqCst);
            let work = (0..20_000u64).fold(from, |sum, k| std::hint::black_box(sum ^ k) ^ k);
            NOW.fetch_sub(1, Ordering::SeqCst);
            work
        }
        assert_eq!(sum(0, 500), 499 * 500 / 2);
        // Some more may for a moment: a thread that has waited for another goes on at once.
        let most = MOST.load(Ordering::SeqCst);
        assert!(most <= 4 * *PROCESSORS, "{most} threads");
    }

    #[test]
    #[should_panic(expected = "the work is bad")]
    fn a_panic_on_either_side_reaches_the_caller() {
        let (one, other) = both(|| both(|| 1, || panic!("the work is bad")).0, || 2);
        assert_eq!((one, other), (1, 2));
    }

    #[test]
    #[should_panic(expected = "the item is bad")]
    fn a_panic_reaches_the_caller() {
        each(&[1, 2, 3], |n| assert!(*n != 2, "the item is bad"));
    }
}
