//! The commands and their flags, made from the declarations of the questions.

use super::output;
use crate::model::Lookup;
use crate::quantity::Units;
use crate::question::{self, Field, Question, Takes, Usual, Values};
use clap::builder::{PossibleValue, StringValueParser, TypedValueParser};
use clap::error::Error;
use clap::{Arg, ArgAction, ArgMatches, Command, ValueHint};
use std::ffi::OsStr;

/// What the program does, as a line of its help text.
const ABOUT: &str = "How fast an oil-driven radiator fan should turn, why it may be slower, and what to check next.";

/// The program with all its commands.
pub(super) fn program() -> Command {
    let questions = question::ALL
        .iter()
        .filter(|q| q.key != question::FIRST_LOOK);
    Command::new("oilwheel")
        .version(env!("CARGO_PKG_VERSION"))
        .about(ABOUT)
        .long_about(format!(
            "{ABOUT}\n\nWithout a command, oilwheel takes a first look at a demo machine."
        ))
        .max_term_width(100)
        .subcommand_negates_reqs(true)
        .args(output::args())
        .subcommands(questions.map(|q| asks(q)))
        .subcommands(others())
}

/// The command that asks a question.
fn asks(question: &'static Question) -> Command {
    let grouped = question.groups.iter().flat_map(|group| {
        group
            .fields
            .iter()
            .map(|field| arg(field).help_heading(group.title))
    });
    let mut command = Command::new(question.key)
        .about(question.about)
        .args(grouped)
        .args(output::args_of(question));
    if !question.examples.is_empty() {
        let lines: Vec<String> = question.examples.iter().map(|e| format!("  {e}")).collect();
        command = command.after_help(format!("Examples:\n{}", lines.join("\n")));
    }
    command
}

/// The commands that do not ask a question.
fn others() -> [Command; 6] {
    let words = |key: &'static str, help: &'static str| Arg::new(key).help(help).required(true);
    [
        Command::new("page")
            .about("Open a page in the browser: the same questions as a form.")
            .arg(
                Arg::new("port")
                    .long("port")
                    .help("The port to listen on; by default, a free port is chosen.")
                    .value_parser(clap::value_parser!(u16)),
            )
            .arg(
                Arg::new("no_open")
                    .long("no-open")
                    .help("Do not open the browser.")
                    .action(ArgAction::SetTrue),
            ),
        Command::new("new")
            .about("Print a commented machine file to start from.")
            .arg(words("class", "The class of machine: light-truck, car, bus or off-road."))
            .arg(
                Arg::new("notebook")
                    .long("notebook")
                    .help("Print an empty notebook for a machine of that class instead.")
                    .action(ArgAction::SetTrue),
            ),
        Command::new("completions")
            .about("Print a completion script for a shell.")
            .arg(
                words("shell", "The shell for which the script is printed.")
                    .value_parser(clap::value_parser!(clap_complete::Shell)),
            ),
        Command::new("manual")
            .about("Print the manual page of the program or of one command: `oilwheel manual speed > oilwheel-speed.1`.")
            .arg(Arg::new("command").help("The command; without it, the page of the program is printed.")),
        Command::new("schema")
            .about("Print the JSON Schema of the answer that a question gives with --json.")
            .arg(words("question", "The question, such as speed or why.")),
        Command::new("run")
            .about("Ask the question of a saved JSON answer again; the same version of oilwheel gives the same answer.")
            .arg(words("file", "A file with an answer printed by --json; - for standard input.").value_hint(ValueHint::FilePath))
            .args(output::args()),
    ]
}

/// The flag for a field of a question.
fn arg(field: &'static Field) -> Arg {
    let mut arg = Arg::new(field.key)
        .help(help(field))
        .required(field.usual == Usual::Required);
    if !field.by_place {
        arg = arg.long(field.flag());
    }
    if field.takes == Takes::Switch {
        return arg.action(ArgAction::SetTrue);
    }
    arg = arg
        .value_name(field.value_name())
        .value_parser(Suggested(field));
    arg = match (field.many, field.by_place) {
        (true, true) => arg.num_args(0..),
        (true, false) => arg.action(ArgAction::Append),
        (false, _) => arg.action(ArgAction::Set),
    };
    match field.takes {
        Takes::Machine | Takes::Oil | Takes::Trip | Takes::Text(_) | Takes::Log => {
            arg.value_hint(ValueHint::FilePath)
        }
        // Temperatures may be negative.
        Takes::Quantity(..) | Takes::Words if !field.by_place => arg.allow_hyphen_values(true),
        _ => arg,
    }
    .hide_possible_values(!matches!(field.takes, Takes::Choice(_)))
}

/// The help text for a field.
fn help(field: &Field) -> String {
    let mut text = format!("{}.", field.label.trim_end_matches('.'));
    if !field.help.is_empty() {
        text.push_str(&format!(" {}", field.help));
    }
    if !field.example.is_empty() && !field.help.contains(field.example) {
        text.push_str(&format!(" Example: \"{}\".", field.example));
    }
    if field.many && !field.by_place {
        text.push_str(" May be given more than once.");
    }
    match field.usual {
        Usual::Value(value) => text.push_str(&format!(" [default: {value}]")),
        Usual::Words(words) if !words.is_empty() => {
            text.push_str(&format!(" [otherwise: {words}]"));
        }
        _ => {}
    }
    text
}

/// A parser that accepts any text; a shell completes the known words.
#[derive(Clone)]
struct Suggested(&'static Field);

impl TypedValueParser for Suggested {
    type Value = String;

    fn parse_ref(&self, cmd: &Command, arg: Option<&Arg>, value: &OsStr) -> Result<String, Error> {
        StringValueParser::new().parse_ref(cmd, arg, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        let values = self.0.values();
        let values = values.into_iter().map(PossibleValue::new);
        let some = values.len() > 0;
        some.then(|| Box::new(values) as Box<dyn Iterator<Item = PossibleValue>>)
    }
}

/// The values of a question, as entered on the command line.
pub(super) fn values(question: &Question, matches: &ArgMatches, units: Units) -> Values {
    let mut values = Values::new(units, Lookup::Files);
    for field in question.fields() {
        if field.takes == Takes::Switch {
            if matches.get_flag(field.key) {
                values.push(field.key, "on");
            }
        } else {
            let all = matches.get_many::<String>(field.key);
            for words in all.into_iter().flatten() {
                values.push(field.key, words);
            }
        }
    }
    values
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_commands_are_sound() {
        super::program().debug_assert();
    }
}
