"""A map of a piece of a run's results, from its GeoJSON layers: what README.md shows.

Findings differ by the shape of the tree's sign and the style of the zone's line, not by colour alone.
"""

import csv
import json
import math

from figures.svg import BLACK, BLUE, GREEN, GREY, ORANGE, PURPLE, VERMILLION, Drawing

WIDTH, HEIGHT, LEGEND = 860, 560, 96  # pixels; the legend stands below the map
METRES_PER_DEGREE = 111_200  # of latitude, near enough for a drawing

# Finding -> (colour, dashes of the zone's line, width of the line), worst first.
FINDINGS = {
    "trunk_in_work": (BLACK, "", 2.4),
    "major": (VERMILLION, "", 2.2),
    "not_assessed": (PURPLE, "2 3", 1.6),
    "moderate": (ORANGE, "9 4", 1.8),
    "minor": (BLUE, "4 3", 1.3),
    "untouched": (GREEN, "1 3", 1.2),
}


class Window:
    """A piece of ground: longitude and latitude in, pixels out."""

    def __init__(self, lon, lat, width_m):
        self.lon, self.lat = lon, lat
        self.scale = WIDTH / width_m
        self.east = METRES_PER_DEGREE * math.cos(math.radians(lat))

    def pixel(self, place):
        x = WIDTH / 2 + (place[0] - self.lon) * self.east * self.scale
        y = HEIGHT / 2 - (place[1] - self.lat) * METRES_PER_DEGREE * self.scale
        return x, y

    def shows(self, places, margin=0):
        """Whether the box of the places meets the window."""
        pixels = [self.pixel(place) for place in places]
        xs, ys = [x for x, _ in pixels], [y for _, y in pixels]
        return max(xs) > -margin and min(xs) < WIDTH + margin and max(ys) > -margin and min(ys) < HEIGHT + margin


def layer(results, name):
    with open(results / "layers" / f"{name}.geojson", encoding="utf-8") as file:
        return [feature for feature in json.load(file)["features"] if feature["geometry"]]


def polygons(feature):
    geometry = feature["geometry"]
    return [geometry["coordinates"]] if geometry["type"] == "Polygon" else geometry["coordinates"]


def outline(window, feature):
    """SVG path data of all rings."""
    rings = [ring for polygon in polygons(feature) for ring in polygon]
    parts = []
    for ring in rings:
        points = [window.pixel(place) for place in ring[:-1]]
        parts.append("M" + " L".join(f"{x:.1f},{y:.1f}" for x, y in points) + " z")
    return " ".join(parts)


def in_view(window, features):
    for feature in features:
        places = [place for polygon in polygons(feature) for ring in polygon for place in ring]
        if window.shows(places):
            yield feature


def middle(features):
    places = [place for feature in features for polygon in polygons(feature) for ring in polygon for place in ring]
    lons, lats = [p[0] for p in places], [p[1] for p in places]
    return (min(lons) + max(lons)) / 2, (min(lats) + max(lats)) / 2


def diameters(results):
    """Tree id -> diameter as the table prints it for people: inches where there are, else centimetres."""
    found = {}
    with open(results / "tables" / "overlaps.csv", encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["diameter_cm"]:
                inches = row.get("diameter_in")
                found[row["tree_id"]] = f"{float(inches):g} in" if inches else f"{float(row['diameter_cm']):.0f} cm"
    return found


def sign(d, finding, x, y):
    """The sign of a tree: its shape says the finding."""
    colour = FINDINGS[finding][0]
    edge = {"stroke": "#FFFFFF", "stroke_width": 1.2}
    if finding == "trunk_in_work":
        for half in [(-6, -6, 6, 6), (-6, 6, 6, -6)]:
            ends = {"x1": x + half[0], "y1": y + half[1], "x2": x + half[2], "y2": y + half[3]}
            d.add("line", **ends, stroke="#FFFFFF", stroke_width=6)
        for half in [(-6, -6, 6, 6), (-6, 6, 6, -6)]:
            ends = {"x1": x + half[0], "y1": y + half[1], "x2": x + half[2], "y2": y + half[3]}
            d.add("line", **ends, stroke=colour, stroke_width=3)
    elif finding == "major":
        d.path([(x, y - 8), (x + 8, y), (x, y + 8), (x - 8, y)], fill=colour, **edge)
    elif finding == "not_assessed":
        d.add("circle", cx=x, cy=y, r=8, fill="#FFFFFF", stroke=colour, stroke_width=2)
        d.text(x, y + 5, "?", 13, "middle", "bold", halo=False)
    elif finding == "moderate":
        d.add("rect", x=x - 6, y=y - 6, width=12, height=12, fill=colour, **edge)
    elif finding == "minor":
        d.path([(x, y - 6.5), (x + 6.5, y + 5), (x - 6.5, y + 5)], fill=colour, **edge)
    else:
        d.add("circle", cx=x, cy=y, r=5, fill="#FFFFFF", stroke=colour, stroke_width=2)


def legend(d):
    top = HEIGHT
    d.add("rect", x=0, y=top, width=WIDTH, height=LEGEND, fill="#FFFFFF")
    d.add("line", x1=0, y1=top, x2=WIDTH, y2=top, stroke=BLACK, stroke_width=1)
    for place, finding in enumerate(FINDINGS):
        x, y = 16 + 142 * place, top + 24
        colour, dashes, width = FINDINGS[finding]
        d.add("line", x1=x - 6, y1=y, x2=x + 34, y2=y, stroke=colour, stroke_width=width, stroke_dasharray=dashes or "none")
        sign(d, finding, x + 14, y)
        d.text(x + 40, y + 5, finding, 13)
    for place, (fill, words) in enumerate([("work", "work that severs roots"), ("seal", "other work"), ("overlap", "root zone under works")]):
        x, y = 10 + 205 * place, top + 48
        d.add("rect", x=x, y=y, width=34, height=16, fill=f"url(#{fill})", stroke=GREY, stroke_width=0.8)
        d.text(x + 42, y + 13, words, 13)
    d.text(10, top + 86, "Lines: root zones. Named: heritage-size trees at risk. The town is invented.", 13)


def scale_bar(d, window):
    length = 20 * window.scale
    x, y = WIDTH - length - 24, HEIGHT + 60
    d.path([(x, y), (x + length, y)], close=False, stroke=BLACK, stroke_width=3)
    d.text(x + length / 2, y + 18, "20 m", 13, "middle")
    d.text(x - 30, y + 8, "N", 14, "middle", "bold")
    d.path([(x - 30, y - 22), (x - 25, y - 6), (x - 35, y - 6)], fill=BLACK)


def labels(d, window, trees, known):
    """Names of heritage-size trees at risk above their signs."""
    for feature in trees:
        facts = feature["properties"]
        if facts["at_risk"] not in ("yes", True):
            continue
        x, y = window.pixel(feature["geometry"]["coordinates"])
        rows = [facts["tree_id"], f"{facts['species']}, {known.get(facts['tree_id'], '')}".strip(", ")]
        for row, words in enumerate(rows):
            d.text(x, y - 29 + 15 * row, words, 13, "middle", "bold" if row == 0 else "normal")


def kinds(d, window, works):
    """The kind in the middle of each work that is large enough to hold the word."""
    for work in works:
        for polygon in polygons(work):
            pixels = [window.pixel(place) for place in polygon[0]]
            xs, ys = [x for x, _ in pixels], [y for _, y in pixels]
            words = work["properties"]["kind"]
            centre = (max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2
            if max(xs) - min(xs) > 7.5 * len(words) and max(ys) - min(ys) > 18 and inside(centre, pixels):
                d.text(centre[0], centre[1] + 4, words, 12, "middle")


def inside(point, ring):
    """Whether a closed ring goes round a point: even-odd rule."""
    crossings = 0
    for (x0, y0), (x1, y1) in zip(ring, ring[1:]):
        if (y0 > point[1]) != (y1 > point[1]):
            crossings += point[0] < x0 + (point[1] - y0) * (x1 - x0) / (y1 - y0)
    return crossings % 2 == 1


def draw(results, around, width_m):
    """The map around the works of some permits; `width_m` metres wide."""
    works = layer(results, "works")
    chosen = [work for work in works if work["properties"]["permit_id"] in around]
    if not chosen:
        raise SystemExit(f"no works of {', '.join(around)} in {results}/layers/works.geojson")
    window = Window(*middle(chosen), width_m)
    d = Drawing(WIDTH, HEIGHT + LEGEND, "A piece of Alderwick, screened",
                "Map: proposed works hatched in grey, root zones as circles whose line says the finding, overlaps hatched in orange, "
                "trees at risk named.")
    d.defs.append(f'<clipPath id="map"><rect width="{WIDTH}" height="{HEIGHT}"/></clipPath>')
    d.body.append('<g clip-path="url(#map)">')
    d.add("rect", width=WIDTH, height=HEIGHT, fill="#FBFBF7")
    for work in in_view(window, works):
        severs = work["properties"]["severs"] in ("yes", True)
        d.add("path", d=outline(window, work), fill=f"url(#{'work' if severs else 'seal'})", fill_rule="evenodd", stroke=GREY, stroke_width=1)
    for overlap in in_view(window, layer(results, "overlaps")):
        d.add("path", d=outline(window, overlap), fill="url(#overlap)", fill_opacity=0.75, fill_rule="evenodd")
    zones = [z for z in in_view(window, layer(results, "root_zones")) if z["properties"]["region"] == "root zone"]
    order = list(FINDINGS)
    for zone in sorted(zones, key=lambda z: -order.index(z["properties"]["finding"])):
        colour, dashes, width = FINDINGS[zone["properties"]["finding"]]
        d.add("path", d=outline(window, zone), fill="none", stroke=colour, stroke_width=width, stroke_dasharray=dashes or "none")
    trees = [tree for tree in layer(results, "trees") if window.shows([tree["geometry"]["coordinates"]])]
    for tree in sorted(trees, key=lambda t: -order.index(t["properties"]["finding"])):
        sign(d, tree["properties"]["finding"], *window.pixel(tree["geometry"]["coordinates"]))
    kinds(d, window, in_view(window, works))
    labels(d, window, trees, diameters(results))
    d.body.append("</g>")
    legend(d)
    scale_bar(d, window)
    d.add("rect", x=0.5, y=0.5, width=WIDTH - 1, height=HEIGHT + LEGEND - 1, fill="none", stroke=BLACK, stroke_width=1)
    return d
