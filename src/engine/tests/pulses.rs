//! Pulsed feeds, calculated by hand: the mean of a rectangular wave is its height times its share of the
//! time (textbooks).

use super::by_hand::{battery, close, ohms, settled};
use circuit::*;
use engine::Solver;
use quantity::Volts;

/// A tap that is on for 20 to 60 % of the time has that share of its voltage as its mean. A coil parallel to the lamp
/// pulls in at that mean, a trigger input senses each pulse, and electronics restart with each.
#[test]
fn pulsed_feed() {
    let (mut circuit, plus) = battery();
    let tap = circuit.node("tail lamp");
    let duty = "20..60 %".parse().unwrap();
    circuit.branch("body module", plus, tap, Law::Pulsed { ohms: ohms(0.05), duty });
    let lamp = circuit.resistor("lamp", tap, NEGATIVE, ohms(10.0));
    let mut threshold = |name: &str, senses| {
        let (on, off) = (Volts::new(4.0), Volts::new(2.0));
        circuit.actor(name, ActorRule::Threshold { plus: tap, minus: NEGATIVE, on, off, senses })
    };
    let (coil, heater) = (threshold("coil", Senses::Coil), threshold("heater", Senses::Mean));
    let (trigger, camera) = (threshold("trigger", Senses::Each), threshold("camera", Senses::Least));
    let at = |supply, pulse| {
        let corner = Corner { supply, pulse, ..Corner::NOMINAL };
        Solver::new(&circuit, corner).settle(&State::at_rest(&circuit)).settled().unwrap()
    };
    let corners =
        [(Supply::Least, 10.0, 0.2, false), (Supply::Nominal, 12.0, 0.4, true), (Supply::Greatest, 14.0, 0.6, true)];
    for (supply, battery, duty, pulls_in) in corners {
        let on_time = battery * 10.0 / 10.15;
        let solution = at(supply, Pulse::On);
        close(solution.volts(tap).value(), on_time);
        close(solution.amps(lamp).value(), on_time / 10.0);
        close(solution.mean(tap).value(), duty * on_time);
        close(solution.mean(plus).value(), battery - duty * 0.1 * on_time / 10.0);
        close(solution.between_pulses(tap).value(), 0.0);
        assert_eq!([coil, heater].map(|id| solution.on(id)), [pulls_in; 2], "{supply:?}");
        assert!(solution.on(trigger) && solution.state.pulses(&circuit, trigger));
        assert!(!solution.on(camera) && !solution.state.pulses(&circuit, camera));
    }
    let off = at(Supply::Nominal, Pulse::Off);
    close(off.volts(tap).value(), 0.0);
    assert!(!off.has_pulses() && !off.on(trigger));
}

/// Two feeds that begin together, on for 25 % and for 50 % of the time, behind diodes on one coil: it has a quarter of
/// the time both, a quarter the longer one, and then nothing. A steady feed of 5 V on a third diode fills the gaps.
#[test]
fn pulses_of_two_feeds_and_a_steady_one() {
    let (mut circuit, plus) = battery();
    let join = circuit.node("join");
    let steady = circuit.input("steady", &["off", "on"]);
    for duty in ["25..25 %", "50..50 %"] {
        let tap = circuit.node(duty);
        circuit.branch(duty, plus, tap, Law::Pulsed { ohms: ohms(0.05), duty: duty.parse().unwrap() });
        circuit.branch("diode", tap, join, Law::Diode { knee: Volts::new(0.6), ohms: ohms(1e-3), zener: None });
    }
    let five = circuit.node("5 V");
    circuit.branch("5 V", NEGATIVE, five, Law::Source { volts: [Volts::new(5.0); 3], ohms: ohms(1e-3) });
    let closed = Law::Diode { knee: Volts::new(0.6), ohms: ohms(1e-3), zener: None };
    circuit.switched("diode", five, join, closed, Logic::At(steady, 1));
    circuit.resistor("coil", join, NEGATIVE, ohms(1000.0));
    let near = |solution: &Solution, volts: f64| {
        let mean = solution.mean(join).value();
        assert!((mean - volts).abs() < 0.01, "{mean} V, by hand {volts} V");
    };
    let pulses = settled(&circuit, &[0]);
    near(&pulses, 0.5 * 11.4);
    near(&settled(&circuit, &[1]), 0.5 * 11.4 + 0.5 * 4.4);
    assert!((pulses.between_pulses(join).value()).abs() < 1e-3);
}

/// Pulses start a hold, which bridges the off-time; a delay, whose trigger has to last, never ends.
#[test]
fn pulses_start_a_hold_and_not_a_delay() {
    let (mut circuit, plus) = battery();
    let tap = circuit.node("tail lamp");
    let duty = "20..60 %".parse().unwrap();
    let lights = circuit.input("lights", &["off", "on"]);
    circuit.switched("body module", plus, tap, Law::Pulsed { ohms: ohms(0.05), duty }, Logic::At(lights, 1));
    circuit.resistor("lamp", tap, NEGATIVE, ohms(10.0));
    let senses = Senses::Each;
    let (on, off) = (Volts::new(8.0), Volts::new(2.0));
    let trigger = circuit.actor("trigger", ActorRule::Threshold { plus: tap, minus: NEGATIVE, on, off, senses });
    let start = || Logic::On(trigger);
    let hold = circuit.actor("hold", ActorRule::Hold { start: start() });
    let delay = circuit.actor("delay", ActorRule::Delay { start: start() });
    let solution = settled(&circuit, &[1]);
    assert!(solution.on(hold) && !solution.on(delay));
    assert_eq!(solution.state.pending(&circuit), []);
    let mut elapsed = solution.state.clone();
    elapsed.elapse(delay);
    let after = Solver::new(&circuit, Corner::NOMINAL).settle(&elapsed).settled().unwrap();
    assert!(!after.on(delay), "the next off-time ends it");
}
