//! The program.

fn main() -> std::process::ExitCode {
    std::process::ExitCode::from(oilwheel::cli::run())
}
