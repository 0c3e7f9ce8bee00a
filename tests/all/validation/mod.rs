//! The laws against numbers from outside: `validation/` holds the sources, this the checks.
//!
//! Every check is a [`Row`] of the table in `validation/README.md`. `OILWHEEL_WRITE_VALIDATION=1` writes that table anew.

mod air;
mod causes;
mod electric;
mod faults;
mod flow;
mod heat;
mod log;
mod machine;
mod measured;
mod narrowed;
mod oil;
mod warm;

use oilwheel::law::Bound;
use std::collections::{BTreeSet, HashMap};
use std::path::{Path, PathBuf};

/// One check: how far ours may lie from the source, and how far it does.
pub struct Row {
    folder: &'static str,
    what: &'static str,
    /// Empty where deviations are relative, in per cent.
    unit: &'static str,
    allowed: f64,
    points: usize,
    worst: f64,
    misfit: bool,
    /// The same formula computed a second time: that checks the program, not the law.
    twice: bool,
}

impl Row {
    /// A check of relative deviation, in per cent.
    pub fn percent(folder: &'static str, what: &'static str, allowed: f64) -> Self {
        Self::absolute(folder, what, "", allowed)
    }

    /// A check of absolute deviation in a unit.
    pub fn absolute(
        folder: &'static str,
        what: &'static str,
        unit: &'static str,
        allowed: f64,
    ) -> Self {
        Self {
            folder,
            what,
            unit,
            allowed,
            points: 0,
            worst: 0.0,
            misfit: false,
            twice: false,
        }
    }

    /// Marks a check by the same form, computed twice: it has a table of its own.
    pub fn twice(mut self) -> Self {
        self.twice = true;
        self
    }

    /// Marks a disagreement that is known and explained in the folder's `source.md`; its bound still holds.
    pub fn misfit(mut self) -> Self {
        self.misfit = true;
        self
    }

    /// Takes in one point.
    pub fn see(&mut self, ours: f64, theirs: f64) {
        let scale = if self.unit.is_empty() {
            100.0 / theirs.abs()
        } else {
            1.0
        };
        let off = (ours - theirs).abs() * scale;
        self.points += 1;
        self.worst = if off.is_nan() {
            f64::INFINITY
        } else {
            self.worst.max(off)
        };
    }

    /// Takes in one thing that must be so.
    pub fn must(&mut self, so: bool) {
        self.see(f64::from(u8::from(!so)), 0.0);
    }

    fn verdict(&self) -> &'static str {
        match (self.points > 0 && self.worst <= self.allowed, self.misfit) {
            (true, true) => "misfit, known",
            (true, false) => "holds",
            (false, _) => "FAILS",
        }
    }

    fn line(&self) -> String {
        let number = |x: f64| match (x, self.unit) {
            (0.0, _) => "0".into(),
            (x, "") if x < 1e-9 => "< 10⁻⁹ %".into(),
            (x, "") => format!("{} %", two_digits(x)),
            (x, _) if x < 1e-9 => "< 10⁻⁹".into(),
            (x, unit) => format!("{} {unit}", two_digits(x)),
        };
        let Self {
            folder,
            what,
            points,
            ..
        } = self;
        let (allowed, worst) = (number(self.allowed), number(self.worst));
        format!(
            "| [{folder}]({folder}/source.md) | {what} | {points} | {allowed} | {worst} | {} |\n",
            self.verdict()
        )
    }
}

/// Two digits, plain where that is short.
fn two_digits(x: f64) -> String {
    let rounded: f64 = format!("{x:.1e}").parse().unwrap();
    if (1e-3..1e5).contains(&rounded) {
        format!("{rounded}")
    } else {
        format!("{x:.1e}")
    }
}

/// A table under `validation/`, one map a line.
pub struct Line(HashMap<String, String>);

impl Line {
    /// The number in a column.
    pub fn number(&self, column: &str) -> f64 {
        self.0[column]
            .parse()
            .unwrap_or_else(|e| panic!("{column}: {:?}: {e}", self.0[column]))
    }

    /// The number in a column, where there is one.
    pub fn some_number(&self, column: &str) -> Option<f64> {
        self.0[column].parse().ok()
    }

    /// The text in a column.
    pub fn text(&self, column: &str) -> &str {
        &self.0[column]
    }
}

/// Reads `validation/<folder>/<name>.csv`.
pub fn table(folder: &str, name: &str) -> Vec<Line> {
    let path = home().join(folder).join(format!("{name}.csv"));
    let mut reader = csv::Reader::from_path(&path).unwrap();
    reader
        .deserialize()
        .map(|line| Line(line.unwrap()))
        .collect()
}

/// Values across a range, both ends with them: by equal factors where it spans more than a decade, else equal steps.
pub fn across(bound: &Bound, steps: u32) -> impl Iterator<Item = f64> + use<> {
    let Bound { low, high, .. } = *bound;
    (0..=steps).map(move |i| {
        let x = f64::from(i) / f64::from(steps);
        let even = low > 0.0 && high > 10.0 * low;
        let value = if even {
            low * (high / low).powf(x)
        } else {
            low + (high - low) * x
        };
        value.clamp(low, high)
    })
}

fn home() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("validation")
}

fn rows() -> Vec<Row> {
    let mut rows: Vec<Row> = [
        oil::rows(),
        machine::rows(),
        measured::rows(),
        flow::rows(),
        air::rows(),
        heat::rows(),
        warm::rows(),
        electric::rows(),
        faults::rows(),
        log::rows(),
        causes::rows(),
        narrowed::rows(),
    ]
    .into_iter()
    .flatten()
    .collect();
    rows.sort_by_key(|row| (row.verdict() != "FAILS", !row.misfit, row.folder));
    rows
}

#[test]
fn every_check_holds() {
    let failing: String = rows()
        .iter()
        .filter(|r| r.verdict() == "FAILS")
        .map(Row::line)
        .collect();
    assert!(failing.is_empty(), "\n{failing}");
}

#[test]
fn the_table_is_current() {
    const MARK: &str = "<!-- table -->\n";
    let path = home().join("README.md");
    let text = std::fs::read_to_string(&path).unwrap();
    let (head, old) = text.split_once(MARK).unwrap();
    const HEAD: &str =
        "| source | check | points | allowed | worst | verdict |\n|---|---|---|---|---|---|\n";
    let of = |twice: bool| -> String {
        let rows = rows();
        rows.iter()
            .filter(|r| r.twice == twice)
            .map(Row::line)
            .collect()
    };
    let new = format!(
        "\n{HEAD}{}\n## Same form, computed twice\n\nThe same formula by another program or another way: that checks the program, not whether a machine follows \
         it.\n\n{HEAD}{}",
        of(false),
        of(true)
    );
    if std::env::var_os("OILWHEEL_WRITE_VALIDATION").is_some() {
        std::fs::write(&path, format!("{head}{MARK}{new}")).unwrap();
    } else {
        let lacks = |text: &str, line: &str| !text.lines().any(|l| l == line);
        let stale = old.lines().filter(|l| lacks(&new, l));
        let fresh = new.lines().filter(|l| lacks(old, l));
        let differing: Vec<_> = stale.chain(fresh).collect();
        assert!(
            old == new,
            "stale: OILWHEEL_WRITE_VALIDATION=1 cargo test --test all validation\n{}",
            differing.join("\n")
        );
    }
}

#[test]
fn every_law_and_every_source_is_checked() {
    let names = |folder: &Path| -> BTreeSet<String> {
        let entries = std::fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().file_name().into_string().unwrap());
        entries
            .filter(|n| n != "README.md" && n != "mod.rs")
            .map(|n| n.trim_end_matches(".rs").into())
            .collect()
    };
    let (folders, checked) = (
        names(&home()),
        rows().iter().map(|r| r.folder.to_string()).collect(),
    );
    assert_eq!(folders, checked, "folders and checks");
    for folder in &folders {
        assert!(
            home().join(folder).join("source.md").is_file(),
            "{folder} lacks source.md"
        );
        assert!(
            home().join(folder).join("data.csv").is_file(),
            "{folder} lacks data.csv"
        );
    }
    let laws = names(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/law"));
    assert!(laws.is_subset(&folders), "{:?}", laws.difference(&folders));
}

#[test]
fn a_check_can_fail() {
    let mut none = Row::percent("", "", 1.0);
    assert_eq!(none.verdict(), "FAILS", "no point seen");
    none.see(f64::NAN, 1.0);
    none.see(1.0, 1.0);
    assert_eq!(none.verdict(), "FAILS", "no number seen");
    let mut far = Row::absolute("", "", "K", 1.0).misfit();
    far.see(3.0, 1.0);
    assert_eq!(far.verdict(), "FAILS", "beyond the bound of a misfit");
}
