//! Shell completions and manual pages, generated from the definitions of the commands.

use super::command::program;
use crate::trouble::{Trouble, near};
use clap_complete::Shell;

/// The script with which a shell completes commands and flags.
pub(super) fn completions(shell: Shell) -> String {
    let mut text = Vec::new();
    let mut program = program();
    let name = program.get_name().to_string();
    clap_complete::generate(shell, &mut program, name, &mut text);
    String::from_utf8_lossy(&text).into_owned()
}

/// The manual page of the program, or of one of its commands.
pub(super) fn page(command: Option<&str>) -> Result<String, Trouble> {
    let mut program = program();
    // `build` gives each command its full name, such as `oilwheel-speed`.
    program.build();
    let shown = match command {
        None => program,
        Some(name) => {
            let names: Vec<&str> = program.get_subcommands().map(|c| c.get_name()).collect();
            let found = program.find_subcommand(name).cloned();
            found.ok_or_else(|| {
                let hint = near(name, names.iter().copied());
                Trouble::input(format!("no command called `{name}`"), names.join(", "))
                    .hint(hint.map_or(String::new(), |k| format!("did you mean `{k}`?")))
                    .at("manual")
            })?
        }
    };
    let mut text = Vec::new();
    clap_mangen::Man::new(shown)
        .render(&mut text)
        .map_err(|e| Trouble::no_answer(e.to_string(), "a manual page"))?;
    Ok(String::from_utf8_lossy(&text).into_owned())
}
