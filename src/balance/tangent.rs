//! Derivatives of a steady state of the heat balance with respect to the machine's inputs.

use super::budget::Budget;
use super::heat::{Asked, Balance, Find, Warm};
use super::state::{State, Turning};
use crate::model::Case;
use crate::numeric::Real;
use nalgebra::Matrix3;

/// Derivatives of a steady state with respect to the machine's inputs, by the implicit function theorem.
#[derive(Clone, Copy, Debug)]
pub struct Tangent {
    asked: Asked,
    x: [f64; 3],
    turning: Turning,
    case: Case,
    /// Inverse of the matrix of residual derivatives with respect to the unknowns.
    inverse: Matrix3<f64>,
    /// Derivatives of the coolant's return temperature with respect to the unknowns.
    back: [f64; 3],
}

impl Warm {
    /// The derivatives at this state; `asked` must be the settings that it was computed with. `None` if the state is
    /// not steady.
    pub fn tangent(&self, asked: Asked) -> Option<Tangent> {
        let b = &self.budget;
        let first = match asked.find {
            Find::Coolant => b.coolant_temp,
            Find::Ambient => b.ambient,
        };
        let balance = Balance::of(&self.case, asked, None);
        let x = [first, b.oil_temp, b.air_temp];
        let turning = Turning::of(&self.case, &self.operating);
        let (slopes, back) = balance.across(&turning, x)?;
        Some(Tangent {
            asked,
            x,
            turning,
            case: self.case,
            inverse: slopes.try_inverse().filter(|_| self.heats.is_none())?,
            back,
        })
    }
}

impl Tangent {
    /// The first unknown (coolant or ambient temperature), the oil, air and coolant return temperatures, with their
    /// derivatives in the direction given by the derivative parts of `case`. The values are those of the steady state.
    pub fn along<N: Real>(&self, case: &Case<N>) -> Option<[N; 4]> {
        let balance = self.balance();
        let here = balance.along(case, &self.turning, self.x.map(N::from))?;
        let weighed = |by: [f64; 3], of: [N; 3]| of[0] * by[0] + of[1] * by[1] + of[2] * by[2];
        let moves = [0, 1, 2].map(|i| {
            let row = self.inverse.row(i);
            -weighed([row[0], row[1], row[2]], here.left)
        });
        let back = here.return_temp + weighed(self.back, moves);
        let [a, b, c] = [0, 1, 2].map(|i| moves[i].valued(self.x[i]));
        Some([a, b, c, back.valued(here.return_temp.re())])
    }

    /// The case at its steady temperatures and command, the state of its oil circuit, and the heat flows, each with its
    /// total derivative in the direction given by the derivative parts of `case`. The steady state must have been solved
    /// for the coolant temperature.
    pub fn state<N: Real>(&self, case: &Case<N>) -> Option<(Case<N>, State<N>, Budget<N>)> {
        let [first, oil, air, _] = self.along(case)?;
        let balance = self.balance();
        let (there, coolant) = balance.set(*case, [first, oil, air]);
        let state = self.turning.along(&there);
        let air = self.turning.operating().air;
        let budget = balance.budget(&there, (&state, air), [coolant, oil]);
        Some((there, state, budget.ok()?))
    }

    fn balance(&self) -> Balance<'_> {
        Balance::of(&self.case, self.asked, None)
    }
}
