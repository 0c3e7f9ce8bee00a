//! `oilwheel log`: its flags, and the bar that shows how far it is.

use super::flags::Output;
use super::wait::PATIENCE;
use crate::model::Ask;
use crate::model::log::Choices;
use crate::study::{Answer, log};
use crate::trouble::{Trouble, Troubles};
use crate::vary::log::{Digest, digest};
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use std::fs::File;
use std::time::Instant;

/// What `log` takes.
#[derive(Args, Debug)]
pub struct LogArgs {
    /// The log: comma-separated values of a scan tool.
    pub log: String,
    /// A log after a repair: did it help, once ambient, load and air conditioning are allowed for?
    #[arg(long, value_name = "AFTER.csv")]
    pub compare: Option<String>,
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
    log::asked(&typed, &|choices, levels| both(args, choices, levels))
}

/// Reads the log, and the one after; the mistakes of both at once.
fn both(args: &LogArgs, choices: &Choices, levels: &[f64]) -> Result<log::Logs, Troubles> {
    let log = of_file(&args.log, choices, levels);
    let after = args.compare.as_deref();
    let after = after.map(|path| of_file(path, choices, levels)).transpose();
    match (log, after) {
        (Ok(log), Ok(after)) => Ok((log, after)),
        (log, after) => Err([log.err(), after.err()]
            .into_iter()
            .flatten()
            .flatten()
            .collect()),
    }
}

/// Reads a file, with a bar on standard error where it takes long.
fn of_file(path: &str, choices: &Choices, levels: &[f64]) -> Result<Digest, Troubles> {
    let open = || {
        let opened = File::open(path).and_then(|f| match f.metadata()?.is_dir() {
            true => Err(std::io::Error::other("it is a folder")),
            false => Ok(f),
        });
        opened.map_err(|e| {
            Trouble::input(format!("cannot be read: {e}"), "a file that can be read").at(path)
        })
    };
    let size = std::fs::metadata(path).map_or(0, |m| m.len());
    let began = Instant::now();
    let mut bar: Option<ProgressBar> = None;
    let result = digest(open, path, choices, levels, &mut |bytes| {
        if began.elapsed() < PATIENCE {
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
