//! Contact resistance of screws, rings, studs and tabs for high currents, which is in the circuit of each wire on them.

use super::{Model, PartKind, Wire};
use quantity::{Amps, Ohms};

/// A terminal made for this current or more has its contact resistance in the circuit. At 100 A, 0.2 mΩ lose 20 mV and
/// 2 W. In terminals for less, the wire loses far more than its ends (common practice, no source). A mated contact of a connector is in the
/// circuit whatever its current.
const HIGH_CURRENT: Amps = Amps::new(100.0);

/// Resistance of the contacts at both ends of a wire, where their terminals are made for high currents.
pub fn end_contacts<G>(model: &Model<G>, wire: &Wire<G>) -> Ohms {
    let of_end = |pin: &super::PinId| {
        let part = model.part(model.pin(*pin).part);
        let terminal = part.form.terminal.as_ref().filter(|_| part.kind != PartKind::Connector)?;
        terminal.resistance.filter(|_| terminal.current.is_some_and(|current| current >= HIGH_CURRENT))
    };
    wire.ends.iter().filter_map(of_end).fold(Ohms::new(0.0), |sum, ohms| sum + ohms)
}
