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
        let middle = (area.west + grid.width() / 2.0, (area.south + area.north) / 2.0);
        let from = format!("EPSG:{}", grid.base);
        let to_grid = Proj::new_known_crs(&from, &format!("EPSG:{}", grid.code), None).unwrap();
        assert!(grid.may_hold(&[to_grid.convert(middle).unwrap()]), "EPSG:{}: {:?}", grid.code, grid.range);
    }
}

/// Prints `grids.csv` anew from the codes in it: `cargo test --lib write_the_list -- --ignored --nocapture | grep '^[0-9]'`
#[test]
#[ignore = "a tool, not a check"]
fn write_the_list_of_grids() {
    for line in GRIDS.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let (grid, base) = (format!("EPSG:{}", cells[0]), format!("EPSG:{}", cells[1]));
        let known = Proj::new(&grid).unwrap();
        let area = known.area_of_use().unwrap().0.unwrap();
        let to_grid = Proj::new_known_crs(&base, &grid, None).unwrap();
        let (mut low, mut high) = ((f64::INFINITY, f64::INFINITY), (f64::NEG_INFINITY, f64::NEG_INFINITY));
        for step in 0..625 {
            let (column, row) = (f64::from(step % 25) / 24.0, f64::from(step / 25) / 24.0);
            let place = (area.west + (area.east - area.west) * column, area.south + (area.north - area.south) * row);
            let (x, y): (f64, f64) = to_grid.convert(place).unwrap();
            low = (low.0.min(x.floor()), low.1.min(y.floor()));
            high = (high.0.max(x.ceil()), high.1.max(y.ceil()));
        }
        let name = known.proj_info().description.unwrap();
        println!(
            "{},{},{},{},{},{},{},{},{},{},{name}",
            cells[0], cells[1], area.west, area.south, area.east, area.north, low.0, low.1, high.0, high.1
        );
    }
}

#[test]
fn utm_zones_have_the_names_that_proj_gives_them() {
    for (zone, lat) in [(1, 50.0), (10, 49.0), (23, 60.0), (28, 40.0), (33, 52.0), (38, 40.0), (60, -40.0), (56, -34.0)]
    {
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

/// The corners of a mapped plot of 56 by 38 m, in metres from one of them.
#[test]
fn a_plot_in_metres_may_be_local() {
    let plot = [(2.4, 1.4), (55.6, 1.0), (2.0, 37.5), (55.0, 37.0), (28.0, 19.0)];
    let found = candidates(&plot, None);
    assert!(!found.is_empty() && found.iter().all(|one| one.why.contains("may be local coordinates")), "{found:?}");
    let city = [(-122.70, 45.50), (-122.60, 45.55), (-122.65, 45.52)];
    assert!(candidates(&city, None).iter().all(|one| !one.why.contains("local")));
}
