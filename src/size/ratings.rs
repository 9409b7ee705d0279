//! Chooses the rating of every fuse and breaker whose spec gives none: the smallest of its kind that carries its current
//! with the margin of the limits, and that no inrush opens.

use super::fuse_curve::soonest;
use super::switch_on::{Intake, Rush, capped, coming_on, intake, used_i2t};
use circuit::{Assembly, Copper, Corner, CurrentPath, Outcome, Solution, State, Supply, Tracer, Via, assemble};
use engine::Solvers;
use explore::{Interrupted, Watch, explore_all};
use model::{ElementId, ElementKind, Model, PartId, rate};
use quantity::Amps;

/// The fuses and breakers whose rating the spec leaves open.
pub fn open(model: &Model) -> Vec<PartId> {
    model.part_ids().filter(|id| model.part(*id).rating_open.is_some()).collect()
}

/// The currents that a fuse carries: continuous, and at switch-on.
#[derive(Debug, Clone, Default)]
struct Burden {
    /// Its highest continuous current, in any state.
    most: Amps,
    /// What is switched on together, for each last move of an input to the state with the highest current.
    rushes: Vec<Vec<Rush>>,
    /// What a converter before the fuse gives at most.
    limit: Option<Amps>,
}

/// Rates these fuses for the currents of the model as it is. Returns whether any rating changed.
///
/// # Errors
/// When the watch breaks.
pub fn choose(model: &mut Model, open: &[PartId], watch: Watch) -> Result<bool, Interrupted> {
    let burdens = burdens(model, open, watch)?;
    let mut changed = false;
    for (part, burden) in open.iter().zip(&burdens) {
        let rating = smallest(model, *part, burden);
        if model.part(*part).rating != Some(rating) {
            rate(model, *part, rating);
            changed = true;
        }
    }
    Ok(changed)
}

/// Rates a fuse one size lower where the lower rating is enough too: a smaller fuse has more resistance, so that its current is
/// lower.
///
/// # Errors
/// When the watch breaks.
pub fn lower(model: &mut Model, open: &[PartId], watch: Watch) -> Result<(), Interrupted> {
    let mut trial = model.clone();
    let below = |part: &PartId| {
        let part = model.part(*part);
        let at = part.form.ratings.iter().position(|rating| Some(*rating) == part.rating)?;
        part.form.ratings.get(at.checked_sub(1)?).copied()
    };
    let lower: Vec<Option<Amps>> = open.iter().map(below).collect();
    for (part, rating) in open.iter().zip(&lower) {
        rating.iter().for_each(|rating| rate(&mut trial, *part, *rating));
    }
    let burdens = burdens(&trial, open, watch)?;
    for ((part, rating), burden) in open.iter().zip(lower).zip(&burdens) {
        if let Some(rating) = rating.filter(|rating| holds(&trial, *part, burden, *rating)) {
            rate(model, *part, rating);
        }
    }
    Ok(())
}

fn burdens(model: &Model, open: &[PartId], watch: Watch) -> Result<Vec<Burden>, Interrupted> {
    let assembly = assemble(model);
    let is_fuse = |id: &ElementId| matches!(model.element(*id).kind, ElementKind::Fuse { .. });
    let fuses: Vec<Option<ElementId>> =
        open.iter().map(|part| model.part(*part).elements.iter().copied().find(is_fuse)).collect();
    let mut burdens = vec![Burden::default(); open.len()];
    let mut peaks: Vec<(Amps, Option<Solution>)> = vec![(Amps::new(0.0), None); open.len()];
    // At the lowest supply what draws constant power takes most, at the highest everything else.
    let weak = Corner { supply: Supply::Least, copper: Copper::Hot, ..Corner::NOMINAL };
    let hard = Corner { supply: Supply::Greatest, copper: Copper::Cold, ..Corner::NOMINAL };
    for exploration in explore_all(&assembly.circuit, &[weak, hard], watch)? {
        exploration.visit(&assembly.circuit, &mut |solution| {
            for ((fuse, burden), peak) in fuses.iter().zip(&mut burdens).zip(&mut peaks) {
                let Some(fuse) = *fuse else { continue };
                let amps = assembly.amps(solution, fuse).abs();
                burden.most = burden.most.max(amps);
                if solution.corner == hard && amps > peak.0 {
                    *peak = (amps, Some(solution.clone()));
                }
            }
        });
    }
    let behind = Behind { model, assembly: &assembly, tracer: Tracer::new(model, &assembly) };
    let solvers = Solvers::new(assembly.circuit.clone());
    for ((fuse, burden), (_, peak)) in fuses.iter().zip(&mut burdens).zip(&peaks) {
        if let (Some(fuse), Some(peak)) = (fuse, peak) {
            (burden.rushes, burden.limit) = rushes(&behind, &solvers, peak, *fuse);
        }
    }
    Ok(burdens)
}

/// What is switched on together behind a fuse, and the limit of a converter that feeds all of it.
fn rushes(behind: &Behind, solvers: &Solvers, peak: &Solution, fuse: ElementId) -> (Vec<Vec<Rush>>, Option<Amps>) {
    let (takers, limit) = behind.takers(peak, fuse);
    let amps = |takers: &[(ElementId, Intake)]| takers.iter().map(|(id, taken)| (*id, taken.amps)).collect::<Vec<_>>();
    let before = |state: State| match solvers.settle(peak.corner, &state) {
        Outcome::Settled(solution) => Some(amps(&behind.takers(&solution, fuse).0)),
        _ => None,
    };
    let together = coming_on(behind.model, behind.assembly, &peak.state, &amps(&takers), before);
    let rush = |coming: Vec<ElementId>| {
        let of = |(id, taken): &(ElementId, Intake)| Rush::of(behind.model, *id, *taken, coming.contains(id));
        takers.iter().filter_map(of).collect()
    };
    (together.into_iter().map(rush).collect(), limit)
}

/// Finds what a fuse feeds.
struct Behind<'m> {
    model: &'m Model,
    assembly: &'m Assembly,
    tracer: Tracer,
}

impl Behind<'_> {
    /// The loads and converters whose current goes through a fuse in a state, and the limit of a converter that feeds all
    /// of them.
    fn takers(&self, solution: &Solution, fuse: ElementId) -> (Vec<(ElementId, Intake)>, Option<Amps>) {
        let passes = |path: &CurrentPath| path.steps.iter().any(|step| step.via == Via::Element(fuse));
        let mut takers = Vec::new();
        let mut limits = Vec::new();
        for id in (0..self.model.elements.len()).map(ElementId) {
            let [feed, ground] = match &self.model.element(id).kind {
                ElementKind::Load(load) => [load.feed, load.ground],
                ElementKind::Converter { input, ground, .. } => [*input, *ground],
                _ => continue,
            };
            let taken = intake(self.model, self.assembly, solution, id).filter(|taken| taken.amps > LEAST);
            let Some(taken) = taken else { continue };
            let there = self.tracer.into_pin(self.assembly, solution, feed);
            if passes(&there) || passes(&self.tracer.out_of_pin(self.assembly, solution, ground)) {
                takers.push((id, taken));
                limits.push(there.steps.first().and_then(|step| converter_limit(self.model, step.via)));
            }
        }
        let limit = limits.first().copied().flatten().filter(|limit| limits.iter().all(|other| *other == Some(*limit)));
        (takers, limit)
    }
}

/// A current below this does not count as one.
const LEAST: Amps = Amps::new(1e-9);

fn converter_limit(model: &Model, via: Via) -> Option<Amps> {
    match via {
        Via::Element(id) => match model.element(id).kind {
            ElementKind::Converter { limit, .. } => Some(limit),
            _ => None,
        },
        _ => None,
    }
}

/// The smallest rating of the fuse's kind that is enough for its currents. If none is, the highest: the checks then report
/// the fuse.
fn smallest(model: &Model, part: PartId, burden: &Burden) -> Amps {
    let ratings = &model.part(part).form.ratings;
    let fits = ratings.iter().copied().find(|rating| holds(model, part, burden, *rating));
    fits.or(ratings.last().copied()).unwrap_or(burden.most)
}

fn holds(model: &Model, part: PartId, burden: &Burden, rating: Amps) -> bool {
    let opens = |amps: Amps| soonest(&model.part(part).form.opens, capped(amps, burden.limit) / rating);
    rating * model.limits.fuse_load.value() >= burden.most
        && burden.rushes.iter().all(|loads| used_i2t(loads, opens) < 1.0)
}
