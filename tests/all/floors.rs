//! The house has floors: a module imports only from floors below its own, and rooms on one floor never import each other.

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
    &["study"],
    &["report"],
    &["cli", "page"],
];

/// The room whose files do not import each other but for what they have in common.
const STUDY: &str = "study";
const COMMON: &[&str] = &["answer", "words"];

/// Macros stand at the root of the crate; the room that each is written in.
const MACROS: &[(&str, &str)] = &[("part", "input")];

/// A word or sign of a source text, with its line.
type Token = (String, usize);

/// The words and signs of a source text, without comments, texts and characters.
fn tokens(text: &str) -> Vec<Token> {
    let all: Vec<char> = text.chars().collect();
    let at = |i: usize| all.get(i).copied().unwrap_or('\0');
    let is_word = |c: char| c.is_alphanumeric() || c == '_';
    let (mut found, mut i, mut line) = (Vec::new(), 0, 1);
    while i < all.len() {
        let begin = i;
        let hashes = (i + 1..).take_while(|j| at(*j) == '#').count();
        match at(i) {
            '/' if at(i + 1) == '/' => i += (i..).take_while(|j| !"\n\0".contains(at(*j))).count(),
            '/' if at(i + 1) == '*' => {
                let mut depth = 0;
                loop {
                    match (at(i), at(i + 1)) {
                        ('/', '*') => (depth, i) = (depth + 1, i + 2),
                        ('*', '/') => (depth, i) = (depth - 1, i + 2),
                        _ => i += 1,
                    }
                    if depth == 0 || i >= all.len() {
                        break;
                    }
                }
            }
            'r' if at(i + 1 + hashes) == '"' && (i == 0 || !is_word(at(i - 1))) => {
                let end: Vec<char> = std::iter::once('"')
                    .chain("#".repeat(hashes).chars())
                    .collect();
                i += hashes + 2;
                while i < all.len() && !all[i..].starts_with(&end) {
                    i += 1;
                }
                i += end.len();
            }
            '"' => {
                i += 1;
                while i < all.len() && at(i) != '"' {
                    i += if at(i) == '\\' { 2 } else { 1 };
                }
                i += 1;
            }
            '\'' if at(i + 1) == '\\' => {
                i += 4 + (i + 3..).take_while(|j| at(*j) != '\'').count() - 1
            }
            '\'' if at(i + 2) == '\'' => i += 3,
            ':' if at(i + 1) == ':' => {
                found.push(("::".into(), line));
                i += 2;
            }
            c if is_word(c) => {
                i += (i..).take_while(|j| is_word(at(*j))).count();
                found.push((all[begin..i].iter().collect(), line));
            }
            c => {
                if !c.is_whitespace() {
                    found.push((c.into(), line));
                }
                i += 1;
            }
        }
        line += all[begin..i.min(all.len())]
            .iter()
            .filter(|c| **c == '\n')
            .count();
    }
    found
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
            let home = MACROS.iter().find(|m| is_macro && m.0 == name);
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

/// What a file of `src` breaks.
fn broken(file: &Path, text: &str) -> Vec<String> {
    let module = module(file);
    let own = &module[0];
    let Some(stands) = floor(own) else {
        return vec![format!("{}: a room on no floor", file.display())];
    };
    let low = |room: &str| floor(room).is_some_and(|floor| floor < stands);
    let study = |place: &[String]| place.get(1).filter(|_| place[0] == STUDY).cloned();
    let mine = study(&module);
    let another = |place: &[String]| {
        let (Some(mine), Some(other)) = (&mine, study(place)) else {
            return None;
        };
        let is_type = other.starts_with(|c: char| c.is_uppercase());
        (other != *mine && !is_type && !COMMON.contains(&other.as_str())).then_some(other)
    };
    let imports = places(&module, text);
    let faults = imports.into_iter().filter_map(|(place, line)| {
        let what = if place[0] == *own {
            format!("the study {} imports {}", mine.clone()?, another(&place)?)
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
        // One study from another; from itself and from what they have in common.
        (
            "study/why.rs",
            "use super::speed::Question;",
            vec!["the study why imports speed"],
        ),
        (
            "study/log/paces.rs",
            "use crate::study::heat;",
            vec!["the study log imports heat"],
        ),
        (
            "study/log/paces.rs",
            "use super::super::answer::Table; use super::typed::Typed; use crate::study::Answer;",
            vec![],
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
