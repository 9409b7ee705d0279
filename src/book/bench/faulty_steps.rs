//! Which steps of the bench test fail with a fault of the build.

use crate::bench::faulty_copper::{FaultyCopper, GoodCopper};
use crate::bench::limit::{BenchValue, Compared, Limit};
use crate::bench::state_readings::BenchReadings;
use crate::bench::steps::{BenchProbe, BenchStep};
use facts::bench::{BenchState, BuildFault, FaultyBench};
use model::{ElementKind, Model, SignalId};
use std::sync::{Mutex, PoisonError};

/// A fault before the power comes on.
pub(super) struct InCopper<'g> {
    fault: BuildFault,
    copper: Option<FaultyCopper<'g>>,
}

impl<'g> InCopper<'g> {
    pub fn new(copper: &'g GoodCopper<'g>, fault: BuildFault) -> InCopper<'g> {
        InCopper { fault, copper: copper.with(fault) }
    }

    /// Whether a step without power fails.
    pub fn fails(&self, step: &BenchStep) -> bool {
        match &step.probe {
            BenchProbe::Part(shows) => shows.contains(&self.fault),
            _ => self.copper.as_ref().is_some_and(|copper| copper.fails(step)),
        }
    }
}

/// A fault with the power on.
pub(super) struct WithPower<'b> {
    readings: &'b BenchReadings<'b>,
    fault: BuildFault,
    bench: Mutex<FaultyBench<'b>>,
}

impl<'b> WithPower<'b> {
    /// `None` if a fault changes nothing that is read with power, or if that is not simulated.
    pub fn new(readings: &'b BenchReadings<'b>, fault: BuildFault) -> Option<WithPower<'b>> {
        let bench = FaultyBench::new(&readings.bench, fault)?;
        Some(WithPower { readings, fault, bench: Mutex::new(bench) })
    }

    /// Which readings of a state fail with the fault.
    pub fn fails(&self, there: &BenchState, probes: &[(BenchProbe, Limit)]) -> Vec<bool> {
        let mut bench = self.bench.lock().unwrap_or_else(PoisonError::into_inner);
        let Some(now) = bench.at(there) else {
            // What never settles can't be read.
            return vec![false; probes.len()];
        };
        let (model, assembly) = (self.readings.model(), self.readings.assembly());
        let changes = |id: SignalId| {
            let reading = |solution| assembly.reading(model, solution, id);
            reading(&now) != reading(&there.solution) || has_open_coil(model, self.fault, id)
        };
        let fails = |(probe, limit): &(BenchProbe, Limit)| {
            let value = match probe {
                BenchProbe::Volts { heard: Some(id), .. } if changes(*id) => return true,
                BenchProbe::Volts { red, black, .. } => {
                    BenchValue::Volts(assembly.mean(&now, *red) - assembly.mean(&now, *black))
                }
                BenchProbe::Drawn => BenchValue::Amps(self.readings.bench.drawn(&now)),
                BenchProbe::Fuse(id) => BenchValue::Amps(assembly.amps(&now, *id).abs()),
                BenchProbe::Screen(screen) => {
                    BenchValue::Picture(bench.picture(&now, *screen).words(model).to_lowercase())
                }
                _ => return false,
            };
            limit.compare_value(&value) != Compared::Passed
        };
        probes.iter().map(fails).collect()
    }
}

/// Whether a relay has this open coil: it does not click.
fn has_open_coil(model: &Model, fault: BuildFault, relay: SignalId) -> bool {
    let BuildFault::OpenCoil(id) = fault else { return false };
    matches!(&model.element(id).kind, ElementKind::Coil(coil) if coil.relay == relay)
}
