//! Presents the outcome of `notebook` in words and pictures.

use super::answer::{Block, Chart, Curve, Mark, Stretch, Table};
use super::{Presentation, suspects, words};
use crate::fault::priors::NOTHING;
use crate::probe::FACTS;
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::notebook::{ADD, Changed, Done, Found, Notebook, Past};

/// Presents the outcome of the question.
pub fn tell(request: &Notebook, found: &Found) -> Presentation {
    let units = request.now.setup.units;
    let mut told = suspects::tell(&request.now, &found.now);
    told.series = Series::of(&found.past);
    told.made = request.added.clone();
    let rest = told.blocks.split_off(told.blocks.len().min(1));
    let leads = [lead(units, found), coolant(request, found)];
    let leads: Vec<String> = leads.into_iter().flatten().collect();
    if let (false, Some(Block::Headline(words))) = (leads.is_empty(), told.blocks.first_mut()) {
        *words = format!("{} {words}", leads.join(" "));
    }
    if request.added.is_some() {
        told.say("The entry is written to the notebook.");
    }
    told.blocks.extend(rest);
    told.show(Block::Heading("Known facts of this machine".into()));
    told.say(machine(units, found));
    if found.known.is_empty() {
        told.say(format!(
            "There are no facts yet. Add one with {}, for example \"pump.ratio = 1.27 ± 0.02, measured with a tape\".",
            ADD.mention()
        ));
    } else {
        told.show(Block::Table(known(found)));
    }
    for done in &found.works {
        work(&mut told, units, done);
    }
    if !found.past.is_empty() {
        told.show(Block::Heading(
            "Readings compared with expected values".into(),
        ));
        told.show(Block::Table(history(units, found)));
        if let Some(chart) = picture(found) {
            told.show(Block::Chart(chart));
        }
    }
    told
}

/// What the last repair changed; without a repair, the reading that deviates most from its expected value.
fn lead(units: Units, found: &Found) -> Option<String> {
    if let Some(done) = found.works.last() {
        let changed = done.changed.first()?;
        let (kind, [before, after]) = (changed.test_kind(), &changed.ends);
        let size = words::signed(100.0 * changed.change);
        return Some(format!(
            "Since “{}”: {} {} → {}, {} ({size} ± {:.0} %).",
            done.what,
            before.0.probe.name,
            units.show(kind, before.0.value),
            units.show(kind, after.0.value),
            verdict(changed.verdict),
            100.0 * changed.half
        ));
    }
    let asked = found.past.iter().filter(|p| !p.healthy);
    let named = asked.clone().count() > 1;
    // If full fan was perhaps not commanded, only a speed above the expected one counts as a deviation.
    let asked: Vec<&Past> = asked
        .filter(|p| !p.reading.unsure || departs(p) > 1.0)
        .collect();
    let most = asked
        .iter()
        .filter(|p| departs(p) > 1.0)
        .max_by(|a, b| departs(a).total_cmp(&departs(b)));
    match (most, &asked[..]) {
        (Some(past), _) => Some(departing(units, past, named)),
        // A headline that names a cause does not begin with "as expected".
        _ if suspects::names_cause(&found.now) => None,
        (None, [one]) => Some(departing(units, one, named)),
        (None, []) => None,
        (None, [_, _]) => Some("Both readings are as expected.".into()),
        (None, all) => Some(format!("All {} readings are as expected.", all.len())),
    }
}

/// The coolant readings compared with what they should be if nothing is wrong, in words. With a cause named, the one that
/// deviates most; otherwise the first if all are as expected.
fn coolant(request: &Notebook, found: &Found) -> Option<String> {
    let sound = found.now.explains.iter().find(|e| e.fault == NOTHING)?;
    let all = request.now.readings.all.iter().zip(&sound.readings);
    let all = all.filter(|(r, _)| r.setting.settled.is_some());
    let all: Vec<_> = all
        .filter_map(|(r, (mean, off))| Some((r, mean, (*off)?)))
        .collect();
    let most = all.iter().max_by(|a, b| a.2.abs().total_cmp(&b.2.abs()))?;
    let (reading, should, off) = *most;
    let word = match off {
        off if off.abs() <= 2.0 && suspects::names_cause(&found.now) => return None,
        off if off.abs() <= 2.0 => "as expected",
        off if off > 0.0 => "high",
        _ => "low",
    };
    let units = request.now.setup.units;
    let kind = reading.probe.what.kind();
    Some(format!(
        "{}, {}: {word}; a healthy machine shows about {}.",
        words::capitalized(reading.probe.name),
        units.show(kind, reading.value),
        units.show(kind, *should)
    ))
}

/// The deviation of a reading from its expected value, divided by the sum of the two ±. At full scale of the instrument
/// the true value may be higher, so only a reading above the expected value counts as a deviation.
fn departs(past: &Past) -> f64 {
    let off = past.reading.value - past.should.0;
    let off = if past.reading.at_least {
        off
    } else {
        off.abs()
    };
    off / (past.reading.half + past.should.1)
}

/// A reading compared with its expected value, in words.
fn departing(units: Units, past: &Past, named: bool) -> String {
    let probe = past.reading.probe;
    let kind = probe.what.kind();
    let higher = past.reading.value > past.should.0;
    let word = match kind {
        _ if departs(past) <= 1.0 => "As expected",
        Kind::Speed if higher => "Fast",
        Kind::Speed => "Slow",
        _ if higher => "High",
        _ => "Low",
    };
    let name = match named || kind != Kind::Speed {
        true => format!("{}, ", probe.name),
        false => String::new(),
    };
    let read = read(units, past);
    let should = units.show_spread(kind, past.should.0, past.should.1);
    let makes = if kind == Kind::Speed {
        "makes"
    } else {
        "shows"
    };
    format!("{word}: {name}{read}; a healthy machine {makes} {should}.")
}

/// The value of a reading, as text.
fn read(units: Units, past: &Past) -> String {
    let bound = if past.reading.at_least {
        "at least "
    } else {
        ""
    };
    let kind = past.reading.probe.what.kind();
    let value = units.show_spread(kind, past.reading.value, past.reading.half);
    format!("{bound}{value}")
}

/// The fan speed at idle and full command of this machine when healthy, and that of its class, in words.
fn machine(units: Units, found: &Found) -> String {
    let class = words::speed_band(units, found.class_idle, &found.bands[1]);
    let own = words::speed_band(units, found.idle, &found.bands[0]);
    format!(
        "When this machine is healthy, its fan makes {own} at idle and full command. For its class as a whole: {class}."
    )
}

/// A table of the known facts.
fn known(found: &Found) -> Table {
    let row = |k: &crate::question::notebook::Known| {
        let worth = match 100.0 * k.worth {
            p if p < 0.5 => "little".to_string(),
            p => format!("{p:.0} %"),
        };
        vec![k.input.clone(), k.value.clone(), k.how.clone(), worth]
    };
    Table {
        title: "Facts, and by how much each alone narrows the fan speed at idle".into(),
        heads: ["fact", "value", "source", "narrows by"]
            .map(String::from)
            .to_vec(),
        rows: found.known.iter().map(row).collect(),
        numeric: vec![3],
    }
}

/// Presents the effect of a repair.
fn work(told: &mut Presentation, units: Units, done: &Done) {
    told.show(Block::Heading(format!("{}: {}", done.day, done.what)));
    if done.changed.is_empty() {
        told.say("No test was made both before and after this work, so its effect is unknown.");
        return;
    }
    let row = |c: &Changed| {
        let kind = c.test_kind();
        let percent = |x: f64| format!("{:.0} %", 100.0 * x);
        vec![
            c.ends[0].0.probe.name.into(),
            units.show(kind, c.ends[0].0.value),
            units.show(kind, c.ends[1].0.value),
            format!("{} ± {}", words::signed(100.0 * c.change), percent(c.half)),
            verdict(c.verdict).into(),
        ]
    };
    told.show(Block::Table(Table {
        title: "Before and after, corrected for engine speed, oil temperature and air".into(),
        heads: ["test", "before", "after", "change, %", "result"]
            .map(String::from)
            .to_vec(),
        rows: done.changed.iter().map(row).collect(),
        numeric: vec![1, 2, 3],
    }));
    if !done.causes_before.is_empty() {
        let one = |c: &crate::question::suspects::Candidate| {
            format!(
                "{} ({:.0} %)",
                suspects::name(c.fault),
                100.0 * c.probability
            )
        };
        let all: Vec<String> = done.causes_before.iter().map(one).collect();
        told.say(format!(
            "Probable causes according to the readings before this work: {}.",
            all.join(", ")
        ));
    }
    told.say(besides(&done.what));
}

fn verdict(key: &str) -> &'static str {
    match key {
        "better" => "better",
        "same" => "the same",
        "worse" => "worse",
        _ => "cannot tell",
    }
}

/// What a repair may have changed besides its purpose.
fn besides(what: &str) -> String {
    let what = what.to_lowercase();
    let has = |words: &[&str]| words.iter().any(|w| what.contains(w));
    let text = match () {
        () if has(&["oil", "fluid"]) => {
            "An oil change also removes air, water and dirt, frees sticking valves, and adds fresh anti-foam. If the oil's viscosity does not explain the change, one of these may. If the oil level rises when the engine stops after a hot run, there is air in the oil; a sample in a jar shows water and dirt."
        }
        () if has(&["belt"]) => {
            "A new belt is also tighter, and the pulleys may have been cleaned. The pump speed tells whether it was the belt or the pump."
        }
        () if has(&["pump", "motor", "hose", "valve", "filter", "cooler"]) => {
            "Opening the circuit also brings in some fresh oil and lets air in or out: bleed it, check the level, and repeat the reading after some runs before crediting the new part."
        }
        () => "Anything else that was moved, opened or filled on that day may also be the reason.",
    };
    text.into()
}

/// A table of all readings, compared with their expected values.
fn history(units: Units, found: &Found) -> Table {
    let row = |p: &Past| {
        let kind = p.reading.probe.what.kind();
        vec![
            p.day.clone().unwrap_or_default(),
            if p.healthy { "healthy" } else { "in question" }.into(),
            p.reading.probe.name.into(),
            read(units, p),
            units.show_spread(kind, p.should.0, p.should.1),
        ]
    };
    Table {
        title: "Each reading, and the value expected from the healthy machine in the same condition (95 %)"
            .into(),
        heads: ["day", "when", "test", "reading", "expected"]
            .map(String::from)
            .to_vec(),
        rows: found.past.iter().map(row).collect(),
        numeric: vec![3, 4],
    }
}

/// Fan speeds over time, as a percentage of the expected speed; each repair starts a new shaded range.
fn picture(found: &Found) -> Option<Chart> {
    let days = found.past.iter().filter_map(|p| p.reading.date);
    let works = found.works.iter().map(|w| w.date);
    let first = days.clone().chain(works).min()?.number();
    let speeds = found.past.iter().filter(|p| {
        p.reading.probe.what.kind() == Kind::Speed && p.reading.date.is_some() && p.should.0 > 0.0
    });
    let mark = |p: &Past| Mark {
        name: p
            .reading
            .probe
            .name
            .trim_start_matches("fan speed at ")
            .into(),
        x: p.reading.date.map_or(0.0, |d| d.number()) - first,
        y: 100.0 * p.reading.value / p.should.0,
        spread: 100.0 * p.should.1 / p.should.0,
    };
    let marks: Vec<Mark> = speeds.map(mark).collect();
    let last = marks.iter().map(|m| m.x).fold(1.0, f64::max);
    if marks.is_empty() {
        return None;
    }
    let mut ends = vec![("before".to_string(), 0.0)];
    ends.extend(
        found
            .works
            .iter()
            .map(|w| (w.what.clone(), w.date.number() - first)),
    );
    let stretch = |n: usize| Stretch {
        name: ends[n].0.clone(),
        from: ends[n].1,
        to: ends.get(n + 1).map_or(last + 1.0, |e| e.1),
    };
    Some(Chart {
        title: "Fan speeds versus time, as a percentage of expected speed".into(),
        x_label: "days".into(),
        y_label: "% of expected speed".into(),
        y_from_zero: true,
        curves: vec![Curve {
            name: "as expected".into(),
            points: vec![(0.0, 100.0), (last + 1.0, 100.0)],
            band: Vec::new(),
        }],
        stretches: match found.works.is_empty() {
            true => Vec::new(),
            false => (0..ends.len()).map(stretch).collect(),
        },
        marks,
        ..Chart::default()
    })
}

/// The file of an empty notebook for a machine of a class, with the facts that could be known as comments.
pub fn empty(class: &str) -> String {
    let mut text = format!(
        "# The known facts and readings of one machine. Remove the # from what you know; `oilwheel notebook` reads this file.\nname = \"my machine\"\nmachine = \"{class}\"\n# oil = \"central-hydraulic\"\n# skip = [\"viscosity-40\"]      # tests and facts that are not available\n\n[known]\n"
    );
    for fact in FACTS {
        text += &format!(
            "# {}\n# \"{}\" = {{ value = \"\", how = \"\" }}\n",
            fact.name, fact.key
        );
    }
    text += "\n# [[reading]]\n# date = 2026-05-02\n# when = \"in question\"          # or healthy: read while all was well\n# test = \"fan-speed-idle-hot\"   # `oilwheel sheet` lists them\n# value = \"640 rpm\"            # or \"12 turns in 275 frames at 240 fps\", or \"118 Hz, 7 blades\"\n# instrument = \"photo-tachometer\"\n# engine_speed = \"700 rpm\"\n# oil_temp = \"80 C\"\n# air_temp = \"20 C\"\n\n# [[work]]\n# date = 2026-06-20\n# what = \"oil changed\"\n";
    text
}
