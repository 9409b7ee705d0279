//! Why a wish gets no proposal.

use form::Problem;

/// Why there is no proposal.
#[derive(Debug, Clone)]
pub enum Refusal {
    /// Lines of the wish that can't hold together.
    Conflict(Vec<Problem>),
    /// What plan can't do yet, and must be written by hand.
    Beyond(Vec<Problem>),
    /// The best proposal, and what `check` still finds in it.
    Unproved {
        /// The spec as text.
        spec: String,
        /// The findings, at the lines of the wish that they concern.
        problems: Vec<Problem>,
    },
    /// The search was ended from outside.
    Interrupted,
}
