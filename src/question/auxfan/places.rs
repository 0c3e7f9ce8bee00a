//! Possible positions of electric fans, how many fit, and a case with fans fitted.

use crate::fluid::air;
use crate::model::{AuxiliaryFan, Case, Mount};
use crate::part::{Alternator, Front};
use crate::question::mention;
use crate::trouble::{Trouble, Troubles, near};

/// Tolerance on the area that fans may occupy in their zone, because the area fractions of a face are rough figures
/// *(engineering assumption)*.
const TOLERANCE: f64 = 1.1;

/// Width of the housing rim around a fan's blades, m *(common practice, no source)*.
const RIM: f64 = 0.01;

/// Flow of a fan mounted as a pusher relative to its flow as a puller, at the same resistance *(common practice, no
/// source)*.
const PUSHER: f64 = 0.8;

/// Pressure loss of a stopped or windmilling fan, as a multiple of the dynamic pressure in its disc *(engineering
/// assumption)*.
const OFF_LOSS: f64 = 3.0;

/// Maximum number of sets tried.
pub const MOST: usize = 20_000;

/// A zone of the core face in which electric fans may be mounted.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// Key of the spot: `front_1` … or `bare`, the open core with nothing upstream.
    pub key: String,
    /// Index of the spot among the zones with equipment upstream of the core.
    pub slot: usize,
    /// The equipment upstream of the core in this zone, in words.
    pub ahead: String,
    /// Fraction of the core face in this zone.
    pub share: f64,
    /// Whether the fans are upstream (pusher) or downstream (puller) of the core.
    pub mount: Mount,
    /// Whether a shroud makes the fans move air through the whole zone; otherwise they do so only in the area of their
    /// discs.
    pub shroud: bool,
}

/// Fans of one type, mounted at one spot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fitted {
    /// Index of the fan in the list.
    pub fan: usize,
    /// Number of fans.
    pub count: usize,
}

/// The fans fitted at each spot, if any.
pub type Set = Vec<Option<Fitted>>;

/// All spots of a machine with the default mounting: pushers without a shroud.
fn all(case: &Case) -> Vec<Spot> {
    let fronts = [&case.front_1, &case.front_2, &case.front_3].map(Option::as_ref);
    let spot = |key: String, slot: usize, share: f64| Spot {
        key,
        slot,
        ahead: fronts[slot].map_or("open core".into(), Front::words),
        share,
        mount: Mount::Pusher,
        shroud: false,
    };
    let mut found: Vec<Spot> = fronts
        .iter()
        .enumerate()
        .filter_map(|(k, f)| {
            f.as_ref()
                .map(|f| spot(format!("front_{}", k + 1), k, f.share))
        })
        .collect();
    let rest = 1.0 - found.iter().map(|s| s.share).sum::<f64>();
    if let (Some(free), true) = (fronts.iter().position(|f| f.is_none()), rest > 0.01) {
        found.push(spot("bare".into(), free, rest));
    }
    found
}

/// The word that the user enters to exclude all spots.
pub const NOWHERE: &str = "none";

/// The spots named in `words`, such as `front_2=puller+shroud, bare=pusher`; all spots if there are no words.
pub fn spots(case: &Case, words: Option<&str>) -> Result<Vec<Spot>, Troubles> {
    let there = all(case);
    let Some(words) = words else { return Ok(there) };
    if ["", NOWHERE].contains(&words.trim()) {
        let keys: Vec<&str> = there.iter().map(|s| s.key.as_str()).collect();
        let expected = format!("one or more of {}", keys.join(", "));
        return Err(vec![
            Trouble::input("no place for an electric fan", expected).on("at"),
        ]);
    }
    let (mut found, mut troubles): (Vec<Spot>, Troubles) = (Vec::new(), Vec::new());
    for entry in words.split(',').map(str::trim) {
        let (key, how) = entry.split_once('=').unwrap_or((entry, "pusher"));
        let spot = find_spot(&there, key.trim()).and_then(|spot| {
            if found.iter().any(|s| s.key == spot.key) {
                return Err(Trouble::input(
                    format!("`{}` is given twice", spot.key),
                    "each place only once",
                ));
            }
            let mut spot = spot.clone();
            for word in how.split('+').map(str::trim) {
                match word {
                    "pusher" => spot.mount = Mount::Pusher,
                    "puller" => spot.mount = Mount::Puller,
                    "shroud" => spot.shroud = true,
                    _ => {
                        let expected = "pusher or puller, and +shroud if there is one";
                        return Err(Trouble::input(format!("`{word}` after {key}"), expected)
                            .hint("write it as in front_2=puller+shroud"));
                    }
                }
            }
            Ok(spot)
        });
        match spot {
            Ok(spot) => found.push(spot),
            Err(trouble) => troubles.push(trouble.on("at")),
        }
    }
    if troubles.is_empty() {
        Ok(found)
    } else {
        Err(troubles)
    }
}

fn find_spot<'a>(there: &'a [Spot], key: &str) -> Result<&'a Spot, Trouble> {
    there.iter().find(|s| s.key == key).ok_or_else(|| {
        let keys: Vec<&str> = there.iter().map(|s| s.key.as_str()).collect();
        let hint = match near(key, keys.iter().copied()) {
            Some(k) => format!("did you mean `{k}`?"),
            None => "`bare` is the open core face; it is a place only if some face is open and fewer than three zones have equipment upstream".into(),
        };
        Trouble::input(format!("this machine has no place `{key}`"), keys.join(", ")).hint(hint)
    })
}

/// Side of the square that a fan occupies, m: the diameter of its blades plus the rim.
pub fn square(fan: &AuxiliaryFan) -> f64 {
    fan.diameter + 2.0 * RIM
}

/// Number of fans that fit at a spot: squares in rows and columns within the core's sides, with a total area no larger
/// than the spot's.
pub fn fits(case: &Case, spot: &Spot, fan: &AuxiliaryFan) -> usize {
    let Some(core) = &case.core else { return 0 };
    let side = square(fan);
    let area = (TOLERANCE * core.face * spot.share / (side * side)) as usize;
    let [across, up] = core.sides().map(|length| (length / side + 1e-9) as usize);
    let rows = (1..=up).map(|rows| rows * (area / rows).min(across));
    rows.max().unwrap_or(0)
}

/// The set named in `words`, such as `class-250@front_2, class-250@bare*1`.
pub fn set(
    case: &Case,
    spots: &[Spot],
    fans: &[AuxiliaryFan],
    words: &str,
) -> Result<Set, Troubles> {
    let mut set: Set = vec![None; spots.len()];
    let mut troubles = Vec::new();
    for entry in words.split(',').map(str::trim) {
        let read = placed(case, spots, fans, entry).and_then(|(at, fitted)| {
            if set[at].replace(fitted).is_some() {
                let found = format!("`{}` is given twice", spots[at].key);
                return Err(Trouble::input(found, "one type of fan at each place"));
            }
            Ok(())
        });
        troubles.extend(read.err().map(|t| t.on("try")));
    }
    if troubles.is_empty() {
        Ok(set)
    } else {
        Err(troubles)
    }
}

/// The fans named in an entry such as `class-250@front_2*2`, and the index of their spot.
fn placed(
    case: &Case,
    spots: &[Spot],
    fans: &[AuxiliaryFan],
    entry: &str,
) -> Result<(usize, Fitted), Trouble> {
    let (name, rest) = entry.split_once('@').ok_or_else(|| {
        let expected = "a fan and its place, such as class-250@front_2";
        Trouble::input(format!("`{entry}`"), expected)
    })?;
    let (key, count) = rest.split_once('*').unwrap_or((rest, "1"));
    let counted = count.trim().parse().ok().filter(|n| (1..=20).contains(n));
    let count: usize = counted
        .ok_or_else(|| Trouble::input(format!("`{count}` fans"), "a whole number from 1 to 20"))?;
    let name = name.trim();
    let fan = fans.iter().position(|f| f.name == name).ok_or_else(|| {
        let names = || fans.iter().map(|f| f.name.as_str());
        let expected = names().collect::<Vec<_>>().join(", ");
        Trouble::input(format!("no fan called `{name}`"), expected).did_you_mean(name, names())
    })?;
    let spot = find_spot(spots, key.trim())?;
    let room = fits(case, spot, &fans[fan]);
    if count > room {
        let found = format!(
            "{count} × {name} do not fit on the core face at {} (each takes a square of its diameter plus a rim)",
            spot.key
        );
        let expected = match room {
            0 => "a smaller fan, because not even one of these fits".to_string(),
            _ => format!("at most {room}"),
        };
        return Err(Trouble::input(found, expected));
    }
    let at = spots.iter().position(|s| s.key == spot.key).unwrap_or(0);
    Ok((at, Fitted { fan, count }))
}

/// The name of a set: each fan, its mounting, and its spot.
pub fn name_of(spots: &[Spot], fans: &[AuxiliaryFan], set: &Set) -> String {
    let each: Vec<String> = spots
        .iter()
        .zip(set)
        .filter_map(|(spot, one)| {
            let one = one.as_ref()?;
            let fan = fans.get(one.fan)?;
            let mount = spot.mount.word();
            let shroud = if spot.shroud { " in a shroud" } else { "" };
            Some(format!(
                "{} × {} as {mount}{shroud} at {} ({})",
                one.count, fan.name, spot.key, spot.ahead
            ))
        })
        .collect();
    if each.is_empty() {
        "no fan".into()
    } else {
        each.join(", ")
    }
}

/// All sets that fit, the empty one first.
pub fn every(case: &Case, spots: &[Spot], fans: &[AuxiliaryFan]) -> Result<Vec<Set>, Trouble> {
    let mut sets: Vec<Set> = vec![Vec::new()];
    for spot in spots {
        let mut here = vec![None];
        for (k, fan) in fans.iter().enumerate() {
            here.extend((1..=fits(case, spot, fan)).map(|count| Some(Fitted { fan: k, count })));
        }
        if sets.len() * here.len() > MOST {
            return Err(Trouble::input(
                format!("more than {MOST} sets of fans"),
                "fewer sets, because each one is computed",
            )
            .hint(format!(
                "name fewer places with {}, or fewer fans in the table",
                mention("at")
            ))
            .on("fans"));
        }
        sets = sets
            .iter()
            .flat_map(|set| {
                here.iter().map(move |one| {
                    let mut set = set.clone();
                    set.push(*one);
                    set
                })
            })
            .collect();
    }
    Ok(sets)
}

/// Flow and pressure of a fan as mounted, relative to its data sheet.
pub fn mounted_as(fan: &AuxiliaryFan, mount: Mount) -> (f64, f64) {
    let flow = match (fan.mount, mount) {
        (Mount::Puller, Mount::Pusher) => PUSHER,
        (Mount::Pusher, Mount::Puller) => 1.0 / PUSHER,
        _ => 1.0,
    };
    // At a fixed resistance, pressure is proportional to the square of flow.
    (flow, flow * flow)
}

/// Fits a set of electric fans to a case, switched on or off.
pub fn mounted(case: &Case, spots: &[Spot], fans: &[AuxiliaryFan], set: &Set, on: bool) -> Case {
    let mut case = *case;
    let Some(core) = case.core else { return case };
    let mut current = 0.0;
    for (spot, some) in spots.iter().zip(set) {
        let Some((fan, count)) = some.and_then(|s| Some((fans.get(s.fan)?, s.count as f64))) else {
            continue;
        };
        let face = core.face * spot.share;
        let discs = fan.disc() * count;
        let reach = if spot.shroud {
            1.0
        } else {
            (discs / face).min(1.0)
        };
        let in_disc = core.rated_air_speed * (face * reach / discs).max(1.0);
        let (flow, pressure) = mounted_as(fan, spot.mount);
        let slot = match spot.slot {
            0 => &mut case.front_1,
            1 => &mut case.front_2,
            _ => &mut case.front_3,
        };
        let front = slot.get_or_insert(Front {
            share: spot.share,
            ..Front::<f64>::usual()
        });
        front.auxiliary = if on { 1.0 } else { 0.0 };
        front.auxiliary_pressure = fan.shut_pressure * pressure;
        front.auxiliary_flow = fan.free_flow * flow * count;
        front.auxiliary_linear = fan.linear;
        front.auxiliary_reach = reach;
        front.auxiliary_behind = if spot.mount == Mount::Puller {
            1.0
        } else {
            0.0
        };
        front.auxiliary_drop = OFF_LOSS * 0.5 * air::density(0.0, 293.15) * in_disc * in_disc;
        current += fan.greatest_current() * count;
    }
    if let (Some(engine), true) = (&mut case.engine, on) {
        engine.accessories += case
            .alternator
            .unwrap_or_else(Alternator::<f64>::usual)
            .shaft_power(current);
    }
    case
}
