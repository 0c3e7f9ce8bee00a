//! Draws curves as dots in a terminal: each character is a Unicode braille pattern of two by four dots.

/// The bit of each dot in a braille character: one row of the character per entry, from the top, left dot first.
const BITS: [[u8; 2]; 4] = [[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]];
/// Distance in columns between the symbols that identify a curve, if there are several curves.
const APART: usize = 12;

/// A drawing area made of characters.
pub(super) struct Dots {
    columns: usize,
    rows: usize,
    dots: Vec<u8>,
    signs: Vec<Option<char>>,
}

impl Dots {
    /// An empty area.
    pub fn new(columns: usize, rows: usize) -> Self {
        Self {
            columns,
            rows,
            dots: vec![0; columns * rows],
            signs: vec![None; columns * rows],
        }
    }

    /// Size of the area in dots: width and height.
    pub fn size(&self) -> (f64, f64) {
        (2.0 * self.columns as f64, 4.0 * self.rows as f64)
    }

    /// For a dot: the index of its character, and its row and column in that character; `None` outside the area.
    fn letter(&self, (x, y): (f64, f64)) -> Option<(usize, usize, usize)> {
        let (wide, high) = self.size();
        let inside = (0.0..wide).contains(&x) && (0.0..high).contains(&y);
        inside.then(|| {
            let (x, y) = (x as usize, y as usize);
            (y / 4 * self.columns + x / 2, y % 4, x % 2)
        })
    }

    /// Draws a line between two points, whose coordinates are in dots.
    pub fn line(&mut self, from: (f64, f64), to: (f64, f64)) {
        let steps = (to.0 - from.0).abs().max((to.1 - from.1).abs()).ceil();
        for i in 0..=steps as usize {
            let part = i as f64 / steps.max(1.0);
            let at = |a: f64, b: f64| a + part * (b - a);
            if let Some((letter, row, column)) = self.letter((at(from.0, to.0), at(from.1, to.1))) {
                self.dots[letter] |= BITS[row][column];
            }
        }
    }

    /// Replaces the dots of a character by a symbol.
    pub fn sign(&mut self, at: (f64, f64), sign: char) {
        if let Some((letter, ..)) = self.letter(at) {
            self.signs[letter] = Some(sign);
        }
    }

    /// Writes the symbol of curve number `i` of `count` at intervals along it. Where curves coincide, their symbols
    /// alternate.
    pub fn name(&mut self, curve: &[(f64, f64)], (i, count): (usize, usize), sign: char) {
        let own = APART * i / count.max(1);
        for pair in curve.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let columns = (a.0.min(b.0) / 2.0).ceil() as usize..=(a.0.max(b.0) / 2.0) as usize;
            for column in columns.filter(|c| c % APART == own) {
                let part = (2.0 * column as f64 - a.0) / (b.0 - a.0);
                let part = if part.is_finite() { part } else { 0.0 };
                self.sign((2.0 * column as f64, a.1 + part * (b.1 - a.1)), sign);
            }
        }
    }

    /// Draws a dashed horizontal line, except where something else is drawn.
    pub fn level(&mut self, y: f64) {
        for column in (0..self.columns).step_by(2) {
            if let Some((letter, ..)) = self.letter((2.0 * column as f64, y))
                && self.dots[letter] == 0
                && self.signs[letter].is_none()
            {
                self.signs[letter] = Some('-');
            }
        }
    }

    /// The rows of characters, from the top.
    pub fn rows(&self) -> impl Iterator<Item = String> {
        let letters = self.dots.iter().zip(&self.signs);
        let letter = |(dots, sign): (&u8, &Option<char>)| match (sign, dots) {
            (Some(sign), _) => *sign,
            (None, 0) => ' ',
            (None, dots) => char::from_u32(0x2800 + u32::from(*dots)).unwrap_or(' '),
        };
        let letters: Vec<char> = letters.map(letter).collect();
        let rows: Vec<String> = letters
            .chunks(self.columns)
            .map(String::from_iter)
            .collect();
        rows.into_iter()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_goes_where_it_is_drawn() {
        let mut dots = Dots::new(2, 1);
        dots.line((0.0, 0.0), (3.0, 3.0));
        // Unicode, braille patterns: dots 1 and 5, then 3 and 8 of the next character.
        assert_eq!(dots.rows().collect::<Vec<_>>(), ["⠑⢄"]);
    }

    #[test]
    fn curves_on_each_other_both_show() {
        let mut dots = Dots::new(40, 4);
        let curve = [(0.0, 8.0), (79.0, 8.0)];
        for (i, sign) in ['o', 'x'].into_iter().enumerate() {
            dots.line(curve[0], curve[1]);
            dots.name(&curve, (i, 2), sign);
        }
        let drawn: String = dots.rows().collect();
        assert!(drawn.contains('o') && drawn.contains('x'), "{drawn}");
    }
}
