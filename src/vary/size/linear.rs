//! The best step if goal and requirements are linear: a small linear program, solved by the simplex method.
//!
//! Minimises `cost·d + penalty·t` with `slopes·d + off ≤ t`, `t ≥ 0`, `low ≤ d ≤ high`. `t` is the remaining violation
//! of the worst requirement, so a feasible step always exists.
//!
//! **Source** G. B. Dantzig 1963, *Linear Programming and Extensions*, chapter 5; the elastic form as in R. Fletcher
//! 1987, *Practical Methods of Optimization*, section 12.3; both from memory.

/// The best step, the value of goal plus penalty after it, and each requirement's shadow price: the decrease of the
/// goal per unit by which the requirement is relaxed.
#[derive(Clone, Debug)]
pub(super) struct Step {
    pub d: Vec<f64>,
    pub value: f64,
    pub prices: Vec<f64>,
}

/// A linear problem.
pub(super) struct Straight<'a> {
    pub cost: &'a [f64],
    pub slopes: &'a [Vec<f64>],
    pub off: &'a [f64],
    pub low: &'a [f64],
    pub high: &'a [f64],
    pub penalty: f64,
}

/// Smaller values count as zero.
const SMALL: f64 = 1e-11;
/// Maximum number of pivots.
const MOST: usize = 500;

/// Rows of coefficients, each with its right-hand side at the end; the last row is that of the goal.
struct Tableau {
    rows: Vec<Vec<f64>>,
    /// The basic variable (column) of each row.
    basis: Vec<usize>,
}

impl Tableau {
    /// Performs one pivot: brings a column into the basis at a row.
    fn exchange(&mut self, row: usize, column: usize) {
        let pivot = self.rows[row][column];
        self.rows[row].iter_mut().for_each(|v| *v /= pivot);
        let own = self.rows[row].clone();
        for (i, other) in self.rows.iter_mut().enumerate() {
            let times = other[column];
            if i != row && times.abs() > 0.0 {
                other
                    .iter_mut()
                    .zip(&own)
                    .for_each(|(v, o)| *v -= times * o);
            }
        }
        self.basis[row] = column;
    }

    /// Pivots until there is no improvement; returns false if the limit of pivots is exceeded.
    fn solve(&mut self) -> bool {
        let (count, width) = (self.basis.len(), self.rows[0].len() - 1);
        for round in 0..MOST {
            let goal = &self.rows[count];
            let gains = (0..width).filter(|c| goal[*c] < -SMALL);
            // The column with the steepest descent; after many pivots the first that descends, which is certain to
            // terminate.
            let column = if round < MOST / 2 {
                gains.min_by(|a, b| goal[*a].total_cmp(&goal[*b]))
            } else {
                gains.into_iter().next()
            };
            let Some(column) = column else { return true };
            let ratio = |r: usize| self.rows[r][width] / self.rows[r][column];
            let rows = (0..count).filter(|r| self.rows[*r][column] > SMALL);
            let row = rows.min_by(|a, b| {
                let near = ratio(*a).total_cmp(&ratio(*b));
                near.then(self.basis[*a].cmp(&self.basis[*b]))
            });
            let Some(row) = row else { return false };
            self.exchange(row, column);
        }
        false
    }
}

impl Straight<'_> {
    /// The best step; `None` if the pivots do not terminate.
    pub fn solve(&self) -> Option<Step> {
        let (n, m) = (self.cost.len(), self.off.len());
        // Columns: the step measured from its lower limit, `t`, the slack of each row, then the right-hand side.
        let width = n + 1 + m + n;
        let mut rows = Vec::with_capacity(m + n + 1);
        for (i, slopes) in self.slopes.iter().enumerate() {
            let mut row = vec![0.0; width + 1];
            row[..n].copy_from_slice(slopes);
            row[n] = -1.0;
            row[n + 1 + i] = 1.0;
            let from: f64 = slopes.iter().zip(self.low).map(|(a, l)| a * l).sum();
            row[width] = -self.off[i] - from;
            rows.push(row);
        }
        for k in 0..n {
            let mut row = vec![0.0; width + 1];
            row[k] = 1.0;
            row[n + 1 + m + k] = 1.0;
            row[width] = self.high[k] - self.low[k];
            rows.push(row);
        }
        let mut goal = vec![0.0; width + 1];
        goal[..n].copy_from_slice(self.cost);
        goal[n] = self.penalty;
        rows.push(goal);
        let mut table = Tableau {
            rows,
            basis: (n + 1..width).collect(),
        };
        let worst = (0..m).min_by(|a, b| table.rows[*a][width].total_cmp(&table.rows[*b][width]));
        if let Some(worst) = worst.filter(|r| table.rows[*r][width] < 0.0) {
            table.exchange(worst, n);
        }
        table.solve().then(|| self.read(&table))
    }

    fn read(&self, table: &Tableau) -> Step {
        let (n, m) = (self.cost.len(), self.off.len());
        let width = n + 1 + m + n;
        let mut values = vec![0.0; width];
        for (row, column) in table.basis.iter().enumerate() {
            values[*column] = table.rows[row][width];
        }
        let d: Vec<f64> = (0..n)
            .map(|k| (self.low[k] + values[k]).clamp(self.low[k], self.high[k]))
            .collect();
        let off = values[n].max(0.0);
        let cost: f64 = self.cost.iter().zip(&d).map(|(c, d)| c * d).sum();
        let goal = &table.rows[m + n];
        Step {
            value: cost + self.penalty * off,
            d,
            prices: (0..m).map(|i| goal[n + 1 + i].max(0.0)).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: maximise 3x + 5y with x ≤ 4, 2y ≤ 12, 3x + 2y ≤ 18: x = 2, y = 6, 36; prices 0, 3/2, 1 (the Wyndor
    /// example of Hillier and Lieberman, *Introduction to Operations Research*, from memory).
    #[test]
    fn a_textbook_problem() {
        let step = Straight {
            cost: &[-3.0, -5.0],
            slopes: &[vec![1.0, 0.0], vec![0.0, 2.0], vec![3.0, 2.0]],
            off: &[-4.0, -12.0, -18.0],
            low: &[0.0, 0.0],
            high: &[100.0, 100.0],
            penalty: 1e3,
        };
        let step = step.solve().unwrap();
        assert!((step.d[0] - 2.0).abs() < 1e-9 && (step.d[1] - 6.0).abs() < 1e-9);
        assert!((step.value + 36.0).abs() < 1e-9);
        for (price, by_hand) in step.prices.iter().zip([0.0, 1.5, 1.0]) {
            assert!((price - by_hand).abs() < 1e-9, "{:?}", step.prices);
        }
    }

    /// By hand: x ≥ 2 and x ≤ 1 have the smallest maximum violation of 1/2 at x = 3/2, where both are active.
    #[test]
    fn what_cannot_be_met_is_met_halfway() {
        let step = Straight {
            cost: &[0.0],
            slopes: &[vec![-1.0], vec![1.0]],
            off: &[2.0, -1.0],
            low: &[-5.0],
            high: &[5.0],
            penalty: 1.0,
        };
        let step = step.solve().unwrap();
        assert!((step.d[0] - 1.5).abs() < 1e-9 && (step.value - 0.5).abs() < 1e-9);
        assert!(step.prices.iter().all(|p| (p - 0.5).abs() < 1e-9));
    }
}
