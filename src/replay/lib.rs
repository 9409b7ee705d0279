//! The harness in motion. In comes a harness and a drive script; out goes a timeline: what each screen shows when,
//! which promises are kept, and, without any script, the answers to the questions that bring vehicles back to the shop.
//!
//! Between two events nothing changes, and the circuit is solved as a direct-current circuit with every contact held;
//! after an event it is solved again. Times are exact, in whole nanoseconds. What takes time: relays (operate and
//! release), timers, flashers, parts that start up, screens that change over. Trigger inputs and latches move at once.

mod changes;
mod drive;
mod flash;
mod glass;
mod machine;
mod plan;
mod promise;
mod rig;
mod setting;
pub mod standing;
mod time;
mod timeline;

pub use changes::{Change, Row, Track, around, between, change_words, changes, rows};
pub use drive::{Timeline, replay, replay_all};
pub use flash::{Cycle, Pattern};
pub use glass::Glass;
pub use plan::{Plan, Starter, plan};
pub use promise::{Gap, Promise, PromiseKind, Verdict, promise_words};
pub use rig::Rig;
pub use setting::{Pick, Setting, Timing};
pub use time::Time;
pub use timeline::{Lane, Record, Stage};

#[cfg(test)]
mod tests;
