//! Work side by side. The only room that starts threads.
//!
//! What must hold: results are the same, and in the same order, whether or not threads run. Without threads (feature
//! `serial`, WebAssembly, or within [`serially`]) everything runs on the caller's thread.

#![expect(clippy::disallowed_methods, reason = "this is the room that starts threads")]

use std::cell::Cell;
use std::num::NonZero;
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::{available_parallelism, scope};

thread_local! {
    static SERIAL: Cell<bool> = const { Cell::new(cfg!(any(feature = "serial", target_family = "wasm"))) };
}

/// Runs `work` without starting a thread anywhere in it.
pub fn serially<T>(work: impl FnOnce() -> T) -> T {
    let before = SERIAL.replace(true);
    let done = work();
    SERIAL.set(before);
    done
}

/// Two results, worked out side by side.
pub fn both<A: Send, B>(one: impl FnOnce() -> A + Send, other: impl FnOnce() -> B) -> (A, B) {
    if SERIAL.get() {
        return (one(), other());
    }
    scope(|scope| {
        let one = scope.spawn(one);
        let other = other();
        (one.join().unwrap_or_else(|panic| resume_unwind(panic)), other)
    })
}

/// A result for each item, in the order of the items. As many threads as the machine has take the next item in turn.
pub fn each<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let threads = available_parallelism().map_or(1, NonZero::get).min(items.len());
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
    let mut done = scope(|scope| {
        let others: Vec<_> = (1..threads).map(|_| scope.spawn(share)).collect();
        let mut done = share();
        for other in others {
            done.extend(other.join().unwrap_or_else(|panic| resume_unwind(panic)));
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
        let (one, other) = both(here, here);
        assert_eq!((one == caller, other == caller), (cfg!(feature = "serial"), true));
    }

    #[test]
    #[should_panic(expected = "the item is bad")]
    fn a_panic_reaches_the_caller() {
        each(&[1, 2, 3], |n| assert!(*n != 2, "the item is bad"));
    }
}
