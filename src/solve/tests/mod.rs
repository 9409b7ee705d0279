mod assembly;
mod random;
mod textbook;
