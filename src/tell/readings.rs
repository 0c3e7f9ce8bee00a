//! How readings are worded in several answers.

use crate::probe::Reading;
use crate::quantity::Units;
use crate::question::readings::Slip;

/// The value of a reading with its error, as text.
pub(super) fn value(units: Units, reading: &Reading) -> String {
    units.show_spread(reading.probe.what.kind(), reading.value, reading.half)
}

/// Asks whether a typing error was made.
pub(super) fn slip(slip: Slip) -> String {
    match slip {
        Slip::PsiAsBar => "Was a value in psi typed as bar?".into(),
        Slip::BarAsPsi => "Was a value in bar typed as psi?".into(),
        Slip::MpaAsBar => "Was a value in MPa typed as bar?".into(),
        Slip::BarAsMpa => "Was a value in bar typed as MPa?".into(),
        Slip::Blades(n) => {
            format!("Was each of {n} blades counted as a revolution? Then set blades = {n}.")
        }
    }
}
