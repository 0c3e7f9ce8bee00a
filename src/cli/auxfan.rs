//! The flags of `auxfan`.

use super::flags::AuxfanArgs;
use crate::model::{Shelf, read_file};
use crate::quantity::Units;
use crate::study::{Answer, auxfan};
use crate::trouble::Troubles;

/// What electric fans buy.
pub fn asked(args: &AuxfanArgs, units: Units) -> Result<Answer, Troubles> {
    let fans = args.fans.as_ref();
    let fans = fans.map(|path| read_file(path).map(|text| (path.clone(), text)));
    let typed = auxfan::Typed {
        fans: fans.transpose().map_err(|t| vec![t])?,
        at: args.at.clone(),
        tried: args.r#try.clone(),
        ambient: args.ambient.clone(),
        climb: args.climb.clone(),
        air_conditioning: !args.no_air_conditioning,
        fan_speed: args.fan_speed.clone(),
        right_oil: args.right_oil.clone(),
        wire: args.wire.clone(),
        road_speed: args.road_speed.clone(),
    };
    let ask = args.ask.ask(units);
    let question = auxfan::pose(&ask, &args.ask.with, &typed, Shelf::Files)?;
    auxfan::answer(&question).map_err(|t| vec![t])
}
