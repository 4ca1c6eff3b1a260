use super::*;

fn load(text: &str) -> Result<UpkeepValues> {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), text).unwrap();
    UpkeepValues::load(Some(file.path()))
}

fn message(text: &str) -> String {
    load(text).unwrap_err().to_string()
}

#[test]
fn the_built_in_table_is_sound_and_each_value_says_where_it_comes_from() {
    let values = UpkeepValues::built_in();
    values.check().unwrap();
    let silent = values.step.iter().filter(|(_, step)| step.source.is_empty()).count();
    assert_eq!(silent, 0);
    // 1.50 to 2.30 in/ft, the state extension table: an inch in a foot is 83.33 mm in a metre, the middle 1.9 in/ft.
    assert!((values.soil["loam"].middle_mm_per_m() - 1.9 / 12.0 * 1000.0).abs() < 0.01);
    for (name, low, high) in
        [("sand", 0.75, 1.25), ("sandy loam", 1.25, 1.75), ("clay loam", 1.75, 2.5), ("clay", 1.6, 2.5)]
    {
        let soil = &values.soil[name];
        assert!((soil.low_mm_per_m - low / 12.0 * 1000.0).abs() < 0.01, "{name}");
        assert!((soil.high_mm_per_m - high / 12.0 * 1000.0).abs() < 0.01, "{name}");
    }
}

#[test]
fn an_own_value_replaces_one_with_its_origin_and_leaves_the_rest() {
    let own = "[water]\ncool_hours = { is = 1.5, status = \"seen\", source = \"Alderwick\", date = 2026-11-25 }\n\
        [soil.peat]\nlow_mm_per_m = 200\nhigh_mm_per_m = 300\nstatus = \"from memory\"\ndate = 2026-11-25\n";
    let (values, built_in) = (load(own).unwrap(), UpkeepValues::built_in());
    assert_eq!((values.water.cool_hours.is, values.water.cool_hours.origin().as_str()), (1.5, "seen: Alderwick"));
    assert_eq!(values.soil["peat"].middle_mm_per_m(), 250.0);
    assert_eq!(values.water.warm_hours, built_in.water.warm_hours);
    assert_eq!(values.step, built_in.step);
    // A value is replaced whole: its old origin must not stand beside a new number.
    assert!(message("[water]\ncool_hours = { is = 1.5 }\n").contains("status"));
}

#[test]
fn what_the_table_does_not_know_is_refused_with_its_name() {
    assert!(message("[watr]\n").contains("watr"));
    assert!(
        message("[water]\nwarm_hours = { is = 30, status = \"seen\", date = 2026-11-25 }\n").contains("from 0 to 24")
    );
    assert!(
        message("[water]\nwarm_every_days = { is = 1.5, status = \"seen\", date = 2026-11-25 }\n").contains("whole")
    );
    assert!(message("[water]\n\nwarm_hours = [\n").contains(":"));
    let soil = "[soil.peat]\nlow_mm_per_m = 300\nhigh_mm_per_m = 200\nstatus = \"seen\"\ndate = 2026-11-25\n";
    assert!(message(soil).contains("soil.peat"));
}

#[test]
fn species_without_summer_water_are_found_by_name_genus_or_first_words() {
    let values = UpkeepValues::built_in();
    let found =
        |accepted, genus, written| values.dry_summer(accepted, genus, written).map(|(name, _)| name.to_string());
    assert_eq!(found("Quercus lobata", "Quercus", "valley oak").as_deref(), Some("Quercus lobata"));
    assert_eq!(found("Quercus robur", "Quercus", "oak"), None);
    assert_eq!(found("", "", "Ceanothus 'Ray Hartman'").as_deref(), Some("Ceanothus"));
    assert_eq!(found("", "", "Ceanothusia"), None);
    assert_eq!(found("", "", ""), None);
    let off =
        load("[dry_summer]\n\"Quercus lobata\" = { holds = false, status = \"seen\", date = 2026-11-25 }\n").unwrap();
    assert!(off.dry_summer("Quercus lobata", "Quercus", "").is_none());
}
