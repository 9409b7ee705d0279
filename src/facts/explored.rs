//! Every reachable state at the corners that matter.

use super::CORNERS;
use circuit::Unsolved;
use explore::{Exploration, Interrupted, Watch, explore_all, unwatched};
use states::Solved;
use std::borrow::Cow;

/// The explorations at [`CORNERS`].
#[derive(Debug)]
pub struct Explored<'m> {
    nominal: &'m Exploration,
    others: Cow<'m, [Exploration]>,
}

impl<'m> Explored<'m> {
    /// Explores the corners that `solved` does not hold yet.
    ///
    /// # Errors
    /// When the watch breaks.
    pub fn new(solved: &'m Solved, watch: Watch) -> Result<Explored<'m>, Interrupted> {
        let others = match solved.others.iter().map(|one| &one.corner).eq(&CORNERS[1..]) {
            true => Cow::Borrowed(solved.others.as_slice()),
            false => Cow::Owned(explore_all(&solved.assembly.circuit, &CORNERS[1..], watch)?),
        };
        Ok(Explored { nominal: &solved.exploration, others })
    }

    /// The same without a watch.
    pub(super) fn unwatched(solved: &'m Solved) -> Explored<'m> {
        match Explored::new(solved, &unwatched) {
            Ok(explored) => explored,
            // OK because this watch never breaks.
            Err(Interrupted) => unreachable!("nobody interrupts"),
        }
    }

    /// The nominal corner alone: a quick look at a harness. What shows there shows at all corners too.
    pub fn at_nominal(solved: &'m Solved) -> Explored<'m> {
        Explored { nominal: &solved.exploration, others: Cow::Borrowed(&[]) }
    }

    /// The exploration at each corner, the nominal one first.
    pub fn all(&self) -> impl Iterator<Item = &Exploration> {
        std::iter::once(self.nominal).chain(self.others.iter())
    }

    /// Whether the worst currents of some corner are known within bounds only.
    pub fn is_bounded(&self) -> bool {
        self.all().any(Exploration::is_bounded)
    }

    /// States that could not be solved, at any corner.
    pub fn unsolved(&self) -> impl Iterator<Item = &Unsolved> {
        self.all().flat_map(|exploration| &exploration.unsolved)
    }
}
