//! stub
use crate::model::{AuxiliaryFan, Case};
/// x
#[derive(Clone, Debug)]
pub struct Spot {
    /// x
    pub key: String,
    /// x
    pub ahead: String,
    /// x
    pub share: f64,
}
/// x
pub fn spots(_: &Case, _: Option<&str>) -> Result<Vec<Spot>, crate::trouble::Trouble> {
    Ok(vec![])
}
/// x
pub fn fits(_: &Case, _: &Spot, _: &AuxiliaryFan) -> usize {
    0
}
/// x
pub fn fans_of(_: Option<&str>) -> Vec<AuxiliaryFan> {
    vec![]
}
