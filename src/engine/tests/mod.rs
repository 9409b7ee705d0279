mod by_hand;
mod netlist;
mod pulses;
mod random;
mod textbook;
mod variant;
mod wiring;
