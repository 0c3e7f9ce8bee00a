//! Readings taken on a machine: the field, how a file of readings is read, and typing errors that may explain a wrong
//! reading.

use super::basis::{self, OIL};
use super::find::Find;
use super::own::{self, Own};
use super::{Field, Intake, Takes};
use crate::input::unit::BAR;
use crate::model::{Hazard, Setup, beside};
use crate::probe::Readings;
use crate::quantity::Kind;
use crate::trouble::Trouble;
use serde_json::{Value, json};

/// Pounds per square inch in pascal.
const PSI: f64 = 6894.757;

/// Field for the readings.
pub const READINGS: Field = Field::new("readings", Takes::Text("readings"), "Readings")
    .help("A TOML or CSV file that calls each test by its name on the test sheet.")
    .by_place();

/// A machine with the readings taken on it.
pub struct Measured {
    /// Machine and oil.
    pub setup: Setup,
    /// The name of the oil, if one is requested or named in the readings file.
    pub oil: Option<String>,
    /// The name of the readings file in messages.
    pub source: String,
    /// The readings.
    pub readings: Readings,
    /// Path of the notebook or readings file in which facts are stated and logs are named.
    pub book_at: String,
}

impl Intake<'_> {
    /// Machine, oil and operating condition, with the readings. If no oil is requested, the one named in the readings
    /// file is used.
    pub fn measured(&mut self, field: &Field) -> Option<Measured> {
        let given = self.values.has(field);
        if !given && basis::is_required(field) {
            let missing = Trouble::input("no readings", "a file of readings, or its text");
            self.problems.push(missing.on(field.key));
        }
        let file = self.file(field);
        if given && file.is_none() {
            return None;
        }
        let (source, text) = file.unwrap_or_default();
        let mut values = self.values.clone();
        if !values.has(&OIL)
            && let Some(oil) = Readings::oil_of(&source, &text)
        {
            values.push(OIL.key, &beside(&source, &oil));
        }
        let own = Own::of(&basis::ask(&values), &values)
            .map_err(|all| self.problems.extend(all))
            .ok()?;
        let setup = match &own {
            Some(own) => own.learned(&values),
            None => basis::read(&values),
        };
        let mut setup = setup.map_err(|all| self.problems.extend(all)).ok()?;
        let mut readings = match (&own, given) {
            (_, true) => self.readings_on(field, &setup)?,
            (Some(own), false) => {
                let found = Readings::from_notebook(&own.source, &own.text, &setup.machine);
                self.keep_all(&basis::MACHINE, found)?
            }
            (None, false) => Readings::default(),
        };
        if own.is_none() {
            let taught = own::teach(&mut setup, &readings.book, &source, &text);
            self.keep_all(field, taught)?;
        } else if given {
            // The readings are given separately; the facts and logs come from the notebook.
            let known = own.as_ref().map(|own| own.book.clone());
            readings.take_book(known.unwrap_or_default());
        }
        let book_at = own.map_or_else(|| source.clone(), |own| own.source);
        Some(Measured {
            book_at,
            setup,
            oil: values.text(&OIL),
            source,
            readings,
        })
    }

    /// Reads the readings of a machine; `None` if none were given or they have errors.
    pub fn readings_on(&mut self, field: &Field, setup: &Setup) -> Option<Readings> {
        let (source, text) = self.file(field)?;
        let found = Readings::from_text(&source, &text, &setup.machine);
        self.keep_all(field, found)
    }
}

/// A typing or counting error that would explain a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Slip {
    /// A value in psi was entered as bar.
    PsiAsBar,
    /// A value in bar was entered as psi.
    BarAsPsi,
    /// A value in MPa was entered as bar.
    MpaAsBar,
    /// A value in bar was entered as MPa.
    BarAsMpa,
    /// Each of the fan's blades was counted as a revolution; the number is that of the blades.
    Blades(u8),
}

impl Slip {
    /// Errors from easily confused units of pressure.
    pub const OF_PRESSURE: [Slip; 4] = [
        Slip::PsiAsBar,
        Slip::BarAsPsi,
        Slip::MpaAsBar,
        Slip::BarAsMpa,
    ];

    /// Errors from counting blades, for all common numbers of blades.
    pub fn of_speed() -> impl Iterator<Item = Slip> {
        (2..=12).map(Slip::Blades)
    }

    /// Key of the typing error in JSON output.
    pub fn key(self) -> String {
        match self {
            Slip::PsiAsBar => "psi_as_bar".into(),
            Slip::BarAsPsi => "bar_as_psi".into(),
            Slip::MpaAsBar => "mpa_as_bar".into(),
            Slip::BarAsMpa => "bar_as_mpa".into(),
            Slip::Blades(n) => format!("blades_{n}"),
        }
    }

    /// The first error that explains a reading of the given kind; `fits` decides whether a correction factor explains
    /// it.
    pub fn find(kind: Kind, fits: impl Fn(f64) -> bool) -> Option<Self> {
        let slips: Vec<Slip> = match kind {
            Kind::Pressure => Self::OF_PRESSURE.to_vec(),
            Kind::Speed => Self::of_speed().collect(),
            _ => Vec::new(),
        };
        slips.into_iter().find(|slip| fits(slip.factor()))
    }

    /// The factor by which the reading must be multiplied to correct it.
    pub fn factor(self) -> f64 {
        match self {
            Slip::PsiAsBar => PSI / BAR,
            Slip::BarAsPsi => BAR / PSI,
            Slip::MpaAsBar => 10.0,
            Slip::BarAsMpa => 0.1,
            Slip::Blades(blades) => 1.0 / f64::from(blades),
        }
    }
}

impl Find for Hazard {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(self.key())
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "string", "enum": Hazard::ALL.map(Hazard::key)})
    }
}
