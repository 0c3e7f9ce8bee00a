//! A further session in the same file, with its own headings.

use super::super::cell::{self, Marks};
use super::super::clock::Clock;
use super::super::layout::Head;
use super::super::names::Signal;
use super::super::shape::{self, SEPARATORS};
use super::super::tally::{Sample, Session};
use super::{Lane, LogReader};
use std::io::Read;

impl<R: Read> LogReader<R> {
    /// Whether the row holds headings instead of readings; if so, the layout of the following rows is detected anew.
    pub(super) fn is_headings(&mut self) -> bool {
        let record = self.rows.record();
        let cells: Vec<&[u8]> = record.cells().collect();
        if let Some(above) = self.headings.take() {
            let owned: Vec<Vec<u8>> = cells.iter().map(|c| c.to_vec()).collect();
            if shape::is_units(&owned) {
                let heads: Vec<&[u8]> = above.cells().collect();
                self.layout = self.layout.anew(&heads, &cells, &self.choices);
                self.lanes = self.layout.columns.iter().map(Lane::of).collect();
                return true;
            }
        }
        let words = cells.iter().filter(|c| !c.is_empty());
        let known = cells.iter().filter(|c| Head::read(c).meaning.is_some());
        let numbers = cells
            .iter()
            .filter(|c| cell::number(c, Marks::Decimal).is_some_and(|n| n.1.is_empty()));
        let timed = self.layout.time_column.is_none_or(|at| {
            let name = self.layout.heads.get(at - 1).map(String::as_bytes);
            cells
                .iter()
                .any(|c| Some(*c) == name || Head::read(c).tells_time())
        });
        let known = known.count();
        if known < 2
            && let Some(separator) = self.other_separator()
        {
            self.tally.sessions.push(Session {
                line: record.line,
                same: false,
                coolant: false,
                separator: Some(separator),
            });
            return true;
        }
        if known < 2 || numbers.count() * 2 > words.count() || !timed {
            return false;
        }
        let new = self.layout.anew(&cells, &[], &self.choices);
        let coolant = new.columns.iter().any(|c| c.signal == Signal::Coolant);
        self.tally.sessions.push(Session {
            line: record.line,
            same: new.heads == self.layout.heads,
            coolant,
            separator: None,
        });
        self.headings = Some(record.clone());
        self.layout = new;
        self.lanes = self.layout.columns.iter().map(Lane::of).collect();
        self.sample = Sample::of(self.sample.time, 0.0, false, &[]);
        self.session = true;
        self.clock = Clock::default();
        true
    }
    /// The separator of headings that do not use that of the file.
    fn other_separator(&self) -> Option<char> {
        let own = self.layout.separator;
        let cells: Vec<&[u8]> = self.rows.record().cells().collect();
        let line = cells.join(&(own as u8));
        let headings = |separator: &u8| {
            let cells = line.split(|c| c == separator).map(Head::read);
            let known: Vec<Head> = cells.filter(|h| h.meaning.is_some()).collect();
            known.len() >= 2 && known.iter().any(Head::tells_time)
        };
        let others = SEPARATORS.into_iter().filter(|s| char::from(*s) != own);
        { others }.find(headings).map(char::from)
    }
}
