//! The front door. In come the texts of a spec; out goes a [`Job`], which computes each later stage when it is first
//! asked for and keeps it: the sized model, the solved states, replays, findings, drawings, documents.
//!
//! What must hold: nothing here touches a file, a clock, a terminal or a process, so a job also runs in a browser. The
//! command line, the integration tests and the benches all come in here, so they all see the same sized harness.

mod at_corner;
mod stages;
mod stop;

pub use stages::Job;
pub use stop::Stop;
