//! Operating conditions in words: `engine 1600 rpm, oil 80 C`, or weather and road: `38 C, 30 km/h, 6 %, air
//! conditioning`.

use crate::input::Input;
use crate::model::{Case, INPUTS, Setup, in_range};
use crate::part::LUGGING;
use crate::quantity::{Kind, Measure, Units, parse};
use crate::trouble::Trouble;

/// An operating condition: the inputs that it sets, and the text that it was read from.
#[derive(Clone, Debug, PartialEq)]
pub struct Condition {
    /// The text that the condition was read from.
    pub words: String,
    /// The inputs that the condition sets, with their values, SI.
    pub sets: Vec<(Input, f64)>,
    /// The gear, if the text names one.
    pub gear: Option<usize>,
}

/// The inputs that a condition can set by name, each with that name.
const SETS: [(&str, Input); 10] = [
    ("engine", Input::ENGINE_SPEED),
    ("oil", Input::OIL_TEMP),
    ("command", Input::COMMAND),
    ("air", Input::AIR_TEMP),
    ("altitude", Input::ALTITUDE),
    ("ambient", Input::AMBIENT),
    ("road", Input::ROAD_SPEED),
    ("grade", INPUTS.now.grade),
    ("trailer", INPUTS.now.trailer),
    ("load", INPUTS.now.work),
];

/// Inputs that are either on or off.
const SWITCHES: [(&str, Input); 2] = [
    ("air conditioning", INPUTS.now.air_conditioning),
    ("cabin heater", INPUTS.now.cabin_heater),
];

/// The input that a value without a name sets, according to its kind of quantity.
const BARE: [(Kind, Input); 5] = [
    (Kind::RoadSpeed, Input::ROAD_SPEED),
    (Kind::Temperature, Input::AMBIENT),
    (Kind::Share, INPUTS.now.grade),
    (Kind::Mass, INPUTS.now.trailer),
    (Kind::Altitude, Input::ALTITUDE),
];

/// What a condition may contain, as shown in error messages.
const EXPECTED: &str = "engine, oil, command, air, altitude, ambient, road, grade, trailer, load or gear, each followed by its value, \
     as in `engine 1600 rpm, oil 80 C`; or just the weather and the road, as in `38 C, 30 km/h, 6 %, air conditioning`";

impl Condition {
    /// The condition given by the other fields of the request; it sets nothing further.
    pub fn usual() -> Self {
        Self {
            words: "as given".into(),
            sets: Vec::new(),
            gear: None,
        }
    }

    /// A case with the inputs of this condition set.
    pub fn on(&self, case: &Case) -> Case {
        self.sets
            .iter()
            .fold(*case, |case, (input, value)| case.with(*input, *value))
    }

    /// Whether the condition sets an input.
    pub fn sets(&self, input: Input) -> bool {
        self.sets.iter().any(|set| set.0 == input)
    }

    /// Whether the condition names ambient temperature, road or load, so that temperatures are computed from the heat
    /// balance.
    pub fn is_of_heat(&self) -> bool {
        let circuit = [
            Input::ENGINE_SPEED,
            Input::OIL_TEMP,
            Input::COMMAND,
            Input::AIR_TEMP,
            Input::ALTITUDE,
        ];
        self.gear.is_some() || self.sets.iter().any(|set| !circuit.contains(&set.0))
    }

    /// Parses a condition; `engine` returns the engine speed meant by a word such as `idle`.
    pub fn read(words: &str, engine: impl Fn(&str) -> Option<Measure>) -> Result<Self, Trouble> {
        let mut found = Self {
            words: words.trim().into(),
            ..Self::usual()
        };
        for piece in words.split(',').map(str::trim) {
            let twice = || {
                Trouble::input(
                    format!("`{piece}` sets an input that is already set"),
                    "each input only once",
                )
            };
            if let Some(gear) = piece.strip_prefix("gear ") {
                let number = gear.trim().parse().ok().filter(|g| (1..=6).contains(g));
                let wrong = || Trouble::input(format!("`{piece}`"), "a gear from 1 to 6");
                if found.gear.replace(number.ok_or_else(wrong)?).is_some() {
                    return Err(twice());
                }
                continue;
            }
            let (input, value) = set(piece, &engine)?;
            if found.sets(input) {
                return Err(twice());
            }
            found.sets.push((input, value));
        }
        found.sets.sort_by_key(|set| set.0);
        Ok(found)
    }
}

/// Parses one part of a condition: the input that it sets, and the value.
fn set(piece: &str, engine: impl Fn(&str) -> Option<Measure>) -> Result<(Input, f64), Trouble> {
    let plain = piece.to_ascii_lowercase().replace(['-', '_'], " ");
    for (name, input) in SWITCHES {
        match plain.strip_suffix(name).map(str::trim) {
            Some("") => return Ok((input, 1.0)),
            Some("no") => return Ok((input, 0.0)),
            _ => {}
        }
    }
    let (input, words) = named(piece, &plain)?;
    let word = match words {
        _ if input == Input::ENGINE_SPEED => engine(words),
        "full" if input == Input::COMMAND => Some(Measure::exact(1.0)),
        "least" if input == Input::COMMAND => Some(Measure::exact(0.0)),
        _ => None,
    };
    let found = word.map_or_else(|| parse(input.field().kind, words), Ok)?;
    Ok((input, in_range(input.field(), found, Units::Si)?.value))
}

/// The input that one part of a condition sets, and the text of its value. The input's name is before or after the
/// value, or follows from the unit.
fn named<'a>(piece: &'a str, plain: &str) -> Result<(Input, &'a str), Trouble> {
    if plain.starts_with(|c: char| c.is_ascii_digit() || c == ' ' || c == '.') {
        for (name, input) in SETS {
            if plain.ends_with(&format!(" {name}")) {
                return Ok((input, piece[..piece.len() - name.len()].trim()));
            }
        }
        let told = BARE.iter().find(|(kind, _)| parse(*kind, piece).is_ok());
        if let Some((_, input)) = told {
            return Ok((*input, piece));
        }
    }
    let first = plain.split(' ').next().unwrap_or_default();
    let Some((name, input)) = SETS.iter().find(|(name, _)| *name == first) else {
        let problem = Trouble::input(format!("`{piece}` is not a condition"), EXPECTED);
        return Err(problem.did_you_mean(first, SETS.iter().map(|s| s.0)));
    };
    let mut words = piece[name.len()..].trim_start_matches(['-', '_', ' ']);
    for more in ["speed ", "temp "] {
        words = words.strip_prefix(more).unwrap_or(words).trim();
    }
    Ok((*input, words))
}

/// The gear of a moving vehicle whose engine speed follows from road speed: the gear that was named, else the highest
/// in which the engine does not lug. `None` if the vehicle is stopped or not described.
pub fn gear_on_the_road(case: &Case, gear: Option<usize>, setup: &Setup) -> Option<usize> {
    let speed = case.now.road_speed;
    let vehicle = case.vehicle.filter(|_| speed > 0.0)?;
    let full = setup.machine.usual.full.value;
    Some(gear.unwrap_or_else(|| vehicle.gear(speed, [LUGGING, full])))
}

/// A case with the engine speed that follows from gear and road speed.
pub fn on_the_road(case: &Case, gear: Option<usize>, setup: &Setup) -> Result<Case, Trouble> {
    let mut case = *case;
    let Some((gear, vehicle)) = gear_on_the_road(&case, gear, setup).zip(case.vehicle) else {
        return Ok(case);
    };
    let idle = setup.machine.usual.idle.value;
    let turns = vehicle.engine_speed(gear, case.now.road_speed, idle);
    case.now.engine_speed = turns.ok_or_else(|| {
        Trouble::input(
            format!("the machine file has no ratio for gear {gear}"),
            "a gear whose ratio is given in [vehicle]",
        )
        .on("gear")
    })?;
    let full = setup.machine.usual.full.value;
    if case.now.engine_speed > full {
        let show = |n| setup.units.show(Kind::Speed, n);
        return Err(Trouble::input(
            format!(
                "in gear {gear} the engine would turn at {}",
                show(case.now.engine_speed)
            ),
            format!("no more than its full speed, {}", show(full)),
        )
        .hint("choose a higher gear or a lower road speed"));
    }
    Ok(case)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::unit::{RPM, celsius};

    fn read(words: &str) -> Result<Condition, Trouble> {
        Condition::read(words, |word| {
            (word == "idle").then(|| Measure::exact(700.0 * RPM))
        })
    }

    #[test]
    fn a_day_and_a_road_are_told_by_their_units() {
        let found = read("38 C, 30 km/h, 6 %, 1500 kg trailer, air conditioning, gear 3").unwrap();
        let value = |input| found.sets.iter().find(|s| s.0 == input).unwrap().1;
        assert!((value(Input::AMBIENT) - celsius(38.0)).abs() < 1e-9);
        assert!((value(Input::ROAD_SPEED) - 30.0 / 3.6).abs() < 1e-9);
        assert!((value(INPUTS.now.grade) - 0.06).abs() < 1e-12);
        assert!((value(INPUTS.now.trailer) - 1500.0).abs() < 1e-9);
        assert!((value(INPUTS.now.air_conditioning) - 1.0).abs() < 1e-12);
        assert!(found.gear == Some(3) && found.is_of_heat());
        for same in [
            "ambient 38 C, road speed 30 km/h",
            "38 C ambient, 30 km/h",
            "road-speed 30 km/h, 38 C",
        ] {
            assert_eq!(
                read(same).unwrap().sets,
                read("30 km/h, 38 C").unwrap().sets
            );
        }
        let circuit = read("engine idle, oil temp 80 C, command full, 2500 m").unwrap();
        assert!(!circuit.is_of_heat() && circuit.sets.len() == 4);
    }

    #[test]
    fn what_is_no_condition_is_named() {
        for (words, says) in [
            ("moon 3 m", "is not a condition"),
            ("700 rpm", "is not a condition"),
            ("30 km/h, 40 km/h", "already set"),
            ("gear 9", "from 1 to 6"),
            ("38 C ambient, ambient 30 C", "already set"),
            ("400 km/h", "too high"),
        ] {
            let said = read(words).unwrap_err().to_string();
            assert!(said.contains(says), "{words}: {said}");
        }
    }
}
