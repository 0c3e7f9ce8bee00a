//! `oilwheel log`: its flags, and the bar that shows how far it is.

use super::flags::Output;
use super::wait::PATIENCE;
use crate::model::Ask;
use crate::model::log::Choices;
use crate::study::{Answer, log};
use crate::trouble::{Trouble, Troubles};
use crate::vary::log::{Digest, digest, survey};
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use std::fs::File;
use std::io::Read;
use std::path::Path;
use std::sync::OnceLock;
use std::time::Instant;

/// What `log` takes.
#[derive(Args, Debug)]
pub struct LogArgs {
    /// The log: rows of readings of a scan tool, or - for standard input; a folder: a table of all logs in it. Several are those
    /// before a repair, with --compare; without, a table of all.
    #[arg(required = true, value_name = "LOG")]
    pub logs: Vec<String>,
    /// A log after a repair: did it help, once ambient, load and air conditioning are allowed for? May be given again.
    #[arg(long, value_name = "AFTER.csv")]
    pub compare: Vec<String>,
    /// What the cap holds, such as "13 psi" or "0.9 bar".
    #[arg(long, default_value = "13 psi", value_name = "PRESSURE")]
    pub cap: String,
    /// Share of glycol by volume.
    #[arg(long, default_value = "50 %", value_name = "SHARE")]
    pub glycol: String,
    /// Altitude, such as "1500 m" or "5000 ft"; else as logged, else sea level.
    #[arg(long, value_name = "HEIGHT", allow_hyphen_values = true)]
    pub altitude: Option<String>,
    /// Ambient temperature, where the log does not have it, or in place of it.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub ambient: Option<String>,
    /// Ambient temperature of the log after, in the same way.
    #[arg(
        long,
        value_name = "TEMPERATURE",
        allow_hyphen_values = true,
        requires = "compare"
    )]
    pub ambient_after: Option<String>,
    /// Count time at or above this; may be given again. Else 100, 105 and 110 °C.
    #[arg(long, value_name = "TEMPERATURE")]
    pub above: Vec<String>,
    /// Which column is which: coolant=ECT, coolant=3 (from 1), or intake-air=none. May be given again.
    #[arg(long, value_name = "SIGNAL=COLUMN")]
    pub column: Vec<String>,
    /// The same in the log after, where it differs.
    #[arg(long, value_name = "SIGNAL=COLUMN", requires = "compare")]
    pub column_after: Vec<String>,
    /// What the column of time is in: s, ms, us, ns, min, h, days, hh:mm or mm:ss.
    #[arg(long, value_name = "UNIT")]
    pub time_unit: Option<String>,
    /// What stands between cells, such as ";", tab or space.
    #[arg(long, value_name = "SIGN")]
    pub delimiter: Option<String>,
    /// Which sign marks decimals: point or comma. The other parts thousands.
    #[arg(long, value_name = "SIGN")]
    pub decimal: Option<String>,
    /// How far rows are apart, where the log has no time, or in place of it.
    #[arg(long, value_name = "TIME")]
    pub every: Option<String>,
    /// What the engine burns: petrol or diesel. Air tells a petrol engine's fuel, not a diesel's.
    #[arg(long, value_name = "FUEL")]
    pub fuel: Option<String>,
    /// Coolant temperature from which the thermostat is full open and the fan is asked for all, such as "100 C"; else as
    /// --machine has it, else 5 K above the level at which the engine stays most.
    #[arg(long, value_name = "TEMPERATURE")]
    pub full_from: Option<String>,
    /// Hold it against a simulation of this machine along the log's engine speed, road speed and ambient: light-truck, car,
    /// bus, off-road, or the path of a machine file.
    #[arg(long)]
    pub machine: Option<String>,
    /// With --machine: the oil in it, as on other commands.
    #[arg(long, requires = "machine")]
    pub oil: Option<String>,
    /// With --machine: set one input, such as pump.ratio=1.4. May be given again.
    #[arg(long, value_name = "PART.KEY=VALUE", requires = "machine")]
    pub set: Vec<String>,
    /// With --machine: put a fault on it, such as worn-pump=0.4. May be given again; `oilwheel faults` lists them.
    #[arg(long, value_name = "FAULT=SEVERITY", requires = "machine")]
    pub with: Vec<String>,
    #[command(flatten)]
    pub output: Output,
}

/// Reads and answers.
pub fn answered(args: &LogArgs) -> Result<Answer, Troubles> {
    let typed = log::Typed {
        cap: args.cap.clone(),
        glycol: args.glycol.clone(),
        altitude: args.altitude.clone(),
        ambient: args.ambient.clone(),
        ambient_after: args.ambient_after.clone(),
        above: args.above.clone(),
        columns: args.column.clone(),
        columns_after: args.column_after.clone(),
        time_unit: args.time_unit.clone(),
        delimiter: args.delimiter.clone(),
        decimal: args.decimal.clone(),
        every: args.every.clone(),
        fuel: args.fuel.clone(),
        full_from: args.full_from.clone(),
        machine: args.machine.as_deref().map(|machine| Ask {
            oil: args.oil.clone(),
            set: args.set.clone(),
            units: args.output.units,
            ..Ask::about(machine)
        }),
        with: args.with.clone(),
        units: args.output.units,
    };
    let folder = args.logs.iter().any(|l| Path::new(l).is_dir());
    if folder || args.logs.len() > 1 && args.compare.is_empty() {
        let choices = log::choices(&typed, None)?;
        let all = files(&args.logs)?;
        let lines = survey(&all, |path| {
            of_file(path, &choices[0], &log::usual_levels(), false)
        });
        return Ok(log::table(lines, args.output.units));
    }
    log::asked(&typed, &|choices, levels| all(args, choices, levels))
}

/// The files that are meant: those named, and those in folders, by name.
fn files(named: &[String]) -> Result<Vec<String>, Troubles> {
    let mut all = Vec::new();
    for name in named {
        if !Path::new(name).is_dir() {
            all.push(name.clone());
            continue;
        }
        let failed = |e: std::io::Error| {
            vec![
                Trouble::input(format!("cannot be read: {e}"), "a folder that can be read")
                    .at(name),
            ]
        };
        let entries = std::fs::read_dir(name).map_err(failed)?;
        let paths = entries.filter_map(Result::ok).map(|e| e.path());
        let hidden = |p: &Path| {
            p.file_name()
                .is_some_and(|n| n.to_string_lossy().starts_with('.'))
        };
        let mut within: Vec<String> = paths
            .filter(|p| p.is_file() && !hidden(p))
            .map(|p| p.to_string_lossy().into_owned())
            .collect();
        if within.is_empty() {
            return Err(vec![
                Trouble::input("a folder without a file", "a folder of logs").at(name),
            ]);
        }
        within.sort();
        all.append(&mut within);
    }
    Ok(all)
}

/// Reads the logs before and after; the mistakes of all at once.
fn all(args: &LogArgs, choices: &[Choices; 2], levels: &[f64]) -> Result<log::Logs, Troubles> {
    let mut troubles = Troubles::new();
    let mut read = |paths: &[String], choices: &Choices| -> Vec<Digest> {
        let read = paths.iter().map(|p| of_file(p, choices, levels, true));
        read.filter_map(|r| r.map_err(|t| troubles.extend(t)).ok())
            .collect()
    };
    let before = read(&args.logs, &choices[0]);
    let after = read(&args.compare, &choices[1]);
    let mut before = before.into_iter();
    match before.next() {
        Some(first) if troubles.is_empty() => Ok(log::Logs {
            before: (first, before.collect()),
            after,
        }),
        _ => Err(troubles),
    }
}

/// What standard input held; it may be read twice.
fn standard_input() -> std::io::Result<&'static [u8]> {
    static HELD: OnceLock<Vec<u8>> = OnceLock::new();
    if let Some(held) = HELD.get() {
        return Ok(held);
    }
    let mut bytes = Vec::new();
    std::io::stdin().lock().read_to_end(&mut bytes)?;
    Ok(HELD.get_or_init(|| bytes))
}

/// Reads a file, with a bar on standard error where it takes long and is asked for.
fn of_file(
    path: &str,
    choices: &Choices,
    levels: &[f64],
    with_bar: bool,
) -> Result<Digest, Troubles> {
    let open = || -> Result<Box<dyn Read>, Trouble> {
        let opened = match path {
            "-" => standard_input().map(|bytes| Box::new(bytes) as Box<dyn Read>),
            path => File::open(path).and_then(|f| match f.metadata()?.is_dir() {
                true => Err(std::io::Error::other("it is a folder")),
                false => Ok(Box::new(f) as Box<dyn Read>),
            }),
        };
        opened.map_err(|e| {
            Trouble::input(format!("cannot be read: {e}"), "a file that can be read").at(path)
        })
    };
    let source = if path == "-" { "standard input" } else { path };
    let size = std::fs::metadata(path).map_or(0, |m| m.len());
    let began = Instant::now();
    let mut bar: Option<ProgressBar> = None;
    let result = digest(open, source, choices, levels, &mut |bytes| {
        if !with_bar || began.elapsed() < PATIENCE {
            return;
        }
        let style = || {
            ProgressStyle::with_template("{bar:40} {percent} % of {total_bytes}, {eta} left")
                .unwrap_or_else(|_| ProgressStyle::default_bar())
        };
        bar.get_or_insert_with(|| ProgressBar::new(size).with_style(style()))
            .set_position(bytes);
    });
    if let Some(bar) = bar {
        bar.finish_and_clear();
    }
    result
}
