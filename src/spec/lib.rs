//! The first stage: text to a typed spec that knows where each of its values stands. What comes out is well formed;
//! whether its names refer to anything is the next stage's question.

pub mod forms;
mod hand_read;
pub mod read;

pub use forms::*;
pub use read::{PartsRead, SpecRead, parts_schema, read, schema};
