//! The user's own machine: a notebook in place of a machine.
//!
//! The facts in the notebook are applied to the machine's class. Readings in healthy condition narrow the machine for
//! every question except those that compute the probability of causes, which use them together with the other readings.

use super::Values;
use crate::input::Input;
use crate::model::{Ask, Caution, MACHINES, Posed, beside};
use crate::probe::{Book, Fact, Reading, Readings, machine_of};
use crate::quantity::Kind;
use crate::trouble::{Trouble, Troubles};
use crate::vary::coolant::{self, Observed, Seen};
use crate::vary::fit::fit;
use crate::vary::known::{CONTRADICTS, learn, off};

/// Minimum probability of the observed deviations; less likely healthy readings do not fit the machine.
const SELDOM: f64 = 0.01;

/// A notebook, with the machine it is about.
pub struct Own {
    /// Name of the notebook in messages.
    pub source: String,
    /// Text of the notebook.
    pub text: String,
    /// Contents of the notebook besides the readings.
    pub book: Book,
    ask: Ask,
}

impl Own {
    /// The notebook given in place of the machine; `None` if a machine is given.
    pub fn of(ask: &Ask, values: &Values) -> Result<Option<Self>, Troubles> {
        let source = ask.machine.clone();
        let text = match &ask.machine_text {
            Some(text) => text.clone(),
            None if MACHINES.iter().any(|(key, _)| *key == source) => return Ok(None),
            // An unreadable file is reported where the machine is read.
            None => match values.shelf.text(&source, &MACHINES, "machine") {
                Ok(text) => text,
                Err(_) => return Ok(None),
            },
        };
        let Some(named) = machine_of(&text) else {
            return Ok(None);
        };
        let Some(machine) = named else {
            let trouble =
                Trouble::input("a notebook without `machine`", "machine = \"light-truck\"")
                    .hint("a class, or the path of a machine file");
            return Err(vec![trouble.at(&source)]);
        };
        let book = Book::from_text(&source, &text)?;
        let oil = Readings::oil_of(&source, &text).map(|oil| beside(&source, &oil));
        let ask = Ask {
            machine_text: values.text_called(&machine).map(String::from),
            machine: beside(&source, &machine),
            oil: ask.oil.clone().or(oil),
            ..ask.clone()
        };
        Ok(Some(Self {
            source,
            text,
            book,
            ask,
        }))
    }

    /// The machine's class, without the facts in the notebook.
    pub fn class(&self, values: &Values) -> Result<Posed, Troubles> {
        self.ask.pose(values.shelf)
    }

    /// The machine with its facts applied.
    pub fn learned(&self, values: &Values) -> Result<Posed, Troubles> {
        let mut posed = self.ask.pose(values.shelf)?;
        posed.stop = values.stop.clone();
        teach(&mut posed, &self.book, &self.source, &self.text)?;
        Ok(posed)
    }

    /// Readings in the notebook: those in question, and those in healthy condition.
    pub fn readings(&self, posed: &Posed) -> Result<(Readings, Readings), Troubles> {
        let all = Readings::from_notebook(&self.source, &self.text, &posed.machine)?;
        Ok(parted(all))
    }
}

/// Applies the facts of a notebook to a machine; reports all facts that contradict its class at once.
pub fn teach(posed: &mut Posed, book: &Book, source: &str, text: &str) -> Result<(), Troubles> {
    let mut problems: Troubles = book
        .known
        .iter()
        .filter_map(|fact| contradiction(posed, fact))
        .map(|(trouble, fact)| trouble.at(source).within(text, fact.span.clone()))
        .collect();
    if problems.is_empty() {
        let facts: Vec<_> = book.known.iter().map(|f| (f.input, f.measure)).collect();
        learn(posed, &facts);
        let wrong = posed.case.wrong(&posed.spread).into_iter();
        problems.extend(wrong.map(|(inputs, trouble)| {
            let of = |f: &&Fact| inputs.contains(&f.input);
            match book.known.iter().find(of) {
                Some(fact) => trouble.at(source).within(text, fact.span.clone()),
                None => trouble.at(source),
            }
        }));
    }
    match problems.is_empty() {
        true => Ok(()),
        false => Err(problems),
    }
}

fn contradiction<'f>(posed: &Posed, fact: &'f Fact) -> Option<(Trouble, &'f Fact)> {
    let input = fact.input;
    let kind = input.field().kind;
    if posed.machine.value(input).is_none() && input.part() != "oil" {
        let found = format!(
            "`{}`, an input of a part that this machine does not have",
            input.key()
        );
        return Some((Trouble::input(found, "a part of the machine"), fact));
    }
    let far = off(posed, input, fact.measure.value)?;
    (far.abs() > CONTRADICTS).then(|| {
        let show = |value| posed.units.show(kind, value);
        let found = format!("{} of {}", input.key(), show(fact.measure.value));
        let expected = format!("about {} in this class", band(posed, input, kind));
        let hint = "choose another class, or check the fact";
        (Trouble::input(found, expected).hint(hint), fact)
    })
}

fn band(posed: &Posed, input: Input, kind: Kind) -> String {
    let value = posed.case.get(input).unwrap_or(0.0);
    let half = posed.spread.get(input).unwrap_or(0.0);
    posed.units.show_spread(kind, value, half)
}

/// Readings in question, and those in healthy condition.
pub fn parted(mut all: Readings) -> (Readings, Readings) {
    let mut well = all.clone();
    all.all.retain(|r| !r.healthy);
    well.all.retain(|r| r.healthy);
    (all, well)
}

/// Keeps the readings since the last work; earlier ones are of a different state of the machine.
pub fn since_work(readings: &mut Readings) {
    let last = readings.book.works.last().map(|w| w.date);
    readings.all.retain(|r| r.date >= last || last.is_none());
}

/// Resolves a request for a machine or a notebook; its healthy readings and its logs narrow the machine.
pub fn pose(ask: &Ask, values: &Values) -> Result<Posed, Troubles> {
    let Some(own) = Own::of(ask, values)? else {
        return ask.pose(values.shelf);
    };
    let mut posed = own.learned(values)?;
    let (_, well) = own.readings(&posed)?;
    let readings: Vec<Reading> = well.all.iter().filter(|r| of_oil(r)).copied().collect();
    if !readings.is_empty() {
        narrow(&mut posed, &readings).map_err(|t| vec![t])?;
    }
    let observed = observed(&well.all, &own.book, &own.source, &mut posed, values)?;
    if !observed.is_empty() {
        let fits =
            coolant::learn(&mut posed, &observed).is_ok_and(|all| all.iter().all(Seen::fits));
        if !fits && !posed.cautions.contains(&Caution::NoFit) {
            posed.cautions.push(Caution::NoFit);
        }
    }
    Ok(posed)
}

/// Whether a reading is of the oil side, with a value.
fn of_oil(reading: &Reading) -> bool {
    reading.setting.settled.is_none() && !reading.at_least
}

/// What healthy readings of the coolant and a notebook's logs say of a machine. A log that cannot be read where the
/// question is asked gives a caution.
pub fn observed(
    well: &[Reading],
    book: &Book,
    source: &str,
    posed: &mut Posed,
    values: &Values,
) -> Result<Vec<Observed>, Troubles> {
    let steady = well.iter().filter(|r| r.setting.settled.is_some());
    let mut all: Vec<Observed> = steady.map(|r| Observed::Steady(*r)).collect();
    for file in &book.logs {
        let path = beside(source, file);
        match read_log(&path, posed, values) {
            Some(found) => all.extend(found?),
            None => posed
                .cautions
                .push(Caution::LogNotRead { file: file.clone() }),
        }
    }
    Ok(all)
}

/// What a log says; `None` if logs cannot be read here.
#[cfg(feature = "logs")]
fn read_log(path: &str, posed: &Posed, values: &Values) -> Option<Result<Vec<Observed>, Troubles>> {
    use crate::model::log::Choices;
    use crate::vary::log;
    let open = values.open.clone()?;
    let opened = || {
        let trouble = |e: std::io::Error| {
            Trouble::input(format!("cannot be opened: {e}"), "a log that can be read").at(path)
        };
        open(path).map_err(trouble)
    };
    let digest = log::digest(opened, path, &Choices::default(), &[], &mut |_| {});
    Some(digest.map(|d| log::observed(&d.rates, &posed.machine)))
}

#[cfg(not(feature = "logs"))]
fn read_log(_: &str, _: &Posed, _: &Values) -> Option<Result<Vec<Observed>, Troubles>> {
    None
}

fn narrow(posed: &mut Posed, readings: &[Reading]) -> Result<(), Trouble> {
    let found = fit(&posed.machine, &posed.case, &posed.spread, readings)?;
    posed.machine = found.machine(&posed.machine);
    let now = posed.case.now;
    posed.case = found.case;
    posed.case.now = now;
    for one in found.inputs.iter().filter(|n| n.input.part() != "now") {
        posed.spread = posed.spread.with(one.input, one.after.1);
    }
    if found.chance < SELDOM {
        posed.cautions.push(Caution::NoFit);
    }
    Ok(())
}
