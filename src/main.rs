//! The program.

#[cfg(feature = "page")]
use oilwheel::page::serve;

#[cfg(not(feature = "page"))]
fn serve(_: Option<u16>, _: &mut dyn FnMut(&str)) -> Result<(), oilwheel::trouble::Trouble> {
    Err(oilwheel::trouble::Trouble::no_answer(
        "this build has no page",
        "one built with the feature `page`",
    ))
}

fn main() -> std::process::ExitCode {
    std::process::ExitCode::from(oilwheel::cli::run(serve))
}
