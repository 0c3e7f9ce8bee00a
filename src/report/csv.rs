//! Writes the series of values that an answer's pictures show as comma-separated values.

use crate::tell::{Answer, Block};

/// The answer's series as CSV, headings first; its first table if it has no series, empty if it has neither.
pub fn csv(answer: &Answer) -> String {
    let series = &answer.series;
    let first = answer.blocks.iter().find_map(|block| match block {
        Block::Table(t) if !t.heads.is_empty() || !t.rows.is_empty() => Some((&t.heads, &t.rows)),
        _ => None,
    });
    let own = (!series.heads.is_empty()).then_some((&series.heads, &series.rows));
    let mut writer = ::csv::WriterBuilder::new()
        .flexible(true)
        .from_writer(Vec::new());
    if let Some((heads, rows)) = own.or(first) {
        for record in std::iter::once(heads).chain(rows) {
            // Writing to memory does not fail, so the result is ignored.
            let _ = writer.write_record(record);
        }
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question::Series;
    use crate::tell::Table;

    fn read(text: &str) -> Vec<Vec<String>> {
        let mut reader = ::csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .from_reader(text.as_bytes());
        reader
            .records()
            .map(|r| r.unwrap().iter().map(str::to_owned).collect())
            .collect()
    }

    #[test]
    fn what_is_written_is_read_back() {
        let series = Series {
            heads: vec!["oil_temperature_c".into(), "limited by, in words".into()],
            rows: vec![
                vec!["-20".into(), "inlet, \"cold\"\nstart".into()],
                vec!["80".into(), String::new()],
            ],
        };
        let answer = Answer {
            series: series.clone(),
            ..Answer::default()
        };
        let back = read(&csv(&answer));
        assert_eq!(back[0], series.heads);
        assert_eq!(back[1..], series.rows);
    }

    #[test]
    fn without_a_series_the_first_table_is_written() {
        let table = Table {
            heads: vec!["a".into()],
            rows: vec![vec!["1".into()], vec!["2".into(), "3".into()]],
            ..Table::default()
        };
        let blocks = vec![
            Block::Sentence("x".into()),
            Block::Table(Table::default()),
            Block::Table(table),
        ];
        assert_eq!(
            csv(&Answer {
                blocks,
                ..Answer::default()
            }),
            "a\n1\n2,3\n"
        );
        assert_eq!(csv(&Answer::default()), "");
    }
}
