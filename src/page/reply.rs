//! From a path and a form to what is sent back.

use super::Question;
use super::asks;
use super::form::{NO_LOG, OWN_LOG, OWN_LOG_AFTER, OWN_READINGS, Typed, both};
use super::view;
use crate::fault::{
    self,
    priors::{EMBEDDED, Priors},
};
use crate::model::log::Choices;
use crate::model::{OilSheet, Posed, Shelf, machine_text, measured_speed};
use crate::probe::Readings;
use crate::report;
use crate::study::{Answer, auxfan, flush, heat, log, sheet, speed, suspects, sweep, trip, why};
use crate::trouble::{Stop, Trouble, Troubles};
use crate::vary::log::{Digest, digest};
use std::io::Read;

/// How many steps a sweep of the page takes.
const STEPS: usize = 101;

/// What is sent back.
#[derive(Clone, Debug)]
pub struct Reply {
    /// The status.
    pub status: u16,
    /// What kind of text it is.
    pub kind: &'static str,
    /// The name under which the browser keeps it; none where it shows it.
    pub file: Option<String>,
    /// The text.
    pub body: String,
}

const HTML: &str = "text/html; charset=utf-8";

impl Reply {
    fn page(status: u16, body: String) -> Self {
        Self {
            status,
            kind: HTML,
            file: None,
            body,
        }
    }

    fn file(name: String, kind: &'static str, body: String) -> Self {
        Self {
            status: 200,
            kind,
            file: Some(name),
            body,
        }
    }

    /// A page that says what went wrong with the request itself.
    pub(super) fn sorry(status: u16, words: &str) -> Self {
        Self::page(status, view::sorry(words))
    }
}

/// What is sent back for a path and the text of a form, with the bytes of the logs that came along. Long work ends early
/// once `stop` says that nobody waits.
pub fn respond(path: &str, form: &str, logs: &[u8], stop: &Stop) -> Reply {
    match path {
        "/page.css" => return asset("text/css; charset=utf-8", view::STYLE),
        "/page.js" => return asset("text/javascript; charset=utf-8", view::SCRIPT),
        "/icon.svg" => return asset("image/svg+xml", view::ICON),
        _ => {}
    }
    let typed = match Typed::read(form) {
        Ok(typed) => typed,
        Err(trouble) => return Reply::sorry(400, &trouble.to_string()),
    };
    let path = path.trim_start_matches('/');
    if let Some(question) = Question::find(if path.is_empty() { "speed" } else { path }) {
        let asked = answer(question, &typed, logs, stop);
        let fine = asked.is_ok() || view::waits_for_log(&asked);
        let status = if fine { 200 } else { 422 };
        return Reply::page(status, view::whole(question, &typed, &asked));
    }
    if let Some(question) = path.strip_prefix("part/").and_then(Question::find) {
        // What is wrong is news, not an error, to the script that asks for this.
        let asked = answer(question, &typed, logs, stop);
        return Reply::page(200, view::part(question, &typed, &asked));
    }
    path.strip_prefix("download/")
        .and_then(|name| download(name, &typed, logs, stop))
        .unwrap_or_else(|| Reply::sorry(404, "There is nothing under this address."))
}

fn asset(kind: &'static str, text: &str) -> Reply {
    Reply {
        status: 200,
        kind,
        file: None,
        body: text.into(),
    }
}

/// A file to keep; none where no file has that name. Where there is no answer, a page says why.
fn download(name: &str, typed: &Typed, logs: &[u8], stop: &Stop) -> Option<Reply> {
    if name == "sheet.html" {
        return Some(match posed(typed) {
            Ok(posed) => Reply::file(name.into(), HTML, report::html(&sheet::answer(&posed))),
            Err(t) => Reply::page(422, view::whole(Question::Speed, typed, &Err(t))),
        });
    }
    if name == "readings.csv" {
        let name = match typed.get("readings_text") {
            Some(text) if text.contains('[') => "readings.toml",
            _ => name,
        };
        let text = typed.readings();
        return text.map(|text| Reply::file(name.into(), "text/plain; charset=utf-8", text));
    }
    if name == "machine.toml" {
        return Some(match posed(typed) {
            Ok(posed) => Reply::file(
                name.into(),
                "application/toml",
                machine_text(&posed.machine),
            ),
            Err(troubles) => Reply::page(422, view::whole(Question::Speed, typed, &Err(troubles))),
        });
    }
    let (question, ending) = name.split_once('.')?;
    let question = Question::find(question)?;
    let (kind, render): (_, fn(&Answer) -> String) = match ending {
        "html" => (HTML, report::html),
        "json" => ("application/json", report::json),
        "csv" => ("text/csv; charset=utf-8", report::csv),
        _ => return None,
    };
    Some(match answer(question, typed, logs, stop) {
        Ok(answer) => Reply::file(format!("oilwheel-{name}"), kind, render(&answer)),
        Err(troubles) => Reply::page(422, view::whole(question, typed, &Err(troubles))),
    })
}

/// Machine, oil and condition, with the fault that was put on.
fn posed(typed: &Typed) -> Result<Posed, Troubles> {
    fault::pose(&typed.ask(), &typed.faults("fault"), Shelf::LibraryOnly)
}

/// The answer to a question.
pub(super) fn answer(
    question: Question,
    typed: &Typed,
    logs: &[u8],
    stop: &Stop,
) -> Result<Answer, Troubles> {
    let one = |result: Result<Answer, Trouble>| result.map_err(|t| vec![t]);
    match question {
        Question::Speed => {
            let measured = typed.get("measured").map(measured_speed).transpose();
            let (posed, measured) = both(posed(typed), measured.map_err(|t| vec![t]))?;
            one(speed::answer(&speed::Question { posed, measured }))
        }
        Question::Why => {
            let against = typed.against();
            let (ask, with) = (typed.ask(), typed.faults("fault"));
            let asked = why::pose(
                &ask,
                &with,
                &against,
                typed.get("measured"),
                Shelf::LibraryOnly,
            );
            // Flags are no words of the page's.
            let asked = asked.map_err(|all| {
                let worded = all.into_iter().map(|mut t| {
                    if t.spot.source == "why" {
                        t.expected = "another oil, temperature, machine or fault, or a speed that you measured".into();
                        t.hint.clear();
                    }
                    t
                });
                worded.collect::<Troubles>()
            });
            one(why::answer(&asked?))
        }
        Question::Sweep => {
            let posed = posed(typed)?;
            let range = asks::Range::of(typed, &posed.machine, posed.units);
            let along = sweep::Along::typed(
                &range.over,
                &range.from,
                &range.to,
                &posed.case,
                posed.units,
            );
            let oils = typed.all("oils").map(|name| Shelf::LibraryOnly.oil(name));
            let oils = oils.collect::<Result<Vec<OilSheet>, Troubles>>();
            let (along, oils) = both(along, oils)?;
            let steps = STEPS;
            one(sweep::answer(&sweep::Question {
                posed,
                along,
                oils,
                steps,
            }))
        }
        Question::Suspects => {
            let mut ask = typed.ask();
            let text = typed.readings();
            if let Some(text) = &text {
                ask.oil = ask.oil.or(Readings::oil_of(OWN_READINGS, text));
            }
            let mut posed = ask.pose(Shelf::LibraryOnly)?;
            posed.stop = stop.clone();
            let readings = match &text {
                Some(text) => Readings::from_text(OWN_READINGS, text, &posed.machine)?,
                None => Readings::default(),
            };
            let priors = Priors::from_text("models/priors.toml", EMBEDDED)?;
            suspects::answer(&suspects::Question {
                posed,
                readings,
                well: None,
                priors,
            })
        }
        Question::Heat => {
            let (ask, with) = (typed.ask(), typed.faults("fault"));
            let mut asked = heat::pose(&ask, &with, &typed.heat(), Shelf::LibraryOnly)?;
            asked.posed.stop = stop.clone();
            one(heat::answer(&asked))
        }
        Question::Auxfan => {
            let (ask, with) = (typed.ask(), typed.faults("fault"));
            let asked = typed.auxfan(&view::places(typed));
            let asked = auxfan::pose(&ask, &with, &asked, Shelf::LibraryOnly).map_err(|all| {
                let worded = all.into_iter().map(|mut t| {
                    // The form has another road speed too.
                    if t.spot.source == "--road-speed" {
                        t.spot.source = "--off-road-speed".into();
                    }
                    t
                });
                worded.collect::<Troubles>()
            });
            let mut asked = asked?;
            asked.posed.stop = stop.clone();
            one(auxfan::answer(&asked))
        }
        Question::Trip => {
            let (ask, with) = (typed.ask(), typed.faults("fault"));
            let cold = typed.get("cold").is_some();
            let against = typed.trip_against();
            let asked = trip::pose(
                &ask,
                &with,
                &against,
                typed.trip(),
                cold,
                Shelf::LibraryOnly,
            )?;
            trip::answer(&asked)
        }
        Question::Log => log::asked(&typed.log(), &|choices, levels| {
            read_logs(typed, logs, stop, choices, levels).map(Into::into)
        }),
        Question::Flush => {
            let (ask, with) = (typed.ask(), typed.faults("fault"));
            let asked = flush::pose(&ask, &with, &typed.flush(), Shelf::LibraryOnly);
            one(flush::answer(&asked?))
        }
    }
}

/// A log's bytes, read until nobody waits any longer.
struct Watched<'a>(&'a [u8], &'a Stop);

impl Read for Watched<'_> {
    fn read(&mut self, room: &mut [u8]) -> std::io::Result<usize> {
        let stopped = |t: Trouble| std::io::Error::other(t.to_string());
        self.1.check().map_err(stopped)?;
        self.0.read(room)
    }
}

/// The logs that were sent, one behind the other with the first one's length in the form, or typed.
fn read_logs(
    typed: &Typed,
    logs: &[u8],
    stop: &Stop,
    choices: &[Choices; 2],
    levels: &[f64],
) -> Result<(Digest, Option<Digest>), Troubles> {
    let first = typed.get("first").and_then(|n| n.parse().ok());
    let (log, after) = logs.split_at(first.unwrap_or(logs.len()).min(logs.len()));
    let or = |sent: &'_ [u8], name: &str| match (sent, typed.get(name)) {
        ([], Some(text)) => text.as_bytes().to_vec(),
        (sent, _) => sent.to_vec(),
    };
    let (log, after) = (or(log, "log_text"), or(after, "after_text"));
    if log.is_empty() {
        let expected = "a scan tool's log, as comma-separated values";
        return Err(vec![Trouble::no_answer(NO_LOG, expected)]);
    }
    let read = |bytes: &[u8], name: &str, choices: &Choices| {
        digest(
            || Ok(Watched(bytes, stop)),
            name,
            choices,
            levels,
            &mut |_| {},
        )
    };
    let after = (!after.is_empty()).then(|| read(&after, OWN_LOG_AFTER, &choices[1]));
    both(read(&log, OWN_LOG, &choices[0]), after.transpose())
}
