//! Quantities of hand-made fences and covers, and costs to the cent.

use super::*;
use crate::model::protection::{CoverPlace, Fence};
use geo::{LineString, MultiPolygon, Polygon};
use proptest::prelude::*;

fn price(item: Item, ten_thousandths: i64, units_in_one: f64) -> Price {
    let (unit, written, currency) = (String::new(), String::new(), "USD".to_string());
    Price { item, unit, units_in_one, written, ten_thousandths, currency }
}

fn fence(length_m: f64, posts: u32) -> Fence {
    Fence {
        trees: vec![0],
        shape: Polygon::new(LineString(Vec::new()), Vec::new()),
        length_m,
        area_m2: 168.1,
        specification: "chain link".into(),
        posts,
        panels: posts,
        signs: 2,
        gates: 1,
        trunk_distance_m: 7.3152,
        nearest_tree: 0,
        warnings: Vec::new(),
        inside_ring: Vec::new(),
        origins: Default::default(),
        height_m: 1.8288,
    }
}

fn cover(material: &'static str, area_m2: f64, depth_m: Option<(f64, f64)>) -> Cover {
    let shape = MultiPolygon(Vec::new());
    Cover {
        place: CoverPlace::Inside,
        material,
        shape,
        area_m2,
        depth_m,
        to_be_engineered: false,
        traffic: None,
        clause: String::new(),
    }
}

fn of(quantities: &[Quantity], item: Item) -> Option<(f64, Option<f64>)> {
    let plain = |thousandths: i64| thousandths as f64 / 1000.0;
    let found = quantities.iter().find(|quantity| quantity.item == item)?;
    Some((plain(found.thousandths), found.least_thousandths.map(plain)))
}

#[test]
fn fence_mulch_and_sheets_of_a_zone_of_24_feet() {
    // Published-values, section 7 (worked out there): 150.80 ft of fence, 16 posts, and 1,806.4 sq ft of mulch, 22.30 cu yd at 4 in.
    let mulch_m2 = 1806.4 * 0.3048f64.powi(2);
    let protection = Protection {
        fences: vec![fence(150.80 * 0.3048, 16)],
        covers: vec![
            cover("mulch", mulch_m2, Some((2.0 * 0.0254, 4.0 * 0.0254))),
            cover("geotextile", 10.0, None),
            cover("geotextile", 2.5, None),
        ],
        ..Protection::default()
    };
    let counted = Counted { water_l: Some(4270.0), inspections: Some(10), visits: 5, guards: 2 };
    let all = quantities(&protection, counted, &[]);
    let (mulch_m3, least_m3) = of(&all, Item::Mulch).unwrap();
    assert!((mulch_m3 / 0.764_554_858 - 22.30).abs() < 0.005, "{mulch_m3}");
    assert!((least_m3.unwrap() * 2.0 - mulch_m3).abs() < 0.002);
    assert_eq!(of(&all, Item::Fence), Some((45.964, None)));
    assert_eq!(of(&all, Item::Posts), Some((16.0, None)));
    assert_eq!(of(&all, Item::TrunkGuards), Some((2.0, None)));
    assert_eq!(of(&all, Item::Geotextile), Some((12.5, None)));
    assert_eq!((of(&all, Item::Compost), of(&all, Item::Mats)), (None, None));
    assert_eq!(of(&all, Item::Inspections), Some((10.0, None)));
    // Without dates neither water nor inspections are counted.
    let undated = quantities(&protection, Counted { visits: 5, ..Counted::default() }, &[]);
    assert_eq!((of(&undated, Item::Water), of(&undated, Item::Inspections)), (None, None));
    assert_eq!(of(&undated, Item::MonitoringVisits), Some((5.0, None)));
}

#[test]
fn costs_are_exact_to_the_hundredth() {
    // 45.964 m at 3.25: 149.383, so 149.38; 10 inspections at 180: 1800.00; half a hundredth goes up.
    assert_eq!(cost_hundredths(45_964, &price(Item::Fence, 32_500, 1.0)), 14_938);
    assert_eq!(cost_hundredths(10_000, &price(Item::Inspections, 1_800_000, 1.0)), 180_000);
    assert_eq!(cost_hundredths(1_000, &price(Item::Mats, 50, 1.0)), 1);
    // By the foot: 45.964 m are 150.80 ft; at 12.50 a foot 1,885.01.
    assert_eq!(cost_hundredths(45_964, &price(Item::Fence, 125_000, 0.3048)), 188_501);
}

proptest! {
    #[test]
    fn totals_are_the_sums_of_what_is_printed(lengths in proptest::collection::vec((0.0f64..500.0, 0u32..60), 1..20)) {
        let prices = [price(Item::Fence, 123_456, 0.3048), price(Item::Posts, 99_999, 1.0)];
        let each: Vec<Vec<Quantity>> = lengths
            .iter()
            .map(|&(length_m, posts)| {
                let protection = Protection { fences: vec![fence(length_m, posts)], ..Protection::default() };
                quantities(&protection, Counted::default(), &prices)
            })
            .collect();
        let all = totals(each.iter().map(Vec::as_slice));
        for item in [Item::Fence, Item::Posts, Item::Signs] {
            let of_item = || each.iter().flatten().filter(move |quantity| quantity.item == item);
            let sum: i64 = of_item().map(|quantity| quantity.thousandths).sum();
            let cost: Option<i128> = of_item().map(|quantity| quantity.cost_hundredths).sum();
            if let Some(total) = all.iter().find(|quantity| quantity.item == item) {
                prop_assert_eq!(total.thousandths, sum);
                prop_assert_eq!(total.cost_hundredths, cost);
            } else {
                prop_assert_eq!(sum, 0);
            }
        }
        prop_assert!(all.windows(2).all(|pair| pair[0].item < pair[1].item));
    }
}
