//! The values of a rule set in words, without their sources.

use super::radius::{ClassRow, Measured, RadiusPart, RadiusWay, RingRule, RingWay};
use super::sizes::{SizeClass, Trunks};
use super::spared::MitigationRule;
use crate::model::effect::Effects;

pub(super) fn part_words(part: &RadiusPart) -> String {
    let words = match &part.way {
        RadiusWay::TimesDiameter(factor) => format!("radius {} x diameter", factor.0),
        RadiusWay::LengthPerDiameter(growth) => format!("radius {} of diameter", growth.written),
        RadiusWay::Fixed(length) => format!("radius {}", length.written),
        RadiusWay::DripLine(_) => "radius: crown radius and a margin".to_string(),
        RadiusWay::ByTolerance(_) => {
            "radius by tolerance of root loss and life stage; unknown tolerance: the poor row; unknown life stage: its last column"
                .to_string()
        }
        RadiusWay::Classes(_) => "radius by class of diameter".to_string(),
        RadiusWay::Height(height) => format!("radius {} % of the height", height.share.percent),
    };
    let only = part.only.words();
    if only.is_empty() { words } else { format!("only for {only}: {words}") }
}

pub(super) fn row_words(row: &ClassRow) -> String {
    let end = row.below.as_ref().map_or("greater diameters".to_string(), |below| format!("below {}", below.written));
    let radius = match (&row.radius, &row.length_per_diameter) {
        (Some(radius), _) => radius.written.clone(),
        (None, Some(growth)) => format!("{} of diameter", growth.written),
        (None, None) => String::new(),
    };
    let printed = row.printed_to.as_ref().map_or(String::new(), |to| format!(" (printed to {})", to.written));
    format!("{end}: {radius}{printed}")
}

pub(super) fn ring_words(ring: &RingRule) -> String {
    let diameter = match ring.measured {
        Measured::BreastHeight => "diameter",
        Measured::RootCrown => {
            "diameter above the root crown (breast height where missing: warning ring_from_breast_height)"
        }
    };
    match &ring.way {
        RingWay::ShareOfRadius(share) => format!("{} % of the radius", share.percent),
        RingWay::TimesDiameter(factor) => format!("{} x {diameter}", factor.0),
        RingWay::Fixed(length) => length.written.clone(),
        RingWay::DripLine(_) => "crown radius and a margin".to_string(),
        RingWay::Power(power) => {
            format!(
                "radius in metres = {} x (D x {}) ^ {}, D = {diameter} in metres",
                power.factor.0, power.scale.0, power.exponent.0
            )
        }
    }
}

pub(super) fn class_words(class: &SizeClass) -> String {
    let size = match (&class.size, &class.circumference) {
        (Some(size), _) => format!("diameter {}", size.written),
        (None, Some(size)) => format!("circumference {}", size.written),
        (None, None) => "any size".to_string(),
    };
    let of = class.of.map_or(String::new(), |of| format!(" {}", of.words()));
    let trunks = match class.trunks {
        Some(Trunks::One) => ", a single trunk",
        Some(Trunks::Several) => ", several trunks",
        None => "",
    };
    let who = class.who.words();
    let who = if who.is_empty() { who } else { format!("; {who}") };
    format!("{}: {size}{of}{trunks}{who}", class.class)
}

pub(super) fn mitigation_words(rule: &MitigationRule) -> String {
    let mut changes = Vec::new();
    if !rule.removes.is_empty() {
        changes.push(format!("does not count as {}", Effects::of(&rule.removes).words()));
    }
    if rule.keeps_roots {
        changes.push("severs no roots".to_string());
    }
    let on = if rule.on.is_empty() { String::new() } else { format!(" on {}", Effects::of(&rule.on).words()) };
    let lasting = rule.lasting.map_or(String::new(), |lasting| format!(" ({} works)", lasting.word()));
    format!("{}{on}{lasting}: {}. \"{}\"", rule.stated.word(), changes.join(", "), rule.text)
}
