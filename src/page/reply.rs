//! Computes the reply to a request from its path and its form.

use super::book;
use super::door::{basis, values};
use super::guide;
use super::typed::Typed;
use super::view::{self, NO_FILE, awaited};
use crate::model::{Setup, machine_text};
use crate::question::sheet::ALL_TESTS;
use crate::question::{self, Question};
use crate::report;
use crate::tell::{self, Answer};
use crate::trouble::{Stop, Trouble, Troubles};
use std::io::{Cursor, Read};
use std::sync::Arc;

/// A reply to a request.
#[derive(Clone, Debug)]
pub struct Reply {
    /// The HTTP status.
    pub status: u16,
    /// The content type.
    pub kind: &'static str,
    /// The name of the file if the reply is a download; `None` for a page.
    pub file: Option<String>,
    /// The body.
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

    /// A page that reports an error in the request itself.
    pub(super) fn sorry(status: u16, words: &str) -> Self {
        Self::page(status, view::sorry(words))
    }
}

/// The reply to a path and a submitted form, with the bytes of uploaded logs. `stop` cancels long computations.
pub fn respond(path: &str, form: &str, logs: &[u8], stop: &Stop) -> Reply {
    if let Some(reply) = asset(path) {
        return reply;
    }
    let mut typed = match Typed::read(form) {
        Ok(typed) => typed,
        Err(trouble) => return Reply::sorry(400, &trouble.to_string()),
    };
    if path == "/begin" {
        return Reply::page(200, guide::page(&typed));
    }
    let wrong = book::settled(&mut typed);
    let answer = |question, typed: &Typed, logs: &[u8], stop: &Stop| match wrong.is_empty() {
        true => answer(question, typed, logs, stop),
        false => Err(wrong.clone()),
    };
    let path = path.trim_start_matches('/');
    if let Some(question) = super::find(if path.is_empty() { "speed" } else { path }) {
        let asked = answer(whole(question, &typed), &typed, logs, stop);
        let fine = asked.is_ok() || view::waits(&asked);
        let status = if fine { 200 } else { 422 };
        return Reply::page(status, view::whole(question, &typed, &asked));
    }
    if let Some(question) = path.strip_prefix("part/").and_then(super::find) {
        // For the script, problems with the input are part of the content, not an HTTP error.
        let asked = answer(whole(question, &typed), &typed, logs, stop);
        return Reply::page(200, view::part(question, &typed, &asked));
    }
    path.strip_prefix("download/")
        .and_then(|name| download(name, &typed, logs, stop))
        .unwrap_or_else(|| Reply::sorry(404, "There is no page at this address."))
}

/// The question to answer: with a notebook, `notebook` replaces `suspects`, because it also reports the effect of
/// repairs.
fn whole(question: &'static Question, typed: &Typed) -> &'static Question {
    let readings = format!("{}_text", question::readings::READINGS.key);
    let of_book = typed.get(book::TEXT).is_some() && typed.get(&readings).is_none();
    match question.key == question::suspects::QUESTION.key && of_book {
        true => &question::notebook::QUESTION,
        false => question,
    }
}

/// Static files: style sheet, script and icon.
pub(super) fn asset(path: &str) -> Option<Reply> {
    let (kind, text) = match path {
        "/page.css" => ("text/css; charset=utf-8", view::STYLE),
        "/page.js" => ("text/javascript; charset=utf-8", view::SCRIPT),
        "/icon.svg" => ("image/svg+xml", view::ICON),
        _ => return None,
    };
    Some(Reply {
        status: 200,
        kind,
        file: None,
        body: text.into(),
    })
}

/// The reply to a download; `None` for an unknown file name. If there is no answer, it is a page that gives the reason.
fn download(name: &str, typed: &Typed, logs: &[u8], stop: &Stop) -> Option<Reply> {
    let speed = &question::speed::QUESTION;
    let sorry = |all| Reply::page(422, view::whole(speed, typed, &Err(all)));
    if name == "sheet.html" {
        let mut values = basis(speed, typed);
        values.push(ALL_TESTS.key, typed.get(ALL_TESTS.key).unwrap_or_default());
        let sheet = tell::answer("sheet", &values)?;
        return Some(match sheet {
            Ok(sheet) => Reply::file(name.into(), HTML, report::html(&sheet)),
            Err(all) => sorry(all),
        });
    }
    if name == "machine.toml" {
        return Some(match setup(speed, typed) {
            Ok(setup) => {
                let text = machine_text(&setup.machine);
                Reply::file(name.into(), "application/toml", text)
            }
            Err(all) => sorry(all),
        });
    }
    let (question, ending) = name.split_once('.')?;
    let question = super::find(question)?;
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

/// Machine, oil and condition from the form.
fn setup(question: &Question, typed: &Typed) -> Result<Setup, Troubles> {
    question::basis::read(&basis(question, typed))
}

/// The answer to a question, from the form and the uploaded logs.
pub(super) fn answer(
    question: &'static Question,
    typed: &Typed,
    logs: &[u8],
    stop: &Stop,
) -> Result<Answer, Troubles> {
    if let Some(field) = awaited(question)
        && typed.get(&format!("{}_text", field.key)).is_none()
    {
        return Err(vec![Trouble::no_answer(NO_FILE, field.label)]);
    }
    let mut values = values(question, typed);
    values.stop = stop.clone();
    if question.key == "log" {
        let sent = Sent::of(typed, logs);
        let Some(log) = sent.log else {
            let expected = "a scan tool's log, as comma-separated values";
            return Err(vec![Trouble::no_answer(NO_FILE, expected)]);
        };
        let own = [(OWN_LOG, Some(log)), (OWN_LOG_AFTER, sent.after)];
        for ((name, bytes), key) in own.iter().zip(["log", "compare"]) {
            if bytes.is_some() {
                values.push(key, name);
            }
        }
        let stop = stop.clone();
        values.open = Some(Arc::new(move |name: &str| {
            let found = own.iter().find(|(own, _)| *own == name);
            let bytes = found.and_then(|(_, bytes)| bytes.clone());
            let bytes = bytes.ok_or(std::io::ErrorKind::NotFound)?;
            let reader = Watched(Cursor::new(bytes), stop.clone());
            Ok(Box::new(reader) as Box<dyn Read + Send>)
        }));
    }
    let none = || {
        vec![Trouble::no_answer(
            "no such question",
            "a question of the page",
        )]
    };
    tell::answer(question.key, &values).unwrap_or_else(|| Err(none()))
}

/// What messages call the uploaded log, and the log after a repair.
const OWN_LOG: &str = "your log";
const OWN_LOG_AFTER: &str = "your log after the repair";

/// The logs of a request. Uploaded logs arrive as one sequence of bytes, and the form gives the length of the first;
/// otherwise the logs are text in the form.
struct Sent {
    log: Option<Arc<[u8]>>,
    after: Option<Arc<[u8]>>,
}

impl Sent {
    fn of(typed: &Typed, logs: &[u8]) -> Self {
        let first = typed.get("first").and_then(|n| n.parse().ok());
        let (log, after) = logs.split_at(first.unwrap_or(logs.len()).min(logs.len()));
        let or = |sent: &[u8], name: &str| match (sent, typed.get(name)) {
            ([], Some(text)) => Some(Arc::from(text.as_bytes())),
            ([], None) => None,
            (sent, _) => Some(Arc::from(sent)),
        };
        Self {
            log: or(log, "log_text"),
            after: or(after, "compare_text"),
        }
    }
}

/// A reader of a log's bytes that fails once the computation is cancelled.
struct Watched(Cursor<Arc<[u8]>>, Stop);

impl Read for Watched {
    fn read(&mut self, room: &mut [u8]) -> std::io::Result<usize> {
        let stopped = |t: Trouble| std::io::Error::other(t.to_string());
        self.1.check().map_err(stopped)?;
        self.0.read(room)
    }
}
