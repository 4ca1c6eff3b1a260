//! The plain style beside each layer: OGC Styled Layer Descriptor 1.0, one rule per finding.
//!
//! Findings differ in shape or outline as well as in colour, so that a style can be read in grey.
//!
//! # Source
//! Elements: OGC 02-070, Styled Layer Descriptor 1.0.0 (element order from memory; GDAL reads no styles, so the test checks form only).
//! Colours: the eight of M. Okabe and K. Ito, "Color Universal Design" (2008), values from memory.

use crate::model::finding::Verdict;
use crate::settings::Layer;
use std::fmt::Write;

const BLACK: &str = "#000000";
const ORANGE: &str = "#E69F00";
const SKY_BLUE: &str = "#56B4E9";
const BLUISH_GREEN: &str = "#009E73";
const YELLOW: &str = "#F0E442";
const BLUE: &str = "#0072B2";
const VERMILION: &str = "#D55E00";
const REDDISH_PURPLE: &str = "#CC79A7";

/// Worst first, as a legend is read: verdict, title, colour, mark, size in pixels.
const FINDINGS: [(Verdict, &str, &str, &str, u32); 6] = [
    (Verdict::TrunkInWork, "Trunk in the work", REDDISH_PURPLE, "x", 14),
    (Verdict::Major, "Major", VERMILION, "triangle", 13),
    (Verdict::NotAssessed, "Not assessed", SKY_BLUE, "star", 14),
    (Verdict::Moderate, "Moderate", ORANGE, "square", 10),
    (Verdict::Minor, "Minor", YELLOW, "circle", 9),
    (Verdict::Untouched, "Untouched", BLUISH_GREEN, "circle", 7),
];

/// The style of a layer.
pub fn style(layer: Layer) -> String {
    let (title, rules) = match layer {
        Layer::Trees => ("Trees in reach, by worst finding", trees()),
        Layer::RootZones => ("Root zones, by worst finding", root_zones()),
        Layer::Overlaps => ("Overlaps of works and root zones, by finding", overlaps()),
        Layer::Works => ("Proposed works", works()),
        Layer::Fences => ("Fences around trees that stay", fences()),
        Layer::GroundCover => ("Ground cover on root zones", ground_cover()),
        Layer::ServiceLines => ("Service lines, as proposed and moved", service_lines()),
    };
    let word = layer.word();
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
<StyledLayerDescriptor version="1.0.0" xmlns="http://www.opengis.net/sld" xmlns:ogc="http://www.opengis.net/ogc">
  <NamedLayer>
    <Name>{word}</Name>
    <UserStyle>
      <Title>{title}</Title>
      <FeatureTypeStyle>
{rules}      </FeatureTypeStyle>
    </UserStyle>
  </NamedLayer>
</StyledLayerDescriptor>
"#
    )
}

fn equals(property: &str, value: &str) -> String {
    format!(
        "<ogc:PropertyIsEqualTo><ogc:PropertyName>{property}</ogc:PropertyName><ogc:Literal>{value}</ogc:Literal></ogc:PropertyIsEqualTo>"
    )
}

fn parameter(name: &str, value: &str) -> String {
    format!("<CssParameter name=\"{name}\">{value}</CssParameter>")
}

fn fill(colour: &str, opacity: &str) -> String {
    format!("<Fill>{}{}</Fill>", parameter("fill", colour), parameter("fill-opacity", opacity))
}

fn stroke(colour: &str, width: &str, dashes: &str) -> String {
    let dashes = if dashes.is_empty() { String::new() } else { parameter("stroke-dasharray", dashes) };
    format!("<Stroke>{}{}{dashes}</Stroke>", parameter("stroke", colour), parameter("stroke-width", width))
}

fn rule(name: &str, title: &str, filter: &str, symbolizer: &str) -> String {
    format!(
        "        <Rule>\n          <Name>{name}</Name>\n          <Title>{title}</Title>\n          \
         <ogc:Filter>{filter}</ogc:Filter>\n          {symbolizer}\n        </Rule>\n"
    )
}

fn trees() -> String {
    let mut rules = String::new();
    for (verdict, title, colour, mark, size) in FINDINGS {
        let mark = format!(
            "<PointSymbolizer><Graphic><Mark><WellKnownName>{mark}</WellKnownName>{}{}</Mark><Size>{size}</Size></Graphic></PointSymbolizer>",
            fill(colour, "1"),
            stroke(BLACK, "1", "")
        );
        rules += &rule(verdict.word(), title, &equals("finding", verdict.word()), &mark);
    }
    rules
}

fn polygon(fill: &str, stroke: &str) -> String {
    format!("<PolygonSymbolizer>{fill}{stroke}</PolygonSymbolizer>")
}

fn root_zones() -> String {
    let mut rules = String::new();
    for (verdict, title, colour, ..) in FINDINGS {
        let zone = format!("<ogc:And>{}{}</ogc:And>", equals("region", "root zone"), equals("finding", verdict.word()));
        let width = if verdict.puts_at_risk() { "2" } else { "1" };
        let symbolizer = polygon(&fill(colour, "0.15"), &stroke(colour, width, ""));
        let _ = write!(rules, "{}", rule(verdict.word(), title, &zone, &symbolizer));
    }
    let ring = format!("<ogc:Not>{}</ogc:Not>", equals("region", "root zone"));
    rules + &rule("ring", "Ring within a root zone", &ring, &polygon("", &stroke(BLACK, "0.75", "4 3")))
}

fn overlaps() -> String {
    let mut rules = String::new();
    for (verdict, title, colour, ..) in FINDINGS {
        let width = if verdict.puts_at_risk() { "1.5" } else { "0.75" };
        let symbolizer = polygon(&fill(colour, "0.7"), &stroke(BLACK, width, ""));
        rules += &rule(verdict.word(), title, &equals("finding", verdict.word()), &symbolizer);
    }
    rules
}

fn works() -> String {
    let severs = polygon(&fill(BLUE, "0.25"), &stroke(BLUE, "1.5", ""));
    let other = polygon(&fill(BLUE, "0.1"), &stroke(BLUE, "1", "6 3"));
    rule("severs", "Work that severs roots", &equals("severs", "yes"), &severs)
        + &rule("other", "Other work", &equals("severs", "no"), &other)
}

fn line(stroke: &str) -> String {
    format!("<LineSymbolizer>{stroke}</LineSymbolizer>")
}

fn service_lines() -> String {
    rule("as_proposed", "Line as proposed", &equals("line", "as proposed"), &line(&stroke(VERMILION, "2.5", "")))
        + &rule("moved", "Line moved", &equals("line", "moved"), &line(&stroke(BLUISH_GREEN, "2.5", "8 4")))
}

fn fences() -> String {
    let warned =
        "<ogc:Not><ogc:PropertyIsNull><ogc:PropertyName>warnings</ogc:PropertyName></ogc:PropertyIsNull></ogc:Not>";
    let plain = "<ogc:PropertyIsNull><ogc:PropertyName>warnings</ogc:PropertyName></ogc:PropertyIsNull>";
    rule("warned", "Fence with a warning", warned, &polygon("", &stroke(VERMILION, "2.5", "8 3")))
        + &rule("fence", "Fence", plain, &polygon("", &stroke(BLACK, "2.5", "8 3")))
}

fn ground_cover() -> String {
    let at = |place: &str| equals("place", place);
    rule("inside", "Inside the fence", &at("inside fence"), &polygon(&fill(BLUISH_GREEN, "0.3"), ""))
        + &rule("outside", "Outside the fence", &at("outside fence"), &polygon(&fill(ORANGE, "0.35"), ""))
        + &rule("routes", "Access and storage", &at("access and storage"), &polygon(&fill(BLUE, "0.35"), ""))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write as _;

    #[test]
    fn every_verdict_has_a_rule_and_its_own_colour() {
        let colours: std::collections::BTreeSet<_> = FINDINGS.iter().map(|finding| finding.2).collect();
        assert_eq!(colours.len(), Verdict::ALL.len());
        for layer in [Layer::Trees, Layer::RootZones, Layer::Overlaps] {
            for verdict in Verdict::ALL {
                let literal = format!("<ogc:Literal>{}</ogc:Literal>", verdict.word());
                assert_eq!(style(layer).matches(&literal).count(), 1, "{layer:?} {verdict:?}");
            }
        }
    }

    /// Well-formed XML, as an independent reader (libxml2) sees it; skipped visibly where `xmllint` is not installed.
    #[test]
    fn styles_are_well_formed() {
        for layer in Layer::ALL {
            let mut file = tempfile::NamedTempFile::new().unwrap();
            file.write_all(style(layer).as_bytes()).unwrap();
            match std::process::Command::new("xmllint").arg("--noout").arg(file.path()).output() {
                Ok(output) => assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr)),
                Err(e) => eprintln!("skipped: xmllint: {e}"),
            }
        }
    }
}
