//! The inputs, actors, nodes and branches of a question.

use circuit::{ActorId, BranchId, InputId, NodeId};

/// The inputs, actors, nodes and branches of a question, for
/// [`Exploration::visit_about`](super::Exploration::visit_about).
#[derive(Debug, Clone, Default)]
pub struct About {
    /// Inputs whose positions the question names.
    pub inputs: Vec<InputId>,
    /// Actors that it asks whether they are on.
    pub actors: Vec<ActorId>,
    /// Nodes whose voltage it asks for.
    pub nodes: Vec<NodeId>,
    /// Branches whose current or voltage it asks for.
    pub branches: Vec<BranchId>,
}
