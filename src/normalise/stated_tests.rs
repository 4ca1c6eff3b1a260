use super::*;
use Mitigation::{AirExcavation, HandDigging, Mats, NoDig, Piers};

/// Trade words, and words that an applicant may write to the contrary. Common practice, no source.
#[test]
fn promises_are_found_in_free_text() {
    let cases: &[(&str, &[Mitigation])] = &[
        ("mats", &[Mats]),
        ("timber mats or steel plates", &[Mats]),
        ("Temporary ground protection over drip line", &[Mats]),
        ("steel plates; hand dig within 3 m", &[Mats, HandDigging]),
        ("no-dig", &[NoDig]),
        ("NO DIG (cellular confinement)", &[NoDig]),
        ("no dig driveway", &[NoDig]),
        ("air-spade / hydro excavation", &[AirExcavation]),
        ("vacuum excavation, screw piles", &[AirExcavation, Piers]),
        ("Screw-piles & hand digging", &[HandDigging, Piers]),
        ("Wurzelbrücke", &[NoDig]),
        ("excavation par aspiration", &[AirExcavation]),
        ("", &[]),
        ("none", &[]),
        ("N/A", &[]),
    ];
    for (written, expected) in cases {
        let (found, unknown) = mitigations(written);
        assert_eq!(found, *expected, "{written}");
        assert!(unknown.is_empty(), "{written}: {unknown:?}");
    }
}

#[test]
fn what_is_refused_or_depends_or_is_unknown_is_handed_back() {
    for written in [
        "no mats",
        "mats not used",
        "without ground protection",
        "mats if required",
        "hand dig where possible",
        "ohne Bodenschutz",
        "tree hugging",
    ] {
        assert_eq!(mitigations(written), (Vec::new(), vec![written.to_string()]), "{written}");
    }
    let (found, unknown) = mitigations("mats; magic beans");
    assert_eq!((found, unknown), (vec![Mats], vec!["magic beans".to_string()]));
}

#[test]
fn lasting_words_are_read_and_contradictions_are_not() {
    use Lasting::{Permanent, Temporary};
    let cases = [
        ("temporary", Some(Temporary)),
        ("TEMPORAIRE", Some(Temporary)),
        ("vorübergehend", Some(Temporary)),
        ("provisional access", Some(Temporary)),
        ("Permanent", Some(Permanent)),
        ("not permanent", None),
        ("permanent and temporary", None),
        ("until May", None),
        ("", None),
    ];
    for (written, expected) in cases {
        assert_eq!(lasting(written), expected, "{written}");
    }
}

#[test]
fn names_are_plain_words_and_stand_once() {
    let mut seen = std::collections::HashSet::new();
    for (name, _) in NAMES.iter() {
        assert_eq!(*name, cell_words(name));
        assert!(seen.insert(name), "{name} stands twice");
    }
    assert!(Mitigation::ALL.iter().all(|one| NAMES.iter().any(|(_, named)| named == one)));
}
