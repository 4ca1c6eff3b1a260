use super::*;
use crate::model::effect::{Effect, Effects};
use crate::model::finding::Finding;
use crate::model::overlap::{Overlap, Reached, RegionAreas};
use crate::model::owed::{Money, Owed, Replacement};
use crate::model::results::UnshapedResult;
use crate::model::source::SourceRef;
use crate::model::species::Botanical;
use crate::model::tree::{Disposition, Stems};
use crate::model::work::{Lasting, Mitigation, Mitigations};
use crate::model::zone::{Ring, Zone, ZoneShape};
use geo::{Coord, MultiPolygon, Rect};

fn tree(id: &str) -> Tree {
    Tree {
        species: "Quercus robur 'Fastigiata', the old one by the gate".into(),
        botanical: Botanical {
            accepted: "Quercus robur",
            genus: "Quercus",
            certainty: Certainty::Exact,
            ..Botanical::default()
        },
        stems: Stems::Measured(vec![0.1 + 0.2, f64::MIN_POSITIVE]),
        disposition: Some(Disposition::Relocate),
        ..Tree::only_placed(id, SourceRef { file: 3, row: u64::MAX }, Coord { x: 5e6 + 0.1, y: -0.0 })
    }
}

/// A row with something in every field.
fn full() -> Row {
    let ground = MultiPolygon::from(Rect::new((0.0, 0.0), (1.0 / 3.0, 2.0)).to_polygon());
    let shape = ZoneShape { ground, area_m2: 0.66, disc_radius_m: 6.0, made_up: true };
    let region =
        RegionAreas { radius_m: 6.0, shaped_m2: Some(0.66), by_selection_m2: vec![0.1, 0.2], ..RegionAreas::default() };
    Row {
        rule_set: 2,
        permit: 7,
        tree: 0,
        of: Arc::new(tree("T-1")),
        diameter: RowDiameter::Range { used_m: 0.3, low_m: 0.2, high_m: 0.3, other: Verdict::Minor },
        zone: Some(Zone {
            diameter_m: 0.3,
            radius_m: 6.0,
            rings: vec![Ring { ring: 0, radius_m: 3.0 }],
            drip_line_m: Some(4.5),
            warnings: vec!["barrier_over_trunk", "radius_capped"],
            shape: Some(Arc::new(shape)),
        }),
        overlap: Overlap {
            regions: vec![region],
            severing_distance_m: f64::INFINITY,
            trunk_distance_m: -0.25,
            reached: vec![Reached {
                effects: Effects::of(&[Effect::Cut, Effect::Seal]),
                lasting: Lasting::Temporary,
                depth_m: Some(1.2),
                distance_m: 0.5,
            }],
            accepted: Mitigations::of(&[Mitigation::Mats, Mitigation::Piers]),
            ..Overlap::default()
        },
        finding: Finding {
            verdict: Verdict::Moderate,
            clause: "more than 10 % — “as said”".into(),
            measure: "overlap".into(),
            value: Some(12.3456),
            limit: "> 10 %".into(),
            denominator: "root zone".into(),
            warnings: vec!["qualified_arborist_before_cutting"],
        },
        heritage_class: "heritage".into(),
        protected_class: String::new(),
        replacement: Some(Box::new(Replacement {
            removed_because: "disposition remove",
            owed: Some(Owed {
                money: Some(Money { amount: 1234.5, currency: "EUR".into() }),
                money_is: "instead",
                ..Owed::default()
            }),
        })),
        borderline: "place+diameter",
        unshaped: Some(Box::new(UnshapedResult {
            area_m2: 113.0,
            overlap_m2: 1.0,
            severed_m2: 2.0,
            affected_m2: 3.0,
            verdict: Verdict::Major,
        })),
    }
}

fn bare() -> Row {
    let full = full();
    Row {
        diameter: RowDiameter::Unknown("diameter-missing"),
        zone: None,
        overlap: Overlap::default(),
        heritage_class: String::new(),
        replacement: None,
        borderline: "",
        unshaped: None,
        finding: Finding { warnings: Vec::new(), value: None, ..full.finding.clone() },
        ..full
    }
}

/// Two chunks of rows in one file, in the order of permits and trees.
fn kept() -> (Vec<RowHead>, RowFile) {
    let mut file = RowFile::new(tempfile::tempfile().unwrap());
    let mut heads = Vec::new();
    for rows in [vec![full(), bare()], vec![], vec![bare()]] {
        let mut packed = PackedRows::default();
        rows.iter().for_each(|row| packed.push(row));
        heads.extend(file.append(packed).unwrap());
    }
    let heads = heads.into_iter().zip([0, 1, 2]).map(|(head, tree)| head.of_tree(tree)).collect();
    (heads, file)
}

#[test]
fn a_row_comes_back_as_it_was() {
    let (heads, file) = kept();
    let rows = Rows::new(heads, HashMap::new(), file);
    let expected = [full(), Row { tree: 1, ..bare() }, Row { tree: 2, ..bare() }];
    assert_eq!(rows.read_all(rows.heads()).unwrap(), expected);
    assert!(rows.read_all(rows.heads()).unwrap()[0].of.place.y.is_sign_negative(), "the very bits");
    assert_eq!((rows.trees(), rows.read_trees().unwrap().len()), (3, 3));
    assert_eq!((rows.of_permit(6), rows.of_permit(7), rows.of_permit(8)), (0..0, 0..3, 3..3));
}

#[test]
fn a_head_says_what_its_row_says() {
    let head = full().head();
    assert!(head.heritage_size && head.borderline && head.cut_close && head.shaped && head.milder_for_shape);
    assert!(head.over_trunk && head.replaced && head.removed && !head.species_unmatched && !head.at_risk());
    assert_eq!((head.permit, head.verdict, head.diameter_m), (7, Verdict::Moderate, 0.3));
    let head = bare().head();
    assert!(!(head.heritage_size || head.borderline || head.cut_close || head.shaped || head.milder_for_shape));
    assert!(!(head.over_trunk || head.replaced || head.removed));
    assert_eq!((head.diameter_m, head.affected_share), (0.0, 0.0));
}

#[test]
fn a_tree_that_is_told_otherwise_has_that_id_in_its_rows_and_no_other() {
    let (heads, file) = kept();
    let rows = Rows::new(heads, HashMap::from([(1, Text::from("T-1 (trees.csv:9)"))]), file);
    let ids: Vec<_> = rows.read_trees().unwrap().into_iter().map(|tree| tree.id).collect();
    assert_eq!(ids, ["T-1", "T-1 (trees.csv:9)", "T-1"]);
}

#[test]
fn what_cannot_be_read_or_written_is_an_error() {
    let disk = tempfile::tempfile().unwrap();
    let mut file = RowFile::new(disk.try_clone().unwrap());
    let mut packed = PackedRows::default();
    packed.push(&full());
    let heads: Vec<_> = file.append(packed).unwrap().collect();
    disk.set_len(20).unwrap();
    let cut = Rows::new(heads.clone(), HashMap::new(), file);
    assert!(cut.read(&heads[0]).is_err() && cut.read_trees().is_err());
    assert!(Rows::default().read(&heads[0]).is_err());
    let mut packed = PackedRows::default();
    packed.push(&full());
    assert!(RowFile::default().append(packed).is_err());
}
