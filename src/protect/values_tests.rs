//! The built-in table, a table of the user's own over it, and what is refused, with its line.

use super::*;

fn over(text: &str) -> Result<Values> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("own.toml");
    std::fs::write(&path, text).unwrap();
    Values::load(Some(&path))
}

fn refused(text: &str) -> String {
    let error = over(text).expect_err(text);
    format!("{error} | {}", error.hint())
}

const COMMON: &str = "{ status = \"common practice\", date = 2026-11-25 }";

/// Every material has a layer, every traffic a cover, every kind a word; the numbers are those of the sources named beside them.
#[test]
fn the_built_in_table_is_whole() {
    let values = Values::load(None).unwrap();
    let names: Vec<&str> = values.fences.iter().map(|fence| fence.name.as_str()).collect();
    assert_eq!(names, ["chain-link", "welded-wire", "low-fence", "two-metre-fixed", "braced-frame"]);
    let spacing = |name: &str| values.fence(Some(name)).unwrap().post_spacing.is.written.clone();
    assert_eq!((spacing("chain-link").as_str(), spacing("welded-wire").as_str()), ("10 ft", "8 ft"));
    assert_eq!(values.fence(None).unwrap().name, "chain-link");
    for traffic in Traffic::ALL {
        let cover = values.outside(traffic).unwrap();
        assert_eq!(cover.to_be_engineered, traffic == Traffic::Heavy);
        assert_eq!(cover.layer[0].material.get_ref(), "geotextile");
    }
    let depths = |layer: &LayerValues| [layer.least.clone(), layer.most.clone()].map(|d| d.unwrap().written);
    assert_eq!(depths(&values.inside.layer[1]), ["2 in", "4 in"]);
    assert_eq!(depths(&values.outside(Traffic::Foot).unwrap().layer[1]), ["4 in", "6 in"]);
    assert_eq!(depths(&values.outside(Traffic::Light).unwrap().layer[1]), ["6 in", "6 in"]);
    assert_eq!(depths(&values.outside(Traffic::Heavy).unwrap().layer[1]), ["6 in", "12 in"]);
    assert_eq!((values.route("haul route"), values.route("storage")), (Some(Traffic::Heavy), Some(Traffic::Light)));
    assert_eq!(values.route("building"), None);
}

/// A fence of the same name is replaced and keeps its rank; another is added; a kind has one traffic only, the later.
#[test]
fn a_table_of_ones_own_goes_over_it() {
    let fence = |name: &str| {
        let lengths = ["height", "post_spacing", "sign_spacing", "gate_width"];
        let lengths: String = lengths.map(|word| format!("{word} = {{ is = \"3 m\", from = {COMMON} }}\n")).concat();
        format!("[[fence]]\nname = \"{name}\"\ntext = \"t\"\n{lengths}gates = {{ is = 2, from = {COMMON} }}\n")
    };
    let routes = format!("[[routes]]\ntraffic = \"heavy\"\nkinds = [\"storage\"]\nfrom = {COMMON}\n");
    let trunk = format!("[trunk]\nkept_free = {{ is = \"1 ft\", from = {COMMON} }}\n");
    let own = over(&format!("{}{}{routes}{trunk}", fence("chain-link"), fence("hoarding"))).unwrap();
    assert_eq!(own.fences.len(), 6);
    assert_eq!((own.fences[0].name.as_str(), own.fences[0].gates.is), ("chain-link", 2));
    assert_eq!(own.fence(Some("hoarding")).unwrap().post_spacing.is.metres, 3.0);
    assert_eq!((own.route("storage"), own.route("access")), (Some(Traffic::Heavy), Some(Traffic::Light)));
    assert_eq!((own.kept_free.is.written.as_str(), own.narrowest.is.written.as_str()), ("1 ft", "1 m"));
    assert_eq!(own.inside.layer.len(), 2);
    // An empty file changes nothing.
    assert_eq!(over("").unwrap().fences.len(), 5);
}

#[test]
fn mistakes_are_told_with_their_line() {
    let layer = |rest: &str| format!("[inside]\n[[inside.layer]]\n{rest}\nfrom = {COMMON}\n");
    let cases = [
        ("[[fance]]\n".to_string(), "own.toml:1:3: unknown key `fance`"),
        (layer("material = \"mulsh\""), "own.toml:3:12: unknown material `mulsh`; expected one of compost, mulch"),
        (layer("material = \"mulsh\""), "did you mean `mulch`?"),
        (layer("material = \"mulch\"\nleast = \"4 in\"\nmost = \"2 in\""), "the least depth 4 in is over the greatest, 2 in"),
        (layer("material = \"mulch\"\nleast = \"4 in\""), "has one of `least` and `most`; expected both or neither"),
        (layer("material = \"mulch\"\nleast = \"4\"\nmost = \"5\""), "own.toml:4:9: `4` is not a length"),
        ("[trunk]\nkept_free = { is = \"-1 ft\", from = { status = \"seen\", date = 2026-11-25 } }\n".into(), "own.toml:2:20:"),
        ("[trunk]\nkept_free = { is = \"1 ft\", from = { status = \"seen\", date = 2026-11-25 } }\n".into(), "no source is named"),
        ("[trunk]\nkept_free = { is = \"1 ft\", from = { source = \"ramsay\", status = \"seen\", date = 2026-11-25 } }\n".into(), "did you mean `ramsey`?"),
        (format!("[[routes]]\ntraffic = \"medium\"\nkinds = []\nfrom = {COMMON}\n"), "own.toml:2:11: unknown word `medium`"),
        (format!("[fence_line]\nnarrowest = {{ is = \"1 mm\", from = {COMMON} }}\nwidest = 3\n"), "unknown key `widest`"),
        ("[trunk\n".into(), "own.toml:1:"),
    ];
    for (text, expected) in cases {
        let told = refused(&text);
        assert!(told.contains(expected), "{text}: expected `{expected}`, got `{told}`");
    }
}

/// A spacing of a millimetre is a slip of the unit: it would ask for 46,000 posts.
#[test]
fn a_spacing_must_be_one() {
    let lengths: String = ["height", "post_spacing", "sign_spacing", "gate_width"]
        .map(|word| {
            format!(
                "{word} = {{ is = \"{}\", from = {COMMON} }}\n",
                if word == "post_spacing" { "1 mm" } else { "3 m" }
            )
        })
        .concat();
    let told =
        refused(&format!("[[fence]]\nname = \"f\"\ntext = \"t\"\n{lengths}gates = {{ is = 1, from = {COMMON} }}\n"));
    assert!(told.contains("post_spacing is 1 mm; expected at least 0.1 m"), "{told}");
}

#[test]
fn an_unknown_fence_names_the_known_ones() {
    let error = Values::load(None).unwrap().fence(Some("chain-lnk")).unwrap_err();
    assert!(
        error.to_string().contains("no fence is named `chain-lnk`; expected one of chain-link, welded-wire"),
        "{error}"
    );
    assert_eq!(error.hint(), "--fence chain-link");
    assert!(Values::load(Some(Path::new("no such file.toml"))).unwrap_err().to_string().contains("no such file.toml"));
}
