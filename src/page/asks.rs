//! The form as it is shown: what each question asks.

use super::Question;
use super::fields::{Fields, Slide};
use super::form::{CAP, GLYCOL, MIXING, NOWHERE, OTHER_OIL, SAME, SEVERITY, STAGNANT, Typed};
use super::view::{MACHINE_NAMES, Names, OIL_NAMES, name_of, places, understood};
use crate::fault;
use crate::input::Input;
use crate::input::unit::celsius;
use crate::model::{
    AuxiliaryFan, CHOICES, Case, INPUTS, MACHINES, Machine, PARTS, Posed, Shelf, TRIPS,
};
use crate::probe::{ALL, INSTRUMENTS, Probe};
use crate::quantity::{Kind, Units};
use crate::study::auxfan::{AMBIENT, ROAD_SPEED, Spot, WIRE, fits};
use crate::trouble::Trouble;
use maud::{Markup, PreEscaped, html};
use std::sync::LazyLock;

/// A choice with one more in front, whose value is empty.
fn or(first: &str, names: &[(String, String)]) -> Names {
    let mut all = vec![(String::new(), first.to_string())];
    all.extend_from_slice(names);
    all
}

/// The form.
pub(super) fn form(
    question: Question,
    typed: &Typed,
    troubles: &[Trouble],
    machine: &Machine,
) -> Markup {
    let fields = Fields { typed, troubles };
    let units = typed.units();
    let own = typed.machine().is_empty();
    let machines = if own {
        or(&machine.name, &MACHINE_NAMES)
    } else {
        MACHINE_NAMES.clone()
    };
    let fill = name_of(&OIL_NAMES, &machine.fill);
    if question == Question::Log {
        let shown = html! { (own_part(question, &fields, machine, units)) (send(units)) };
        let shown = shown.into_string();
        return html! {
            (PreEscaped(&shown))
            @for (name, value) in typed.others(&shown) { input type="hidden" name=(name) value=(value); }
        };
    }
    html! {
        fieldset.story {
            legend { @if question == Question::Suspects || question == Question::Trip { "The machine" } @else { "The machine, at this moment" } }
            div.sentence {
                label for="machine" { "This is a" } " " (fields.pick("machine", &brief(&machines)))
                span.help { (rest_of(&machine.name)) } " "
                label for="oil" { "with" } " " (fields.pick("oil", &or(&format!("{} (its usual)", head_of(&fill)), &brief(&OIL_NAMES)))) " in it."
            }
            (moment(question, &fields, machine, units))
        }
        (own_part(question, &fields, machine, units))
        details open[typed.get("oil_line").is_some() || bad(typed, troubles, "oil_line")] {
            summary { "An oil by its data sheet" }
            (fields.words("oil_line", "Figures from the sheet", "40C=35 cSt, 100C=7.4 cSt, 15C=850 kg/m3",
                "Two viscosities or more, each with its temperature; used instead of the oil chosen above."))
        }
        details open[["air_temp", "altitude", "unplugged"].iter().any(|n| typed.get(n).is_some() || bad(typed, troubles, n))] {
            summary { "Air, altitude, valve unplugged" }
            (fields.words("air_temp", "Air at the fan, behind the core", &units.show(Kind::Temperature, machine.usual.air_temp.value), "Hot air is thin and easy to move."))
            (fields.words("altitude", "Altitude", &units.show(Kind::Altitude, 0.0), "For the pressure of the air."))
            (fields.tick("unplugged", "The control valve is unplugged and stands at its fail-safe"))
        }
        // Suspects weigh every fault themselves.
        @if question != Question::Suspects {
        details open[typed.get("fault").is_some()] {
            summary { "Put a fault on" }
            (faults(&fields, "fault", "Fault"))
        }
        }
        details open[has_set(typed)] {
            summary { "Parts of the machine" }
            p.help { "Leave a box empty where the machine's own value, shown pale, will do. ± is the half width that holds in about 95 of 100 cases." }
            (parts(&fields, machine, units))
        }
        details open[own] {
            summary { "A machine file of your own" }
            (fields.text_or_file("machine_text", "The file's text", "Paste it here; it is used while there is text in this box. “Machine file” below writes one to start from. It stays on this computer.", ".toml,text/plain"))
        }
        (send(units))
    }
}

/// A key in words: `fan_control.least` as `fan control: least`.
fn spelled(key: &str) -> String {
    key.replace('.', ": ").replace('_', " ")
}

/// What stands in a name before its first comma.
fn head_of(name: &str) -> &str {
    name.split(", ").next().unwrap_or(name)
}

/// What a name says behind its first comma.
fn rest_of(name: &str) -> &str {
    name.split_once(", ").map_or("", |(_, rest)| rest)
}

/// Keys and names, up to their first comma, so that a narrow choice shows them whole.
fn brief(names: &[(String, String)]) -> Names {
    let short = |(key, name): &(String, String)| (key.clone(), head_of(name).to_string());
    names.iter().map(short).collect()
}

/// The button that sends the form, and the units.
fn send(units: Units) -> Markup {
    html! {
        p.go {
            button.main { "Compute" }
            label for="units" { "Units" } " "
            select #units name="units" data-reload {
                option value="si" selected[units == Units::Si] { "metric" }
                option value="us" selected[units == Units::Us] { "US" }
            }
        }
    }
}

/// Whether something is wrong with a field.
fn bad(typed: &Typed, troubles: &[Trouble], name: &str) -> bool {
    troubles
        .iter()
        .any(|t| typed.field_of(t).as_deref() == Some(name))
}

fn has_set(typed: &Typed) -> bool {
    !typed.ask().set.is_empty()
}

/// The machine whose values stand pale in the form; the first of the library where the one asked for cannot be read.
pub(super) fn machine(typed: &Typed) -> Option<Machine> {
    let named = match typed.ask().machine_text {
        Some(text) => Machine::from_text("", &text),
        None => Shelf::LibraryOnly.machine(typed.machine()),
    };
    let first = |_| Machine::from_text(MACHINES[0].0, MACHINES[0].1);
    named.or_else(first).ok()
}

/// Engine speed, oil temperature and command of a case.
pub(super) fn moment_of(posed: &Posed) -> [f64; 3] {
    let now = &posed.case.now;
    [now.engine_speed, now.oil_temp, now.command]
}

/// The word for a command that the fan's own control gives.
pub(super) const AUTOMATIC: &str = "automatic";

/// The slides, with the words that their boxes take, where a condition puts them.
pub(super) fn slides(
    machine: &Machine,
    [engine_speed, oil_temp, command]: [f64; 3],
    units: Units,
) -> [(&'static str, &'static str, Slide); 3] {
    let (idle, full) = (machine.usual.idle.value, machine.usual.full.value);
    let slide = |kind: Kind, low: f64, high: f64, step: f64, at: f64| {
        let round = |si: f64| (units.number(kind, si) / step).round() * step;
        Slide {
            low: round(low),
            high: round(high),
            step,
            at: round(at),
            unit: units.unit(kind),
        }
    };
    let temp = |at: f64| slide(Kind::Temperature, celsius(-30.0), celsius(120.0), 1.0, at);
    [
        (
            "engine_speed",
            "A speed such as 700 rpm, or a word: idle, raised, full.",
            slide(Kind::Speed, 0.5 * idle, full, 10.0, engine_speed),
        ),
        ("oil_temp", "With its unit: -10 C, 14 F.", temp(oil_temp)),
        (
            "command",
            "0 % to 100 %, or a word: least, full.",
            slide(Kind::Share, 0.0, 1.0, 1.0, command),
        ),
    ]
}

/// Engine speed, oil temperature and command, each with a slide.
fn moment(question: Question, fields: &Fields<'_>, machine: &Machine, units: Units) -> Markup {
    let usual = machine.idling();
    let now = understood(fields.typed).map_or(
        [usual.engine_speed.value, usual.oil_temp.value, 1.0],
        |posed| moment_of(&posed),
    );
    let automatic = matches!(question, Question::Heat | Question::Trip);
    // On a trip the profile says how fast the engine turns; where heat settles, the oil's temperature is an answer.
    let asked = |name: &str| match question {
        // Each reading has a condition of its own.
        Question::Suspects => false,
        Question::Trip => name != "engine_speed",
        Question::Heat => name != "oil_temp",
        Question::Auxfan => name == "engine_speed",
        _ => true,
    };
    html! {
        @for (name, help, slide) in slides(machine, now, units) {
            @if asked(name) {
                @match name {
                    "engine_speed" => (fields.slide(name, "Engine speed", &units.show(Kind::Speed, usual.engine_speed.value), help, &slide)),
                    "oil_temp" if question == Question::Trip => (fields.slide(name, "Oil temperature when it begins", "as it settles", help, &slide)),
                    "oil_temp" => (fields.slide(name, "Oil temperature", &units.show(Kind::Temperature, usual.oil_temp.value), help, &slide)),
                    _ if automatic => (fields.slide(name, "Fan asked for", AUTOMATIC, "0 % to 100 %; empty: as the fan's own control asks.", &slide)),
                    _ => (fields.slide(name, "Fan asked for", "100 %", help, &slide)),
                }
            }
        }
    }
}

/// What a question asks beside machine and moment.
fn own_part(question: Question, fields: &Fields<'_>, machine: &Machine, units: Units) -> Markup {
    let measured = fields.words(
        "measured",
        "A fan speed that you measured, with its error",
        "640 rpm ± 10 rpm",
        "Leave it empty if you have none.",
    );
    match question {
        Question::Speed => html! { fieldset { legend { "Your reading" } (measured) } },
        Question::Why => html! {
            fieldset {
                legend { "Hold it against" }
                (other_oil(fields, OTHER_OIL))
                (fields.words("against_oil_temp", "The same at another oil temperature", "the same temperature", "With its unit."))
                (fields.choice("against_machine", "Another machine", &or("the same machine", &brief(&MACHINE_NAMES))))
                (faults(fields, "against_fault", "The same with a fault, or with none of it at severity 0"))
                (measured)
            }
        },
        Question::Suspects => readings(fields, machine),
        Question::Heat => day(fields, units),
        Question::Auxfan => electric(fields, machine, units),
        Question::Trip => html! {
            fieldset {
                legend { "Which trip" }
                (fields.choice("trip", "Trip (invented)", &brief(&TRIP_NAMES)))
                @let chosen = TRIP_NAMES.iter().find(|(key, _)| fields.typed.get("trip").unwrap_or(&TRIP_NAMES[0].0) == key);
                @if let Some((_, about)) = chosen { p.help { (rest_of(about)) } }
                (fields.tick("cold", "All begins as cold as the day"))
            }
            details open[fields.holds("trip_text")] {
                summary { "A trip of your own" }
                (fields.text_or_file("trip_text", "Its table", "Two rows or more, below a head such as time_min,road_speed_km_h,ambient_c. It may say engine_speed_rpm, gear, grade_percent, air_conditioning, trailer_kg, command, coolant_c and oil_c too. Used instead of the trip above while there is text in this box.", ".csv,text/csv,text/plain"))
            }
            fieldset {
                legend { "Hold it against" }
                (other_oil(fields, SAME))
                (fields.words("against_oil_temp", "The same with the oil warmer or colder when it begins", "the same temperature", "With its unit."))
                (faults(fields, "against_fault", "The same with a fault"))
            }
        },
        Question::Log => logs(fields),
        Question::Flush => change(fields, machine, units),
        Question::Sweep => {
            let range = Range::of(fields.typed, machine, units);
            let mut over: Names = [
                ("oil-temp", "oil temperature"),
                ("engine-speed", "engine speed"),
                ("command", "what the control asks for"),
                ("viscosity", "the oil's viscosity"),
            ]
            .map(|(k, w)| (k.to_string(), w.to_string()))
            .to_vec();
            over.extend(own_inputs(machine).map(|i| (i.key(), spelled(&i.key()))));
            html! {
                fieldset {
                    legend { "Along which range" }
                    (fields.choice("over", "Over", &over))
                    @if let Some(input) = Input::find(&range.over) { p.help { (input.field().help) } }
                    (fields.words("from", "From", &range.usual.0, "With its unit."))
                    (fields.words("to", "To", &range.usual.1, "With its unit."))
                    fieldset.oils {
                        legend { "On these oils (none ticked: the one above)" }
                        (oils(fields))
                    }
                }
            }
        }
    }
}

/// The other oil of a comparison; `first` is chosen where nothing was.
fn other_oil(fields: &Fields<'_>, first: &str) -> Markup {
    let mut names: Names = vec![(SAME.into(), "the same oil".into())];
    names.extend(brief(&OIL_NAMES));
    html! {
        (fields.choice_from("against_oil", "The same on another oil", &names, first))
        (fields.words("against_oil_line", "Another oil by its data sheet", "40C=35 cSt, 100C=7.4 cSt", "Used instead of the one chosen above."))
    }
}

/// The trips of the library: key, and what their tables say of them first.
static TRIP_NAMES: LazyLock<Names> = LazyLock::new(|| {
    let name = |(key, table): &(&str, &str)| {
        let about = table.lines().next().unwrap_or_default();
        let about = about.trim_start_matches('#').trim();
        let about = about.trim_end_matches("Invented.").trim();
        ((*key).to_string(), about.replacen(": ", ", ", 1))
    };
    TRIPS.iter().map(name).collect()
});

/// Day and road, for the heat.
fn day(fields: &Fields<'_>, units: Units) -> Markup {
    let speed = |kmh: f64| units.show(Kind::RoadSpeed, kmh / 3.6);
    html! {
        fieldset {
            legend { "The day and the road" }
            (fields.words("ambient", "Outer air", &units.show(Kind::Temperature, celsius(25.0)), "In the shade, away from the car."))
            (fields.tick("air_conditioning", "Air conditioning is on"))
            (fields.words("road_speed", "Road speed", &speed(0.0), "Standing where nothing is typed."))
            (fields.words("grade", "Grade", "0 %", "Uphill, such as 6 %."))
            (fields.words("trailer", "Trailer", &units.show(Kind::Mass, 0.0), "Its mass."))
            (fields.words("gear", "Gear", "the highest that pulls", "A number from 1."))
        }
        details open[["fan_speed", "anchor", "fuel_flow", "air_flow"].iter().any(|n| fields.holds(n))] {
            summary { "What you measured" }
            (fields.words("fan_speed", "Fan speed", "as computed", "It then holds, and the oil keeps its temperature."))
            (fields.words("anchor", "Coolant, at a fan speed, on a day", "98 C at 700 rpm, 30 C ambient", "It sets what is known worst of the machine."))
            (fields.words("fuel_flow", "Fuel flow of a petrol engine", "1.2 L/h", "Else the load tells it."))
            (fields.words("air_flow", "Or its air flow", "4 g/s", "In place of the fuel's."))
        }
        details open[fields.holds("rating_text")] {
            summary { "Rating points of the core" }
            (fields.text_or_file("rating_text", "Their table", "From the core's maker: a head air_speed,coolant_flow,coolant_temp,air_temp,heat and two rows or more, such as 5 m/s,120 L/min,95 C,35 C,62 kW.", ".csv,text/csv,text/plain"))
        }
        fieldset.oils {
            legend { "Hold these oils against it" }
            (oils(fields))
        }
        (fields.tick("map", "Draw how hot the day may be over road speed and grade (takes longer)"))
    }
}

/// What the machine must stand, and the electric fans that may help it.
fn electric(fields: &Fields<'_>, machine: &Machine, units: Units) -> Markup {
    let fill = format!(
        "{} (its usual)",
        head_of(&name_of(&OIL_NAMES, &machine.fill))
    );
    let case = understood(fields.typed).map(|posed| posed.case);
    let fans = fields.typed.auxfan(&[]).fans().unwrap_or_default();
    html! {
        fieldset {
            legend { "What it must stand" }
            (fields.words("ambient", "Outer air", AMBIENT, "The day on which the coolant must not pass its limit."))
            (fields.words("climb", "A climb at walking pace", "none: it stands still", "Its grade, such as 10 %."))
            (fields.tick("no_air_conditioning", "Air conditioning is off"))
        }
        fieldset {
            legend { "The main fan" }
            (fields.words("fan_speed", "Its speed, if you measured it", "as computed", "At full command; or a share of what it should make, such as 33 %. A fault can be put on further down."))
            (fields.choice("right_oil", "The oil to hold against the one in it", &or(&fill, &brief(&OIL_NAMES))))
        }
        @if let Some(case) = case {
            details open[places(fields.typed).iter().any(|p| fields.holds(&format!("try.{}", p.key)))] {
                summary { "Where electric fans may sit, and which" }
                p.help { "Where no fan is chosen, every set that fits is tried, and the smallest that does is taken." }
                @for spot in places(fields.typed) {
                    (place(fields, &case, &spot, &fans, units))
                }
                p.wrong #at-wrong { (fields.said_of("at")) }
                p.wrong #try-wrong { (fields.said_of("try")) }
            }
        }
        details open[fields.holds("fans_text")] {
            summary { "Fans of your own, from data sheets" }
            (fields.text_or_file("fans_text", "Their table", "A row a point of a fan's curve, from no flow upwards, below the head fan,flow (m3/h),pressure (Pa),current (A),diameter (mm),mass (kg),mount. Used instead of the invented classes while there is text in this box.", ".csv,text/csv,text/plain"))
        }
        details open[["wire", "off_road_speed"].iter().any(|n| fields.holds(n))] {
            summary { "Wire, and the road" }
            (fields.words("wire", "Length of the wire to each fan", WIRE, "One way."))
            (fields.words("off_road_speed", "Road speed at which they are off and in the way", ROAD_SPEED, "With its unit."))
        }
    }
}

/// One place for electric fans: how they sit there, and which.
fn place(
    fields: &Fields<'_>,
    case: &Case,
    spot: &Spot,
    fans: &[AuxiliaryFan],
    units: Units,
) -> Markup {
    let share = units.show(Kind::Share, spot.share);
    let mounts: Names = [
        ("pusher", "pushing, each fan its own disc"),
        ("puller", "drawing, each fan its own disc"),
        ("pusher+shroud", "pushing, in a shroud"),
        ("puller+shroud", "drawing, in a shroud"),
        (NOWHERE, "not here"),
    ]
    .map(|(k, w)| (k.to_string(), w.to_string()))
    .to_vec();
    let mut some = vec![(String::new(), "as many as it takes".to_string())];
    for fan in fans {
        let counts = 1..=fits(case, spot, fan);
        some.extend(counts.map(|n| (format!("{}*{n}", fan.name), format!("{n} × {}", fan.name))));
    }
    html! {
        fieldset {
            legend { (spot.key) " (" (spot.ahead) "): " (share) " of the face" }
            (fields.choice(&format!("at.{}", spot.key), "How", &mounts))
            (fields.choice(&format!("try.{}", spot.key), "Which", &some))
        }
    }
}

/// The oils of the library, to be ticked.
fn oils(fields: &Fields<'_>) -> Markup {
    html! {
        @for (key, name) in OIL_NAMES.iter() {
            label { input type="checkbox" name="oils" value=(key) checked[fields.typed.all("oils").any(|o| o == key)]; " " (name) }
        }
        p.wrong #oils-wrong {}
    }
}

/// A log, the one after, and what has to be known to read them.
fn logs(fields: &Fields<'_>) -> Markup {
    let fuels: Names = [("", "not said"), ("petrol", "petrol"), ("diesel", "diesel")]
        .map(|(k, w)| (k.to_string(), w.to_string()))
        .to_vec();
    html! {
        fieldset #drop {
            legend { "A scan tool's log" }
            p.help { "Comma-separated values, with the names of the columns in a line above them. The log stays on this computer." }
            p.scripted hidden { label for="log-file" { "Drop it here, or choose it: " } input type="file" #log-file accept=".csv,.txt,text/csv,text/plain"; }
            (fields.text("log_text", "Or paste it", "Up to 250 kB here; a file may have 64 MB."))
        }
        details open[fields.typed.get("after_text").is_some()] {
            summary { "A log after the repair" }
            p.scripted hidden { label for="after-file" { "Choose it: " } input type="file" #after-file accept=".csv,.txt,text/csv,text/plain"; }
            (fields.text("after_text", "Or paste it", "Then the answer says whether the repair helped, ambient, load and air conditioning allowed for."))
        }
        fieldset {
            legend { "From which boiling follows" }
            (fields.words("cap", "The cap holds", CAP, "Above the air's pressure."))
            (fields.words("glycol", "Share of glycol", GLYCOL, "By volume."))
            (fields.words("altitude", "Altitude", "as logged, else sea level", "With its unit."))
        }
        details open[["ambient", "ambient_after", "above", "column", "every", "fuel", "full_from"].iter().any(|n| fields.typed.get(n).is_some())] {
            summary { "What the log does not say" }
            (fields.words("ambient", "Outer air", "as logged", "With its unit."))
            (fields.words("ambient_after", "Outer air in the log after", "as logged", "With its unit."))
            (fields.words("above", "Count time at or above", "100 C, 105 C, 110 C", "With commas between."))
            (fields.words("column", "Which column is which", "coolant=ECT", "As signal=column, with commas between; a column by name or number."))
            (fields.words("every", "How far rows are apart", "as logged", "Where the log has no time, such as 1 s."))
            (fields.choice("fuel", "What the engine burns", &fuels))
            (fields.words("full_from", "Thermostat full open and fan at full from", "5 K above where it stays most", "Coolant temperature, with its unit."))
        }
    }
}

/// What was read on the machine: a box for each test that can be made on it.
fn readings(fields: &Fields<'_>, machine: &Machine) -> Markup {
    let mut tests: Vec<&Probe> = ALL.iter().filter(|p| p.runs_on(machine)).collect();
    tests.sort_by(|a, b| a.effort_minutes.total_cmp(&b.effort_minutes));
    html! {
        fieldset {
            legend { "What you read" }
            p.help { "Fill in what you have, and leave the rest. A reading needs its error: as ± behind it, or the instrument beside it." }
            datalist id="instruments" { @for i in INSTRUMENTS { option value=(i.key) { (i.name) } } }
            @for probe in tests {
                @let names = ["read", "by", "scale"].map(|n| format!("{n}.{}", probe.key));
                @let used = fields.typed.get(&names[0]).is_some();
                details open[used] {
                    summary { (probe.name) }
                    (fields.words(&names[0], "Read", &example(probe.what.kind()), &format!("{:.0} minutes, {}. {}", probe.effort_minutes, probe.tools, probe.how)))
                    (fields.listed(&names[1], "Error or instrument", probe.instrument, "Not needed behind a ±.", "instruments"))
                    @if probe.full_scale(machine).is_some() {
                        (fields.words(&names[2], "Its full scale", "the highest mark, with its unit", "Where an instrument's class counts."))
                    }
                }
            }
            details open[fields.typed.get("readings_text").is_some()] {
                summary { "A readings file instead" }
                (fields.text("readings_text", "The file's text", "TOML or a table, as oilwheel suspects takes it. Used instead of the boxes above."))
            }
        }
    }
}

/// An example of a reading of a kind, with its ±.
fn example(kind: Kind) -> String {
    match kind {
        Kind::Speed => "640 rpm ± 10 rpm".into(),
        Kind::Flow => "9 L/min ± 5 %".into(),
        Kind::KinematicViscosity => "35 cSt ± 5 %".into(),
        Kind::Share => "4 % ± 1 %".into(),
        Kind::Temperature => "80 °C ± 2 K".into(),
        Kind::TemperatureDifference => "8 K ± 2 K".into(),
        _ => "62 bar ± 3 %".into(),
    }
}

/// How the oil is to be changed.
fn change(fields: &Fields<'_>, machine: &Machine, units: Units) -> Markup {
    let pour = machine.value(INPUTS.reservoir.volume);
    let fill = pour.map_or(String::new(), |m| units.show(Kind::Volume, m.value));
    let mut old: Names = brief(&OIL_NAMES);
    old.sort_by_key(|(key, _)| key != OTHER_OIL);
    let methods: Names = [
        ("drain", "drain and refill"),
        ("reservoir", "suck out the reservoir and refill it"),
        ("return-line", "through the return line"),
    ]
    .map(|(k, w)| (k.to_string(), w.to_string()))
    .to_vec();
    html! {
        fieldset {
            legend { "The oil that is in it now" }
            (fields.choice("from_oil", "Oil", &old))
            (fields.words("from_oil_line", "Or by its data sheet", "40C=35 cSt, 100C=7.4 cSt", "Used instead of the one chosen above."))
        }
        fieldset {
            legend { "How it is changed, for the oil named at the top" }
            (fields.choice("method", "Method", &methods))
            p.help { "Through the return line: fresh oil is poured in while the old runs out of it." }
            (fields.words("target", "Old oil that may be left", "5 %", "Leave it empty where the speed decides."))
            (fields.words("speed_within", "Or: how near the speed must come to that on fresh oil", "1 %", "In the condition above."))
            details open[["drained", "pour", "stagnant", "mixing", "cost_per_litre"].iter().any(|n| fields.typed.get(n).is_some())] {
                summary { "How much, and what it costs" }
                (fields.words("drained", "Share that comes out in a round", "40 %, or 30 % of the reservoir's", "When it is drained or sucked out."))
                (fields.words("pour", "What is poured through in one go", &fill, "When it runs out of the return line."))
                (fields.words("stagnant", "Share that stands still meanwhile", STAGNANT, "Steering, cooler, hoses."))
                (fields.words("mixing", "How far that mixes between rounds", MIXING, "With the engine running."))
                (fields.words("cost_per_litre", "What a litre costs", "a number", "In your money."))
            }
        }
    }
}

/// A fault and its severity.
fn faults(fields: &Fields<'_>, name: &str, label: &str) -> Markup {
    let mut names: Names = vec![(String::new(), "none".into())];
    names.extend(
        fault::ALL
            .iter()
            .map(|f| (f.key.to_string(), f.name.to_string())),
    );
    let chosen = fault::ALL
        .iter()
        .find(|f| Some(f.key) == fields.typed.get(name));
    let help = chosen.map_or("From 0, nothing, to 1, the worst.".to_string(), |f| {
        format!("From {} to {}: {}", f.range.0, f.range.1, f.severity)
    });
    html! {
        (fields.choice(name, label, &names))
        (fields.words(&format!("{name}_severity"), "Its severity", SEVERITY, &help))
    }
}

/// The inputs of a machine's own parts.
fn own_inputs(machine: &Machine) -> impl Iterator<Item = Input> {
    Input::all().filter(|i| machine.value(*i).is_some())
}

/// The parts of a machine, to be changed.
fn parts(fields: &Fields<'_>, machine: &Machine, units: Units) -> Markup {
    let range = |input: Input| {
        let field = input.field();
        format!(
            "{} to {}",
            units.show(field.kind, field.low),
            units.show(field.kind, field.high)
        )
    };
    let shape = &machine.shape;
    let chosen = [
        shape.recirculates,
        shape.valve_to_motor_outlet,
        shape.steering_first,
    ];
    html! {
        @for part in PARTS.iter().filter(|p| machine.has(p.key)) {
            @let mut own = own_inputs(machine).filter(|i| i.part() == part.key).map(|i| format!("set.{}", i.key()));
            details open[own.any(|n| fields.typed.get(&n).is_some())] {
                summary { (spelled(part.key)) }
                @for input in own_inputs(machine).filter(|i| i.part() == part.key) {
                    @if let Some(m) = machine.value(input) {
                        (fields.words(&format!("set.{}", input.key()), input.field().help, &units.show_spread(input.field().kind, m.value, m.spread), &range(input)))
                    }
                }
            }
        }
        details {
            summary { "the oil beside its viscosity" }
            @for input in Input::all().filter(|i| i.part() == "oil") {
                (fields.words(&format!("set.{}", input.key()), input.field().help, "as the oil's sheet says", &range(input)))
            }
        }
        details {
            summary { "how it is plumbed" }
            @for ((key, words, about), yes) in CHOICES.into_iter().zip(chosen) {
                @let names: Names = words.map(|w| (w.to_string(), w.to_string())).to_vec();
                (fields.choice(&format!("set.choices.{key}"), about, &or(&format!("as the machine has it: {}", words[usize::from(yes)]), &names)))
            }
        }
        p.help { "A part that this machine has not: add it in a machine file of your own." }
    }
}

/// The range of a sweep: as typed, else a usual one.
pub(super) struct Range {
    /// What it goes along.
    pub over: String,
    /// Where it begins.
    pub from: String,
    /// Where it ends.
    pub to: String,
    /// Beginning and end where nothing was typed.
    usual: (String, String),
}

impl Range {
    /// The range of a form.
    pub fn of(typed: &Typed, machine: &Machine, units: Units) -> Self {
        let over = typed.get("over").unwrap_or("oil-temp").to_string();
        let ends =
            |kind: Kind, low: f64, high: f64| (units.show(kind, low), units.show(kind, high));
        let (idle, full) = (machine.usual.idle.value, machine.usual.full.value);
        let usual = match over.as_str() {
            "oil-temp" => ends(Kind::Temperature, celsius(-20.0), celsius(110.0)),
            "engine-speed" => ends(Kind::Speed, 0.5 * idle, full),
            "command" => ends(Kind::Share, 0.0, 1.0),
            "viscosity" => ends(Kind::KinematicViscosity, 2e-6, 5e-4),
            key => Input::find(key).map_or_else(Default::default, |input| {
                let field = input.field();
                let value = machine.value(input).map_or(field.usual, |m| m.value);
                let low = (0.5 * value).max(field.low);
                let high = if value > 0.0 { 2.0 * value } else { field.high };
                (
                    field.kind.typed(low),
                    field.kind.typed(high.min(field.high)),
                )
            }),
        };
        let taken = |name: &str, usual: &String| {
            typed.get(name).map_or_else(|| usual.clone(), String::from)
        };
        Self {
            from: taken("from", &usual.0),
            to: taken("to", &usual.1),
            over,
            usual,
        }
    }
}
