//! The house has floors: a module imports only from floors below its own, and rooms on one floor never import each other.

use proc_macro2::{Delimiter, TokenStream, TokenTree};
use std::path::{Path, PathBuf};

/// The floors from the ground up, each with its rooms. A room is a folder of `src`, whose files may import each other, or
/// one file.
const FLOORS: &[&[&str]] = &[
    &["trouble"],
    &["numeric", "quantity"],
    &["input"],
    &["law"],
    &["fluid"],
    &["part"],
    &["model"],
    &["balance"],
    &["fault", "probe"],
    &["vary"],
    &["question"],
    &["tell"],
    &["report"],
    &["cli", "page"],
];

/// The rooms whose members do not import each other, and what these have in common.
const APART: &[(&str, &[&str])] = &[
    (
        "question",
        // The notebook asks what `suspects` asks, of the readings since the last work; so does `noted` for other questions.
        &[
            "basis",
            "condition",
            "field",
            "find",
            "noted",
            "own",
            "readings",
            "state",
            "suspects",
            "values",
            "want",
            "weather",
        ],
    ),
    (
        "tell",
        &[
            "answer", "caution", "hazard", "readings", "suspects", "words",
        ],
    ),
];

/// Macros stand at the root of the crate; the room that each is written in.
const MACROS: &[(&str, &str)] = &[("part", "input"), ("outcome", "question")];

/// A word or sign of a source text, with its line.
type Token = (String, usize);

/// The words and signs of a source text, without comments, texts and characters.
fn tokens(text: &str) -> Vec<Token> {
    let mut found = Vec::new();
    flatten(text.parse().unwrap(), &mut found);
    found
}

fn flatten(stream: TokenStream, found: &mut Vec<Token>) {
    let mut colon = false;
    for tree in stream {
        let line = tree.span().start().line;
        let mut first_colon = false;
        match tree {
            TokenTree::Ident(word) => found.push((word.to_string(), line)),
            TokenTree::Punct(sign) if sign.as_char() == ':' && colon => {
                found.pop();
                found.push(("::".into(), line));
            }
            TokenTree::Punct(sign) => {
                first_colon = sign.as_char() == ':';
                found.push((sign.as_char().into(), line));
            }
            TokenTree::Group(group) => {
                let (open, close) = match group.delimiter() {
                    Delimiter::Brace => ("{", "}"),
                    Delimiter::Bracket => ("[", "]"),
                    Delimiter::Parenthesis | Delimiter::None => ("(", ")"),
                };
                found.push((open.into(), line));
                flatten(group.stream(), found);
                found.push((close.into(), group.span_close().end().line));
            }
            TokenTree::Literal(_) => {}
        }
        colon = first_colon;
    }
}

/// The paths of an import from `i` on, grouped ones one by one; gives where it ends.
fn tree(tokens: &[Token], mut i: usize, before: &[String], found: &mut Vec<Vec<String>>) -> usize {
    let mut path = before.to_vec();
    while let Some((word, _)) = tokens.get(i) {
        match word.as_str() {
            "::" => i += 1,
            "{" => {
                i += 1;
                while tokens.get(i).is_some_and(|t| t.0 != "}") {
                    i = tree(tokens, i, &path, found);
                    i += usize::from(tokens.get(i).is_some_and(|t| t.0 == ","));
                }
                return i + 1;
            }
            "as" => i += 2,
            "," | "}" | ";" => break,
            _ => {
                path.push(word.clone());
                i += 1;
            }
        }
    }
    found.push(path);
    i
}

/// The places that a source text names, from the room on, with the line; `module` is where the text stands: `["law", "blend"]`.
fn places(module: &[String], text: &str) -> Vec<(Vec<String>, usize)> {
    let tokens = tokens(text);
    let word = |i: usize| tokens.get(i).map_or("", |t| t.0.as_str());
    // Inline modules that are open, by the depth of their braces.
    let (mut inner, mut depth) = (Vec::new(), 0);
    let (mut found, mut i) = (Vec::new(), 0);
    while i < tokens.len() {
        let (begin, mut paths, mut is_macro) = (i, Vec::new(), false);
        match word(i) {
            "{" => depth += 1,
            "}" => {
                depth -= 1;
                inner.retain(|d| *d <= depth);
            }
            "mod" if word(i + 2) == "{" => inner.push(depth + 1),
            "use" if word(i + 1) != "<" => i = tree(&tokens, i + 1, &[], &mut paths),
            "crate" | "super" if word(i + 1) == "::" && (i == 0 || word(i - 1) != "::") => {
                let mut path = vec![word(i).to_string()];
                while word(i + 1) == "::" && word(i + 2).starts_with(|c: char| c.is_alphabetic()) {
                    path.push(word(i + 2).to_string());
                    i += 2;
                }
                is_macro = word(i + 1) == "!";
                paths.push(path);
            }
            _ => {}
        }
        for path in paths {
            let mut stands: Vec<&str> = match path[0].as_str() {
                "crate" => Vec::new(),
                "super" | "self" => {
                    let inside = inner.iter().map(|_| "inside");
                    module.iter().map(String::as_str).chain(inside).collect()
                }
                _ => continue,
            };
            for step in &path {
                match step.as_str() {
                    "crate" | "self" => {}
                    "super" => drop(stands.pop()),
                    other => stands.push(other),
                }
            }
            let name = stands.first().copied().unwrap_or("the whole crate");
            let by_macro = is_macro || floor(name).is_none();
            let home = MACROS.iter().find(|m| by_macro && m.0 == name);
            let room = home.map_or(name, |m| m.1);
            let inside = stands.iter().skip(1);
            let place = std::iter::once(&room).chain(inside);
            let place = place.map(|s| s.to_string()).collect();
            found.push((place, tokens[begin].1));
        }
        i += 1;
    }
    found
}

/// Where a file of `src` stands: `law/blend.rs` is `["law", "blend"]`, `law/mod.rs` is `["law"]`.
fn module(file: &Path) -> Vec<String> {
    let words = file.with_extension("");
    let words = words.iter().map(|w| w.to_string_lossy().into_owned());
    words.filter(|w| w != "mod").collect()
}

fn floor(room: &str) -> Option<usize> {
    FLOORS.iter().position(|rooms| rooms.contains(&room))
}

/// The member of a room whose members stay apart, if a place is in one: a file or a folder there.
fn member(place: &[String]) -> Option<String> {
    let (room, common) = APART.iter().find(|(room, _)| *room == place[0])?;
    let name = place
        .get(1)
        .filter(|name| !common.contains(&name.as_str()))?;
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src").join(room);
    let is_there = folder.join(format!("{name}.rs")).exists() || folder.join(name).is_dir();
    is_there.then(|| name.clone())
}

/// What a file of `src` breaks.
fn broken(file: &Path, text: &str) -> Vec<String> {
    let module = module(file);
    let own = &module[0];
    let Some(stands) = floor(own) else {
        return vec![format!("{}: a room on no floor", file.display())];
    };
    let low = |room: &str| floor(room).is_some_and(|floor| floor < stands);
    let mine = member(&module);
    let another = |place: &[String]| member(place).filter(|other| Some(other) != mine.as_ref());
    let imports = places(&module, text);
    let faults = imports.into_iter().filter_map(|(place, line)| {
        let what = if place[0] == *own {
            format!("{own} {} imports {}", mine.clone()?, another(&place)?)
        } else if low(&place[0]) {
            return None;
        } else {
            format!("{own} imports {}", place[0])
        };
        Some(format!("{}:{line}: {what}", file.display()))
    });
    faults.collect()
}

/// All Rust files under a folder.
fn files(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path());
    entries
        .flat_map(|path| match path.is_dir() {
            true => files(&path),
            false => vec![path],
        })
        .filter(|path| path.extension().is_some_and(|e| e == "rs"))
        .collect()
}

#[test]
fn modules_import_from_floors_below_only() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut faults = Vec::new();
    let mut seen = 0;
    for path in files(&src) {
        let file = path.strip_prefix(&src).unwrap();
        if file == Path::new("main.rs") || file == Path::new("lib.rs") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        seen += places(&module(file), &text).len();
        faults.extend(broken(file, &text));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(seen > 200, "the parser finds {seen} imports only");
}

#[test]
fn planted_violations_are_caught() {
    let lines = |file: &str, text: &str| -> Vec<String> {
        let faults = broken(Path::new(file), text);
        faults
            .iter()
            .map(|f| f.split(": ").last().unwrap().to_string())
            .collect()
    };
    for (file, text, faults) in [
        // Downwards, inside the room, from elsewhere.
        (
            "balance/solve.rs",
            "use crate::part::Pump; use super::ready::Ready; use std::fmt;",
            vec![],
        ),
        ("part/pump.rs", "crate::part! { Pump {} }", vec![]),
        (
            "law/blend.rs",
            "mod tests { use super::super::check; use super::*; }",
            vec![],
        ),
        (
            "law/blend.rs",
            "// use crate::cli::run;\nconst A: &str = \"crate::cli\"; /* crate::cli */",
            vec![],
        ),
        (
            "law/blend.rs",
            "const A: &str = r#\"\" use crate::cli;\"#; fn f<'a>(c: &'a char) -> bool { *c == '\"' }",
            vec![],
        ),
        // Upwards: plain, grouped, renamed, by super, in an expression, in a macro, in a test.
        (
            "law/blend.rs",
            "use crate::part::Pump;",
            vec!["law imports part"],
        ),
        (
            "law/blend.rs",
            "use crate::{numeric::Real, fluid::{oil::Oil, air}};",
            vec!["law imports fluid"; 2],
        ),
        (
            "law/blend.rs",
            "pub use crate::model as m;",
            vec!["law imports model"],
        ),
        (
            "law/blend.rs",
            "use super::super::balance::solve;",
            vec!["law imports balance"],
        ),
        (
            "law/mod.rs",
            "use super::balance::solve;",
            vec!["law imports balance"],
        ),
        (
            "input.rs",
            "use super::{part::Pump, trouble::Trouble};",
            vec!["input imports part"],
        ),
        (
            "law/blend.rs",
            "fn f() { crate::cli::run(); }",
            vec!["law imports cli"],
        ),
        (
            "numeric/mod.rs",
            "macro_rules! m { () => { $crate::input::Field } }",
            vec!["numeric imports input"],
        ),
        (
            "trouble.rs",
            "crate::part! {}",
            vec!["trouble imports input"],
        ),
        (
            "law/blend.rs",
            "mod tests { mod deep { use super::super::super::super::part; } }",
            vec!["law imports part"],
        ),
        (
            "law/blend.rs",
            "mod tests {} use super::super::part;",
            vec!["law imports part"],
        ),
        (
            "law/blend.rs",
            "fn f() -> char { '\\'' } use crate::part;",
            vec!["law imports part"],
        ),
        ("law/blend.rs", "use crate::*;", vec!["law imports *"]),
        // One question from another; from itself and from what they have in common.
        (
            "question/why.rs",
            "use super::speed::MEASURED;",
            vec!["question why imports speed"],
        ),
        (
            "tell/log/paces.rs",
            "use crate::tell::speed;",
            vec!["tell log imports speed"],
        ),
        (
            "tell/speed.rs",
            "use super::answer::Table; use super::words; use crate::tell::Answer; use crate::question::speed::Found;",
            vec![],
        ),
        (
            "question/speed.rs",
            "use crate::tell::Presentation;",
            vec!["question imports tell"],
        ),
        // Sideways, and a room that nobody put on a floor.
        (
            "fault/mod.rs",
            "use crate::probe::Probe;",
            vec!["fault imports probe"],
        ),
        (
            "quantity/show.rs",
            "use crate::numeric::Real;",
            vec!["quantity imports numeric"],
        ),
        ("attic/mod.rs", "", vec!["a room on no floor"]),
    ] {
        assert_eq!(lines(file, text), faults, "{file}: {text}");
    }
}
