//! Symbols for parts, drawn after the general shapes of IEC 60617 (from memory of the standard) in our own hand.
//!
//! A symbol stands around its own origin with current running downwards; its ports, where wires join, lie on the
//! 2.5 mm module of [`super::lines`]. It is moved and turned whole; its lettering stays level.

mod blocks;
mod contacts;
mod joints;
mod pen;
mod poles;
pub mod specimen;
mod symbol;

pub use blocks::{BlockPicture, block, picture};
pub use contacts::{Actuator, Blade, CoilSymbol, Contact, coil, contact, relay, staying, switch};
pub use joints::{GroundSymbol, battery, connector, ground, pennant, reference, splice, terminal};
pub use poles::{Pole, pole};
pub use symbol::{Port, PortSide, Symbol};

#[cfg(test)]
mod tests {
    use super::Symbol;
    use crate::lines::MODULE;
    use crate::scene::*;

    fn on_module(p: Point) -> bool {
        let off = |v: f64| (v / MODULE - (v / MODULE).round()).abs();
        off(p.x) < 1e-9 && off(p.y) < 1e-9
    }

    fn all() -> Vec<(String, Symbol)> {
        super::specimen::all()
    }

    #[test]
    fn ports_stand_on_the_module_and_at_the_edge_of_the_body() {
        for (name, symbol) in all() {
            for quarter in 0..4 {
                let symbol = symbol.clone().turned(quarter);
                for port in &symbol.ports {
                    assert!(on_module(port.at), "{name} port {} at {:?}", port.name, port.at);
                    if symbol.body.width() < MODULE {
                        continue; // a dot: wires join in its middle
                    }
                    let (dx, dy) = port.side.step(0.1);
                    assert!(
                        symbol.body.contains(port.at) && !symbol.body.contains(port.at.by(dx, dy)),
                        "{name} port {} at {:?}, body {:?}",
                        port.name,
                        port.at,
                        symbol.body
                    );
                }
            }
        }
    }

    #[test]
    fn all_ink_is_within_the_body() {
        for (name, symbol) in all() {
            let ink = around(symbol.items.iter().filter_map(Item::bounds)).unwrap();
            assert!(symbol.body.inflate(0.5).contains_rect(&ink), "{name}: ink {ink:?}, body {:?}", symbol.body);
        }
    }

    #[test]
    fn port_names_are_unique_in_a_symbol() {
        for (name, symbol) in all() {
            let mut names: Vec<_> = symbol.ports.iter().map(|p| &p.name).collect();
            names.sort();
            names.dedup();
            assert_eq!(names.len(), symbol.ports.len(), "{name}");
        }
    }

    #[test]
    fn what_is_flipped_twice_is_as_it_was() {
        for (name, symbol) in all() {
            let twice = symbol.clone().flipped().flipped();
            let ink = |s: &Symbol| around(s.items.iter().filter_map(Item::bounds)).unwrap();
            let (a, b) = (ink(&symbol), ink(&twice));
            assert!((a.top - b.top).abs() < 1e-9 && (a.right - b.right).abs() < 1e-9, "{name}");
            let (once, body) = (ink(&symbol.clone().flipped()), symbol.flipped().body);
            assert!(body.inflate(0.5).contains_rect(&once), "{name}");
        }
    }

    #[test]
    fn four_quarter_turns_come_home() {
        for (name, symbol) in all() {
            let round = symbol.clone().turned(1).turned(1).turned(1).turned(1);
            for (a, b) in round.ports.iter().zip(&symbol.ports) {
                assert!(a.at.distance(b.at) < 1e-9 && a.side == b.side, "{name}");
            }
        }
    }
}
