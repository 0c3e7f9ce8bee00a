//! The command line: converts flags to values, computes the answer to a question, and prints it as a report.
//! | file | task |
//! |---|---|
//! | `command.rs` | the commands and their flags, from the declarations of the questions |
//! | `output.rs` | the destinations of an answer |
//! | `manual.rs` | completions and manual |
//! | `wait.rs` | a progress bar for long computations |

mod command;
mod manual;
mod output;
mod wait;

use crate::model::{Lookup, MACHINES, Machine, OILS, TRIPS, machine_text, read_file};
use crate::question::{self, Question, Values, batch, notebook, with_names};
use crate::report;
use crate::tell;
use crate::trouble::{Cause, Stop, Trouble, Troubles};
use clap::ArgMatches;
use clap::error::{ContextKind, ErrorKind};
use output::Output;
use serde_json::{Map, Value};
use std::io::{IsTerminal, Write};

/// A function that serves the page on the given port, or on a free one. It passes the address to its second argument,
/// and returns when it can no longer listen.
pub type Serve = fn(Option<u16>, &mut dyn FnMut(&str)) -> Result<(), Trouble>;

/// What is printed in reply to a command.
struct Reply {
    text: String,
    /// Whether requirements were stated that nothing found meets; the exit code is then 1.
    unmet: bool,
}

/// Runs the program with its command-line arguments; returns the exit code.
pub fn run(serve: Serve) -> u8 {
    let matches = match command::program().try_get_matches() {
        Ok(matches) => matches,
        Err(mut error) => {
            // After an unknown flag, clap shows the one that is most similar as if it were required.
            if error.kind() == ErrorKind::UnknownArgument {
                error.remove(ContextKind::Usage);
            }
            return misread(&error);
        }
    };
    let (name, own) = matches
        .subcommand()
        .unwrap_or((question::FIRST_LOOK, &matches));
    let output = Output::of(own);
    let question = question::find(name);
    let replied = match question {
        Some(question) => asked(question, own, &output),
        None if name == "run" => {
            let path = own.get_one::<String>("file").map(String::as_str);
            repeated(path.unwrap_or_default(), &output)
        }
        None => other(name, own, serve).map(|text| Reply { text, unmet: false }),
    };
    match replied {
        Ok(reply) => emit(&reply.text).max(u8::from(reply.unmet)),
        Err(problems) => failed(problems, question, &output),
    }
}

/// Prints the error for a command line that clap rejects; returns the exit code.
fn misread(error: &clap::Error) -> u8 {
    let as_json = std::env::args().any(|a| a == "--json");
    if error.use_stderr() && as_json {
        let text = error.to_string();
        let first = text.lines().next().unwrap_or_default();
        let found = first.trim_start_matches("error: ");
        let problem = Trouble::input(found, "input as listed by --help");
        emit(&report::troubles_json(&[problem]));
    } else {
        let _ = error.print();
    }
    if error.use_stderr() { 2 } else { 0 }
}

/// Prints errors; returns the exit code.
fn failed(mut problems: Troubles, question: Option<&Question>, output: &Output) -> u8 {
    for problem in &mut problems {
        for text in [&mut problem.found, &mut problem.expected, &mut problem.hint] {
            *text = named(question, text);
        }
        if problem.spot.source.is_empty() && !problem.spot.field.is_empty() {
            problem.spot.source = flag(question, &problem.spot.field);
        }
    }
    if output.json {
        emit(&report::troubles_json(&problems));
    } else {
        let colours = output.colours(std::io::stderr().is_terminal());
        let text = report::troubles_text(&problems, colours, &text_of);
        let _ = std::io::stderr().write_all(text.as_bytes());
    }
    if problems.iter().all(|t| t.cause == Cause::NoAnswer) {
        1
    } else {
        2
    }
}

/// The name of a field, or of a question, as the command line spells it: `--oil-temp`, `oilwheel suspects`.
fn flag(question: Option<&Question>, key: &str) -> String {
    if let Some(input) = key.strip_prefix("set.") {
        return format!("--set {input}");
    }
    let mut all = question::ALL.iter().flat_map(|q| q.fields());
    let own = question.and_then(|q| q.field(key));
    match own.or_else(|| all.find(|f| f.key == key)) {
        Some(field) if field.by_place => field.value_name(),
        None if question::ALL.iter().any(|q| q.key == key) => format!("oilwheel {key}"),
        _ => format!("--{}", key.replace('_', "-")),
    }
}

/// The text with each mention of a field replaced by the name of that field on the command line.
fn named(question: Option<&Question>, text: &str) -> String {
    with_names(text, |key| flag(question, key))
}

/// Writes to standard output. A closed pipe does not count as an error.
fn emit(text: &str) -> u8 {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
            let text = format!("error: the answer could not be printed: {e}\n");
            let _ = std::io::stderr().write_all(text.as_bytes());
            1
        }
        _ => 0,
    }
}

/// The text of the library file with a given name.
fn from_library(name: &str) -> Option<String> {
    let all = MACHINES.iter().chain(&OILS).chain(&TRIPS);
    let found = all.into_iter().find(|(key, _)| *key == name);
    found.map(|(_, text)| (*text).to_string())
}

/// The text of the file that an error message refers to.
fn text_of(source: &str) -> Option<String> {
    from_library(source).or_else(|| read_file(source).ok())
}

/// The answer to a question whose values are given by flags.
fn asked(question: &Question, matches: &ArgMatches, output: &Output) -> Result<Reply, Troubles> {
    let values = command::values(question, matches, output.units);
    output.check(question, &values, &[])?;
    answered(question, values, output)
}

/// The answer to a question with the given values, as printed text.
fn answered(question: &Question, mut values: Values, output: &Output) -> Result<Reply, Troubles> {
    let stop = Stop::able();
    values.stop = stop.clone();
    // An entry that `--add` puts into a notebook is written to the notebook's file.
    let values_add = question.key == notebook::QUESTION.key && values.has(&notebook::ADD);
    let path = values.text(&notebook::NOTEBOOK).unwrap_or_default();
    // A log is read twice, but a table of cases only once.
    values.open = Some(wait::opening(question.key != batch::QUESTION.key));
    let by_piece = output.by_piece(question, &values).map_err(|t| vec![t])?;
    let printed = by_piece.is_some() && !values.has(&batch::OUT);
    values.sink = by_piece;
    let answer = wait::watched(&stop, || tell::answer(question.key, &values));
    let answer = answer.unwrap_or_else(|| Err(vec![no_question(question.key)]))?;
    let unmet = answer.unmet;
    if let Some(text) = answer.made.as_ref().filter(|_| values_add) {
        report::write_whole(&path, text).map_err(|t| vec![t])?;
    }
    let named = |text: &str| named(Some(question), text);
    let text = output.write(&answer, named)?;
    if printed {
        // The answers go to standard output, so the summary of them goes to standard error.
        let text = report::brief(&answer, output::WIDTH);
        let _ = std::io::stderr().write_all(named(&text).as_bytes());
        let text = String::new();
        return Ok(Reply { text, unmet });
    }
    let text = named(&text);
    Ok(Reply { text, unmet })
}

/// The error for an unknown question.
fn no_question(key: &str) -> Trouble {
    let keys = || question::ALL.iter().map(|q| q.key);
    let expected = keys().collect::<Vec<_>>().join(", ");
    Trouble::input(format!("no question called `{key}`"), expected).did_you_mean(key, keys())
}

/// Runs a command that does not ask a question.
fn other(name: &str, matches: &ArgMatches, serve: Serve) -> Result<String, Troubles> {
    let given = |key: &str| matches.get_one::<String>(key).map(String::as_str);
    let one = |result: Result<String, Trouble>| result.map_err(|t| vec![t]);
    match name {
        "page" => {
            let port = matches.get_one::<u16>("port").copied();
            one(paged(port, matches.get_flag("no_open"), serve))
        }
        "new" => {
            let class = given("class").unwrap_or_default();
            let machine = class_machine(class);
            machine.map(|machine| match matches.get_flag("notebook") {
                true => tell::notebook::empty(class),
                false => machine_text(&machine),
            })
        }
        "completions" => {
            let shell = matches.get_one::<clap_complete::Shell>("shell");
            Ok(shell.map_or_else(String::new, |shell| manual::completions(*shell)))
        }
        "schema" => {
            let key = given("question").unwrap_or_default();
            let found = question::find(key).ok_or_else(|| no_question(key));
            one(found.map(report::schema))
        }
        _ => one(manual::page(given("command"))),
    }
}

/// Asks again the question of an answer in a JSON file.
fn repeated(path: &str, output: &Output) -> Result<Reply, Troubles> {
    let one = |problem: Trouble| vec![problem.at(path)];
    let text = read_file(path).map_err(one)?;
    let root: Map<String, Value> = serde_json::from_str(&text).map_err(|e| {
        one(Trouble::input(
            format!("the file is not valid JSON: {e}"),
            "an answer printed by `--json`",
        ))
    })?;
    let (key, request) = match (root.get("question"), root.get("request")) {
        (Some(Value::String(key)), Some(Value::Object(request))) => (key, request),
        _ => {
            let found = "the file has no `question` with its `request`";
            return Err(one(Trouble::input(found, "an answer printed by `--json`")));
        }
    };
    let question = question::find(key).ok_or_else(|| one(no_question(key)))?;
    let mut values = Values::new(output.units, Lookup::Files);
    for (name, value) in request {
        let Some(field) = question.field(name) else {
            let found = format!("`{name}` is not a field of `{key}`");
            let keys: Vec<&str> = question.fields().map(|f| f.key).collect();
            return Err(one(Trouble::input(found, keys.join(", "))));
        };
        match value {
            Value::Array(all) => {
                for words in all.iter().filter_map(Value::as_str) {
                    values.push(field.key, words);
                }
            }
            Value::String(words) => values.push(field.key, words),
            other => values.push(field.key, &other.to_string()),
        }
    }
    output.check(question, &values, &[path])?;
    answered(question, values, output)
}

/// Serves the page, and opens it in the browser unless `stay`.
fn paged(port: Option<u16>, stay: bool, serve: Serve) -> Result<String, Trouble> {
    serve(port, &mut |address| {
        emit(&format!(
            "The page: {address}\nPress Ctrl-C to stop the program.\n"
        ));
        if !stay && webbrowser::open(address).is_err() {
            emit("No browser could be opened. Enter this address in a browser.\n");
        }
    })?;
    Ok(String::new())
}

/// The library's machine of a class.
fn class_machine(class: &str) -> Result<Machine, Troubles> {
    if let Some((key, text)) = MACHINES.iter().find(|(key, _)| *key == class) {
        return Machine::from_text(key, text);
    }
    let keys = || MACHINES.iter().map(|(key, _)| *key);
    let expected = keys().collect::<Vec<_>>().join(", ");
    let problem = Trouble::input(format!("no class of machine called `{class}`"), expected);
    Err(vec![problem.did_you_mean(class, keys()).at("new")])
}
