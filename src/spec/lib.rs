//! The first stage: text to a typed spec that knows the place of each value. The result is well formed; the next stage
//! checks whether its names refer to anything.

pub mod forms;
mod hand_read;
mod numbers;
pub mod read;

pub use forms::*;
pub use numbers::WireNumber;
pub use read::{PartsRead, SpecRead, is_spec, parts_schema, read, schema};
