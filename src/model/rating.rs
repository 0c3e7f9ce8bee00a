//! Reads the rating points of a core from a table of measured heat rejection.

use super::cells::{Cells, Line};
use super::read::Reader;
use crate::quantity::{Kind, Units, parse};
use crate::trouble::{Trouble, Troubles, near};

/// One measured heat-rejection point of a core, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatingPoint {
    /// Air speed at the core's face, m/s.
    pub air_speed: f64,
    /// Coolant flow, m³/s.
    pub coolant_flow: f64,
    /// Coolant temperature at the inlet, K.
    pub coolant_temp: f64,
    /// Air temperature at the inlet, K.
    pub air_temp: f64,
    /// Heat rejected, W.
    pub heat: f64,
}

/// A column of a rating table: its heading, kind of quantity, minimum, maximum, and an example.
type RatingColumn = (&'static str, Kind, f64, f64, &'static str);

/// The columns of a rating table.
pub const RATING_COLUMNS: [RatingColumn; 5] = [
    ("air_speed", Kind::AirSpeed, 0.1, 30.0, "5 m/s"),
    ("coolant_flow", Kind::Flow, 1e-5, 0.1, "120 L/min"),
    ("coolant_temp", Kind::Temperature, 263.15, 423.15, "95 °C"),
    ("air_temp", Kind::Temperature, 223.15, 373.15, "35 °C"),
    ("heat", Kind::Power, 10.0, 5e6, "62 kW"),
];

/// Maximum number of points.
const MOST: usize = 1000;

impl RatingPoint {
    /// Parses a CSV text with headings and a unit in every cell; `source` is the table's name in messages. Reports all
    /// errors at once.
    ///
    /// `carried` gives the maximum heat, W, that air and coolant can carry at a point, if known.
    pub fn all_from_text(
        source: &str,
        text: &str,
        carried: &dyn Fn(&Self) -> Option<f64>,
    ) -> Result<Vec<Self>, Troubles> {
        let mut reader = Reader::new(source, text);
        let points = read(&mut reader, text, carried);
        if reader.troubles.is_empty() && !(2..=MOST).contains(&points.len()) {
            let found = match points.len() {
                0 => "no rating points".to_string(),
                1 => "a single rating point".to_string(),
                n => format!("{n} rating points"),
            };
            let expected = format!("2 to {MOST} points, so that one can check the others");
            let trouble = Trouble::input(found, expected)
                .hint("a single point belongs in the machine file: core.rated_heat and rated_difference, or conductance, with rated_air_speed and rated_coolant_flow");
            reader.troubles.push(trouble.at(source));
        }
        if reader.troubles.is_empty() {
            Ok(points)
        } else {
            Err(reader.troubles)
        }
    }
}

/// Index of the column with the heat.
const HEAT: usize = 4;

fn read(
    reader: &mut Reader<'_>,
    text: &str,
    carried: &dyn Fn(&RatingPoint) -> Option<f64>,
) -> Vec<RatingPoint> {
    let Some(table) = Cells::read(text) else {
        reader.note(Trouble::input("no rating points", columns()), 0..0);
        return Vec::new();
    };
    let names = RATING_COLUMNS.map(|c| c.0);
    for head in &table.head.cells {
        if !names.contains(&&*head.words) {
            let trouble = Trouble::input(format!("unknown column `{}`", head.words), columns());
            let hint = near(&head.words, names).map(|k| format!("did you mean `{k}`?"));
            reader.note(trouble.hint(hint.unwrap_or_default()), head.span.clone());
        }
    }
    let places = names.map(|name| table.head.cells.iter().position(|h| h.words == name));
    for (name, _) in names
        .iter()
        .zip(places)
        .filter(|(_, place)| place.is_none())
    {
        let trouble = Trouble::input(
            format!("the rating table has no column `{name}`"),
            columns(),
        );
        reader.note(trouble, table.head.span.clone());
    }
    if !reader.troubles.is_empty() {
        return Vec::new();
    }
    let mut points = Vec::new();
    for row in &table.rows {
        if let Err(trouble) = row.fits(table.head.cells.len()) {
            reader.note(trouble, row.span.clone());
            continue;
        }
        points.push(read_row(reader, row, places, carried));
    }
    points
}

/// Reads one rating point; `places` gives the cell index of each column.
fn read_row(
    reader: &mut Reader<'_>,
    row: &Line<'_>,
    places: [Option<usize>; RATING_COLUMNS.len()],
    carried: &dyn Fn(&RatingPoint) -> Option<f64>,
) -> RatingPoint {
    let mut values = [f64::NAN; RATING_COLUMNS.len()];
    for (slot, (column, place)) in values.iter_mut().zip(RATING_COLUMNS.iter().zip(places)) {
        let place = place.unwrap_or(0);
        match value(column, row.words(place)) {
            Ok(value) => *slot = value,
            Err(trouble) => {
                let cell = row.cells.get(place);
                reader.note(trouble, cell.map_or(row.span.clone(), |c| c.span.clone()));
            }
        }
    }
    let [air_speed, coolant_flow, coolant_temp, air_temp, heat] = values;
    if coolant_temp - air_temp < 1.0 {
        let trouble = Trouble::input(
            "the coolant is less than 1 K warmer than the air",
            "coolant that is warmer than the air",
        );
        reader.note(trouble, row.span.clone());
    }
    let warmer = coolant_temp > air_temp;
    let point = RatingPoint {
        air_speed,
        coolant_flow,
        coolant_temp,
        air_temp,
        heat,
    };
    if let Some(most) = carried(&point).filter(|most| warmer && heat > *most) {
        let show = |w| Units::Si.show(Kind::Power, w);
        let found = format!("the heat is {}", show(heat));
        let expected = format!(
            "at most {}; this air and coolant can carry no more",
            show(most)
        );
        let cell = row.cells.get(places[HEAT].unwrap_or(0));
        let trouble = Trouble::input(found, expected)
            .hint("is core.face the face area of the rated core, and air_speed the air speed at its face?");
        reader.note(trouble, cell.map_or(row.span.clone(), |c| c.span.clone()));
    }
    point
}

/// Parses a cell as a number in SI, and checks that it is within the range of its column.
fn value(&(name, kind, low, high, example): &RatingColumn, words: &str) -> Result<f64, Trouble> {
    if words.is_empty() {
        return Err(Trouble::input(
            format!("no value for `{name}`"),
            format!("a value such as {example}"),
        ));
    }
    let value = parse(kind, words)?.value;
    if (low..=high).contains(&value) {
        return Ok(value);
    }
    let show = |v| Units::Si.show(kind, v);
    let found = format!("{name}: {} is out of range", show(value));
    let expected = format!("{} to {}", show(low), show(high));
    Err(Trouble::input(found, expected).hint("is the unit right?"))
}

/// Describes the columns in words, for error messages.
fn columns() -> String {
    format!(
        "columns {}, with a unit in every cell",
        RATING_COLUMNS.map(|c| c.0).join(", ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const TWO: &str = "air_speed,coolant_flow,coolant_temp,air_temp,heat\n5 m/s,120 L/min,95 °C,35 °C,62 kW\n3 m/s,120 L/min,95 °C,35 °C,45 kW\n";

    fn says(text: &str) -> String {
        let all = RatingPoint::all_from_text("t", text, &|_| None).unwrap_err();
        let all: Vec<String> = all.iter().map(|t| t.to_string()).collect();
        all.join("\n")
    }

    #[test]
    fn reads_a_table_and_tells_every_mistake() {
        let points = RatingPoint::all_from_text("t", TWO, &|_| None).unwrap();
        assert_eq!(points.len(), 2);
        assert!((points[0].coolant_flow - 2e-3).abs() < 1e-12);
        assert!((points[1].heat - 45e3).abs() < 1e-9);
        let semicolons = TWO.replace(',', ";");
        assert_eq!(
            RatingPoint::all_from_text("t", &semicolons, &|_| None).unwrap(),
            points
        );
        assert!(says("").contains("no rating points"));
        let one: Vec<&str> = TWO.lines().take(2).collect();
        assert!(says(&one.join("\n")).contains("a single rating point"));
        assert!(says(&TWO.replace("heat", "heet")).contains("did you mean `heat`?"));
        let bad = TWO.replace("62 kW", "62 bar").replace("3 m/s", "3000 m/s");
        assert!(says(&bad).contains("bar") && says(&bad).contains("air_speed: 3000 m/s"));
        assert!(says(&TWO.replace("35 °C", "99 °C")).contains("less than 1 K warmer"));
    }
}
