mod assembly;
mod both_ways;
mod parts;
mod pulses;
mod random;
mod relays;
mod textbook;
mod without;
