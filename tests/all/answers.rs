//! Where an answer goes, and that it can be asked again and is what its schema says.

use assert_cmd::Command;
use oilwheel::question;
use serde_json::Value;
use std::path::PathBuf;

/// Every question with what may be asked of it. The files are of the repository.
const ASKED: &[&[&str]] = &[
    &["speed", "light-truck", "--measured", "640 rpm ± 10 rpm"],
    &["speed", "bus", "--units", "us", "--warm"],
    &[
        "why",
        "car",
        "--against-oil-temp",
        "0 C",
        "--measured",
        "900 rpm ± 9 rpm",
    ],
    &["why", "bus", "--against-machine", "car"],
    &["suspects", "light-truck", "models/readings/worn-pump.toml"],
    &["heat", "light-truck"],
    &["auxfan", "light-truck"],
    &["trip", "light-truck", "cold-start"],
    &[
        "sweep",
        "bus",
        "--over",
        "viscosity",
        "--from",
        "5 cSt",
        "--to",
        "1000 cSt",
        "--steps",
        "20",
    ],
    &[
        "sweep",
        "car",
        "--over",
        "oil-temp",
        "--from",
        "-20 C",
        "--to",
        "90 C",
        "--oils",
        "iso-vg-32,iso-vg-46",
    ],
    &[
        "flush",
        "light-truck",
        "--from-oil",
        "transmission-multi-vehicle",
    ],
    &[
        "sweep",
        "bus",
        "--over",
        "oil-temp",
        "--from",
        "20 C",
        "--to",
        "80 C",
        "--steps",
        "4",
        "--over-2",
        "engine-speed",
        "--from-2",
        "700 rpm",
        "--to-2",
        "900 rpm",
        "--steps-2",
        "3",
    ],
    &["batch", "guide/cases.csv", "--machine", "light-truck"],
    &[
        "size",
        "light-truck",
        "--want",
        "fan_speed >= 1200 rpm at engine 900 rpm",
        "--free",
        "pump.displacement = 6..30 cm3/rev",
        "--machines",
        "20",
    ],
    &["points", "guide/points.csv", "--part", "pump"],
    &["points", "guide/fan-curve.csv", "--part", "fan"],
    &["oil"],
    &["oil", "iso-vg-32", "--machine", "bus"],
    &[
        "oil",
        "iso-vg-32",
        "40C=60 cSt, 100C=9 cSt",
        "--share",
        "30 %",
    ],
    &["faults", "worn-pump"],
    &["sheet", "car"],
    &["notebook", "models/notebooks/unknown-truck.toml"],
    &["fit", "light-truck", "models/readings/well.toml"],
    &["check", "models/machines/off-road.toml"],
    &["check", "models/oils/iso-vg-46.toml"],
    &[],
];

fn oilwheel(args: &[&str]) -> Command {
    let mut command = Command::cargo_bin("oilwheel").unwrap();
    command
        .args(args)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("COLUMNS", "96");
    command
}

/// What a command prints.
fn said(args: &[&str]) -> String {
    let shown = oilwheel(args).assert().success();
    String::from_utf8(shown.get_output().stdout.clone()).unwrap()
}

/// What a command that must fail says on standard error.
fn refused(command: &mut Command) -> String {
    let shown = command.assert().code(2);
    assert!(shown.get_output().stdout.is_empty());
    String::from_utf8(shown.get_output().stderr.clone()).unwrap()
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

/// A fresh folder, removed at the end.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let name = format!("oilwheel-answers-{}-{name}", std::process::id());
        let path = std::env::temp_dir().join(name);
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn at(&self, name: &str) -> String {
        self.0.join(name).to_str().unwrap().to_string()
    }

    fn with(&self, name: &str, text: &str) -> String {
        std::fs::write(self.at(name), text).unwrap();
        self.at(name)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// The class file of a light truck under another name.
fn truck(name: &str) -> String {
    let text = said(&["new", "light-truck"]);
    let line = text.lines().find(|l| l.starts_with("name = ")).unwrap();
    text.replacen(line, &format!("name = \"{name}\""), 1)
}

/// Those of the commands that this build answers, with their JSON.
fn answers() -> impl Iterator<Item = (&'static [&'static str], String)> {
    ASKED.iter().map(|args| {
        let mut all = args.to_vec();
        all.push("--json");
        (*args, said(&all))
    })
}

#[test]
fn an_answer_can_be_asked_again_and_is_the_same() {
    let folder = Folder::new("run");
    for (args, first) in answers() {
        let path = folder.with("answer.json", &first);
        let mut again = vec!["run", &path, "--json"];
        again.extend(args.iter().skip_while(|a| **a != "--units").take(2));
        assert_eq!(said(&again), first, "{args:?}");
        let piped = oilwheel(&["run", "-", "--json"])
            .write_stdin(first.clone())
            .assert();
        let piped = String::from_utf8(piped.get_output().stdout.clone()).unwrap();
        assert_eq!(json(&piped)["case"], json(&first)["case"], "{args:?}");
    }
}

#[test]
fn an_answer_of_another_program_is_not_asked_again() {
    let folder = Folder::new("not-run");
    for (text, word) in [
        ("speed", "JSON"),
        ("{}", "`request`"),
        (
            r#"{"question": "sped", "request": {}}"#,
            "did you mean `speed`",
        ),
        (
            r#"{"question": "speed", "request": {"colour": "red"}}"#,
            "`colour`",
        ),
    ] {
        let path = folder.with("answer.json", text);
        let words = refused(&mut oilwheel(&["run", &path]));
        assert!(
            words.contains(word) && words.contains("answer.json"),
            "{words}"
        );
    }
}

/// What does not agree with a schema, by its place.
fn misfits(value: &Value, schema: &Value, place: &str, found: &mut Vec<String>) {
    let mut wrong = |what: String| found.push(format!("{place}: {what}"));
    if let Some(constant) = schema.get("const").filter(|c| *c != value) {
        wrong(format!("{value} is not {constant}"));
    }
    if schema["enum"]
        .as_array()
        .is_some_and(|all| !all.contains(value))
    {
        wrong(format!("{value} is none of {}", schema["enum"]));
    }
    let named = match value {
        Value::Null => "null",
        Value::Bool(_) => "boolean",
        Value::Number(n) if n.is_u64() => "integer",
        Value::Number(_) => "number",
        Value::String(_) => "string",
        Value::Array(_) => "array",
        Value::Object(_) => "object",
    };
    let fits = |t: &Value| t == named || (t == "number" && named == "integer");
    match &schema["type"] {
        Value::Array(types) if !types.iter().any(fits) => wrong(format!("{named} for {types:?}")),
        one @ Value::String(_) if !fits(one) => wrong(format!("{named} for {one}")),
        _ => {}
    }
    if let Some(any) = schema["anyOf"].as_array() {
        let tried = any.iter().map(|s| {
            let mut misfit = Vec::new();
            misfits(value, s, place, &mut misfit);
            misfit
        });
        found.extend(tried.min_by_key(Vec::len).unwrap_or_default());
    }
    for (i, item) in value.as_array().into_iter().flatten().enumerate() {
        misfits(item, &schema["items"], &format!("{place}[{i}]"), found);
    }
    for (key, inner) in value.as_object().into_iter().flatten() {
        let own = schema["properties"].get(key);
        let own = own.unwrap_or(&schema["additionalProperties"]);
        misfits(inner, own, &format!("{place}.{key}"), found);
    }
}

#[test]
fn every_answer_is_what_its_schema_says() {
    let mut seen = Vec::new();
    for (args, answer) in answers() {
        let answer = json(&answer);
        let key = answer["question"].as_str().unwrap();
        let schema = json(&said(&["schema", key]));
        let mut found = Vec::new();
        misfits(&answer, &schema, key, &mut found);
        assert!(found.is_empty(), "{args:?}: {found:#?}");
        let properties = schema["properties"].as_object().unwrap();
        for name in answer.as_object().unwrap().keys() {
            assert!(
                properties.contains_key(name),
                "{args:?}: {name} is not declared"
            );
        }
        for name in schema["required"].as_array().unwrap() {
            assert!(
                answer.get(name.as_str().unwrap()).is_some(),
                "{args:?}: {name}"
            );
        }
        for (name, one) in properties.iter().filter(|(n, _)| **n != "version") {
            let described = one.get("description").is_some() || one.get("const").is_some();
            assert!(
                described || name == "cautions",
                "{key}: {name} is not explained"
            );
        }
        seen.push(key.to_string());
    }
    // A log is asked about in the tests of logs.
    for question in question::ALL.iter().filter(|q| q.key != "log") {
        assert!(
            seen.iter().any(|k| k == question.key),
            "{} is not asked",
            question.key
        );
    }
}

#[test]
fn a_wrong_answer_does_not_pass_its_schema() {
    let schema = json(&said(&["schema", "speed"]));
    let answer = json(&said(&["speed", "car", "--json"]));
    for (key, wrong) in [
        ("question", Value::from("why")),
        ("fan_speed_rpm", Value::from("fast")),
        ("limited_by", Value::from("nobody")),
        ("cautions", Value::from(1)),
        ("series", serde_json::json!([{"fan_speed_rpm": true}])),
    ] {
        let mut answer = answer.clone();
        answer[key] = wrong;
        let mut found = Vec::new();
        misfits(&answer, &schema, "", &mut found);
        assert_eq!(found.len(), 1, "{key}: {found:?}");
    }
}

/// Of several pictures one is written alone; a number that is none is refused with what there is.
#[test]
fn one_picture_of_several_is_written_alone() {
    let picture = |which: &str| said(&["speed", "car", "--plot", "-", "--plot-which", which]);
    let (all, first) = (said(&["speed", "car", "--plot", "-"]), picture("1"));
    assert!(first.starts_with("<svg") && first.len() < all.len());
    assert_ne!(first, picture("2"));
    for (wrong, names) in [
        ("40", "the pictures, in order"),
        ("0", "--plot-which"),
        ("two", "--plot-which"),
    ] {
        let words = refused(&mut oilwheel(&[
            "speed",
            "car",
            "--plot",
            "-",
            "--plot-which",
            wrong,
        ]));
        assert!(words.contains(names), "{wrong}: {words}");
    }
    assert!(refused(&mut oilwheel(&["speed", "car", "--plot-which", "1"])).contains("--plot"));
}

#[test]
fn a_dash_is_standard_output() {
    let csv = said(&["speed", "car", "--csv", "-"]);
    assert!(csv.starts_with("engine_speed_rpm,fan_speed_rpm,"), "{csv}");
    assert!(csv.lines().all(|l| l.split(',').count() == 4));
    assert!(said(&["speed", "car", "--plot", "-"]).starts_with("<svg"));
    let page = said(&["speed", "car", "--report", "-"]);
    assert!(page.starts_with("<!DOCTYPE html>") && page.trim_end().ends_with("</html>"));
    assert!(
        !std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("-")
            .exists()
    );
    for beside in [["--json", "--csv"], ["--plot=-", "--csv"]] {
        let args = ["speed", "car", beside[0], beside[1], "-"];
        oilwheel(&args).assert().code(2);
    }
}

#[test]
fn a_dash_is_standard_input() {
    let text = truck("mine");
    for args in [
        &["check", "-"][..],
        &["speed", "-"],
        &["why", "-", "--against-oil", "iso-vg-46"],
    ] {
        let shown = oilwheel(args).write_stdin(text.clone()).assert().success();
        let shown = String::from_utf8(shown.get_output().stdout.clone()).unwrap();
        assert!(shown.contains("mine"), "{args:?}: {shown}");
    }
    let broken = text.replacen("[pump]", "[pumpp]", 1);
    let words = refused(oilwheel(&["check", "-"]).write_stdin(broken));
    assert!(
        words.contains("--> -:") && words.contains("^^^^^"),
        "{words}"
    );
}

#[test]
fn a_pipe_past_the_limit_is_refused_and_not_cut() {
    let text = truck("mine");
    for (bytes, fits) in [(1 << 20, true), ((1 << 20) + 1, false)] {
        let text = format!("{text}{}", "#".repeat(bytes - text.len()));
        let mut check = oilwheel(&["check", "-"]);
        if fits {
            check.write_stdin(text).assert().success();
        } else {
            let words = refused(check.write_stdin(text));
            assert!(words.contains("larger than 1 MB"), "{words}");
        }
    }
}

#[test]
fn an_output_spares_what_is_read_and_the_other_outputs() {
    let folder = Folder::new("spared");
    let machine = folder.with("mine.toml", &truck("mine"));
    let oil = folder.with("oil.toml", include_str!("../../models/oils/iso-vg-46.toml"));
    let answer = folder.with("answer.json", &said(&["speed", "car", "--json"]));
    let (csv, beside) = (folder.at("a.csv"), folder.at("./a.csv"));
    for args in [
        vec!["check", &machine, "--csv", &machine],
        vec!["speed", &machine, "--report", &machine],
        vec!["speed", "car", "--oil", &oil, "--csv", &oil],
        vec!["why", "car", "--against-oil", &oil, "--report", &oil],
        vec!["run", &answer, "--report", &answer],
        vec!["speed", "car", "--csv", &csv, "--report", &beside],
    ] {
        let words = refused(&mut oilwheel(&args));
        assert!(words.contains("different file"), "{args:?}: {words}");
    }
    assert_eq!(std::fs::read_to_string(&machine).unwrap(), truck("mine"));
    assert!(json(&std::fs::read_to_string(&answer).unwrap())["question"] == "speed");
    assert!(!std::path::Path::new(&csv).exists());
}

#[test]
fn a_picture_is_not_written_under_the_name_of_another_kind() {
    let folder = Folder::new("png");
    for name in ["x.png", "x", "x.svg.pdf"] {
        let words = refused(&mut oilwheel(&["speed", "car", "--plot", &folder.at(name)]));
        assert!(
            words.contains("--plot") && words.contains(".svg"),
            "{words}"
        );
        assert!(!std::path::Path::new(&folder.at(name)).exists());
    }
    said(&["speed", "car", "--plot", &folder.at("x.SVG")]);
}

#[test]
fn in_brief_there_are_verdict_cautions_and_next_step() {
    let args = [
        "speed",
        "light-truck",
        "--oil-temp",
        "-30 C",
        "--engine-speed",
        "raised",
    ];
    let whole = said(&args);
    let brief = said(&[&args[..], &["--brief"]].concat());
    let parts: Vec<&str> = brief.lines().filter(|l| l.starts_with("! ")).collect();
    assert_eq!(parts.len(), 1, "{brief}");
    assert!(brief.starts_with("The fan makes ") && brief.contains("What to check next: "));
    assert!(brief.lines().count() < 20 && whole.lines().count() > 60);
    let joined = whole.split_whitespace().collect::<Vec<_>>().join(" ");
    let verdict = brief.split("\n! ").next().unwrap();
    let verdict = verdict.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(joined.contains(&verdict), "{verdict}");
}

#[test]
fn colours_come_where_they_are_asked_for() {
    let machine = Folder::new("colour");
    let path = machine.with("mine.toml", &truck("mine").replacen("[pump]", "[pumpp]", 1));
    let coloured = |color: &[&str], no_color: Option<&str>| {
        let mut command = oilwheel(&[&["check", &path][..], color].concat());
        match no_color {
            Some(value) => command.env("NO_COLOR", value),
            None => command.env_remove("NO_COLOR"),
        };
        refused(&mut command).contains('\u{1b}')
    };
    // A test reads through a pipe, which is no terminal.
    assert!(!coloured(&[], None));
    assert!(coloured(&["--color", "always"], None));
    assert!(!coloured(&["--color", "never"], None));
    assert!(!coloured(&["--color", "auto"], Some("1")));
    assert!(refused(&mut oilwheel(&["check", &path, "--color", "red"])).contains("always"));
}

#[test]
fn what_the_command_line_cannot_read_is_json_too() {
    for args in [
        &["sped", "--json"][..],
        &["speed", "car", "--jsn", "--json"],
        &["speed", "--json"],
        &["sweep", "car", "--over", "oil-temp", "--json"],
        &["speed", "car", "--units", "cgs", "--json"],
    ] {
        let shown = oilwheel(args).assert().code(2);
        let root = json(&String::from_utf8(shown.get_output().stdout.clone()).unwrap());
        assert_eq!(root["format"], "oilwheel-troubles", "{args:?}");
        let found = root["troubles"][0]["found"].as_str().unwrap();
        assert!(
            !found.is_empty() && !found.starts_with("error"),
            "{args:?}: {found}"
        );
    }
    // Help is no mistake.
    assert!(said(&["speed", "--help", "--json"]).contains("Usage"));
}

#[test]
fn escape_codes_in_a_name_do_not_reach_the_terminal() {
    let folder = Folder::new("escape");
    let path = folder.with("mine.toml", &truck("\\u001b[31mred\\u0007"));
    for args in [
        &["check", &path][..],
        &["speed", &path],
        &["speed", &path, "--brief"],
    ] {
        let text = said(args);
        assert!(!text.contains(['\u{1b}', '\u{7}']), "{args:?}");
    }
    assert!(said(&["check", &path]).contains("␛[31mred"));
    let odd = folder.with("odd.toml", "name = \"\u{1b}[2J\"\n[pumpp]\n");
    let words = refused(&mut oilwheel(&["check", &odd]));
    assert!(!words.contains('\u{1b}'), "{words}");
    let words = refused(&mut oilwheel(&["speed", "\u{1b}[31mcar"]));
    assert!(
        !words.contains('\u{1b}') && words.contains("␛[31mcar"),
        "{words}"
    );
}
