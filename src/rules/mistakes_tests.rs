//! Each mistake in a rule file: its message, its place and its hint. One table; every row changes a good file in one place.

use super::RuleSet;

/// A small file without a mistake. Line numbers matter below.
const GOOD: &str = r#"name = "alderwick"
title = "Town of Alderwick"
units = "metric"
caution = "An example."
[sources.code]
title = "Tree code"
[stems]
combine = "sum"
from = { source = "code", status = "seen", date = 2026-11-25 }
[[radius.of]]
times_diameter = 12
from = { source = "code", status = "seen", date = 2026-11-25 }
[radius.at_least]
is = "2 m"
from = { source = "code", status = "seen", date = 2026-11-25 }
[radius.at_most]
is = "15 m"
from = { source = "code", status = "seen", date = 2026-11-25 }
[[rings]]
name = "half"
share_of_radius = "50 %"
from = { source = "code", status = "seen", date = 2026-11-25 }
[[limits]]
measure = "overlap"
effects = ["cut"]
ring = "half"
limit = "> 25 %"
gives = "major"
text = "over a quarter"
from = { source = "code", status = "seen", date = 2026-11-25 }
[otherwise]
gives = "minor"
text = "any"
from = { status = "common practice", date = 2026-11-25 }
[[heritage]]
class = "great"
size = ">= 80 cm"
from = { source = "code", status = "seen", date = 2026-11-25 }
"#;

/// What is replaced, by what, `line:column`, part of the message, the hint.
const MISTAKES: &[(&str, &str, &str, &str, &str)] = &[
    ("gives = \"major\"", "givs = \"major\"", "28:1", "unknown key `givs`", "did you mean `gives`?"),
    ("[[limits]]", "[[limit]]", "23:3", "unknown key `limit`", "did you mean `limits`?"),
    (
        "share_of_radius = \"50 %\"",
        "share_of_radios = \"50 %\"",
        "21:1",
        "unknown key `share_of_radios`",
        "did you mean `share_of_radius`?",
    ),
    (
        "status = \"common practice\"",
        "state = \"common practice\"",
        "34:10",
        "unknown key `state`",
        "did you mean `status`?",
    ),
    ("gives = \"major\"", "gives = \"majr\"", "28:9", "unknown word `majr`", "did you mean `major`?"),
    ("effects = [\"cut\"]", "effects = [\"cutt\"]", "25:12", "unknown word `cutt`", "did you mean `cut`?"),
    ("combine = \"sum\"", "combine = \"summ\"", "8:11", "unknown word `summ`", "did you mean `sum`?"),
    ("measure = \"overlap\"", "measure = \"overlaps\"", "24:11", "unknown word `overlaps`", "did you mean `overlap`?"),
    ("title = \"Town of Alderwick\"\n", "", "1:1", "missing key `title`", "add `title = ...` to the table"),
    ("text = \"any\"\n", "", "31:1", "missing key `text`", "add `text = ...` to the table"),
    ("name = \"half\"\n", "", "19:1", "missing key `name`", "add `name = ...` to the table"),
    ("name = \"alderwick\"", "name = alderwick", "1:8", "", ""),
    ("name = \"alderwick\"", "name = \"Alder wick\"", "1:8", "the name `Alder wick` cannot be used", ""),
    ("caution = \"An example.\"", "caution = \" \"", "4:11", "the caution is empty", ""),
    ("units = \"metric\"", "units = \"imperial\"", "3:9", "unknown word `imperial`", ""),
    ("times_diameter = 12", "times_diameter = -12", "11:18", "the factor -12 is out of range", ""),
    ("times_diameter = 12", "times_diameter = 0", "11:18", "the factor 0 is out of range", ""),
    ("times_diameter = 12", "times_diameter = nan", "11:18", "the factor NaN is out of range", ""),
    ("times_diameter = 12", "times_diameter = inf", "11:18", "the factor inf is out of range", ""),
    ("times_diameter = 12", "times_diameter = \"12\"", "11:18", "invalid type: string \"12\"", ""),
    ("times_diameter = 12", "length_per_diameter = \"1 ft\"", "11:23", "`1 ft` is not a length per length", ""),
    ("times_diameter = 12", "length_per_diameter = \"1 foot per\"", "11:23", "not a length per length", ""),
    ("times_diameter = 12", "times_diameter = 12\nfixed = \"3 m\"", "10:1", "a part of the radius has 2 ways", ""),
    ("times_diameter = 12\n", "", "10:1", "a part of the radius has 0 ways", ""),
    ("is = \"2 m\"", "is = 2", "14:6", "invalid type: integer `2`", ""),
    ("is = \"2 m\"", "is = \"2\"", "14:6", "`2` is not a length", ""),
    ("is = \"2 m\"", "is = \"-2 m\"", "14:6", "the length `-2 m` is out of range", ""),
    ("is = \"2 m\"", "is = \"2 furlongs\"", "14:6", "`2 furlongs` is not a length", ""),
    ("is = \"2 m\"", "is = \"16 m\"", "13:1", "at least 16 m and at most 15 m", ""),
    ("share_of_radius = \"50 %\"", "share_of_radius = \"150 %\"", "21:19", "`150 %` is not a share", ""),
    ("share_of_radius = \"50 %\"", "share_of_radius = \"0 %\"", "21:19", "`0 %` is not a share", ""),
    ("name = \"half\"", "name = \"Half ring\"", "20:8", "the ring name `Half ring` cannot be used", ""),
    ("name = \"half\"", "name = \"zone\"", "20:8", "the ring name `zone` cannot be used", ""),
    ("ring = \"half\"", "ring = \"hlaf\"", "26:8", "unknown ring `hlaf`", "did you mean `half`?"),
    ("limit = \"> 25 %\"", "limit = \"25 %\"", "27:9", "does not say how to compare", ""),
    ("limit = \"> 25 %\"", "limit = \"> 125 %\"", "27:9", "`> 125 %` is no share", ""),
    ("limit = \"> 25 %\"", "limit = \">= 0 %\"", "27:9", "`>= 0 %` does not fit the measure overlap", ""),
    ("limit = \"> 25 %\"", "limit = \"> 100 %\"", "27:9", "`> 100 %` does not fit", ""),
    ("limit = \"> 25 %\"", "limit = \"< 25 %\"", "27:9", "`< 25 %` does not fit", ""),
    ("limit = \"> 25 %\"", "limit = \"> 3 m\"", "27:9", "`> 3 m` does not fit the measure overlap", ""),
    ("measure = \"overlap\"", "measure = \"distance\"", "27:9", "`> 25 %` does not fit the measure distance", ""),
    (
        "measure = \"overlap\"",
        "measure = \"severed\"",
        "23:1",
        "`effects` does not fit the measure severed; expected it with overlap, distance or depth",
        "",
    ),
    ("effects = [\"cut\"]", "effects = []", "23:1", "`effects` is empty", ""),
    ("gives = \"major\"\n", "", "23:1", "expected either `gives` or `flag`", ""),
    (
        "gives = \"major\"",
        "gives = \"major\"\nflag = \"verify_on_site\"",
        "23:1",
        "expected either `gives` or `flag`",
        "",
    ),
    (
        "gives = \"major\"",
        "flag = \"verify_on_sight\"",
        "28:8",
        "unknown flag `verify_on_sight`",
        "did you mean `verify_on_site`?",
    ),
    ("ring = \"half\"\n", "share_of = \"ring\"\n", "23:1", "the limit names no ring", ""),
    (
        "ring = \"half\"",
        "ring = \"half\"\nshare_of = \"unsurfaced\"",
        "23:1",
        "`share_of` is unsurfaced, but the limit names a ring",
        "",
    ),
    ("source = \"code\"", "source = \"cod\"", "9:19", "unknown source `cod`", "did you mean `code`?"),
    (
        "status = \"common practice\"",
        "status = \"seen\"",
        "31:1",
        "no source is named for a value whose status is `seen`",
        "add `source",
    ),
    ("date = 2026-11-25", "date = \"today\"", "9:51", "", ""),
    ("date = 2026-11-25", "date = 2026-11-25T10:00:00", "9:51", "is not a day", ""),
    (
        "[[radius.of]]",
        "[stems.many]\nmore_than = 1\ncombine = \"largest\"\nfrom = { status = \"common practice\", date = 2026-11-25 }\n[[radius.of]]",
        "7:1",
        "begins above 1",
        "",
    ),
    (
        "times_diameter = 12",
        "drip_line = { columnar_margin = { is = \"5 m\", from = { status = \"common practice\", date = 2026-11-25 } }, missing_crown_times_diameter = { is = 12, from = { status = \"common practice\", date = 2026-11-25 } } }",
        "10:1",
        "columnar forms need both",
        "",
    ),
    (
        "times_diameter = 12",
        "drip_line = { margin = { is = \"5 m\", from = { status = \"common practice\", date = 2026-11-25 } } }",
        "11:13",
        "missing key `missing_crown_times_diameter`",
        "add `missing_crown_times_diameter = ...` to the table",
    ),
    ("size = \">= 80 cm\"", "size = \"< 80 cm\"", "35:1", "`< 80 cm` is no size of a trunk", ""),
    ("size = \">= 80 cm\"", "size = \">= 80 %\"", "35:1", "`>= 80 %` is no size of a trunk", ""),
];

/// What is replaced, by what, and the whole message with its `line:column`. `FROM` stands for a provenance.
const WHOLE_MESSAGES: &[(&str, &str, &str)] = &[
    (
        "times_diameter = 12",
        "only = { genus = [\"Quercus\"] }\ntimes_diameter = 12",
        "10:3: every part of the radius is for some trees only; expected one for all the others",
    ),
    (
        "times_diameter = 12",
        "times_diameter = 12\nfixed = \"3 m\"",
        "10:1: a part of the radius has 2 ways to its length; expected exactly one of times_diameter, length_per_diameter, drip_line, fixed, by_tolerance, classes, height",
    ),
    (
        "times_diameter = 12",
        "only = { genus = [\"oak\"] }\ntimes_diameter = 12",
        "10:1: `oak` is no scientific name; expected such as Quercus or Quercus robur",
    ),
    (
        "times_diameter = 12",
        "only = { height = \">= 60 %\" }\ntimes_diameter = 12",
        r#"10:1: `>= 60 %` is no height; expected such as ">= 60 ft""#,
    ),
    ("times_diameter = 12", "classes = []", "10:1: the classes have no row; expected at least one"),
    (
        "times_diameter = 12",
        "classes = [{ FROM }]",
        "10:1: row 1 of the classes needs exactly one of radius and length_per_diameter",
    ),
    (
        "times_diameter = 12",
        r#"classes = [{ radius = "1 m", length_per_diameter = "6 cm per 1 cm", FROM }]"#,
        "10:1: row 1 of the classes needs exactly one of radius and length_per_diameter",
    ),
    (
        "times_diameter = 12",
        r#"classes = [{ below = "10 cm", radius = "1 m", FROM }]"#,
        "10:1: the last row of the classes ends; expected it without `below`, for every greater tree",
    ),
    (
        "times_diameter = 12",
        r#"classes = [{ below = "20 cm", radius = "1 m", FROM }, { below = "10 cm", radius = "2 m", FROM }, { radius = "3 m", FROM }]"#,
        "10:1: row 2 of the classes is out of order; expected each with a greater `below` than the one before",
    ),
    (
        "times_diameter = 12",
        r#"classes = [{ radius = "1 m", FROM }, { radius = "2 m", FROM }]"#,
        "10:1: row 1 of the classes is out of order; expected each with a greater `below` than the one before",
    ),
    (
        "times_diameter = 12",
        r#"classes = [{ below = "10 cm", printed_to = "11 cm", radius = "1 m", FROM }, { radius = "2 m", FROM }]"#,
        "10:1: row 1 of the classes is printed to beyond its end; expected printed_to at most `below`",
    ),
    (
        "times_diameter = 12",
        r#"classes = [{ radius = "1 m", from = { source = "cod", status = "seen", date = 2026-11-25 } }]"#,
        "11:48: unknown source `cod`; expected a key of [sources]: code",
    ),
    (
        "times_diameter = 12",
        r#"height = { share = "40 %", missing_height_times_diameter = { is = 12, from = { status = "seen", date = 2026-11-25 } } }"#,
        "10:1: no source is named for a value whose status is `seen`",
    ),
    (
        "times_diameter = 12",
        r#"height = { share = "140 %", missing_height_times_diameter = { is = 12, FROM } }"#,
        r#"11:20: `140 %` is not a share; expected more than 0 % and at most 100 %, such as "50 %""#,
    ),
    (
        "times_diameter = 12",
        r#"drip_line = { columnar_margin = { is = "5 m", FROM }, columnar_words = { is = ["*"], FROM }, missing_crown_times_diameter = { is = 12, FROM } }"#,
        "10:1: a word for columnar forms is empty and would fit every species; expected letters",
    ),
    (
        "[radius.at_least]",
        "[radius.rounding]\nto = \"1 m\"\ndirection = \"up\"\nfrom = { status = \"seen\", date = 2026-11-25 }\n[radius.at_least]",
        "13:1: no source is named for a value whose status is `seen`",
    ),
    (
        r#"share_of_radius = "50 %""#,
        "share_of_radius = \"50 %\"\nfixed = \"1 m\"",
        "19:1: a ring has 2 ways to its length; expected exactly one of share_of_radius, times_diameter, fixed, power, drip_line",
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"distance\"\nlimit = \"> 3 m\"",
        r#"25:9: `> 3 m` does not fit the measure distance; expected < or <= and a length, such as "< 3 m" or "< 6 x diameter""#,
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"depth\"\nlimit = \"> 25 %\"",
        r#"25:9: `> 25 %` does not fit the measure depth; expected > or >= and a length, such as "> 6 in""#,
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"depth\"\nlimit = \"< 6 in\"",
        r#"25:9: `< 6 in` does not fit the measure depth; expected > or >= and a length, such as "> 6 in""#,
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"overlap\"\nlimit = \"> 6 x diameter\"",
        r#"25:9: `> 6 x diameter` does not fit the measure overlap; expected > or >= and a share that some works exceed and others do not, such as "> 25 %""#,
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"distance\"\nlimit = \"< 6 x girth\"",
        r#"25:9: `< 6 x girth` is no multiple of the trunk; expected such as "< 6 x diameter" or "< 4 x circumference""#,
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"affected\"\nlasting = \"permanent\"\nlimit = \"> 25 %\"",
        "23:1: `lasting` does not fit the measure affected; expected it with overlap, distance or depth",
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"severed\"\nnew_ground = true\nlimit = \"> 25 %\"",
        "23:1: `new_ground` does not fit the measure severed; expected it with overlap, distance or depth",
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"depth\"\nnew_ground = true\nlimit = \"> 6 in\"",
        "23:1: `new_ground` fits overlap only",
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"overlap\"\nmeasured_from = \"face\"\nlimit = \"> 25 %\"",
        "23:1: `measured_from` fits distance only",
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"distance\"\nring = \"half\"\nlimit = \"< 3 m\"",
        "23:1: a distance has no ring and is no share; expected neither `ring` nor `share_of` with it",
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"distance\"\nshare_of = \"zone\"\nlimit = \"< 3 m\"",
        "23:1: a distance has no ring and is no share; expected neither `ring` nor `share_of` with it",
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"depth\"\nshare_of = \"zone\"\nlimit = \"> 6 in\"",
        "23:1: a depth is no share; expected no `share_of` with it",
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"overlap\"\nshare_of = \"drip_line\"\nlimit = \"> 25 %\"",
        "23:1: `share_of` is drip_line, but no ring of the set is a drip line; expected `[[rings]]` with `drip_line`",
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"overlap\"\nshare_of = \"ring\"\nlimit = \"> 25 %\"",
        r#"23:1: `share_of` is ring, but the limit names no ring; expected `ring = "..."`"#,
    ),
    (
        "measure = \"overlap\"\neffects = [\"cut\"]\nring = \"half\"\nlimit = \"> 25 %\"",
        "measure = \"overlap\"\nwho = { species = [\"quercus alba\"] }\nlimit = \"> 25 %\"",
        "23:1: `quercus alba` is no scientific name; expected such as Quercus or Quercus robur",
    ),
    (
        r#"size = ">= 80 cm""#,
        "size = \">= 80 cm\"\ncircumference = \">= 250 cm\"",
        "35:1: a class has both a size and a circumference; expected one of them",
    ),
    (
        "size = \">= 80 cm\"\n",
        "",
        "35:1: a class has no size and is for every tree; expected `size`, `circumference` or `who`",
    ),
    (
        r#"size = ">= 80 cm""#,
        r#"size = ">= 6 x diameter""#,
        r#"35:1: `>= 6 x diameter` is no size of a trunk; expected > or >= and a length, such as ">= 30 in""#,
    ),
    (
        r#"size = ">= 80 cm""#,
        r#"circumference = "<= 80 cm""#,
        r#"35:1: `<= 80 cm` is no size of a trunk; expected > or >= and a length, such as ">= 30 in""#,
    ),
    (
        r#"size = ">= 80 cm""#,
        r#"who = { height = ">= 2 x diameter" }"#,
        r#"35:1: `>= 2 x diameter` is no height; expected such as ">= 60 ft""#,
    ),
    (
        r#"size = ">= 80 cm""#,
        r#"who = { age = ">= 75" }"#,
        r#"37:15: `>= 75` is no age; expected such as ">= 75 years""#,
    ),
    (
        r#"size = ">= 80 cm""#,
        r#"who = { not = ["robur"] }"#,
        "35:1: `robur` is no scientific name; expected such as Quercus or Quercus robur",
    ),
    (
        "[[heritage]]",
        "[[exempt]]\nwho = {}\ntext = \"all\"\nFROM\n[[heritage]]",
        "35:1: the exemption is for every tree; expected `who` with at least one key",
    ),
    (
        "[[heritage]]",
        "[[mitigations]]\nstated = \"mats\"\ntext = \"nothing\"\nFROM\n[[heritage]]",
        "35:1: the mitigation changes nothing; expected `removes` or `keeps_roots = true`",
    ),
    (
        "[[heritage]]",
        "[bores]\ndeep_from = { is = \"1 m\", from = { status = \"seen\", date = 2026-11-25 } }\n[[heritage]]",
        "35:1: no source is named for a value whose status is `seen`",
    ),
    (
        "[[heritage]]",
        "[[mitigations]]\nstated = \"matts\"\nremoves = [\"compact\"]\ntext = \"mats\"\nFROM\n[[heritage]]",
        "36:10: unknown word `matts`, expected one of `mats`, `no-dig`, `air-excavation`, `hand-digging`, `piers`",
    ),
    (
        "[[radius.of]]",
        "[stems.narrowest]\ncounts = \"alone\"\nfrom = { status = \"seen\", date = 2026-11-25 }\n[[radius.of]]",
        "7:1: no source is named for a value whose status is `seen`",
    ),
];

#[test]
fn each_mistake_in_radius_limits_and_sizes_has_its_whole_message() {
    let mut wrong = Vec::new();
    for &(good, bad, message) in WHOLE_MESSAGES {
        assert!(GOOD.contains(good), "the table is out of date: {good}");
        let bad = bad.replace("FROM", "from = { status = \"common practice\", date = 2026-11-25 }");
        let expected = format!("alderwick.toml:{message}");
        match RuleSet::from_text("alderwick.toml", &GOOD.replacen(good, &bad, 1)) {
            Ok(_) => wrong.push(format!("{bad}: accepted")),
            Err(error) if error.to_string() == expected => {}
            Err(error) => wrong.push(format!("{bad}:\n  expected {expected}\n  got      {error}")),
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_good_file_is_good() {
    let set = RuleSet::from_text("alderwick.toml", GOOD).unwrap();
    assert_eq!(set.heritage.classes[0].class, "great");
    assert!(set.heritage.stated.is_none(), "a set with sizes of its own has no default");
}

#[test]
fn each_mistake_has_a_message_at_its_place() {
    let mut wrong = Vec::new();
    for &(good, bad, place, what, hint) in MISTAKES {
        assert!(GOOD.contains(good), "the table is out of date: {good}");
        let text = GOOD.replacen(good, bad, 1);
        match RuleSet::from_text("alderwick.toml", &text) {
            Ok(_) => wrong.push(format!("{bad}: accepted")),
            Err(error) => {
                let message = error.to_string();
                let placed = message.starts_with(&format!("alderwick.toml:{place}: "));
                if !placed
                    || !message.contains(what)
                    || !error.hint().starts_with(hint)
                    || (hint.is_empty() && !error.hint().is_empty())
                {
                    wrong.push(format!("{bad}: expected {place} {what} [{hint}], got {message} [{}]", error.hint()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn two_rings_of_one_name() {
    let ring =
        "[[rings]]\nname = \"half\"\nfixed = \"1 m\"\nfrom = { status = \"common practice\", date = 2026-11-25 }\n";
    let error = RuleSet::from_text("a.toml", &format!("{GOOD}{ring}")).unwrap_err();
    assert!(error.to_string().starts_with("a.toml:40:8: two rings are named `half`"), "{error}");
}

#[test]
fn columns_count_characters() {
    let text = GOOD.replacen("title = \"Town of Alderwick\"", "title = \"Ölbäume\" x", 1);
    let error = RuleSet::from_text("a.toml", &text).unwrap_err();
    assert!(error.to_string().starts_with("a.toml:2:19"), "{error}");
}
