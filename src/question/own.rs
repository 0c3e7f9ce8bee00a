//! The user's own machine, described by a notebook that is given in place of a machine.
//!
//! The facts in the notebook are applied to a machine of the named class. Readings taken on the healthy machine then
//! reduce its uncertainty in every question, except where the probability of causes is computed: there they are weighed
//! together with the other readings.

use super::Values;
use crate::input::Input;
use crate::model::{Ask, Caution, Lookup, MACHINES, Setup, beside};
use crate::probe::{Book, Fact, Reading, Readings, machine_of};
use crate::quantity::Kind;
use crate::trouble::{Trouble, Troubles};
use crate::vary::behaviour::contradicted;
use crate::vary::coolant::{self, Observed, Seen};
use crate::vary::fit::{fit, fitting};
use crate::vary::known::{CONTRADICTS, apart, learn, off};

/// The healthy readings do not fit the machine if the probability of deviations as large as those observed is below
/// this.
const SELDOM: f64 = 0.01;

/// A notebook, with the request for the machine that it describes.
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
    /// Reads the notebook if one is given in place of the machine; `None` if a machine is given.
    pub fn of(ask: &Ask, values: &Values) -> Result<Option<Self>, Troubles> {
        let source = ask.machine.clone();
        let text = match &ask.machine_text {
            Some(text) => text.clone(),
            None if MACHINES.iter().any(|(key, _)| *key == source) => return Ok(None),
            // An unreadable file is reported where the machine is read.
            None => match values.lookup.text(&source, &MACHINES, "machine") {
                Ok(text) => text,
                Err(_) => return Ok(None),
            },
        };
        let Some(named) = machine_of(&text) else {
            return Ok(None);
        };
        let oil = Readings::oil_of(&source, &text).map(|oil| beside(&source, &oil));
        let mut ask = Ask {
            machine_text: None,
            oil: ask.oil.clone().or(oil),
            ..ask.clone()
        };
        let mut problems = Troubles::new();
        match &named {
            Some(machine) => {
                ask.machine_text = values.text_called(machine).map(String::from);
                ask.machine = beside(&source, machine);
            }
            None => {
                let trouble = Trouble::input(
                    "the notebook does not name its machine",
                    "an entry such as machine = \"light-truck\"",
                )
                .hint("give the name of a machine in the library, or the path of a machine file");
                problems.push(trouble.at(&source));
            }
        }
        let own = Self {
            book: Book::readable(&source, &text),
            source,
            text,
            ask,
        };
        let class = named.map(|_| own.class(values));
        problems.extend(own.mistakes(class));
        match problems.is_empty() {
            true => Ok(Some(own)),
            false => Err(problems),
        }
    }

    /// All mistakes in the notebook. The readings of a machine that is unknown or has mistakes are checked for one that
    /// has all parts.
    fn mistakes(&self, class: Option<Result<Setup, Troubles>>) -> Troubles {
        let mut problems = Troubles::new();
        let known = class.and_then(|class| class.map_err(|all| problems.extend(all)).ok());
        let has_all = || Ask::about("light-truck").resolve(Lookup::LibraryOnly);
        let setup = match &known {
            Some(setup) => Ok(setup.clone()),
            None => has_all(),
        };
        let Ok(mut setup) = setup else {
            return problems;
        };
        let read = Readings::from_notebook(&self.source, &self.text, &setup.machine);
        problems.extend(read.err().unwrap_or_default());
        if known.is_some() {
            let taught = teach(&mut setup, &self.book, &self.source, &self.text);
            problems.extend(taught.err().unwrap_or_default());
        }
        problems
    }

    /// A machine of the notebook's class, without the facts in the notebook.
    pub fn class(&self, values: &Values) -> Result<Setup, Troubles> {
        of_class(&self.ask, values.lookup)
    }

    /// The machine with the facts in the notebook applied.
    pub fn learned(&self, values: &Values) -> Result<Setup, Troubles> {
        let mut setup = self.class(values)?;
        setup.stop = values.stop.clone();
        teach(&mut setup, &self.book, &self.source, &self.text)?;
        Ok(setup)
    }

    /// The readings in the notebook: first those to be diagnosed, then those taken on the healthy machine.
    pub fn readings(&self, setup: &Setup) -> Result<(Readings, Readings), Troubles> {
        let all = Readings::from_notebook(&self.source, &self.text, &setup.machine)?;
        Ok(parted(all))
    }
}

/// Applies the facts of a notebook to a machine of its class; reports all facts that contradict the class at once, and
/// otherwise the two facts that contradict each other most.
pub fn teach(setup: &mut Setup, book: &Book, source: &str, text: &str) -> Result<(), Troubles> {
    let mut problems: Troubles = book
        .known
        .iter()
        .filter_map(|fact| contradiction(setup, fact))
        .map(|(trouble, fact)| trouble.at(source).within(text, fact.span.clone()))
        .collect();
    let facts: Vec<_> = book.known.iter().map(|f| (f.input, f.measure)).collect();
    if problems.is_empty()
        && let Some(pair) = apart(setup, &facts)
    {
        let [a, b] = [pair.0, pair.1].map(|n| &book.known[n]);
        problems.push(
            unlikely(setup, a, b)
                .at(source)
                .within(text, b.span.clone()),
        );
    }
    if problems.is_empty() {
        learn(setup, &facts);
        let wrong = setup.case.wrong(&setup.spread).into_iter();
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

fn contradiction<'f>(setup: &Setup, fact: &'f Fact) -> Option<(Trouble, &'f Fact)> {
    let input = fact.input;
    let kind = input.field().kind;
    if setup.machine.value(input).is_none() && input.part() != "oil" {
        let found = format!(
            "`{}` is an input of a part that this machine does not have",
            input.key()
        );
        return Some((
            Trouble::input(found, "an input of a part that it has"),
            fact,
        ));
    }
    let far = off(setup, input, fact.measure.value)?;
    (far.abs() > CONTRADICTS).then(|| {
        let show = |value| setup.units.show(kind, value);
        let found = format!("{} of {}", input.key(), show(fact.measure.value));
        let expected = format!("about {} in this class", band(setup, input, kind));
        let hint = "check the value, or choose another class of machine";
        (Trouble::input(found, expected).hint(hint), fact)
    })
}

/// Two facts that each may be, but not together.
fn unlikely(setup: &Setup, a: &Fact, b: &Fact) -> Trouble {
    let show = |f: &Fact| {
        let value = setup.units.show(f.input.field().kind, f.measure.value);
        format!("{} of {value}", f.input.key())
    };
    let found = format!("{} together with {}", show(a), show(b));
    Trouble::input(found, "facts that go together in this class")
        .hint("check both; if both are right, the machine is of another class")
}

/// A machine of the library, or of a file whose ranges agree with the behaviours that it states.
pub fn of_class(ask: &Ask, lookup: Lookup) -> Result<Setup, Troubles> {
    let setup = ask.resolve(lookup)?;
    let library = ask.machine_text.is_none() && MACHINES.iter().any(|(key, _)| *key == ask.machine);
    if !library && !setup.machine.behaviours.is_empty() {
        let file = Ask {
            machine_text: ask.machine_text.clone(),
            oil: ask.oil.clone(),
            ..Ask::about(&ask.machine)
        };
        let wrong = contradicted(&file.resolve(lookup)?);
        if !wrong.is_empty() {
            return Err(wrong);
        }
    }
    Ok(setup)
}

fn band(setup: &Setup, input: Input, kind: Kind) -> String {
    let value = setup.case.get(input).unwrap_or(0.0);
    let half = setup.spread.get(input).unwrap_or(0.0);
    setup.units.show_spread(kind, value, half)
}

/// Splits readings into those to be diagnosed and those taken on the healthy machine.
pub fn parted(mut all: Readings) -> (Readings, Readings) {
    let mut well = all.clone();
    all.all.retain(|r| !r.healthy);
    well.all.retain(|r| r.healthy);
    (all, well)
}

/// Keeps only the readings since the last repair; the machine was in a different state before it.
pub fn since_work(readings: &mut Readings) {
    let done = readings.book.works.len();
    readings.all.retain(|r| r.works == done);
}

/// Resolves a request for a machine or a notebook. The healthy readings and the logs of a notebook reduce the
/// uncertainty of its machine.
pub fn resolve(ask: &Ask, values: &Values) -> Result<Setup, Troubles> {
    let Some(own) = Own::of(ask, values)? else {
        return of_class(ask, values.lookup);
    };
    let mut setup = own.learned(values)?;
    let (_, well) = own.readings(&setup)?;
    let readings: Vec<Reading> = well.all.iter().filter(|r| of_oil(r)).copied().collect();
    if !readings.is_empty() {
        narrow(&mut setup, &readings).map_err(|t| vec![t])?;
    }
    let observed = observed(&well.all, &own.book, &own.source, &mut setup, values)?;
    if !observed.is_empty() {
        let fits =
            coolant::learn(&mut setup, &observed).is_ok_and(|all| all.iter().all(Seen::fits));
        if !fits && !setup.cautions.contains(&Caution::NoFit) {
            setup.cautions.push(Caution::NoFit);
        }
    }
    if let Some(fitting) = fitting(&setup, &readings).map_err(|t| vec![t])? {
        setup.machine.correlations.fit(fitting);
    }
    Ok(setup)
}

/// Whether a reading is of the oil circuit and states a value, not merely a lower bound.
fn of_oil(reading: &Reading) -> bool {
    reading.setting.settled.is_none() && !reading.at_least
}

/// The observations of coolant temperature in a machine's healthy readings and in its notebook's logs. A log that
/// cannot be read in this context leads to a caution.
pub fn observed(
    well: &[Reading],
    book: &Book,
    source: &str,
    setup: &mut Setup,
    values: &Values,
) -> Result<Vec<Observed>, Troubles> {
    let steady = well.iter().filter(|r| r.setting.settled.is_some());
    let mut all: Vec<Observed> = steady.map(|r| Observed::Steady(*r)).collect();
    for file in &book.logs {
        let path = beside(source, file);
        match read_log(&path, setup, values) {
            Some(found) => all.extend(found?),
            None => setup
                .cautions
                .push(Caution::LogNotRead { file: file.clone() }),
        }
    }
    Ok(all)
}

/// Reads the observations from a log; `None` if logs cannot be read here.
#[cfg(feature = "logs")]
fn read_log(path: &str, setup: &Setup, values: &Values) -> Option<Result<Vec<Observed>, Troubles>> {
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
    Some(digest.map(|d| log::observed(&d.rates, &setup.machine)))
}

#[cfg(not(feature = "logs"))]
fn read_log(_: &str, _: &Setup, _: &Values) -> Option<Result<Vec<Observed>, Troubles>> {
    None
}

fn narrow(setup: &mut Setup, readings: &[Reading]) -> Result<(), Trouble> {
    let found = fit(&setup.machine, &setup.case, &setup.spread, readings)?;
    setup.machine = found.machine(&setup.machine);
    let now = setup.case.now;
    setup.case = found.case;
    setup.case.now = now;
    for one in found.inputs.iter().filter(|n| n.input.part() != "now") {
        setup.spread = setup.spread.with(one.input, one.after.1);
    }
    if found.chance < SELDOM {
        setup.cautions.push(Caution::NoFit);
    }
    Ok(())
}
