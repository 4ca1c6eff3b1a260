//! The tables of the example, byte for byte. Numbers were made apart from the program: zone = pi (12 d)^2, shares = area / zone.

use crate::write::example;
use crate::write::tests::files;

fn table(name: &str) -> String {
    String::from_utf8(files(&example::results(), &example::facts(false), &[])[name].clone()).unwrap()
}

/// Lines with CRLF, as RFC 4180 wants them.
fn lines(lines: &[&str]) -> String {
    lines.iter().map(|line| format!("{line}\r\n")).collect()
}

/// The columns that the contract fixes, then the others.
const HEADER: &str = "tree_id,species,diameter_cm,heritage_class,zone_radius_m,zone_area_m2,overlap_m2,overlap_pct,severed_m2,severed_pct,affected_m2,affected_pct,distance_m,nearest_kind,finding,clause,measure,value,limit,denominator,borderline";
const DETAILS: &str = "diameter_range_cm,other_end_finding,distance_from_trunk_face_m,trunk_distance_m,severing_distance_m,overlap_occupy_m2,overlap_cut_m2,overlap_seal_m2,overlap_fill_m2,overlap_compact_m2,overlap_bore_m2,half_radius_m,half_overlap_m2,half_overlap_pct,half_cut_m2,half_new_overlap_m2,nearest_work_id,warnings,disposition,condition,owner,sentence,permit_status,tree_file,tree_row,species_match,species_certainty,surfaced_m2,new_overlap_m2,new_overlap_pct,temporary_m2,permanent_m2,mitigation,mitigation_accepted";
/// What most rows share: the finding, and (after the distances and the overlap of cut) the ring, the work and the tree.
const CLAUSE: &str = "\"any overlap, \"\"common practice\"\"\"";

#[test]
fn overlaps() {
    let expected = lines(&[
        &format!("permit_id,{HEADER},{DETAILS},protected_class"),
        &format!(
            "P-1,'=SUM(A1),\"Acer \"\"Crimson\"\", late\",50.00,heritage,6.000,113.0973,5.2500,4.6420,20.0000,17.6839,22.5000,19.8944,2.500,trench,major,{CLAUSE},overlap,12.3456,> 10 %,root zone,place,\
             ,,2.250,2.500,,0.0000,5.2500,0.0000,0.0000,0.0000,0.0000,3.000,0.0000,0.0000,0.0000,,W-1,radius_capped;severed_exceeds,,good,,12.3 % of the root zone is under works; the limit is 10 %.,issued,trees.csv,2,,unmatched,,,,0.0000,0.0000,,,"
        ),
        &format!(
            "P-1,T-10,Quercus robur,30.00,,3.600,40.7150,1.0000,2.4561,0.0000,0.0000,1.0000,2.4561,2.500,trench,moderate,{CLAUSE},distance,2.500,> 10 %,root zone,,\
             20.00-30.00,minor,2.350,2.500,,0.0000,1.0000,0.0000,0.0000,0.0000,0.0000,1.800,0.0000,0.0000,0.0000,,W-1,radius_capped;severed_exceeds,,good,,The nearest counted work is 2.5 m from the trunk; the limit is 10 %.,issued,trees.csv,4,Quercus robur,exact,,,,0.0000,0.0000,,,"
        ),
        &format!(
            "P-1,T-2,Quercus robur,90.00,heritage,10.800,366.4354,40.0000,10.9160,0.0000,0.0000,40.0000,10.9160,2.500,trench,moderate,{CLAUSE},overlap,12.3456,> 10 %,root zone,,\
             ,,2.050,2.500,,0.0000,40.0000,0.0000,0.0000,0.0000,0.0000,5.400,0.0000,0.0000,0.0000,,W-1,radius_capped;severed_exceeds,retain,good,''s Heeren,12.3 % of the root zone is under works; the limit is 10 %.,issued,trees.csv,3,Quercus robur,exact,,,,0.0000,0.0000,,,"
        ),
        // No diameter: only the distance and the kind.
        "P-1,T-3,Quercus robur,,,,,,,,,,,2.500,trench,not_assessed,no diameter,,,,,,\
         ,,,,,,,,,,,,,,,,W-1,,,good,,No diameter,issued,trees.csv,6,Quercus robur,exact,,,,,,,,",
        &format!(
            "P-1,T-4,Quercus robur,78.74,,9.449,280.4808,3.0000,1.0696,0.0000,0.0000,3.0000,1.0696,2.500,trench,minor,{CLAUSE},overlap,12.3456,> 10 %,root zone,,\
             at least 78.74,,2.106,2.500,,0.0000,3.0000,0.0000,0.0000,0.0000,0.0000,4.724,0.0000,0.0000,0.0000,,W-1,radius_capped;severed_exceeds,,good,,12.3 % of the root zone is under works; the limit is 10 %.,issued,trees.csv,7,Quercus robur,exact,,,,0.0000,0.0000,,,"
        ),
        &format!(
            "P-2,T-2,Quercus robur,90.00,heritage,10.800,366.4354,12.0000,3.2748,60.0000,16.3740,60.0000,16.3740,2.500,trench,moderate,{CLAUSE},overlap,12.3456,> 10 %,root zone,,\
             ,,2.050,2.500,,0.0000,12.0000,0.0000,0.0000,0.0000,0.0000,5.400,0.0000,0.0000,0.0000,,W-1,radius_capped;severed_exceeds,retain,good,''s Heeren,12.3 % of the root zone is under works; the limit is 10 %.,,trees.csv,3,Quercus robur,exact,,,,0.0000,0.0000,,,"
        ),
    ]);
    assert_eq!(table("tables/overlaps.csv"), expected);
}

const TOGETHER_MEASURES: &str = "T-2,Quercus robur,90.00,heritage,10.800,366.4354,50.0000,13.6450,60.0000,16.3740,98.0000,26.7441,2.500,trench,major";
const TOGETHER_DETAILS: &str = ",,2.050,2.500,,0.0000,50.0000,0.0000,0.0000,0.0000,0.0000,5.400,0.0000,0.0000,0.0000,,W-1,radius_capped;severed_exceeds,retain,good,''s Heeren,12.3 % of the root zone is under works; the limit is 10 %.,issued; ,trees.csv,3,Quercus robur,exact,,,,0.0000,0.0000,,";

#[test]
fn heritage_at_risk() {
    let text = table("tables/heritage_at_risk.csv");
    let rows: Vec<_> = text.split("\r\n").collect();
    let details = DETAILS;
    assert_eq!(rows[0], format!("permit_id,{HEADER},together_permit_ids,{details}"));
    // 26.7 percent together comes before 19.9 percent alone.
    assert_eq!(
        rows[1],
        format!(
            "(together),{TOGETHER_MEASURES},{CLAUSE},overlap,12.3456,> 10 %,root zone,,P-1; P-2,{TOGETHER_DETAILS}"
        )
    );
    assert!(rows[2].starts_with("P-1,'=SUM(A1),"), "{}", rows[2]);
    assert_eq!(rows[3..], [""]);
}

#[test]
fn cumulative() {
    let expected = lines(&[
        &format!("permit_ids,permits,{HEADER},worst_alone_finding,at_risk_only_together,{DETAILS}"),
        &format!(
            "P-1; P-2,2,{TOGETHER_MEASURES},{CLAUSE},overlap,12.3456,> 10 %,root zone,,moderate,yes,{TOGETHER_DETAILS}"
        ),
    ]);
    assert_eq!(table("tables/cumulative.csv"), expected);
}

#[test]
fn permits() {
    let expected = lines(&[
        "permit_id,status,date,active,works,works_set_aside,trees_in_reach,trunk_in_work,major,moderate,minor,untouched,not_assessed,borderline,cut_close_to_trunk,heritage_size,heritage_at_risk,worst_finding,worst_tree_id,worst_affected_pct,heritage_at_risk_together,worst_finding_together,trees_removed,replacement_trees,replacement_length_cm,replacement_money,replacement_currency,replacement_money_is,replacement_unknown,replacement_arithmetic",
        "P-1,issued,2031-05-02,yes,2,1,5,0,1,2,1,0,1,1,0,2,1,major,'=SUM(A1),19.8944,2,major,,,,,,,,",
        "P-2,,,yes,1,0,1,0,0,1,0,0,0,0,0,1,0,moderate,T-2,16.3740,1,major,,,,,,,,",
        "P-9,withdrawn,,no,0,0,0,0,0,0,0,0,0,0,0,0,0,,,,0,,,,,,,,,",
    ]);
    assert_eq!(table("tables/permits.csv"), expected);
}

#[test]
fn set_aside() {
    let expected = lines(&[
        "file,row,id,problem,outcome,detail",
        "trees.csv,5,,stump,set aside,\"status reads `stump`, set aside\"",
        "trees.csv,6,T-3,diameter-missing,used,kept as not assessed",
    ]);
    assert_eq!(table("tables/set_aside.csv"), expected);
}
