//! The command line: flags become a question, one study answers, the report prints.

mod auxfan;
mod flags;
mod log;
mod manual;
mod oils;
mod wait;

use crate::fault;
use crate::fault::priors::{self, Priors};
use crate::model::{
    Ask, MACHINES, Machine, OILS, OilSheet, Posed, Shelf, TRIPS, beside, machine_text,
    measured_speed, read_file, seen_from,
};
use crate::probe::Readings;
use crate::report;
use crate::study::{
    Answer, check, demo, faults, fit, heat, sheet, speed, suspects, sweep, trip, warmed, why,
};
use crate::trouble::{Cause, Stop, Trouble, Troubles, near};
use clap::Parser;
use flags::{
    Command, FitArgs, Flags, HeatArgs, Output, PageArgs, SheetArgs, SuspectsArgs, SweepArgs,
    TripArgs, WhyArgs,
};
use std::io::Write;

/// The machine that is shown where none is asked for, and the oil that it is compared with.
const DEMO: (&str, &str) = ("light-truck", "transmission-multi-vehicle");

/// What serves the page: a port, or none for a free one; it says where it listens, and returns when it can no longer.
pub type Serve = fn(Option<u16>, &mut dyn FnMut(&str)) -> Result<(), Trouble>;

/// Runs the program on its command line; the exit code.
pub fn run(serve: Serve) -> u8 {
    let flags = match Flags::try_parse() {
        Ok(flags) => flags,
        Err(error) => {
            let _ = error.print();
            return if error.use_stderr() { 2 } else { 0 };
        }
    };
    let output = flags.output().clone();
    match reply(flags.command, &output, serve) {
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
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
            let said = format!("error: what was found could not be printed: {e}\n");
            let _ = std::io::stderr().write_all(said.as_bytes());
            1
        }
        _ => 0,
    }
}

/// The text that a name of the library's stands for.
fn from_library(name: &str) -> Option<String> {
    MACHINES
        .iter()
        .chain(&OILS)
        .chain(&TRIPS)
        .find(|(key, _)| *key == name)
        .map(|(_, text)| (*text).to_string())
}

/// The text that a message points into.
fn text_of(source: &str) -> Option<String> {
    from_library(source).or_else(|| read_file(source).ok())
}

/// What a command prints.
fn reply(command: Option<Command>, output: &Output, serve: Serve) -> Result<String, Troubles> {
    match command {
        None => the_demo(output),
        Some(Command::Speed(args)) => {
            let posed = settled(args.ask.pose(output.units)?, args.warm)?;
            let measured = one(args.measured.as_deref().map(measured_speed).transpose())?;
            render(
                one(speed::answer(&speed::Question { posed, measured }))?,
                output,
            )
        }
        Some(Command::Why(args)) => whys(&args, output),
        Some(Command::Heat(args)) => heated(&args, output),
        Some(Command::Auxfan(args)) => {
            let mut answer = auxfan::asked(&args, output.units)?;
            answer.cautions.extend(no_say(&[
                ("--oil-temp", args.ask.oil_temp.as_ref()),
                ("--air-temp", args.ask.air_temp.as_ref()),
                ("--command", args.ask.command.as_ref()),
            ]));
            render(answer, output)
        }
        Some(Command::Trip(args)) => travelled(&args, output),
        Some(Command::Sweep(args)) => swept(&args, output),
        Some(Command::Oil(args)) => render(oils::oil(&args, output.units)?, output),
        Some(Command::Flush(args)) => render(oils::flush(&args, output.units)?, output),
        Some(Command::Faults { key, .. }) => {
            let one_of = one(key.as_deref().map(fault::find).transpose())?;
            render(faults::answer(one_of), output)
        }
        Some(Command::Sheet(args)) => sheeted(&args, output),
        Some(Command::Fit(args)) => fitted(&args, output),
        Some(Command::Log(args)) => render(log::answered(&args)?, output),
        Some(Command::Suspects(args)) => suspected(&args, output),
        Some(Command::Check { file, .. }) => checked(&file, output),
        Some(Command::Page(args)) => paged(&args, serve),
        Some(Command::New { class }) => Ok(machine_text(&class_machine(&class)?)),
        Some(Command::Completions { shell }) => Ok(manual::completions(shell)),
        Some(Command::Manual { command }) => one(manual::page(command.as_deref())),
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

/// The oil that a readings file names.
fn named_oil(path: &str, text: &str) -> Option<String> {
    Readings::oil_of(path, text).map(|oil| beside(path, &oil))
}

/// A machine narrowed by readings.
fn fitted(args: &FitArgs, output: &Output) -> Result<String, Troubles> {
    let text = one(read_file(&args.readings))?;
    let mut ask = args.ask.ask(output.units);
    ask.oil = ask.oil.or(named_oil(&args.readings, &text));
    let posed = ask.pose(Shelf::Files)?;
    let readings = Readings::from_text(&args.readings, &text, &posed.machine)?;
    let question = fit::Question {
        posed,
        oil: ask.oil,
        readings,
        source: args.readings.clone(),
        out: args.out.clone(),
    };
    let (answer, mut machine) = one(fit::answer(&question))?;
    if let Some(path) = &args.out {
        machine.fill = seen_from(path, &machine.fill);
        one(report::write_whole(path, &machine_text(&machine)))?;
    }
    render(answer, output)
}

/// Which cause, which test next.
fn suspected(args: &SuspectsArgs, output: &Output) -> Result<String, Troubles> {
    let text = one(args.readings.as_deref().map(read_file).transpose())?;
    let mut ask = args.ask.ask(output.units);
    if let (Some(path), Some(text)) = (&args.readings, &text) {
        ask.oil = ask.oil.or(named_oil(path, text));
    }
    let mut posed = ask.pose(Shelf::Files)?;
    let stop = Stop::able();
    posed.stop = stop.clone();
    let readings = match (&args.readings, &text) {
        (Some(path), Some(text)) => Readings::from_text(path, text, &posed.machine)?,
        _ => Readings::default(),
    };
    let well = match &args.well {
        Some(path) => Some(Readings::from_text(
            path,
            &one(read_file(path))?,
            &posed.machine,
        )?),
        None => None,
    };
    let priors = match &args.priors {
        Some(path) => Priors::from_text(path, &one(read_file(path))?)?,
        None => Priors::from_text("models/priors.toml", priors::EMBEDDED)?,
    };
    let question = suspects::Question {
        posed,
        readings,
        well,
        priors,
    };
    let answer = wait::watched(&stop, || suspects::answer(&question))?;
    render(answer, output)
}

/// A question as it is, or at the temperatures at which it settles.
fn settled(posed: Posed, warm: bool) -> Result<Posed, Troubles> {
    if warm { one(warmed(&posed)) } else { Ok(posed) }
}

/// This case against another.
fn whys(args: &WhyArgs, output: &Output) -> Result<String, Troubles> {
    let against = why::Against {
        oil: args.against_oil.clone(),
        oil_temp: args.against_oil_temp.clone(),
        machine: args.against_machine.clone(),
        with: args.against_with.clone(),
    };
    let ask = args.ask.ask(output.units);
    let measured = args.measured.as_deref();
    let mut question = why::pose(&ask, &args.ask.with, &against, measured, Shelf::Files)?;
    question.posed = settled(question.posed, args.warm)?;
    let against = question.against.take();
    question.against = against.map(|a| settled(a, args.warm)).transpose()?;
    render(one(why::answer(&question))?, output)
}

/// Coolant and oil temperatures.
fn heated(args: &HeatArgs, output: &Output) -> Result<String, Troubles> {
    let rating = args.rating.as_ref();
    let rating = rating.map(|path| read_file(path).map(|text| (path.clone(), text)));
    let typed = heat::Typed {
        rating: one(rating.transpose())?,
        ambient: args.ambient.clone(),
        road_speed: args.road_speed.clone(),
        gear: args.gear.map(|g| g.to_string()),
        grade: args.grade.clone(),
        trailer: args.trailer.clone(),
        air_conditioning: args.air_conditioning,
        fuel_flow: args.fuel_flow.clone(),
        air_flow: args.air_flow.clone(),
        fan_speed: args.fan_speed.clone(),
        anchor: args.anchor.clone(),
        against_oils: args.against_oils.clone(),
        map: args.map,
    };
    let ask = args.ask.ask(output.units);
    let question = heat::pose(&ask, &args.ask.with, &typed, Shelf::Files)?;
    let mut answer = one(heat::answer(&question))?;
    let oil_temp = match args.fan_speed {
        None => args.ask.oil_temp.as_ref(),
        Some(_) => None,
    };
    answer.cautions.extend(no_say(&[
        ("--oil-temp", oil_temp),
        ("--air-temp", args.ask.air_temp.as_ref()),
    ]));
    render(answer, output)
}

/// What must be said of flags that were given and change nothing.
fn no_say(flags: &[(&str, Option<&String>)]) -> impl Iterator<Item = String> {
    let given = flags.iter().filter(|(_, value)| value.is_some());
    given.map(|(flag, _)| {
        format!("{flag} has no say here: that is computed, or follows from the rest.")
    })
}

/// Temperatures along a trip.
fn travelled(args: &TripArgs, output: &Output) -> Result<String, Troubles> {
    let against = trip::Against {
        oil: args.against_oil.clone(),
        oil_temp: args.against_oil_temp.clone(),
        with: args.against_with.clone(),
    };
    let ask = args.ask.ask(output.units);
    let question = trip::pose(
        &ask,
        &args.ask.with,
        &against,
        Shelf::Files.trip(&args.trip),
        args.cold,
        Shelf::Files,
    )?;
    let mut answer = trip::answer(&question)?;
    answer.cautions.extend(no_say(&[
        ("--engine-speed", args.ask.engine_speed.as_ref()),
        ("--air-temp", args.ask.air_temp.as_ref()),
    ]));
    render(answer, output)
}

/// The speed along one input.
fn swept(args: &SweepArgs, output: &Output) -> Result<String, Troubles> {
    let posed = args.ask.pose(output.units)?;
    let mut troubles = Vec::new();
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
    for (over, given) in [
        ("engine-speed", &args.ask.engine_speed),
        ("oil-temp", &args.ask.oil_temp),
        ("command", &args.ask.command),
    ] {
        if args.over == over && given.is_some() {
            let found = format!("--{over}, which the sweep goes along");
            troubles.push(Trouble::input(found, "one or the other").at("--over"));
        }
    }
    let along = sweep::Along::typed(&args.over, &args.from, &args.to, &posed.case, posed.units);
    match along {
        Ok(along) if troubles.is_empty() => {
            let question = sweep::Question {
                posed,
                along,
                oils,
                steps: args.steps as usize,
            };
            render(one(sweep::answer(&question))?, output)
        }
        along => Err(along.err().into_iter().flatten().chain(troubles).collect()),
    }
}

/// Serves the page, and opens the browser on it.
fn paged(args: &PageArgs, serve: Serve) -> Result<String, Troubles> {
    one(serve(args.port, &mut |address| {
        emit(&format!("The page: {address}\nCtrl-C ends it.\n"));
        if !args.no_open {
            browse(address);
        }
    }))?;
    Ok(String::new())
}

/// Opens the browser, where there is one.
fn browse(address: &str) {
    use std::process::{Command, Stdio};
    let (program, before): (&str, &[&str]) = if cfg!(target_os = "windows") {
        ("cmd", &["/C", "start", ""])
    } else if cfg!(target_os = "macos") {
        ("open", &[])
    } else {
        ("xdg-open", &[])
    };
    let mut command = Command::new(program);
    command.args(before).arg(address);
    let quiet = command
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    if quiet.spawn().is_err() {
        emit("No browser could be opened: type the address into one.\n");
    }
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
        let figures = report::csv(&answer);
        if figures.is_empty() {
            let trouble = Trouble::no_answer("this answer has no figures", "an answer with some");
            return Err(vec![trouble.at("--csv")]);
        }
        one(report::write_whole(path, &figures))?;
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
