//! Numbers of nodes, branches, inputs and actors, and positions of inputs.

macro_rules! ids {
    ($($(#[$meta:meta])* $name:ident),+) => {$(
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u32);
        impl $name {
            /// Its place in the circuit's list.
            #[inline]
            pub const fn index(self) -> usize { self.0 as usize }
        }
    )+};
}

ids! {
    /// A node of the circuit.
    NodeId,
    /// A branch of the circuit.
    BranchId,
    /// An input.
    InputId,
    /// An actor.
    ActorId
}

/// A position of an input, counted from 0, the one at rest.
pub type Position = u16;

/// The position of this number.
///
/// # Panics
/// When it doesn't fit: the form of the spec allows far fewer, and a wrapped number would be another position.
pub fn position(number: usize) -> Position {
    match Position::try_from(number) {
        Ok(position) => position,
        Err(_) => panic!("an input has no position {number}: the most is {}", Position::MAX),
    }
}

/// The index of an item in a sorted list that has it.
///
/// # Panics
/// When the list doesn't have it: the index of another item would be a wrong answer.
pub fn place_in<T: Ord + std::fmt::Debug>(sorted: &[T], item: &T) -> usize {
    match sorted.binary_search(item) {
        Ok(place) => place,
        Err(_) => panic!("{item:?} is not in a list that must hold it"),
    }
}

/// The battery's negative, the zero of all voltages.
pub const NEGATIVE: NodeId = NodeId(0);
