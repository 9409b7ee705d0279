//! Parts that don't work when the spec promises it, or work when it doesn't.

use super::Explored;
use super::on_when_asked::{Asked, OnWhenAsked, compare};
use model::WorksId;
use states::Solved;

/// For each promise that a part works, whether it does, and only then.
#[derive(Debug)]
pub struct PromisedWorks(Vec<OnWhenAsked>);

impl PromisedWorks {
    pub(super) fn new(solved: &Solved, explored: &Explored) -> PromisedWorks {
        let assembly = &solved.assembly;
        let promises = solved.model.works.iter().map(|promise| Asked {
            about: solved.about_works(promise),
            wanted: Box::new(|solution| assembly.holds(solution, &promise.when)),
            is_on: Box::new(|solution| {
                (assembly.holds(solution, &promise.all_work), assembly.holds(solution, &promise.any_works))
            }),
        });
        let promises: Vec<Asked> = promises.collect();
        PromisedWorks(compare(&assembly.circuit, explored, &promises))
    }

    /// Every promise, in the order of the model.
    pub fn all(&self) -> &[OnWhenAsked] {
        &self.0
    }

    /// One promise.
    pub fn of(&self, id: WorksId) -> &OnWhenAsked {
        &self.0[id.0]
    }
}
