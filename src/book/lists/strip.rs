//! How much insulation to strip from the end of a wire.

use model::{Model, PinId, WireId};
use quantity::Metres;
use spec::WireMake;

/// Conductor area up to which a crimp takes this much bare wire, in mm² and mm: the length of its wire barrel and 1 mm
/// (typical of open barrels and ring terminals, common practice, no source). The terminal maker's sheet comes first.
const STRIP: [[f64; 2]; 8] =
    [[0.5, 4.0], [1.0, 5.0], [2.5, 6.0], [6.0, 8.0], [16.0, 12.0], [35.0, 16.0], [70.0, 20.0], [240.0, 25.0]];

/// What to strip from a wire at a pin: the terminal's own figure, else a typical one for the conductor's size. `None` for
/// cables, whose plugs decide, and for bought leads.
pub fn strip(model: &Model, wire: WireId, pin: PinId) -> Option<Metres> {
    let wire = model.wire(wire);
    if wire.existing || matches!(wire.make, WireMake::Coax | WireMake::Lead) {
        return None;
    }
    let terminal = model.part(model.pin(pin).part).form.terminal.as_ref();
    let given = terminal.and_then(|terminal| terminal.strip);
    // A hair above a size of the table is that size: AWG areas are no round figures.
    let typical =
        || STRIP.iter().find(|[area, _]| wire.gauge.area() <= area * 1.05).map(|[_, mm]| Metres::new(mm / 1000.0));
    given.or_else(typical)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thicker_conductor_is_stripped_further() {
        assert!(STRIP.windows(2).all(|pair| pair[0][0] < pair[1][0] && pair[0][1] < pair[1][1]));
    }

    #[test]
    fn every_wire_that_is_cut_has_its_strip_lengths_and_cables_have_none() {
        for name in sample::DEMOS {
            let model = sample::demo(name);
            for id in model.wire_ids() {
                let wire = model.wire(id);
                let is_cut = !wire.existing && !matches!(wire.make, WireMake::Coax | WireMake::Lead);
                for pin in wire.ends {
                    assert_eq!(strip(&model, id, pin).is_some(), is_cut, "{name}, {}", model.wire_words(id));
                }
            }
        }
    }
}
