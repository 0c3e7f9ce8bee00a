//! A table that is far longer than memory: it streams, in order, and every row is answered or named.

use crate::cli::fails;
use std::io::{BufRead, BufReader, BufWriter, Write};
use std::process::{Child, Command, Stdio};

/// Rows in the quick run; `OILWHEEL_ROWS=10000000` makes it the whole campaign.
fn rows() -> u64 {
    let rows = std::env::var("OILWHEEL_ROWS").ok();
    rows.and_then(|r| r.parse().ok()).unwrap_or(100_000)
}

/// Every so many rows one has a cell too few, and the next one too many.
const BAD: u64 = 1000;

/// Length of an `id`: long, so that a table of the quick run would be seen in memory.
const LONG: usize = 400;

/// The most memory that a process has had so far, MB; `None` where the system does not say.
fn most_memory(child: &Child) -> Option<f64> {
    let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    let kilobytes: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kilobytes / 1024.0)
}

fn written(number: u64) -> String {
    let speed = 500 + number % 2500;
    let id = format!("{number:0>LONG$}");
    match number % BAD {
        7 => format!("{id},{speed}\n"),
        8 => format!("{id},{speed},90,9\n"),
        _ => format!("{id},{speed},{}\n", 40 + number % 60),
    }
}

fn batch(more: &[&str]) -> Child {
    Command::new(assert_cmd::cargo::cargo_bin("oilwheel"))
        .args(["batch", "-", "--machine", "light-truck"])
        .args(["--give", "fan_speed"])
        .args(more)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// Writes a table of so many rows while its answers are read.
fn feed(child: &mut Child, rows: u64) -> std::thread::JoinHandle<()> {
    let mut sink = BufWriter::new(child.stdin.take().unwrap());
    std::thread::spawn(move || {
        // The reader may stop before the end of the table.
        let _ = sink.write_all(b"id,engine_speed_rpm,oil_temp_c\n");
        let _ = (0..rows).try_for_each(|k| sink.write_all(written(k).as_bytes()));
    })
}

/// Reads all answers to a table of so many rows; the most memory just before its end.
fn streamed(rows: u64) -> Option<f64> {
    let mut child = batch(&[]);
    let writer = feed(&mut child, rows);
    let mut answers = BufReader::new(child.stdout.take().unwrap()).lines();
    let head = answers.next().unwrap().unwrap();
    assert_eq!(head, "row,id,fan_speed_rpm,limited_by,error");
    let mut memory = None;
    for number in 0..rows {
        let line = answers.next();
        let line = line
            .unwrap_or_else(|| panic!("row {number} is lost"))
            .unwrap();
        assert!(
            line.starts_with(&format!("{number},{number:0>LONG$},")),
            "{line}"
        );
        let says = match number % BAD {
            7 => "2 cells; expected 3, as in the headings",
            8 => "4 cells; expected 3, as in the headings",
            _ => "",
        };
        let error = !line.ends_with(',');
        assert!(line.contains(says) && error != says.is_empty(), "{line}");
        // The last rows wait in the pipe: the process is still there.
        if number + 5000 == rows {
            memory = most_memory(&child);
        }
    }
    assert!(answers.next().is_none());
    writer.join().unwrap();
    assert!(child.wait().unwrap().success());
    memory
}

/// Every row is answered or named, in order, and a long table takes as much memory as a short one, within 16 MB (set before the
/// first run; the rows themselves are 40 MB in the quick run).
#[test]
fn a_table_longer_than_memory_streams_and_nothing_is_lost() {
    let (short, long) = (streamed(40_000), streamed(rows()));
    eprintln!(
        "most memory: {short:?} MB of 40000 rows, {long:?} MB of {}",
        rows()
    );
    if let (Some(short), Some(long)) = (short, long) {
        assert!(long < short + 16.0, "{short} MB, then {long} MB");
    }
}

/// A piece far inside a long table is that piece, and the rest of the table is not read.
#[test]
fn a_piece_of_a_long_table_is_answered_alone() {
    let rows = rows();
    let (from, to) = (rows / 2, rows / 2 + 3000);
    let mut child = batch(&["--rows", &format!("{from}..{to}")]);
    let writer = feed(&mut child, rows);
    let answers = BufReader::new(child.stdout.take().unwrap()).lines();
    let found: Vec<String> = answers.skip(1).map(Result::unwrap).collect();
    assert_eq!(found.len(), 3000);
    for (line, number) in found.iter().zip(from..) {
        assert!(
            line.starts_with(&format!("{number},{number:0>LONG$},")),
            "{line}"
        );
    }
    assert!(child.wait().unwrap().success());
    writer.join().unwrap();
}

/// What cannot be asked of a table, before a row is read.
#[test]
fn a_range_of_rows_that_is_reversed_is_named() {
    let said = fails(
        &[
            "batch",
            "guide/cases.csv",
            "--machine",
            "bus",
            "--rows",
            "9..3",
        ],
        2,
    );
    assert!(said.contains("the end above the start"), "{said}");
}
