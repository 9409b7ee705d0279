//! The program; all of it is in the rooms under src.

fn main() -> std::process::ExitCode {
    cli::run()
}
