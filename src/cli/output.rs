//! Where an answer goes: terminal, JSON, or files.

use crate::model::{beside, read_file};
use crate::quantity::Units;
use crate::question::{Question, Sink, Takes, Values, batch};
use crate::report;
use crate::tell::Answer;
use crate::trouble::{Trouble, Troubles};
use clap::{Arg, ArgAction, ArgMatches, ValueHint};
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// Width in columns if that of the terminal is unknown.
pub(super) const WIDTH: usize = 96;

/// Where an answer goes, and how it is printed.
#[derive(Clone, Debug, Default)]
pub(super) struct Output {
    /// Whether to print JSON.
    pub json: bool,
    /// Whether to print only a summary of a few lines.
    pub brief: bool,
    /// The units to print.
    pub units: Units,
    /// When to use colours: `always`, `never`, or otherwise only on a terminal.
    colour: String,
    /// Files to write: for each its flag and path; the path `-` is standard output.
    files: Vec<(&'static str, String)>,
    /// The number, from 1, of the picture to write; `None` writes all.
    which: Option<usize>,
}

/// Questions whose answers have no picture.
const WITHOUT_PICTURE: [&str; 2] = ["size", "batch"];
/// Questions whose answers have no rows of figures beside those that they write themselves.
const WITHOUT_ROWS: [&str; 1] = ["batch"];

/// The flags that control the output of a question; those that would find nothing to write are left out.
pub(super) fn args_of(question: &Question) -> Vec<Arg> {
    let none = |arg: &Arg| match arg.get_id().as_str() {
        "plot" | "plot-which" => WITHOUT_PICTURE.contains(&question.key),
        "csv" => WITHOUT_ROWS.contains(&question.key),
        _ => false,
    };
    args().into_iter().filter(|arg| !none(arg)).collect()
}

/// The flags that control the output.
pub(super) fn args() -> Vec<Arg> {
    let heading = "Output";
    let file = |key: &'static str, name: &'static str, help: &'static str| {
        let arg = Arg::new(key).long(key).value_name(name).help(help);
        arg.value_hint(ValueHint::FilePath)
    };
    let switch = |key: &'static str, help: &'static str| {
        Arg::new(key)
            .long(key)
            .help(help)
            .action(ArgAction::SetTrue)
    };
    let words = |key: &'static str, help: &'static str, words: [&'static str; 3], usual| {
        let words = words
            .into_iter()
            .filter(|w| !w.is_empty())
            .collect::<Vec<_>>();
        Arg::new(key)
            .long(key)
            .help(help)
            .value_parser(words)
            .default_value(usual)
    };
    let args = [
        switch("json", "Print the answer as JSON."),
        switch(
            "brief",
            "Print only the verdict, the cautions and the next step.",
        )
        .conflicts_with("json"),
        file(
            "csv",
            "FILE.csv",
            "Write the data of the chart as CSV; - for standard output.",
        ),
        file(
            "plot",
            "FILE.svg",
            "Write the pictures as SVG; - for standard output.",
        ),
        Arg::new("plot-which")
            .long("plot-which")
            .value_name("NUMBER")
            .help("Write only the picture with this number; 1 is the first.")
            .value_parser(clap::value_parser!(u32).range(1..))
            .requires("plot"),
        file(
            "report",
            "FILE.html",
            "Write the answer with its pictures as one HTML file; - for standard output.",
        ),
        words(
            "units",
            "Units of the output; input is accepted in SI and US units.",
            ["si", "us", ""],
            "si",
        ),
        words(
            "color",
            "When to colour error messages; NO_COLOR is respected.",
            ["auto", "always", "never"],
            "auto",
        ),
    ];
    args.map(|arg| arg.help_heading(heading)).to_vec()
}

impl Output {
    /// Reads these flags; flags that a command does not have keep their defaults.
    pub fn of(matches: &ArgMatches) -> Self {
        let given = |key: &str| matches.try_get_one::<String>(key).ok().flatten().cloned();
        let on = |key: &str| matches.try_get_one::<bool>(key).ok().flatten() == Some(&true);
        let file = |key: &'static str| Some((key, given(key)?));
        Self {
            json: on("json"),
            brief: on("brief"),
            units: given("units")
                .and_then(|u| u.parse().ok())
                .unwrap_or_default(),
            colour: given("color").unwrap_or_default(),
            files: ["csv", "plot", "report", "out"]
                .into_iter()
                .filter_map(file)
                .collect(),
            which: (matches.try_get_one::<u32>("plot-which").ok().flatten())
                .map(|number| *number as usize),
        }
    }

    /// Whether to print colours.
    pub fn colours(&self, to_terminal: bool) -> bool {
        match self.colour.as_str() {
            "always" => true,
            "never" => false,
            _ => to_terminal && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty()),
        }
    }

    /// Fails if a file to be written is also read, or is written twice.
    pub fn check(
        &self,
        question: &Question,
        values: &Values,
        read: &[&str],
    ) -> Result<(), Troubles> {
        let reads = |takes| {
            matches!(
                takes,
                Takes::Machine | Takes::Oil | Takes::Trip | Takes::Text(_) | Takes::Log
            )
        };
        let inputs: Vec<PathBuf> = question
            .fields()
            .filter(|f| reads(f.takes) && f.key != "out")
            .flat_map(|f| values.all(f))
            .chain(read.iter().copied())
            .flat_map(|words| named_in(words, 3))
            .collect();
        let mut problems = Vec::new();
        let mut seen: Vec<PathBuf> = Vec::new();
        for (key, path) in &self.files {
            let place = place(path);
            let problem = |found: String, expected: &str| Trouble::input(found, expected).on(*key);
            if inputs.contains(&place) {
                let found = format!("`{path}` is also an input file");
                problems.push(problem(found, "a different file"));
            }
            if seen.contains(&place) {
                problems.push(problem(
                    format!("`{path}` is named twice"),
                    "two different files",
                ));
            }
            if path == "-" && self.json {
                let found = "`-` is given together with --json".to_string();
                problems.push(problem(found, "only one of them on standard output"));
            }
            if *key == "plot" && path != "-" && !path.to_lowercase().ends_with(".svg") {
                problems.push(problem(format!("`{path}`"), "a name that ends in .svg"));
            }
            seen.push(place);
        }
        if problems.is_empty() {
            Ok(())
        } else {
            Err(problems)
        }
    }

    /// Where to write an answer row by row: to a file, or to standard output if no file is given. `None` if this
    /// question is not answered row by row, or if standard output is used for JSON.
    pub fn by_piece(&self, question: &Question, values: &Values) -> Result<Option<Sink>, Trouble> {
        if question.key != batch::QUESTION.key {
            return Ok(None);
        }
        let path = values.get(&batch::OUT).filter(|path| *path != "-");
        match path {
            None if self.json => Ok(None),
            None => Ok(Some(Arc::new(Mutex::new(std::io::stdout())))),
            Some(path) => match std::fs::File::create(path) {
                Ok(file) => Ok(Some(Arc::new(Mutex::new(file)))),
                Err(e) => {
                    let found = format!("`{path}` cannot be written: {e}");
                    Err(Trouble::input(found, "a writable file").on(batch::OUT.key))
                }
            },
        }
    }

    /// Writes the requested files, and returns the text to print; `named` replaces keys of fields by their flags.
    pub fn write(
        &self,
        answer: &Answer,
        named: impl Fn(&str) -> String,
    ) -> Result<String, Troubles> {
        let mut printed = None;
        let whole = |(key, _): &&(&str, String)| {
            *key != batch::OUT.key || answer.question != batch::QUESTION.key
        };
        for (key, path) in self.files.iter().filter(whole) {
            let text = match *key {
                "csv" => Some(report::csv(answer)).filter(|t| !t.is_empty()),
                "plot" => match self.which {
                    Some(which) => Some(picture(answer, which)?),
                    None => report::svg(answer),
                },
                "report" => Some(report::html(answer)),
                _ => answer.made.clone(),
            };
            let text = text.ok_or_else(|| {
                let what = match *key {
                    "csv" => "data table",
                    "plot" => "picture",
                    _ => "file",
                };
                let found = format!("this answer has no {what}");
                vec![Trouble::no_answer(found, "a question whose answer has one").on(*key)]
            })?;
            let text = named(&text);
            if path == "-" {
                printed = Some(text);
            } else {
                report::write_whole(path, &text).map_err(|t| vec![t])?;
            }
        }
        Ok(match printed {
            Some(text) => text,
            None if self.json => report::json(answer),
            None if self.brief => report::brief(answer, width()),
            // A form to fill in is written as an HTML page to print; on a terminal it is shown as text.
            None if answer.is_form() && !std::io::stdout().is_terminal() => report::html(answer),
            None => report::text(answer, width()),
        })
    }
}

/// One picture of an answer, counted from 1.
fn picture(answer: &Answer, which: usize) -> Result<String, Troubles> {
    let mut pictures = report::pictures(answer);
    if (1..=pictures.len()).contains(&which) {
        return Ok(pictures.swap_remove(which - 1).1);
    }
    let found = format!("there is no picture {which}");
    let expected = match pictures.len() {
        0 => "a question whose answer has pictures".to_string(),
        1 => "1, the only picture of this answer".to_string(),
        many => format!("a number from 1 to {many}"),
    };
    let titles: Vec<String> = pictures.into_iter().map(|p| p.0).collect();
    let problem = Trouble::input(found, expected);
    let hint = format!("the pictures, in order: {}", titles.join("; "));
    Err(vec![problem.hint(hint).on("plot-which")])
}

/// The absolute form of a file that is read, and those of the files that it names, such as the machine of a notebook, up to
/// a number of files one inside the other. None for what is not a file.
fn named_in(path: &str, nested: usize) -> Vec<PathBuf> {
    let Ok(whole) = std::fs::canonicalize(path) else {
        return Vec::new();
    };
    let text = path.ends_with(".toml").then(|| read_file(path));
    let mut named = Vec::new();
    if let (Some(Ok(text)), Some(nested)) = (text, nested.checked_sub(1)) {
        let quoted = text
            .split(['"', '\''])
            .filter(|words| !words.contains('\n'));
        named.extend(quoted.flat_map(|words| named_in(&beside(path, words), nested)));
    }
    named.push(whole);
    named
}

/// The absolute form of a path; the file need not exist.
fn place(path: &str) -> PathBuf {
    let path = Path::new(path);
    let whole = || std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
    std::fs::canonicalize(path).unwrap_or_else(|_| whole())
}

/// Number of columns of the terminal.
fn width() -> usize {
    let told = std::env::var("COLUMNS").ok().and_then(|w| w.parse().ok());
    let asked = || terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    told.or_else(asked).unwrap_or(WIDTH)
}
