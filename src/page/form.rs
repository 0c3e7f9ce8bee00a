//! What a form sends, and the question that it asks.

use crate::model::{Ask, Profile, Shelf, TRIPS};
use crate::probe::{ALL, INSTRUMENTS};
use crate::quantity::Units;
use crate::study::trip;
use crate::study::why;
use crate::study::{auxfan, flush, heat, log};
use crate::trouble::{Trouble, Troubles};

/// Most fields that a form may send.
const MOST_FIELDS: usize = 600;

/// The machine that the page begins with.
const FIRST_MACHINE: &str = "light-truck";

/// The oil that a difference is asked about, and that is changed for another, where none is chosen.
pub(super) const OTHER_OIL: &str = "transmission-multi-vehicle";

/// The choice of no other oil.
pub(super) const SAME: &str = "same";

/// What a cap holds where nothing is typed.
pub(super) const CAP: &str = "13 psi";

/// Share of glycol where nothing is typed.
pub(super) const GLYCOL: &str = "50 %";

/// What messages call a log that was sent.
pub(super) const OWN_LOG: &str = "your log";

/// What is said where no log was sent.
pub(super) const NO_LOG: &str = "no log yet";

/// What messages call the log after a repair.
pub(super) const OWN_LOG_AFTER: &str = "your log after";

/// Severity of a fault where none is typed.
pub(super) const SEVERITY: &str = "0.5";

/// Share of the fill that stands still where nothing is typed.
pub(super) const STAGNANT: &str = "20 %";

/// How far that mixes where nothing is typed.
pub(super) const MIXING: &str = "80 %";

/// What messages call readings that were typed.
pub(super) const OWN_READINGS: &str = "your readings";

/// What messages call a trip that was typed.
const OWN_TRIP: &str = "your trip";

/// What messages call a table of fans that was typed.
const OWN_FANS: &str = "your fans";

/// What messages call rating points that were typed.
const OWN_RATING: &str = "your rating points";

/// Fields that hold a text of many lines, and what messages call it.
const TEXTS: [(&str, &str); 5] = [
    ("machine_text", OWN_MACHINE),
    ("readings_text", OWN_READINGS),
    ("trip_text", OWN_TRIP),
    ("fans_text", OWN_FANS),
    ("rating_text", OWN_RATING),
];

/// The choice of no place for an electric fan.
pub(super) const NOWHERE: &str = "none";

/// What messages call a machine file that was given as text.
const OWN_MACHINE: &str = "your machine file";

/// The fields of a form, as typed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Typed(Vec<(String, String)>);

impl Typed {
    /// From the text of a query or of a form's body.
    pub fn read(text: &str) -> Result<Self, Trouble> {
        let mut fields = Vec::new();
        for pair in text.split('&').filter(|p| !p.is_empty()) {
            if fields.len() == MOST_FIELDS {
                let expected = format!("no more than {MOST_FIELDS}");
                return Err(Trouble::input("a form of too many fields", expected));
            }
            let (name, value) = pair.split_once('=').unwrap_or((pair, ""));
            fields.push((decoded(name)?, decoded(value)?));
        }
        Ok(Self(fields))
    }

    /// What was typed in a field, without space around it; nothing where nothing was.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.all(name).next()
    }

    /// All that was typed in fields of one name.
    pub(super) fn all(&self, name: &str) -> impl Iterator<Item = &str> {
        self.0
            .iter()
            .filter(move |(n, _)| n == name)
            .map(|(_, v)| v.trim())
            .filter(|v| !v.is_empty())
    }

    fn text(&self, name: &str) -> Option<String> {
        self.get(name).map(String::from)
    }

    /// The system of units.
    pub fn units(&self) -> Units {
        match self.get("units") {
            Some("us") => Units::Us,
            _ => Units::Si,
        }
    }

    /// The machine's name in the library; empty where its text was given.
    pub(super) fn machine(&self) -> &str {
        match (self.get("machine_text"), self.get("machine")) {
            (Some(_), _) => "",
            (None, named) => named.unwrap_or(FIRST_MACHINE),
        }
    }

    /// The question, as far as it is about machine and condition.
    pub(super) fn ask(&self) -> Ask {
        let machine_text = self.text("machine_text");
        Ask {
            machine: match machine_text {
                Some(_) => OWN_MACHINE.into(),
                None => self.machine().into(),
            },
            machine_text,
            oil: self.oil("oil"),
            oil_temp: self.text("oil_temp"),
            engine_speed: self.text("engine_speed"),
            command: self.text("command"),
            air_temp: self.text("air_temp"),
            altitude: self.text("altitude"),
            set: self
                .0
                .iter()
                .filter(|(_, value)| !value.trim().is_empty())
                .filter_map(|(name, value)| Some(format!("{}={value}", name.strip_prefix("set.")?)))
                .collect(),
            unplugged: self.get("unplugged").is_some(),
            units: self.units(),
        }
    }

    /// An oil: a data sheet's line where one was typed, else the one chosen.
    fn oil(&self, name: &str) -> Option<String> {
        let line = self.get(&format!("{name}_line")).map(|line| {
            // A line without `=` is no name of the library's: let it be read as a line, and be told so.
            if line.contains('=') {
                line.to_string()
            } else {
                format!("{line}=")
            }
        });
        line.or_else(|| self.text(name))
    }

    /// The fault of a field and its severity, as `worn-pump=0.4`.
    pub(super) fn faults(&self, name: &str) -> Vec<String> {
        let severity = self.get(&format!("{name}_severity")).unwrap_or(SEVERITY);
        self.get(name)
            .map(|key| format!("{key}={severity}"))
            .into_iter()
            .collect()
    }

    /// What the case is held against.
    pub(super) fn against(&self) -> why::Against {
        why::Against {
            oil: self.other_oil(OTHER_OIL),
            oil_temp: self.text("against_oil_temp"),
            machine: self.text("against_machine"),
            with: self.faults("against_fault"),
        }
    }

    /// The other oil: one by its sheet, the one chosen, or `first` where the choice was not made; none where it is the same.
    fn other_oil(&self, first: &str) -> Option<String> {
        let oil = self.oil("against_oil").unwrap_or(first.into());
        (oil != SAME).then_some(oil)
    }

    /// What a trip is held against.
    pub(super) fn trip_against(&self) -> trip::Against {
        trip::Against {
            oil: self.other_oil(SAME),
            oil_temp: self.text("against_oil_temp"),
            with: self.faults("against_fault"),
        }
    }

    /// The trip: the table that was typed, else the one chosen.
    pub(super) fn trip(&self) -> Result<Profile, Troubles> {
        match self.get("trip_text") {
            Some(text) => Profile::from_text(OWN_TRIP, text),
            None => Shelf::LibraryOnly.trip(self.get("trip").unwrap_or(TRIPS[0].0)),
        }
    }

    /// Whether a text of many lines was typed, too long for an address.
    pub(super) fn is_long(&self) -> bool {
        TEXTS.iter().any(|(name, _)| self.get(name).is_some())
    }

    /// A text of many lines with what messages call it.
    fn named_text(&self, name: &str) -> Option<(String, String)> {
        let (_, called) = TEXTS.iter().find(|(n, _)| *n == name)?;
        Some(((*called).into(), self.text(name)?))
    }

    /// What is asked of electric fans in some places of a machine.
    pub(super) fn auxfan(&self, places: &[auxfan::Spot]) -> auxfan::Typed {
        let usual = auxfan::Typed::default();
        let or = |name: &str, usual: String| self.text(name).unwrap_or(usual);
        let each = |what: &str, join: &dyn Fn(&str, &str) -> String| -> Option<String> {
            let named = |key: &str| Some(join(key, self.get(&format!("{what}.{key}"))?));
            let all: Vec<String> = places.iter().filter_map(|p| named(&p.key)).collect();
            (!all.is_empty()).then(|| {
                let there = all.into_iter().filter(|words| !words.is_empty());
                there.collect::<Vec<_>>().join(", ")
            })
        };
        auxfan::Typed {
            fans: self.named_text("fans_text"),
            at: each("at", &|key, how| match how {
                NOWHERE => String::new(),
                _ => format!("{key}={how}"),
            }),
            tried: each("try", &|key, some| match some.split_once('*') {
                Some((fan, count)) => format!("{fan}@{key}*{count}"),
                None => format!("{some}@{key}"),
            }),
            ambient: or("ambient", usual.ambient),
            climb: self.text("climb"),
            air_conditioning: self.get("no_air_conditioning").is_none(),
            fan_speed: self.text("fan_speed"),
            right_oil: self.text("right_oil"),
            wire: or("wire", usual.wire),
            road_speed: or("off_road_speed", usual.road_speed),
        }
    }

    /// Day and road.
    pub(super) fn heat(&self) -> heat::Typed {
        heat::Typed {
            ambient: self.text("ambient"),
            road_speed: self.text("road_speed"),
            gear: self.text("gear"),
            grade: self.text("grade"),
            trailer: self.text("trailer"),
            air_conditioning: self.get("air_conditioning").is_some(),
            fuel_flow: self.text("fuel_flow"),
            air_flow: self.text("air_flow"),
            rating: self.named_text("rating_text"),
            fan_speed: self.text("fan_speed"),
            anchor: self.text("anchor"),
            against_oils: self.all("oils").map(String::from).collect(),
            map: self.get("map").is_some(),
        }
    }

    /// What is asked of a log.
    pub(super) fn log(&self) -> log::Typed {
        let list = |name: &str| -> Vec<String> {
            let words = self.get(name).unwrap_or_default().split(',');
            let words = words.map(str::trim).filter(|w| !w.is_empty());
            words.map(String::from).collect()
        };
        log::Typed {
            cap: self.get("cap").unwrap_or(CAP).into(),
            glycol: self.get("glycol").unwrap_or(GLYCOL).into(),
            altitude: self.text("altitude"),
            ambient: self.text("ambient"),
            ambient_after: self.text("ambient_after"),
            above: list("above"),
            columns: list("column"),
            columns_after: list("column_after"),
            time_unit: self.text("time_unit"),
            delimiter: self.text("delimiter"),
            decimal: self.text("decimal"),
            every: self.text("every"),
            fuel: self.text("fuel"),
            full_from: self.text("full_from"),
            machine: None,
            with: Vec::new(),
            units: self.units(),
        }
    }

    /// The fields that were sent but do not stand in `shown`, so that the form can carry them along.
    pub(super) fn others(&self, shown: &str) -> impl Iterator<Item = (&str, &str)> {
        let stands = move |name: &str| shown.contains(&format!(" name=\"{name}\""));
        let all = self.0.iter().map(|(n, v)| (n.as_str(), v.as_str()));
        all.filter(move |(n, v)| !v.is_empty() && !stands(n))
    }

    /// The readings that were typed, as the table that a readings file is; none where none were.
    pub(super) fn readings(&self) -> Option<String> {
        if let Some(text) = self.text("readings_text") {
            return Some(text);
        }
        let quoted = |words: &str| format!("\"{}\"", words.replace(['"', '\n'], " "));
        let mut text = String::from("test,value,error,instrument,full_scale\n");
        let keys: Vec<&str> = self.tests_read().collect();
        for key in &keys {
            let typed = |name: &str| self.get(&format!("{name}.{key}")).unwrap_or_default();
            let by = typed("by");
            let (error, instrument) = if INSTRUMENTS.iter().any(|i| i.key == by) {
                ("", by)
            } else {
                (by, "")
            };
            let cells = [key, typed("read"), error, instrument, typed("scale")].map(quoted);
            text.push_str(&cells.join(","));
            text.push('\n');
        }
        (!keys.is_empty()).then_some(text)
    }

    /// The keys of the tests of which a reading was typed, in order.
    fn tests_read(&self) -> impl Iterator<Item = &'static str> {
        ALL.iter()
            .map(|p| p.key)
            .filter(|key| self.get(&format!("read.{key}")).is_some())
    }

    /// The change of oil that is planned.
    pub(super) fn flush(&self) -> flush::Typed {
        let or = |name: &str, usual: &str| self.get(name).unwrap_or(usual).to_string();
        flush::Typed {
            from_oil: self.oil("from_oil").unwrap_or(OTHER_OIL.into()),
            to_oil: self.oil("oil"),
            method: or("method", "drain"),
            target: self.text("target"),
            speed_within: self.text("speed_within"),
            drained: self.text("drained"),
            pour: self.text("pour"),
            stagnant: or("stagnant", STAGNANT),
            mixing: or("mixing", MIXING),
            cost_per_litre: self.text("cost_per_litre"),
        }
    }

    /// Whether a data sheet's line was typed for an oil.
    fn typed_line(&self, name: &str) -> bool {
        self.get(&format!("{name}_line")).is_some()
    }

    /// The field that a trouble is about; none where it is about none of them.
    pub(super) fn field_of(&self, trouble: &Trouble) -> Option<String> {
        let oil = |name: &str| {
            if self.typed_line(name) {
                format!("{name}_line")
            } else {
                name.to_string()
            }
        };
        let source = trouble.spot.source.as_str();
        let text = TEXTS
            .iter()
            .find(|(name, called)| *called == source && self.get(name).is_some());
        if let Some((name, _)) = text {
            return Some((*name).into());
        }
        Some(match source {
            OWN_LOG => "log_text".into(),
            OWN_LOG_AFTER => "after_text".into(),
            "oil" => oil("oil"),
            "--against-oil" => oil("against_oil"),
            "why" => oil("against_oil"),
            "--from-oil" => oil("from_oil"),
            "--to-oil" => oil("oil"),
            // The first line is the table's head.
            OWN_READINGS => {
                let at = trouble.spot.line.and_then(|line| line.checked_sub(2));
                format!("read.{}", self.tests_read().nth(at?)?)
            }
            "--with" => "fault_severity".into(),
            "--against-with" => "against_fault_severity".into(),
            "machine" => "machine".into(),
            "trip" => "trip".into(),
            _ => match source.strip_prefix("--set ") {
                Some(key) => format!("set.{key}"),
                None => source.strip_prefix("--")?.replace('-', "_"),
            },
        })
    }
}

/// What stands behind percent signs and pluses; it must be UTF-8, without characters that no keyboard types.
fn decoded(text: &str) -> Result<String, Trouble> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        bytes.push(match byte {
            b'+' => b' ',
            b'%' => {
                let mut digit = || rest.next().and_then(|b| char::from(b).to_digit(16));
                match (digit(), digit()) {
                    (Some(high), Some(low)) => (16 * high + low) as u8,
                    _ => return Err(broken()),
                }
            }
            byte => byte,
        });
    }
    let text = String::from_utf8(bytes).map_err(|_| broken())?;
    if text.contains('\0') {
        return Err(broken());
    }
    Ok(text.replace("\r\n", "\n"))
}

fn broken() -> Trouble {
    Trouble::input("a form that is no UTF-8 text", "what the page itself sends")
}

/// Both results, or all troubles of both.
pub(super) fn both<A, B>(
    a: Result<A, Troubles>,
    b: Result<B, Troubles>,
) -> Result<(A, B), Troubles> {
    match (a, b) {
        (Ok(a), Ok(b)) => Ok((a, b)),
        (a, b) => Err([a.err(), b.err()].into_iter().flatten().flatten().collect()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_browser_sends_is_read() {
        let typed =
            Typed::read("oil_temp=175+%C2%B0F&set.pump.ratio=1.4&oil=&unplugged=on").unwrap();
        assert_eq!(typed.get("oil_temp"), Some("175 °F"));
        assert_eq!(typed.get("oil"), None);
        let ask = typed.ask();
        assert_eq!(ask.set, ["pump.ratio=1.4"]);
        assert!(ask.unplugged && ask.machine == FIRST_MACHINE);
    }

    #[test]
    fn what_no_browser_sends_is_refused() {
        for text in ["a=%ff", "a=%C3%28", "a=%4", "a=%zz", "%=1", "a=%00"] {
            assert!(Typed::read(text).is_err(), "{text}");
        }
        assert!(Typed::read(&"a=1&".repeat(MOST_FIELDS)).is_ok());
        assert!(Typed::read(&"a=1&".repeat(MOST_FIELDS + 1)).is_err());
    }

    #[test]
    fn a_trouble_finds_its_field() {
        let typed = Typed::read("oil_line=40C").unwrap();
        for (source, field) in [
            ("--oil-temp", "oil_temp"),
            ("--set pump.ratio", "set.pump.ratio"),
            ("oil", "oil_line"),
            ("why", "against_oil"),
        ] {
            let trouble = Trouble::input("x", "y").at(source);
            assert_eq!(typed.field_of(&trouble).as_deref(), Some(field));
        }
        assert_eq!(typed.field_of(&Trouble::input("x", "y")), None);
    }
}
