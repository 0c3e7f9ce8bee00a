//! How fast a log is read and answered, in megabytes a second, beside splitting it into cells and no more.
//!
//! `cargo bench --bench log`; with a path behind `--write`, the log is written there for the peer in Python instead.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

use oilwheel::model::log::Choices;
use oilwheel::vary::log::digest;
use std::fmt::Write as _;
use std::hint::black_box;
use std::time::Instant;

/// Bytes of the log.
const LONG: usize = 100 << 20;
/// The best of so many runs counts.
const RUNS: usize = 5;

/// A log as scan tools write it: a wall clock, eleven columns, one signal new a row, the others repeated.
fn made() -> String {
    let mut text = String::with_capacity(LONG + 200);
    text.push_str("Time,Engine Coolant Temperature [°C],Intake Manifold Absolute Pressure [kPa],Engine RPM [RPM],Vehicle Speed Sensor [km/h],Intake Air Temperature [°C],Air Flow Rate from Mass Flow Sensor [g/s],Absolute Throttle Position [%],Ambient Air Temperature [°C],Accelerator Pedal Position D [%],Accelerator Pedal Position E [%]\n");
    let mut i = 0_u64;
    while text.len() < LONG {
        let ms = 7 * 3_600_000 + i * 90;
        let turn = |k: u64| (i + 10 - k) / 10;
        writeln!(
            text,
            "{:02}:{:02}:{:02}.{:03},{},{}.0,{}.0,{}.0,{}.0,{}.{:02},{}.5,{}.0,14.1,14.5",
            ms / 3_600_000 % 24,
            ms / 60_000 % 60,
            ms / 1000 % 60,
            ms % 1000,
            85 + turn(0) / 300 % 20,
            95 + turn(1) % 60,
            700 + turn(2) * 7 % 1500,
            turn(3) / 20 % 90,
            20 + turn(4) % 30,
            3 + turn(5) % 40,
            turn(5) % 100,
            80 + turn(6) % 8,
            18 + turn(7) / 5000 % 4,
        )
        .unwrap();
        i += 1;
    }
    text
}

fn best(mut work: impl FnMut()) -> f64 {
    (0..RUNS)
        .map(|_| {
            let begin = Instant::now();
            work();
            begin.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

fn main() {
    let text = made();
    let arguments: Vec<String> = std::env::args().collect();
    if let Some(path) = arguments
        .iter()
        .position(|a| a == "--write")
        .and_then(|i| arguments.get(i + 1))
    {
        std::fs::write(path, text).unwrap();
        return;
    }
    let megabytes = text.len() as f64 / 1e6;
    let levels = [373.15, 378.15, 383.15];
    let read = best(|| {
        let log = digest(
            || Ok(text.as_bytes()),
            "made",
            &Choices::default(),
            &levels,
            &mut |_| {},
        );
        assert_eq!(black_box(log.unwrap()).tally.rows_dropped, 0);
    });
    let split = best(|| {
        let mut reader = csv::ReaderBuilder::new()
            .quoting(false)
            .from_reader(text.as_bytes());
        let mut record = csv::ByteRecord::new();
        while reader.read_byte_record(&mut record).unwrap() {
            black_box(&record);
        }
    });
    println!(
        "a log of {megabytes:.0} MB: {:.0} MB/s read and answered, {:.0} MB/s split alone, {:.1} times",
        megabytes / read,
        megabytes / split,
        read / split
    );
}
