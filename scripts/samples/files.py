"""Trees and works to files, byte for byte the same each time."""

import csv
import datetime
import json
import math
import os
import pathlib
import subprocess
import tempfile

from samples.town import place, tree

DATE = "2025-06-30"  # the date that file headers carry, so that they do not change from day to day
TREE_COLUMNS = ["tree_id", "species", "dbh_in", "condition", "status", "crown_spread_ft", "owner", "designated",
                "longitude", "latitude"]


def dirty(trees, dice):
    """Adds the dirt that is not tied to a permit; the trees beside works have theirs already."""
    def some(share):
        return [t for t in trees if t["owner"] == "city" and t["diameter"] not in ("", "0") and dice.chance(share)]

    for cell, share in [("", 0.006), ("0", 0.003), ("N/A", 0.003), ("999", 0.002), ("12-Jun", 0.002), ("07-12", 0.006),
                        ("13-18", 0.006), ("31+", 0.002), ("6,5,4", 0.005), ("9,7", 0.006)]:
        for record in some(share):
            record["diameter"] = cell
    for record in some(0.02):
        record["species"] = record["species"].upper()
    for record in some(0.004):
        record.update(status="stump", condition="")
    for record in some(0.008):
        record.update(status="vacant", species="vacant site", diameter="", condition="", crown="")
    for record in some(0.002):
        record.update(status="removed")
    for record in trees:
        record["longitude"], record["latitude"] = (f"{degrees:.7f}" for degrees in place(record["x"], record["y"]))
    # An accident each: no place, places swapped, null island, blanks around the cells, and one far outside the town.
    no_place, swapped, null_island, blanks = (trees[i] for i in (311, 702, 1203, 1504))
    no_place.update(longitude="", latitude="")
    swapped["longitude"], swapped["latitude"] = swapped["latitude"], swapped["longitude"]
    null_island.update(longitude="0", latitude="0")
    blanks.update(species=f"  {blanks['species']} ", diameter=f" {blanks['diameter']} ")
    far = tree(0, 0, "62", "Quercus garryana", id="AT-9001", owner="private", condition="good",
               longitude="-118.3908000", latitude="46.9011000")
    trees.append(far)


def tree_row(record):
    """The cells of one tree, in the order of TREE_COLUMNS."""
    return [record[name] for name in ("id", "species", "diameter", "condition", "status", "crown", "owner", "designated",
                                      "longitude", "latitude")]


def trees_csv(path, trees):
    with open(path, "w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(TREE_COLUMNS)
        writer.writerows(tree_row(record) for record in trees)


def located(geometry_type, coordinates):
    """A GeoJSON geometry in longitude and latitude; polygons wound as RFC 7946 asks."""
    depth = {"Point": 0, "LineString": 1, "MultiLineString": 2, "Polygon": 2, "MultiPolygon": 3}[geometry_type]

    def turn(part, level):
        if level == 0:
            return list(place(*part))
        turned = [turn(inner, level - 1) for inner in part]
        if level == 2 and geometry_type.endswith("Polygon"):
            turned = [ring if (signed_area(ring) > 0) == (number == 0) else ring[::-1]
                      for number, ring in enumerate(turned)]
        return turned

    return {"type": geometry_type, "coordinates": turn(coordinates, depth)}


def signed_area(ring):
    """Twice the shoelace area would do: only the sign is used."""
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(
        [(x - ring[0][0], y - ring[0][1]) for x, y in ring], [(x - ring[0][0], y - ring[0][1]) for x, y in ring[1:]]))


def feature(properties, geometry):
    return json.dumps({"type": "Feature", "properties": properties, "geometry": geometry}, ensure_ascii=False)


def geojson(path, name, features):
    """A feature collection with one feature a line, so that a change shows as a line in a diff."""
    text = ",\n".join(features)
    path.write_text(f'{{"type": "FeatureCollection", "name": "{name}", "features": [\n{text}\n]}}\n', encoding="utf-8")


def permits_geojson(path, works):
    features = []
    for work in works:
        properties = {"permit_no": work["permit"], "work_id": work["work_id"], "work_type": work["kind"],
                      "status": work["status"], "issued": work["issued"], "depth_ft": work["depth_ft"],
                      "width_ft": work["width_ft"], "radius_ft": work["radius_ft"], "lasting": work["lasting"],
                      "mitigation": work["mitigation"], "description": work["note"]}
        features.append(feature(properties, located(work["type"], work["coordinates"])))
    geojson(path, "alderwick_permits", features)


def surfaces_geojson(path, surfaces):
    features = []
    for number, surface in enumerate(surfaces, start=1):
        properties = {"id": f"S-{number:03d}", "surface": surface["surface"], "width_ft": surface["width_ft"]}
        features.append(feature(properties, located(surface["type"], surface["coordinates"])))
    geojson(path, "alderwick_surfaces", features)


def ogr2ogr(*arguments):
    """Runs ogr2ogr with a fixed date and without a user's or a site's settings."""
    environment = dict(os.environ, OGR_CURRENT_DATE=f"{DATE}T00:00:00.000Z", TZ="UTC", LC_ALL="C.UTF-8")
    subprocess.run(["ogr2ogr", "-q", *map(str, arguments)], check=True, env=environment)


def utilities_shapefile(path, works):
    """Lines in US survey feet (EPSG:2286, Washington South), columns short enough for dBase."""
    features = []
    for work in works:
        properties = {"PERMIT": work["permit"], "WORK_ID": work["work_id"], "KIND": work["kind"],
                      "STATUS": work["status"], "WIDTH_FT": work["width_ft"], "DEPTH_FT": work["depth_ft"],
                      "NOTE": work["note"]}
        features.append(feature(properties, located(work["type"], work["coordinates"])))
    for old in path.parent.glob(path.stem + ".*"):
        old.unlink()
    with tempfile.TemporaryDirectory() as folder:
        source = pathlib.Path(folder) / "lines.geojson"
        geojson(source, "lines", features)
        ogr2ogr("-f", "ESRI Shapefile", "-t_srs", "EPSG:2286", "-lco", "ENCODING=UTF-8", "-lco", "RESIZE=YES",
                "-lco", f"DBF_DATE_LAST_UPDATE={DATE}", path, source)


def park_geopackage(path, trees):
    """Layer `trees` in UTM zone 11 North (EPSG:32611), diameters in centimetres, crowns and heights in metres."""
    features = []
    for number, record in enumerate(trees, start=1):
        properties = {"tag": f"HP-{number:03d}", "taxon": record["species"], "dbh_cm": record["diameter"],
                      "crown_diameter_m": record["crown"], "height_m": record["height"],
                      "condition": record["condition"], "designated": record["designated"]}
        features.append(feature(properties, located("Point", (record["x"], record["y"]))))
    path.unlink(missing_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        source = pathlib.Path(folder) / "trees.geojson"
        geojson(source, "trees", features)
        ogr2ogr("-f", "GPKG", "-t_srs", "EPSG:32611", "-nln", "trees", path, source)


def weather_csv(path, dice):
    """Days of a year as a station prints them: cold winters, a wet spring, a dry summer. Invented."""
    day, rows = datetime.date(2027, 1, 1), []
    while day.year == 2027:
        number = day.timetuple().tm_yday
        middle = 9.0 - 13.0 * math.cos(2.0 * math.pi * (number - 20) / 365.0) + 2.5 * dice.bell()
        span = dice.between(6.0, 16.0)
        rain = dice.between(0.2, 12.0) if dice.chance(0.05 if 160 < number < 270 else 0.22) else 0.0
        rows.append([day.isoformat(), f"{middle - span / 2:.1f}", f"{middle + span / 2:.1f}", f"{rain:.1f}"])
        day += datetime.timedelta(days=1)
    with open(path, "w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([["date", "tmin_c", "tmax_c", "rain_mm"], *rows])


def prices_csv(path):
    """Round numbers that no supplier has named, so that costs can be tried."""
    rows = [("item", "unit", "price", "currency"), ("fence", "ft", "10", "USD"), ("signs", "each", "20", "USD"),
            ("mulch", "cu yd", "40", "USD"), ("chips", "cu yd", "30", "USD"), ("water", "gal", "0.01", "USD"),
            ("inspections", "each", "200", "USD")]
    with open(path, "w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows(rows)
