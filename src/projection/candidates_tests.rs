use super::*;
use proj::Proj;

#[test]
fn every_grid_of_the_list_is_as_proj_has_it() {
    let lines: Vec<&str> = GRIDS.lines().filter(|line| !line.starts_with('#')).skip(1).collect();
    let grids: Vec<Grid> = lines.iter().filter_map(|line| Grid::read(line)).collect();
    assert_eq!(grids.len(), lines.len(), "every line is read");
    assert!(grids.len() > 150);
    for grid in grids {
        let known = Proj::new(&format!("EPSG:{}", grid.code)).unwrap();
        let area = known.area_of_use().unwrap().0.unwrap();
        assert_eq!(known.proj_info().description.unwrap(), grid.name, "EPSG:{}", grid.code);
        assert_eq!([area.west, area.south, area.east, area.north], grid.area, "EPSG:{}", grid.code);
    }
}

#[test]
fn utm_zones_have_the_names_that_proj_gives_them() {
    for (zone, lat) in [(1, 50.0), (10, 49.0), (23, 60.0), (28, 40.0), (33, 52.0), (38, 40.0), (60, -40.0), (56, -34.0)] {
        for grid in utm(zone, lat) {
            let known = Proj::new(&format!("EPSG:{}", grid.code)).unwrap();
            assert_eq!(known.proj_info().description.unwrap(), grid.name);
            let area = known.area_of_use().unwrap().0.unwrap();
            // Some zones are stated only as far as there is land; none goes beyond its 6 degrees but by rounding.
            let within = area.west > grid.area[0] - 0.02 && area.east < grid.area[2] + 0.02;
            assert!(within, "EPSG:{}: {} to {} against {:?}", grid.code, area.west, area.east, grid.area);
        }
    }
}
