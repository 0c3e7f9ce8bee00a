//! The flags.

use super::log::LogArgs;
use crate::fault;
use crate::model::{Ask, Posed, Shelf};
use crate::quantity::Units;
use crate::study::auxfan;
use crate::trouble::Troubles;
use clap::{Args, Parser, Subcommand};
use clap_complete::Shell;

/// How fast should an oil-driven radiator fan turn, why is it slower, and what to check next.
///
/// Without a command: a first look at a demo machine.
#[derive(Parser, Debug)]
#[command(name = "oilwheel", version, max_term_width = 100)]
pub struct Flags {
    /// What is asked.
    #[command(subcommand)]
    pub command: Option<Command>,
    #[command(flatten)]
    output: Output,
}

/// The commands.
#[derive(Subcommand, Debug)]
pub enum Command {
    /// What speed should this fan make, and what limits it?
    Speed(SpeedArgs),
    /// Why is this fan slower than another, and can the oil alone explain a reading?
    Why(WhyArgs),
    /// How warm do coolant and oil get, how far is that from boiling, and how hot may the day be?
    Heat(HeatArgs),
    /// What do electric fans buy, and what do mending the main fan or the right oil buy instead?
    Auxfan(AuxfanArgs),
    /// How warm do coolant and oil get along a trip, and what does the fan do meanwhile?
    Trip(TripArgs),
    /// How does the speed go along one input, on one oil or several?
    Sweep(SweepArgs),
    /// What are the oils like: the library, one oil over temperature, or a blend of two?
    Oil(OilArgs),
    /// How often must the oil be changed until little of the old is left, and what does it do for the fan?
    Flush(FlushArgs),
    /// What can go wrong, on the oil side and the heat side: all faults, or one in full.
    Faults {
        /// The fault's key; none: all.
        key: Option<String>,
        #[command(flatten)]
        output: Output,
    },
    /// Print a test sheet for a machine, to fill in by hand: a page in HTML.
    Sheet(SheetArgs),
    /// Narrow a machine by readings of it when it was well, and write it as a file.
    Fit(FitArgs),
    /// What does a log of the road say: how hot, how long, doing what; and did the repair work?
    Log(LogArgs),
    /// Which cause is how likely after these readings, and which test would tell most next?
    Suspects(SuspectsArgs),
    /// Is this machine or oil file sound, and what would it do?
    Check {
        /// The file, or a name of the library's.
        file: String,
        #[command(flatten)]
        output: Output,
    },
    /// Open a page in the browser: the same questions with a form to fill in.
    Page(PageArgs),
    /// Print a commented machine file to start from.
    New {
        /// The class: light-truck, car, bus, off-road.
        class: String,
    },
    /// Print what makes a shell complete this program's commands and flags.
    Completions {
        /// The shell.
        shell: Shell,
    },
    /// Print the manual page, of the program or of one command: `oilwheel manual speed > oilwheel-speed.1`.
    Manual {
        /// The command; none: the program.
        command: Option<String>,
    },
}

/// What `speed` takes.
#[derive(Args, Debug)]
pub struct SpeedArgs {
    #[command(flatten)]
    pub ask: AskArgs,
    /// A speed that was measured, with its error: "640 rpm ± 10 rpm".
    #[arg(long, value_name = "SPEED ± ERROR")]
    pub measured: Option<String>,
    /// At the temperatures at which oil and air settle, instead of the usual ones.
    #[arg(long)]
    pub warm: bool,
    #[command(flatten)]
    pub output: Output,
}

/// What `sheet` takes.
#[derive(Args, Debug)]
pub struct SheetArgs {
    #[command(flatten)]
    pub ask: AskArgs,
    #[command(flatten)]
    pub output: Output,
}

/// What `fit` takes.
#[derive(Args, Debug)]
pub struct FitArgs {
    #[command(flatten)]
    pub ask: AskArgs,
    /// The readings: a TOML or CSV file with the names of the test sheet.
    pub readings: String,
    /// Write the narrowed machine as a file.
    #[arg(long, value_name = "FILE.toml")]
    pub out: Option<String>,
    #[command(flatten)]
    pub output: Output,
}

/// What `suspects` takes.
#[derive(Args, Debug)]
pub struct SuspectsArgs {
    #[command(flatten)]
    pub ask: AskArgs,
    /// The readings: a TOML or CSV file with the names of the test sheet. Without it: which test to begin with.
    pub readings: Option<String>,
    /// Readings of the same machine when it was well.
    #[arg(long, value_name = "READINGS")]
    pub well: Option<String>,
    /// How common each cause is, in place of the program's own judgment.
    #[arg(long, value_name = "FILE.toml")]
    pub priors: Option<String>,
    #[command(flatten)]
    pub output: Output,
}

/// What `why` takes.
#[derive(Args, Debug)]
pub struct WhyArgs {
    #[command(flatten)]
    pub ask: AskArgs,
    /// Hold it against the same on this oil.
    #[arg(long, value_name = "OIL")]
    pub against_oil: Option<String>,
    /// Hold it against the same at this oil temperature.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub against_oil_temp: Option<String>,
    /// Hold it against this machine.
    #[arg(long, value_name = "MACHINE")]
    pub against_machine: Option<String>,
    /// Hold it against the same with a fault of a severity, such as worn-pump=0.4, or with none: worn-pump=0. May be given
    /// again.
    #[arg(long, value_name = "FAULT=SEVERITY")]
    pub against_with: Vec<String>,
    /// A speed that was measured, with its error: could the oil alone explain it?
    #[arg(long, value_name = "SPEED ± ERROR")]
    pub measured: Option<String>,
    /// At the temperatures at which oil and air settle, instead of the usual ones.
    #[arg(long)]
    pub warm: bool,
    #[command(flatten)]
    pub output: Output,
}

/// What `heat` takes.
#[derive(Args, Debug)]
pub struct HeatArgs {
    #[command(flatten)]
    pub ask: AskArgs,
    /// Temperature of the outer air.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub ambient: Option<String>,
    /// Road speed, such as "60 km/h"; standing without it.
    #[arg(long, value_name = "SPEED", allow_hyphen_values = true)]
    pub road_speed: Option<String>,
    /// The gear, from 1; the highest that pulls without it.
    #[arg(long)]
    pub gear: Option<usize>,
    /// Grade of the road, such as "6 %".
    #[arg(long, value_name = "SHARE", allow_hyphen_values = true)]
    pub grade: Option<String>,
    /// Mass of a trailer.
    #[arg(long, value_name = "MASS", allow_hyphen_values = true)]
    pub trailer: Option<String>,
    /// Air conditioning is on.
    #[arg(long)]
    pub air_conditioning: bool,
    /// Measured fuel flow of a petrol engine, such as "1.2 L/h"; else the load tells it.
    #[arg(long, value_name = "FLOW", allow_hyphen_values = true)]
    pub fuel_flow: Option<String>,
    /// Measured air flow of a petrol engine, such as "4 g/s", in place of the fuel's.
    #[arg(
        long,
        value_name = "FLOW",
        allow_hyphen_values = true,
        conflicts_with = "fuel_flow"
    )]
    pub air_flow: Option<String>,
    /// Rating points of the core: a CSV with air_speed, coolant_flow, coolant_temp, air_temp, heat, a unit in each cell.
    #[arg(long, value_name = "FILE.csv")]
    pub rating: Option<String>,
    /// Impose a fan speed that was measured; the oil then keeps its temperature.
    #[arg(long, value_name = "SPEED", allow_hyphen_values = true)]
    pub fan_speed: Option<String>,
    /// A reading at this condition that sets what is known worst: "98 C at 700 rpm, 30 C ambient".
    #[arg(long, value_name = "READING")]
    pub anchor: Option<String>,
    /// Oils to hold against this one, with commas between.
    #[arg(long, value_delimiter = ',')]
    pub against_oils: Vec<String>,
    /// Limiting ambient temperature over road speed and grade as well.
    #[arg(long)]
    pub map: bool,
    #[command(flatten)]
    pub output: Output,
}

/// What `auxfan` takes.
#[derive(Args, Debug)]
pub struct AuxfanArgs {
    #[command(flatten)]
    pub ask: AskArgs,
    /// The fans that one can have: a CSV table of points from data sheets, as models/auxfans/classes.csv; without it, classes.
    #[arg(long, value_name = "FANS.csv")]
    pub fans: Option<String>,
    /// Where they may sit: front_1, front_2, front_3, bare, each with =pusher or =puller and +shroud, commas between; without
    /// it, everywhere as pushers without a shroud.
    #[arg(long, value_name = "PLACES")]
    pub at: Option<String>,
    /// Look at this set instead of seeking the smallest: "class-250@front_2, class-250@bare*1".
    #[arg(long, value_name = "SET")]
    pub r#try: Option<String>,
    /// The day on which the coolant must not pass its limit.
    #[arg(
        long,
        value_name = "TEMPERATURE",
        default_value = auxfan::AMBIENT,
        allow_hyphen_values = true
    )]
    pub ambient: String,
    /// On a climb at walking pace of this grade, such as "10 %"; else standing.
    #[arg(long, value_name = "SHARE")]
    pub climb: Option<String>,
    /// Air conditioning is off.
    #[arg(long)]
    pub no_air_conditioning: bool,
    /// Hold the main fan at a measured speed, or at a share of what it should make, such as "33 %".
    #[arg(long, value_name = "SPEED", allow_hyphen_values = true)]
    pub fan_speed: Option<String>,
    /// The oil to hold against the one that is in it; the machine's usual one where nothing is said.
    #[arg(long, value_name = "OIL")]
    pub right_oil: Option<String>,
    /// Length of the wire to each fan, one way.
    #[arg(long, value_name = "LENGTH", default_value = auxfan::WIRE)]
    pub wire: String,
    /// Road speed at which the fans are off and in the way.
    #[arg(long, value_name = "SPEED", default_value = auxfan::ROAD_SPEED)]
    pub road_speed: String,
    #[command(flatten)]
    pub output: Output,
}

/// What `trip` takes.
#[derive(Args, Debug)]
pub struct TripArgs {
    #[command(flatten)]
    pub ask: AskArgs,
    /// The trip: jam, commute, cold-start, tow, or the path of a table with columns such as time_s, road_speed_km_h,
    /// engine_speed_rpm, grade_percent, ambient_c, air_conditioning, trailer_kg, command, coolant_c, oil_c.
    pub trip: String,
    /// Begin as cold as the day; else where it settles in the first row, or as the table says.
    #[arg(long)]
    pub cold: bool,
    /// Hold it against the same on this oil.
    #[arg(long, value_name = "OIL")]
    pub against_oil: Option<String>,
    /// Hold it against the same with the oil at this temperature when it begins.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub against_oil_temp: Option<String>,
    /// Hold it against the same with a fault of a severity, such as worn-pump=0.4. May be given again. With a fault of its
    /// own (--with) and nothing else it is held against the sound machine.
    #[arg(long, value_name = "FAULT=SEVERITY")]
    pub against_with: Vec<String>,
    #[command(flatten)]
    pub output: Output,
}

/// What `sweep` takes.
#[derive(Args, Debug)]
pub struct SweepArgs {
    #[command(flatten)]
    pub ask: AskArgs,
    /// What to go along: engine-speed, oil-temp, viscosity, command, or an input such as pump.slip.
    #[arg(long, value_name = "INPUT")]
    pub over: String,
    /// Where to begin, with its unit.
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub from: String,
    /// Where to end, with its unit.
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub to: String,
    /// The oils to compare, with commas between, in place of --oil.
    #[arg(long, value_delimiter = ',', conflicts_with = "oil")]
    pub oils: Vec<String>,
    /// How many steps.
    #[arg(long, default_value_t = 101, value_parser = clap::value_parser!(u32).range(2..=20_000))]
    pub steps: u32,
    #[command(flatten)]
    pub output: Output,
}

/// What `page` takes.
#[derive(Args, Debug)]
pub struct PageArgs {
    /// The port to listen on; else one that is free.
    #[arg(long)]
    pub port: Option<u16>,
    /// Do not open the browser.
    #[arg(long)]
    pub no_open: bool,
}

/// What `oil` takes.
#[derive(Args, Debug)]
pub struct OilArgs {
    /// None for the library, one oil, or two to blend: a name from the library, the path of an oil file, or a data sheet's
    /// figures such as "40C=35 cSt, 100C=7.4 cSt, 15C=850 kg/m3".
    #[arg(num_args = 0..=2, value_name = "OIL")]
    pub oils: Vec<String>,
    /// Share of the second oil in the blend, by volume.
    #[arg(long, value_name = "SHARE", allow_hyphen_values = true)]
    pub share: Option<String>,
    /// The machine whose pump is to take the oil.
    #[arg(long, default_value = "light-truck")]
    pub machine: String,
    #[command(flatten)]
    pub output: Output,
}

/// What `flush` takes.
#[derive(Args, Debug)]
pub struct FlushArgs {
    #[command(flatten)]
    pub ask: AskArgs,
    /// The oil that is in it.
    #[arg(long, value_name = "OIL")]
    pub from_oil: String,
    /// The oil that goes in; the machine's usual one where nothing is said.
    #[arg(long, value_name = "OIL")]
    pub to_oil: Option<String>,
    /// drain: drain and refill; reservoir: suck out and refill the reservoir; return-line: pour in while the old oil runs
    /// out of the return line.
    #[arg(long, default_value = "drain")]
    pub method: String,
    /// How much old oil may be left; 5 % where neither this nor --speed-within is given.
    #[arg(long, value_name = "SHARE", allow_hyphen_values = true)]
    pub target: Option<String>,
    /// How near the fan's speed must come to that on fresh oil, in the condition asked for.
    #[arg(long, value_name = "SHARE", allow_hyphen_values = true)]
    pub speed_within: Option<String>,
    /// Share of the whole fill that comes out in one round (drain: 40 %, reservoir: 30 % where nothing is said).
    #[arg(long, value_name = "SHARE", allow_hyphen_values = true)]
    pub drained: Option<String>,
    /// What is poured through the return line in one go; the whole fill where nothing is said.
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    pub pour: Option<String>,
    /// Share of the fill that stands still during an exchange: steering, cooler, hoses.
    #[arg(
        long,
        value_name = "SHARE",
        default_value = "20 %",
        allow_hyphen_values = true
    )]
    pub stagnant: String,
    /// How far that share mixes with the rest while the engine runs between rounds: 0 not at all, 1 fully.
    #[arg(
        long,
        value_name = "SHARE",
        default_value = "80 %",
        allow_hyphen_values = true
    )]
    pub mixing: String,
    /// What a litre of the fresh oil costs.
    #[arg(long, value_name = "NUMBER", allow_hyphen_values = true)]
    pub cost_per_litre: Option<String>,
    #[command(flatten)]
    pub output: Output,
}

/// Machine and condition.
#[derive(Args, Debug, Clone)]
pub struct AskArgs {
    /// The machine: light-truck, car, bus, off-road, or the path of a machine file.
    pub machine: String,
    /// The oil: a name from the library, the path of an oil file, or a data sheet's figures such as
    /// "40C=35 cSt, 100C=7.4 cSt, 15C=850 kg/m3".
    #[arg(long)]
    pub oil: Option<String>,
    /// Oil temperature, such as "80 C" or "175 F".
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub oil_temp: Option<String>,
    /// Engine speed, such as "700 rpm", or idle, raised, full.
    #[arg(long, value_name = "SPEED", allow_hyphen_values = true)]
    pub engine_speed: Option<String>,
    /// What the control asks for: 0 to 1, or full, least.
    #[arg(long, value_name = "SHARE", allow_hyphen_values = true)]
    pub command: Option<String>,
    /// Air temperature at the fan, behind the core.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub air_temp: Option<String>,
    /// Altitude, such as "1500 m" or "5000 ft".
    #[arg(long, value_name = "HEIGHT", allow_hyphen_values = true)]
    pub altitude: Option<String>,
    /// Set one input: pump.ratio=1.4; or a choice: choices.steering=first. May be given again.
    #[arg(long, value_name = "PART.KEY=VALUE")]
    pub set: Vec<String>,
    /// Put a fault on the machine, with its severity: worn-pump=0.4. May be given again; `oilwheel faults` lists them.
    #[arg(long, value_name = "FAULT=SEVERITY")]
    pub with: Vec<String>,
    /// The control valve is without power and stands at its fail-safe.
    #[arg(long)]
    pub unplugged: bool,
}

/// Where the answer goes.
#[derive(Args, Debug, Clone, Default)]
pub struct Output {
    /// Print the answer as JSON.
    #[arg(long)]
    pub json: bool,
    /// Write the figures behind the picture as CSV.
    #[arg(long, value_name = "FILE.csv")]
    pub csv: Option<String>,
    /// Write the pictures as SVG.
    #[arg(long, value_name = "FILE.svg")]
    pub plot: Option<String>,
    /// Write the answer with its pictures as one HTML file.
    #[arg(long, value_name = "FILE.html")]
    pub report: Option<String>,
    /// Units to print: si or us. Either is read.
    #[arg(long, default_value = "si", value_parser = |s: &str| s.parse::<Units>().map_err(|t| t.to_string()))]
    pub units: Units,
}

impl Flags {
    /// Where the answer goes.
    pub fn output(&self) -> &Output {
        match &self.command {
            None
            | Some(
                Command::Completions { .. }
                | Command::Manual { .. }
                | Command::New { .. }
                | Command::Page(_),
            ) => &self.output,
            Some(Command::Speed(args)) => &args.output,
            Some(Command::Why(args)) => &args.output,
            Some(Command::Heat(args)) => &args.output,
            Some(Command::Auxfan(args)) => &args.output,
            Some(Command::Trip(args)) => &args.output,
            Some(Command::Sweep(args)) => &args.output,
            Some(Command::Sheet(args)) => &args.output,
            Some(Command::Fit(args)) => &args.output,
            Some(Command::Log(args)) => &args.output,
            Some(Command::Oil(args)) => &args.output,
            Some(Command::Flush(args)) => &args.output,
            Some(Command::Suspects(args)) => &args.output,
            Some(Command::Check { output, .. } | Command::Faults { output, .. }) => output,
        }
    }
}

impl AskArgs {
    /// The question that these flags ask.
    pub fn pose(&self, units: Units) -> Result<Posed, Troubles> {
        fault::pose(&self.ask(units), &self.with, Shelf::Files)
    }

    /// These flags as an ask.
    pub fn ask(&self, units: Units) -> Ask {
        Ask {
            machine: self.machine.clone(),
            machine_text: None,
            oil: self.oil.clone(),
            oil_temp: self.oil_temp.clone(),
            engine_speed: self.engine_speed.clone(),
            command: self.command.clone(),
            air_temp: self.air_temp.clone(),
            altitude: self.altitude.clone(),
            set: self.set.clone(),
            unplugged: self.unplugged,
            units,
        }
    }
}
