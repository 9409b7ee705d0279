mod assembly;
mod parts;
mod pulses;
mod random;
mod relays;
mod textbook;
mod without;
