//! The value of a test: the information it is expected to give about which hypothesis is true.

use crate::numeric::upper_tail;

/// Predicted reading of a test under one hypothesis: a mixture of normal distributions.
#[derive(Clone, Debug, Default)]
pub struct Outlook {
    /// The components: weight (1 in total over all hypotheses), mean, standard deviation.
    pub parts: Vec<(f64, f64, f64)>,
}

/// Maximum number of quadrature points.
const POINTS: usize = 1200;

impl Outlook {
    /// The quantile of the reading at probability `p`, without the instrument's error.
    pub fn quantile(&self, p: f64) -> f64 {
        let total: f64 = self.parts.iter().map(|q| q.0).sum();
        let below = |z: f64| -> f64 {
            let part = |(w, m, s): &(f64, f64, f64)| {
                w * upper_tail((m - z) / s.max(1e-12 * m.abs()).max(1e-300))
            };
            self.parts.iter().map(part).sum::<f64>() / total
        };
        let ends = self
            .parts
            .iter()
            .map(|(_, m, s)| (m - 8.0 * s, m + 8.0 * s));
        let (mut a, mut b) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |e, f| {
            (e.0.min(f.0), e.1.max(f.1))
        });
        for _ in 0..60 {
            let middle = 0.5 * (a + b);
            if below(middle) < p {
                a = middle
            } else {
                b = middle
            }
        }
        0.5 * (a + b)
    }

    /// Probability density of the reading, including the instrument's error, at `count` points spaced by `step` from
    /// `low`.
    fn on_grid(&self, (count, low, step): (usize, f64, f64), half: f64, uniform: bool) -> Vec<f64> {
        let mut grid = vec![0.0; count];
        // A component narrower than the grid is widened to the grid spacing; linear interpolation between the points
        // widens it further.
        let (normal, least) = if uniform {
            (0.0, 0.55 * step)
        } else {
            (0.5 * half, 0.7 * step)
        };
        for (weight, mean, deviation) in &self.parts {
            let s = deviation.hypot(normal).max(least);
            let from = ((mean - 7.0 * s - low) / step).floor().max(0.0) as usize;
            let to = (((mean + 7.0 * s - low) / step).ceil().max(0.0) as usize).min(count);
            let height = weight / (s * (2.0 * std::f64::consts::PI).sqrt());
            for (i, slot) in grid.iter_mut().enumerate().take(to).skip(from) {
                let z = (low + step * i as f64 - mean) / s;
                *slot += height * (-0.5 * z * z).exp();
            }
        }
        if uniform && half > 0.0 {
            grid = averaged(&grid, half / step);
        }
        grid
    }
}

/// The moving average of a grid: each point becomes the mean over `reach` grid spacings on both sides, with linear
/// interpolation between the points.
fn averaged(grid: &[f64], reach: f64) -> Vec<f64> {
    let mut below = vec![0.0];
    for pair in grid.windows(2) {
        below.push(below[below.len() - 1] + 0.5 * (pair[0] + pair[1]));
    }
    let last = below.len() - 1;
    let area = |x: f64| {
        let x = x.clamp(0.0, last as f64);
        let (i, part) = (x.floor() as usize, x.fract());
        let next = grid[(i + 1).min(last)];
        below[i] + part * (grid[i] + 0.5 * part * (next - grid[i]))
    };
    let mean = |i: usize| (area(i as f64 + reach) - area(i as f64 - reach)) / (2.0 * reach);
    (0..grid.len()).map(mean).collect()
}

/// Expected information, bits, of a test whose instrument has an error of `half`: the mutual information between the
/// hypothesis and the reading, by quadrature.
///
/// `I = Σ_h ∫ p(h, z) log2( p(h, z) / (p(h) p(z)) ) dz`
pub fn bits(outlooks: &[Outlook], half: f64, uniform: bool) -> f64 {
    let parts = || outlooks.iter().flat_map(|o| &o.parts).filter(|p| p.0 > 0.0);
    let reach = |s: f64| {
        6.0 * s.hypot(if uniform { 0.0 } else { 0.5 * half }) + if uniform { half } else { 0.0 }
    };
    let low = parts()
        .map(|(_, m, s)| m - reach(*s))
        .fold(f64::INFINITY, f64::min);
    let high = parts()
        .map(|(_, m, s)| m + reach(*s))
        .fold(f64::NEG_INFINITY, f64::max);
    if high.partial_cmp(&low) != Some(std::cmp::Ordering::Greater) {
        return 0.0;
    }
    let finest = parts()
        .map(|p| p.2.hypot(if uniform { 0.0 } else { 0.5 * half }))
        .fold(f64::INFINITY, f64::min);
    let count = ((high - low) / (0.5 * finest).max(1e-300))
        .ceil()
        .clamp(64.0, POINTS as f64) as usize;
    let step = (high - low) / (count - 1) as f64;
    let mut all = vec![0.0; count];
    let each: Vec<Vec<f64>> = outlooks
        .iter()
        .map(|o| {
            let grid = o.on_grid((count, low, step), half, uniform);
            all.iter_mut().zip(&grid).for_each(|(a, g)| *a += g);
            grid
        })
        .collect();
    let mass: f64 = all.iter().sum::<f64>() * step;
    each.iter()
        .map(|grid| {
            let own = grid.iter().sum::<f64>() * step / mass;
            grid.iter()
                .zip(&all)
                .filter(|(g, _)| **g > 0.0)
                .map(|(g, a)| g / mass * (g / (own * a)).log2() * step)
                .sum::<f64>()
        })
        .sum::<f64>()
        .max(0.0)
}
