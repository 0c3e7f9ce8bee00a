//! The command line: flags become a question, one study answers, the report prints.

mod flags;
mod log;

use crate::fault;
use crate::input::Input;
use crate::model::{Ask, Case, MACHINES, Machine, OILS, OilSheet, Shelf, machine_text, read_file};
use crate::probe::Readings;
use crate::quantity::{Kind, Measure, parse};
use crate::report;
use crate::study::{Answer, check, demo, faults, fit, sheet, speed, sweep, why};
use crate::trouble::{Cause, Trouble, Troubles, near};
use clap::Parser;
use flags::{Command, FitArgs, Flags, Output, SheetArgs, SweepArgs, WhyArgs};
use std::io::Write;

/// The machine that is shown where none is asked for, and the oil that it is compared with.
const DEMO: (&str, &str) = ("light-truck", "transmission-multi-vehicle");

/// Runs the program on its command line; the exit code.
pub fn run() -> u8 {
    let flags = match Flags::try_parse() {
        Ok(flags) => flags,
        Err(error) => {
            let _ = error.print();
            return if error.use_stderr() { 2 } else { 0 };
        }
    };
    let output = flags.output().clone();
    match reply(flags.command, &output) {
        Ok(text) => emit(&text),
        Err(troubles) => {
            if output.json {
                emit(&report::troubles_json(&troubles));
            } else {
                let text = report::troubles_text(&troubles, &text_of);
                let _ = std::io::stderr().write_all(text.as_bytes());
            }
            if troubles.iter().all(|t| t.cause == Cause::NoAnswer) {
                1
            } else {
                2
            }
        }
    }
}

/// Writes to standard output. A reader that went away is no error.
fn emit(text: &str) -> u8 {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => 1,
        _ => 0,
    }
}

/// The text that a name of the library's stands for.
fn from_library(name: &str) -> Option<String> {
    MACHINES
        .iter()
        .chain(&OILS)
        .find(|(key, _)| *key == name)
        .map(|(_, text)| (*text).to_string())
}

/// The text that a message points into.
fn text_of(source: &str) -> Option<String> {
    from_library(source).or_else(|| read_file(source).ok())
}

/// What a command prints.
fn reply(command: Option<Command>, output: &Output) -> Result<String, Troubles> {
    match command {
        None => the_demo(output),
        Some(Command::Speed(args)) => {
            let posed = args.ask.pose(output.units)?;
            let measured = one(args.measured.as_deref().map(reading).transpose())?;
            render(
                one(speed::answer(&speed::Question { posed, measured }))?,
                output,
            )
        }
        Some(Command::Why(args)) => whys(&args, output),
        Some(Command::Sweep(args)) => swept(&args, output),
        Some(Command::Faults { key, .. }) => {
            let one_of = one(key.as_deref().map(fault::find).transpose())?;
            render(faults::answer(one_of), output)
        }
        Some(Command::Sheet(args)) => sheeted(&args, output),
        Some(Command::Fit(args)) => fitted(&args, output),
        Some(Command::Log(args)) => render(log::answered(&args)?, output),
        Some(Command::Check { file, .. }) => checked(&file, output),
        Some(Command::New { class, .. }) => Ok(machine_text(&class_machine(&class)?)),
    }
}

/// One trouble as troubles.
fn one<T>(result: Result<T, Trouble>) -> Result<T, Troubles> {
    result.map_err(|t| vec![t])
}

/// The test sheet: the page itself, unless it goes to a file or JSON is asked for.
fn sheeted(args: &SheetArgs, output: &Output) -> Result<String, Troubles> {
    let answer = sheet::answer(&args.ask.pose(output.units)?);
    if output.json || output.report.is_some() {
        return render(answer, output);
    }
    let page = report::html(&answer);
    render(answer, output).map(|_| page)
}

/// A machine narrowed by readings.
fn fitted(args: &FitArgs, output: &Output) -> Result<String, Troubles> {
    let text = one(read_file(&args.readings))?;
    let mut ask = args.ask.ask(output.units);
    ask.oil = ask.oil.or(Readings::oil_of(&args.readings, &text));
    let posed = ask.pose(Shelf::Files)?;
    let readings = Readings::from_text(&args.readings, &text, &posed.machine)?;
    let question = fit::Question {
        posed,
        oil: ask.oil,
        readings,
        source: args.readings.clone(),
        out: args.out.clone(),
    };
    let (answer, machine) = one(fit::answer(&question))?;
    if let Some(path) = &args.out {
        one(report::write_whole(path, &machine_text(&machine)))?;
    }
    render(answer, output)
}

/// This case against another.
fn whys(args: &WhyArgs, output: &Output) -> Result<String, Troubles> {
    let posed = args.ask.pose(output.units)?;
    let measured = one(args.measured.as_deref().map(reading).transpose())?;
    let mut other = args.ask.ask(output.units);
    let held = args.against_oil.is_some()
        || args.against_oil_temp.is_some()
        || args.against_machine.is_some()
        || !args.against_with.is_empty();
    if !held && measured.is_none() {
        let trouble = Trouble::input(
            "nothing to hold this case against",
            "--against-oil, --against-oil-temp, --against-machine, --against-with or --measured",
        )
        .hint(format!(
            "oilwheel why {} --against-oil transmission-multi-vehicle",
            args.ask.machine
        ));
        return Err(vec![trouble.at("why")]);
    }
    other.oil = args.against_oil.clone().or(other.oil);
    other.oil_temp = args.against_oil_temp.clone().or(other.oil_temp);
    other.machine = args.against_machine.clone().unwrap_or(other.machine);
    let mut against = if held {
        Some(other.pose(Shelf::Files)?)
    } else {
        None
    };
    if let Some(against) = &mut against {
        // Another oil, temperature or machine is compared with the same faults; a fault, with its absence.
        let same = if args.against_with.is_empty() {
            &args.ask.with[..]
        } else {
            &[]
        };
        fault::put_on(against, same, "--with")?;
        fault::put_on(against, &args.against_with, "--against-with")?;
    }
    let poured = OILS
        .iter()
        .map(|(key, _)| Shelf::LibraryOnly.oil(key))
        .collect::<Result<_, _>>()?;
    render(
        one(why::answer(&why::Question {
            posed,
            against,
            measured,
            poured,
        }))?,
        output,
    )
}

/// The speed along one input.
fn swept(args: &SweepArgs, output: &Output) -> Result<String, Troubles> {
    let posed = args.ask.pose(output.units)?;
    let mut troubles = Vec::new();
    let mut ends = |kind: Kind, low: f64, high: f64| {
        let mut end = |flag: &str, words: &str| {
            let read = parse(kind, words).and_then(|m| {
                let show = |v| output.units.show(kind, v);
                let inside = m.value >= low && m.value <= high;
                inside.then_some(m.value).ok_or_else(|| {
                    Trouble::input(
                        format!("{} outside the range", show(m.value)),
                        format!("{} to {}", show(low), show(high)),
                    )
                })
            });
            read.map_err(|t| troubles.push(t.at(flag))).ok()
        };
        (end("--from", &args.from), end("--to", &args.to))
    };
    let along = match args.over.as_str() {
        "viscosity" => match ends(Kind::KinematicViscosity, 0.5e-6, 0.1) {
            (Some(from), Some(to)) => Some(sweep::Along::Viscosity(from, to)),
            _ => None,
        },
        over => {
            let key = match over {
                "engine-speed" => "now.engine_speed",
                "oil-temp" => "now.oil_temp",
                "command" => "now.command",
                key => key,
            };
            let input = one(input_of(key, &posed.case))?;
            let field = input.field();
            match ends(field.kind, field.low, field.high) {
                (Some(from), Some(to)) => Some(sweep::Along::Input(input, from, to)),
                _ => None,
            }
        }
    };
    let oils: Vec<OilSheet> = args
        .oils
        .iter()
        .filter_map(|o| {
            Shelf::Files
                .oil(o.trim())
                .map_err(|t| troubles.extend(t))
                .ok()
        })
        .collect();
    match along {
        Some(along) if troubles.is_empty() => {
            let question = sweep::Question {
                posed,
                along,
                oils,
                steps: args.steps as usize,
            };
            render(one(sweep::answer(&question))?, output)
        }
        _ => Err(troubles),
    }
}

/// The input of a key, on a machine that has it.
fn input_of(key: &str, case: &Case) -> Result<Input, Trouble> {
    let keys: Vec<String> = Input::all()
        .filter(|i| case.get(*i).is_some())
        .map(Input::key)
        .collect();
    match Input::find(key) {
        Some(input) if case.get(input).is_some() => Ok(input),
        _ => {
            let hint =
                near(key, keys.iter().map(String::as_str)).map(|k| format!("did you mean `{k}`?"));
            Err(Trouble::input(
                format!("no input called `{key}` on this machine"),
                "engine-speed, oil-temp, viscosity, command, or part.key such as pump.slip",
            )
            .hint(hint.unwrap_or_default())
            .at("--over"))
        }
    }
}

/// A measured fan speed.
fn reading(words: &str) -> Result<Measure, Trouble> {
    let measure = parse(Kind::Speed, words).map_err(|t| t.at("--measured"))?;
    if measure.value < 0.0 {
        return Err(Trouble::input(words, "a speed that is not negative").at("--measured"));
    }
    if measure.spread <= 0.0 {
        let found = format!("`{words}` without ±");
        return Err(Trouble::input(found, "a reading with its error, such as 640 rpm ± 10 rpm")
            .hint("a photo tachometer reads to about ±0.05 %, the eye with a strobe to perhaps ±2 %")
            .at("--measured"));
    }
    Ok(measure)
}

/// The machine of a class.
fn class_machine(class: &str) -> Result<Machine, Troubles> {
    if let Some((key, text)) = MACHINES.iter().find(|(key, _)| *key == class) {
        return Machine::from_text(key, text);
    }
    let keys: Vec<&str> = MACHINES.iter().map(|(key, _)| *key).collect();
    let hint = near(class, keys.iter().copied()).map(|k| format!("did you mean `{k}`?"));
    let trouble = Trouble::input(
        format!("no class of machine called `{class}`"),
        keys.join(", "),
    );
    Err(vec![trouble.hint(hint.unwrap_or_default()).at("new")])
}

/// Checks a machine or an oil file.
fn checked(file: &str, output: &Output) -> Result<String, Troubles> {
    let text = match from_library(file) {
        Some(text) => text,
        None => one(read_file(file))?,
    };
    let is_oil =
        text.lines().any(|l| l.trim_start().starts_with("data")) && !text.contains("[pump]");
    let answer = if is_oil {
        check::oil(&OilSheet::from_text(file, &text)?, output.units)
    } else {
        Machine::from_text(file, &text)?;
        let posed = Ask {
            units: output.units,
            ..Ask::about(file)
        }
        .pose(Shelf::Files)?;
        one(check::machine(&posed))?
    };
    render(answer, output)
}

/// The demo machine's first look, with its report written where temporary files go.
fn the_demo(output: &Output) -> Result<String, Troubles> {
    let (machine, other) = DEMO;
    let posed = Ask {
        units: output.units,
        ..Ask::about(machine)
    }
    .pose(Shelf::LibraryOnly)?;
    let question = demo::Question {
        posed,
        other: Shelf::LibraryOnly.oil(other)?,
        commands: vec![
            format!("oilwheel speed {machine} --measured \"640 rpm ± 10 rpm\""),
            format!(
                "oilwheel speed {machine} --oil {other} --oil-temp \"-10 C\" --engine-speed raised"
            ),
            format!("oilwheel new {machine} > mine.toml"),
        ],
    };
    let answer = one(demo::answer(&question))?;
    let path = std::env::temp_dir().join("oilwheel-demo.html");
    let written = report::write_whole(&path, &report::html(&answer));
    let mut text = render(answer, output)?;
    if !output.json && written.is_ok() {
        text.push_str(&format!("\nThe same with pictures: {}\n", path.display()));
    }
    Ok(text)
}

/// Writes the files that were asked for, and gives what is printed.
fn render(answer: Answer, output: &Output) -> Result<String, Troubles> {
    if let Some(path) = &output.csv {
        one(report::write_whole(path, &report::csv(&answer)))?;
    }
    if let Some(path) = &output.plot {
        let picture = report::svg(&answer).ok_or_else(|| {
            Trouble::no_answer("this answer has no picture", "an answer with one").at("--plot")
        });
        one(picture.and_then(|p| report::write_whole(path, &p)))?;
    }
    if let Some(path) = &output.report {
        one(report::write_whole(path, &report::html(&answer)))?;
    }
    if output.json {
        return Ok(report::json(&answer));
    }
    let width = std::env::var("COLUMNS")
        .ok()
        .and_then(|w| w.parse().ok())
        .unwrap_or(96);
    Ok(report::text(&answer, width))
}
