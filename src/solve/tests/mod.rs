mod assembly;
mod textbook;
