"""The same trees in every format and three CRSs, for a test that equal tables come out whatever the file."""

import csv
import pathlib
import zipfile

from samples.files import feature, geojson, ogr2ogr, permits_geojson, tree_row, utilities_shapefile

# Ten letters at most, so that dBase keeps them.
COLUMNS = ["tree_id", "species", "dbh_in", "condition", "status", "crown_ft", "owner", "designated"]
BOUNDS = {"EPSG:4326": "-119,46,-118,47", "EPSG:32611": "380000,5180000,400000,5200000",
          "EPSG:2286": "2100000,510000,2200000,610000"}
DRIVERS = [  # name, driver, ending, creation options
    ("geopackage", "GPKG", ".gpkg", []),
    ("shapefile", "ESRI Shapefile", ".shp", ["-lco", "ENCODING=UTF-8"]),
    ("flatgeobuf", "FlatGeobuf", ".fgb", ["-lco", "SPATIAL_INDEX=NO"]),
    ("geodatabase", "OpenFileGDB", ".gdb", []),
    ("mapinfo", "MapInfo File", ".tab", ["-dsco", "FORMAT=TAB", "-lco", "ENCODING=CP1252"]),
]


def clean(trees):
    """Trees whose result does not name the file: one row per id, a true place, no line break in a cell."""
    seen, kept = set(), []
    for record in trees:
        cells = tree_row(record)
        true_place = cells[8].startswith("-118") and cells[9].startswith("46")
        if true_place and cells[0] not in seen and not any("\n" in cell for cell in cells):
            seen.add(cells[0])
            kept.append([cell.strip() for cell in cells])
    return kept


def write_csv(path, rows, names):
    with open(path, "w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([COLUMNS + names, *rows])


def write_all(folder, trees, plans):
    """Fills the folder and writes `formats.tsv`: name, input as typed (without the folder), further flags."""
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    if any(folder.iterdir()):
        raise SystemExit(f"{folder}: is not empty; give a new folder")
    permits_geojson(folder / "permits.geojson", plans.permits)
    utilities_shapefile(folder / "utilities.shp", plans.utilities)
    rows = clean(trees)
    write_csv(folder / "trees_4326.csv", rows, ["longitude", "latitude"])
    listed = [("csv 4326", "trees_4326.csv", "")]
    source = folder / "trees_4326.geojson"
    geojson(source, "trees", [feature(dict(zip(COLUMNS, row)), {"type": "Point", "coordinates": [float(row[8]), float(row[9])]})
                              for row in rows])
    listed.append(("geojson 4326", source.name, ""))
    ogr2ogr("-f", "GeoJSONSeq", folder / "trees_4326.geojsonl", source)
    listed.append(("geojson lines 4326", "trees_4326.geojsonl", ""))
    ogr2ogr("-f", "GeoJSONSeq", "-lco", "RS=YES", folder / "trees_4326.geojsons", source)
    listed.append(("RFC 8142 4326", "trees_4326.geojsons", ""))
    for crs, bounds in BOUNDS.items():
        code = crs.split(":")[1]
        for name, driver, ending, options in DRIVERS:
            target = folder / f"trees_{code}{ending}"
            more = ["-lco", f"BOUNDS={bounds}"] if name == "mapinfo" else []
            if name == "geodatabase" and crs != "EPSG:4326":  # a ten-millionth of a unit, where 1e-4 is usual
                more = ["-lco", "XORIGIN=-10000000", "-lco", "YORIGIN=-10000000", "-lco", "XYSCALE=10000000"]
            ogr2ogr("-f", driver, "-t_srs", crs, "-nln", target.stem, *options, *more, target, source)
            listed.append((f"{name} {code}", target.name, ""))
        zipped(folder, f"trees_{code}")
        listed.append((f"zipped shapefile {code}", f"trees_{code}_shp.zip", ""))
        if crs != "EPSG:4326":
            projected_csv(folder, source, rows, crs, code)
            listed.append((f"csv {code}", f"trees_{code}.csv", f"--trees-crs {crs}"))
    (folder / "formats.tsv").write_text("".join("\t".join(entry) + "\n" for entry in listed), encoding="utf-8")


def zipped(folder, stem):
    with zipfile.ZipFile(folder / f"{stem}_shp.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        for ending in (".shp", ".shx", ".dbf", ".prj", ".cpg"):
            archive.write(folder / f"{stem}{ending}", f"{stem}{ending}")


def projected_csv(folder, source, rows, crs, code):
    """Easting and northing instead of degrees, kept to a tenth of a millimetre."""
    scratch = folder / f"scratch_{code}.csv"
    ogr2ogr("-f", "CSV", "-t_srs", crs, "-lco", "GEOMETRY=AS_XY", "-select", "tree_id", scratch, source)
    with open(scratch, encoding="utf-8", newline="") as file:
        places = {line["tree_id"]: (f"{float(line['X']):.4f}", f"{float(line['Y']):.4f}") for line in csv.DictReader(file)}
    scratch.unlink()
    write_csv(folder / f"trees_{code}.csv", [row[:8] + list(places[row[0]]) for row in rows], ["easting", "northing"])
