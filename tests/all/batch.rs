//! Many cases at once are answered as one by one, and nothing is lost.

use crate::cli::{fails, json};
use assert_cmd::Command;
use serde_json::Value;
use std::collections::HashMap;

/// What `batch` prints for a table, and what it says on standard error.
fn batch(table: &str, more: &[&str]) -> (String, String) {
    run(table, more, "2")
}

fn run(table: &str, more: &[&str], threads: &str) -> (String, String) {
    let mut command = Command::cargo_bin("oilwheel").unwrap();
    command
        .args(["batch", "-"])
        .args(more)
        .env("RAYON_NUM_THREADS", threads);
    let output = command
        .write_stdin(table)
        .assert()
        .success()
        .get_output()
        .clone();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr))
}

/// The rows of a table of answers, by column.
fn rows(text: &str) -> Vec<HashMap<String, String>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader.deserialize().map(Result::unwrap).collect()
}

/// A table of cases that differ in all that a column may hold, and the flags of `speed` for each.
const CASES: [(&str, &[&str]); 6] = [
    (
        "light-truck,,700 rpm,80 C,,,",
        &[
            "light-truck",
            "--engine-speed",
            "700 rpm",
            "--oil-temp",
            "80 C",
        ],
    ),
    (
        "light-truck,iso-vg-46,raised,-10 C,50 %,,",
        &[
            "light-truck",
            "--oil",
            "iso-vg-46",
            "--engine-speed",
            "raised",
            "--oil-temp",
            "-10 C",
            "--command",
            "50 %",
        ],
    ),
    ("bus,,,,,pump-slip,", &["bus", "--set", "pump.slip=2e-8"]),
    (
        "car,,full,,,,true",
        &["car", "--engine-speed", "full", "--unplugged"],
    ),
    (
        "off-road,,1500 rpm,,least,,",
        &[
            "off-road",
            "--engine-speed",
            "1500 rpm",
            "--command",
            "least",
        ],
    ),
    (
        "light-truck,,900 rpm,,,worn,",
        &[
            "light-truck",
            "--engine-speed",
            "900 rpm",
            "--with",
            "worn-pump=0.4",
            "--with",
            "belt-slip=0.3",
        ],
    ),
];

fn table() -> String {
    let mut text =
        "machine,oil,engine_speed,oil_temp,command,pump.slip,with,unplugged\n".to_string();
    for (row, _) in CASES {
        let cells: Vec<&str> = row.split(',').collect();
        let slip = if cells[5] == "pump-slip" { "2e-8" } else { "" };
        let with = if cells[5] == "worn" {
            "worn-pump=0.4; belt-slip=30 %"
        } else {
            ""
        };
        text.push_str(&[&cells[..5], &[slip, with, cells[6]]].concat().join(","));
        text.push('\n');
    }
    text
}

/// To the last digit, bands too.
#[test]
fn a_row_is_answered_as_it_is_alone() {
    let (text, said) = batch(&table(), &["--give", "all", "--bands"]);
    assert!(said.contains("6 rows answered"), "{said}");
    let rows = rows(&text);
    assert_eq!(rows.len(), CASES.len());
    for (row, (_, args)) in rows.iter().zip(CASES) {
        let alone = json(&[&["speed"], args].concat());
        let keys = row
            .keys()
            .filter(|k| !["row", "error", "limited_by"].contains(&k.as_str()));
        let mut seen = 0;
        for key in keys {
            let one: f64 = row[key].parse().unwrap();
            assert_eq!(Some(one), alone[key].as_f64(), "{args:?}: {key}");
            seen += 1;
        }
        assert!(
            seen > 25 && alone["limited_by"] == row["limited_by"].as_str(),
            "{args:?}"
        );
    }
}

#[test]
fn json_lines_are_the_same_and_threads_change_nothing() {
    let lines = "{\"id\": 7, \"engine_speed_rpm\": 900, \"oil_temp\": \"60 C\", \"with\": [\"worn-pump=0.4\"]}\n\n{\"command\": null}\n";
    let table = "id,engine_speed_rpm,oil_temp,with\n7,900,60 C,worn-pump=0.4\n,,,\n";
    let flags = ["--machine", "light-truck", "--format", "csv"];
    assert_eq!(batch(lines, &flags).0, batch(table, &flags).0);
    let (answers, _) = batch(table, &["--machine", "light-truck", "--format", "lines"]);
    let first: Value = serde_json::from_str(answers.lines().next().unwrap()).unwrap();
    assert_eq!(
        (first["row"].as_u64(), first["id"].as_str()),
        (Some(0), Some("7"))
    );
    assert!(first["fan_speed_rpm"].is_number() && first.get("error").is_none());
    let many: String = (0..2000).map(|i| format!("{}\n", 500 + i)).collect();
    let many = format!("engine_speed_rpm\n{many}");
    assert_eq!(
        run(&many, &["--machine", "car"], "1").0,
        run(&many, &["--machine", "car"], "3").0
    );
}

#[test]
fn pieces_of_a_table_are_the_whole() {
    let body: String = (0..50).map(|i| format!("{}\n", 600 + 10 * i)).collect();
    let table = format!("engine_speed_rpm\n{body}");
    let flags = |rows: &'static str| ["--machine", "bus", "--rows", rows];
    let body = |text: String| text.lines().skip(1).map(String::from).collect::<Vec<_>>();
    let whole = body(batch(&table, &["--machine", "bus"]).0);
    let pieces = ["0..17", "17..40", "40..1000"].map(|rows| body(batch(&table, &flags(rows)).0));
    assert_eq!(pieces.concat(), whole);
    assert!(whole[49].starts_with("49,"));
    for (rows, says) in [
        ("9..3", "the end above the start"),
        ("x", "start..end"),
        ("60..70", "only 50 rows"),
    ] {
        let mut command = Command::cargo_bin("oilwheel").unwrap();
        command
            .args(["batch", "-"])
            .args(["--machine", "bus", "--rows", rows]);
        let shown = command.write_stdin(table.clone()).assert().code(2);
        let said = String::from_utf8(shown.get_output().stderr.clone()).unwrap();
        assert!(said.contains(says) && said.contains("--rows"), "{said}");
    }
}

#[test]
fn what_is_wrong_stands_in_its_row_and_nothing_is_lost() {
    let table = "id,machine,engine_speed,oil_temp,pump.slip,with\n\
        good,light-truck,700 rpm,80 C,,\n\
        cells,light-truck,700 rpm\n\
        more,light-truck,700 rpm,80 C,,,9\n\
        unit,light-truck,700,80 C,,\n\
        range,light-truck,700 rpm,80 C,7,\n\
        machine,lorry,700 rpm,80 C,,\n\
        part,bus,700 rpm,80 C,,belt-slip=0.3\n\
        fault,light-truck,700 rpm,80 C,,worn-pmp=0.3\n\
        twice,light-truck,700 rpm,80 C,,worn-pump=0.3;worn-pump=0.2\n\
        \"a, \"\"b\"\"\",light-truck,idle,80 C,,\n";
    let (text, said) = batch(table, &[]);
    assert!(
        said.contains("2 of 10 rows answered; 8 refused") && said.contains("row 1,"),
        "{said}"
    );
    let rows = rows(&text);
    assert_eq!(rows.len(), 10);
    assert_eq!(rows[9]["id"], "a, \"b\"");
    for (row, says) in rows.iter().zip([
        "",
        "3 cells; expected 6",
        "7 cells; expected 6",
        "engine_speed: unit missing",
        "pump.slip: 7 is too high",
        "no machine called `lorry`",
        "no [belt]",
        "did you mean `worn-pump`",
        "twice",
        "",
    ]) {
        assert!(
            row["error"].contains(says) && row["error"].is_empty() == says.is_empty(),
            "{row:?}"
        );
        assert_eq!(row["fan_speed_rpm"].is_empty(), !says.is_empty(), "{row:?}");
    }
}

#[test]
fn a_head_that_cannot_be_understood_is_refused() {
    let folder = std::env::temp_dir().join(format!("oilwheel-batch-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("cases.csv");
    let path = path.to_str().unwrap();
    for (table, says) in [
        ("engine_sped,oil_temp\n1,2\n", "did you mean `engine_speed`"),
        (
            "engine_speed,engine_speed_rpm\n1,2\n",
            "another column also sets",
        ),
        ("", "the input is empty"),
    ] {
        std::fs::write(path, table).unwrap();
        let said = fails(&["batch", path, "--machine", "bus"], 2);
        assert!(said.contains(says) && said.contains("cases.csv"), "{said}");
    }
    assert!(fails(&["batch", "/nowhere.csv", "--machine", "bus"], 2).contains("/nowhere.csv"));
    std::fs::write(path, "oil_temp_c\n80\n").unwrap();
    let said = fails(&["batch", path, "--machine", "bus", "--out", path], 2);
    assert!(said.contains("is also an input file"), "{said}");
    let answer = json(&["batch", path, "--machine", "bus"]);
    assert!(
        answer["answers"]
            .as_str()
            .unwrap()
            .starts_with("row,fan_speed_rpm")
    );
    std::fs::remove_dir_all(folder).unwrap();
}

/// The example of the guide runs as it stands, with the program on the path.
#[test]
fn from_python_in_ten_lines() {
    let guide = include_str!("../../guide/batch.md");
    let script = guide
        .split("```python\n")
        .nth(1)
        .unwrap()
        .split("```")
        .next()
        .unwrap();
    assert!(script.lines().filter(|l| !l.is_empty()).count() <= 11);
    let program = assert_cmd::cargo::cargo_bin("oilwheel");
    let mut paths = vec![program.parent().unwrap().to_path_buf()];
    paths.extend(std::env::split_paths(
        &std::env::var_os("PATH").unwrap_or_default(),
    ));
    let mut command = std::process::Command::new("python3");
    command
        .args(["-c", script])
        .env("PATH", std::env::join_paths(paths).unwrap());
    let Ok(output) = command.output() else {
        eprintln!("no python3 here: skipped");
        return;
    };
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let said = String::from_utf8(output.stdout).unwrap();
    let lines: Vec<&str> = said.lines().collect();
    assert_eq!(lines.len(), 6, "{said}");
    assert!(
        lines[0].starts_with("at 600 ") && lines[5].starts_with("at 2600 "),
        "{said}"
    );
}
