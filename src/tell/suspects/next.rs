//! The next test: how to make it, and what its possible outcomes mean.

use super::{name, percent};
use crate::quantity::Kind;
use crate::question::suspects::{Expected, Found, NextTest, Suspects};
use crate::tell::answer::{Bar, Bars, Block, Next, Table};
use crate::tell::{Presentation, hazard};

/// Adds the next test to the answer.
pub(super) fn tell(request: &Suspects, found: &Found, test: &NextTest, told: &mut Presentation) {
    let (setup, probe) = (&request.setup, test.probe);
    told.show(Block::Heading(format!("Next test: {}", probe.name)));
    let only = match probe.only_where {
        "" => String::new(),
        place => format!(" Possible only if {place}."),
    };
    told.show(Block::Next(Next {
        words: format!(
            "{}. About {:.0} minutes; tools: {}. {}{only}",
            probe.name, probe.effort_minutes, probe.tools, probe.how
        ),
        key: probe.key,
        name: probe.name,
        cautions: hazard::lines(probe.hazards),
        ..Next::default()
    }));
    if probe.setting.unplugged {
        let fail_safe = setup.units.show(Kind::Share, setup.case.control.fail_safe);
        told.say(format!(
            "First look up the fail-safe position of this machine's valve. In the machine file it is {fail_safe} command; if that is wrong, what follows is wrong too."
        ));
    }
    let kind = probe.what.kind();
    let row = |e: &Expected| {
        let at = |value| setup.units.show(kind, value);
        let range = format!("{} to {}", at(e.range.0), at(e.range.1));
        vec![range, name(e.fault).into(), percent(e.probability)]
    };
    told.show(Block::Table(Table {
        title: "Expected reading (90 %)".into(),
        heads: ["reading", "cause", "probability"]
            .map(String::from)
            .to_vec(),
        rows: found.expected.iter().map(row).collect(),
        numeric: vec![2],
    }));
    told.show(Block::Bars(tests(found)));
    told.show(Block::Safety(hazard::lines(probe.hazards)));
}

/// A bar chart of the information that each of the next tests is expected to give.
fn tests(found: &Found) -> Bars {
    let row = |t: &NextTest| Bar {
        name: t.probe.name.into(),
        value: t.bits,
        range: None,
        note: format!("{:.2} bits in {:.0} min", t.bits, t.effort_minutes),
    };
    Bars {
        title: "How much the next tests would tell".into(),
        label: "expected information, bits".into(),
        rows: found.next_tests.iter().take(6).map(row).collect(),
    }
}
