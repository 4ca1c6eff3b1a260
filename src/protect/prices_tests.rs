use super::*;

fn load(name: &str, text: &str) -> Result<Vec<Price>> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, text).unwrap();
    load_prices(&path)
}

fn refused(text: &str) -> String {
    load("prices.csv", &format!("item,unit,price,currency\n{text}\n")).unwrap_err().to_string()
}

#[test]
fn both_forms_of_file_give_the_same_prices() {
    let csv = load("a.csv", "item,unit,price,currency\r\nmulch,cu yd,38.5,USD\r\nfence,ft,12.50,USD\r\n").unwrap();
    let toml = load(
        "a.TOML",
        "currency = \"USD\"\n[[price]]\nitem = \"fence\"\nunit = \"ft\"\nprice = \"12.50\"\n[[price]]\nitem = \"mulch\"\nunit = \"cu yd\"\nprice = 38.5\n",
    )
    .unwrap();
    assert_eq!(csv, toml);
    assert_eq!((csv[0].item, csv[0].ten_thousandths, csv[0].units_in_one), (Item::Fence, 125_000, 0.3048));
    assert_eq!(csv[1].written, "38.5");
}

#[test]
fn units_are_those_of_the_item() {
    let size = |item: Item, unit: &str| units_in_one(item, unit);
    assert_eq!(size(Item::Water, "gal"), Some(3.785_411_784));
    assert_eq!(size(Item::Mulch, "cu yd"), Some(0.764_554_857_984));
    assert_eq!(size(Item::Mats, "sq. ft"), Some(0.092_903_04));
    assert_eq!(size(Item::Inspections, "each"), Some(1.0));
    for (item, unit) in
        [(Item::Fence, "m2"), (Item::Mulch, "m2"), (Item::Posts, "m"), (Item::Mats, "each"), (Item::Water, "ft")]
    {
        assert_eq!(size(item, unit), None, "{item:?} {unit}");
    }
    for item in Item::ALL {
        assert!(units_of(item).iter().all(|unit| units_in_one(item, unit).is_some()), "{item:?}");
    }
}

#[test]
fn what_is_wrong_is_told_with_its_line() {
    assert!(refused("fence,m3,12,USD").contains("fence is not priced by `m3`; expected one of m, ft, yd"));
    assert!(refused("fence,m3,12,USD").contains(":2:"));
    assert!(refused("gravel,m3,12,USD").contains("`gravel` is no item"));
    assert!(refused("fence,m,12,").contains("no currency"));
    assert!(refused("fence,m,12,USD\nfence,ft,4,USD").contains("two prices"));
    for price in ["-1", "1e3", "", "12,5", "1.23456", "NaN", "99999999999999", "0x1", "1_000"] {
        let text = refused(&format!("fence,m,\"{price}\",USD"));
        assert!(text.contains("is no price"), "{price}: {text}");
    }
    assert!(load("a.csv", "item,unit,price\nfence,m,1\n").unwrap_err().to_string().contains("no column `currency`"));
    assert!(load("a.csv", "item,unit,price,currency\n").unwrap_err().to_string().contains("no prices"));
    assert!(load("a.toml", "[[price]]\nitem = 3\n").unwrap_err().to_string().contains(":2"));
}
