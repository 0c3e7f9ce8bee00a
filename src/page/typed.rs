//! What the user entered in a form.

use crate::quantity::Units;
use crate::trouble::Trouble;

/// Maximum number of boxes in a form.
const MOST_FIELDS: usize = 600;

/// The default machine of the page.
pub(super) const FIRST_MACHINE: &str = "light-truck";

/// What the user entered in a form: a text for the name of each box.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Typed {
    fields: Vec<(String, String)>,
    /// What the request has changed in the notebook, as messages.
    pub(super) done: Vec<String>,
}

impl Typed {
    /// Parses the text of a query or of a form body.
    pub fn read(text: &str) -> Result<Self, Trouble> {
        let mut fields = Vec::new();
        for pair in text.split('&').filter(|p| !p.is_empty()) {
            if fields.len() == MOST_FIELDS {
                let expected = format!("at most {MOST_FIELDS} fields");
                return Err(Trouble::input("a form with too many fields", expected));
            }
            let (name, value) = pair.split_once('=').unwrap_or((pair, ""));
            fields.push((decoded(name)?, decoded(value)?));
        }
        Ok(Self {
            fields,
            done: Vec::new(),
        })
    }

    /// The trimmed text of a box; `None` if it is empty.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.all(name).next()
    }

    /// The texts of all boxes with this name.
    pub(super) fn all(&self, name: &str) -> impl Iterator<Item = &str> {
        self.pairs()
            .filter(move |(n, _)| *n == name)
            .map(|(_, v)| v)
    }

    /// All texts that are not empty, each with the name of its box.
    pub(super) fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        let all = self.fields.iter().map(|(n, v)| (n.as_str(), v.trim()));
        all.filter(|(_, v)| !v.is_empty())
    }

    /// Replaces the text of a box.
    pub(super) fn set(&mut self, name: &str, words: &str) {
        self.fields.retain(|(n, _)| n != name);
        self.fields.push((name.into(), words.into()));
    }

    /// Clears all boxes whose names begin with `begin`.
    pub(super) fn forget(&mut self, begin: &str) {
        self.fields.retain(|(n, _)| !n.starts_with(begin));
    }

    /// The chosen unit system.
    pub fn units(&self) -> Units {
        match self.get("units") {
            Some("us") => Units::Us,
            _ => Units::Si,
        }
    }

    /// The library name of the machine; empty if the user entered the text of a machine file.
    pub(super) fn machine(&self) -> &str {
        match self.get("machine_text") {
            Some(_) => "",
            None => self.get("machine").unwrap_or(FIRST_MACHINE),
        }
    }

    /// Whether a long text such as a file was entered, which would not fit into a URL.
    pub(super) fn is_long(&self) -> bool {
        self.fields
            .iter()
            .any(|(name, text)| name.ends_with("_text") && !text.trim().is_empty())
    }

    /// Input for which `shown` has no box; the form passes it on in hidden fields.
    pub(super) fn others(&self, shown: &str) -> impl Iterator<Item = (&str, &str)> {
        let stands = move |name: &str| shown.contains(&format!(" name=\"{name}\""));
        let all = self.fields.iter().map(|(n, v)| (n.as_str(), v.as_str()));
        all.filter(move |(n, v)| !v.is_empty() && !stands(n))
    }
}

/// Decodes percent signs and plus signs of URL encoding; the result must be UTF-8 without control characters.
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
    Trouble::input(
        "a form that is not UTF-8 text",
        "the input of the page's own form",
    )
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
        assert_eq!(typed.get("set.pump.ratio"), Some("1.4"));
        assert_eq!(typed.machine(), FIRST_MACHINE);
    }

    #[test]
    fn what_no_browser_sends_is_refused() {
        for text in ["a=%ff", "a=%C3%28", "a=%4", "a=%zz", "%=1", "a=%00"] {
            assert!(Typed::read(text).is_err(), "{text}");
        }
        assert!(Typed::read(&"a=1&".repeat(MOST_FIELDS)).is_ok());
        assert!(Typed::read(&"a=1&".repeat(MOST_FIELDS + 1)).is_err());
    }
}
