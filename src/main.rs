//! The program.

#[cfg(feature = "serve")]
use oilwheel::page::serve;

#[cfg(not(feature = "serve"))]
fn serve(_: Option<u16>, _: &mut dyn FnMut(&str)) -> Result<(), oilwheel::trouble::Trouble> {
    Err(oilwheel::trouble::Trouble::no_answer(
        "this build has no web server",
        "a build with the feature `serve`",
    ))
}

fn main() -> std::process::ExitCode {
    std::process::ExitCode::from(oilwheel::cli::run(serve))
}
