mod assembly;
mod parts;
mod random;
mod textbook;
