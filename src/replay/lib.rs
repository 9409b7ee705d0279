//! The harness in motion. In comes a harness and a drive script; out goes a timeline: what each screen shows when,
//! which promises are kept, and, without any script, the answers to the questions that bring vehicles back to the shop.
//!
//! Between two events nothing changes, and the circuit is solved as a direct-current circuit with every contact held;
//! after an event it is solved again. Times are exact, in whole nanoseconds. What takes time: relays (operate and
//! release), timers, flashers, parts that start up, screens that change over. Trigger inputs and latches move at once.

mod changes;
mod display;
mod drive;
mod flash;
mod machine;
mod plan;
mod promise;
mod replay_circuit;
mod setting;
pub mod standing;
mod time;
mod timeline;

pub use changes::{LaneChange, Row, Track, around, between, change_words, changes, rows};
pub use display::Displayed;
pub use drive::{Timeline, replay, replay_all};
pub use flash::{Cycle, Pattern};
pub use plan::{Plan, Starter, plan};
pub use promise::{Gap, Promise, PromiseKind, Promised, Verdict, promise_words, promised_words};
pub use replay_circuit::ReplayCircuit;
pub use setting::{Pick, Setting, Timing};
pub use time::Time;
pub use timeline::{Lane, Record, Stage};

#[cfg(test)]
mod tests;
