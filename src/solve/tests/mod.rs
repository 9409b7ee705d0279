mod assembly;
mod parts;
mod pulses;
mod random;
mod textbook;
mod without;
