"""The permits of Alderwick, each with its works and the trees that its story needs.

A story takes a lot (its usual garden trees are then left out) and says what stands there and what is proposed, in
lot metres (see `town.lot`). Permits on private ground and in the park go to the GeoJSON, cables and pipes to the
Shapefile. Lengths in both files are written in feet, as the column names say.
"""

import math

from samples.town import BLOCK_X, BLOCK_Y, HALF_STREET, block_corner, lot, tree

FOOT_M = 0.3048


class Plans:
    """What the stories add up to: works for two files, trees, and the lots that they take."""

    def __init__(self):
        self.permits, self.utilities, self.trees, self.taken = [], [], [], set()

    def work(self, permit, kind, geometry_type, coordinates, status="issued", **sizes):
        """Adds one work; sizes (`depth_ft`, `width_ft`, `radius_ft`) in feet; missing ones stay empty."""
        number = int(permit.split("-")[2])
        issued = f"2025-{1 + number * 7 % 9:02d}-{1 + number * 11 % 27:02d}"
        target = self.utilities if permit.startswith("UT") else self.permits
        record = {"permit": permit, "work_id": f"{permit}-{1 + sum(w['permit'] == permit for w in target)}",
                  "kind": kind, "status": status, "issued": issued, "note": sizes.pop("note", ""),
                  "depth_ft": None, "width_ft": None, "radius_ft": None, "lasting": None, "mitigation": None,
                  "type": geometry_type,
                  "coordinates": coordinates}
        record.update(sizes)
        target.append(record)

    def lot(self, *key):
        self.taken.add(key)
        return lot(*key)

    def plant(self, at, trees, owner="private"):
        """Adds trees given as (u, v, diameter text, species[, further fields])."""
        for u, v, diameter, species, *more in trees:
            fields = {"owner": owner}
            fields.update(more[0] if more else {})
            self.trees.append(tree(*at(u, v), diameter, species, **fields))


def ring(at, corners):
    """A closed ring in town metres."""
    points = [at(u, v) for u, v in corners]
    return points + points[:1]


def box(at, u0, v0, u1, v1):
    """Coordinates of a rectangular polygon."""
    return [ring(at, [(u0, v0), (u1, v0), (u1, v1), (u0, v1)])]


def line(at, *points):
    return [at(u, v) for u, v in points]


def houses(plans):
    """Whole new houses, with all that comes with them."""
    for number, (key, oak) in enumerate([((1, 1, 0, 2), "42"), ((7, 4, 1, 1), "35"), ((0, 3, 0, 4), "31+")]):
        at, permit = plans.lot(*key), f"AB-25-{101 + number}"
        plans.plant(at, [(11, 25, oak, "Quercus garryana", {"crown": "66"}), (4, 30, "14", "Acer macrophyllum"),
                         (19, 30, "12,8,6", "Corylus avellana"), (3, 4, "9", "Malus domestica")])
        plans.work(permit, "demolition", "Polygon", box(at, 6, 8, 16, 17), note="old house down to the slab")
        plans.work(permit, "excavation", "Polygon", box(at, 3.5, 5.5, 18.0, 20.5), depth_ft=8.5)
        plans.work(permit, "building", "Polygon", box(at, 4.5, 6.5, 17, 19.5))
        plans.work(permit, "driveway", "Polygon", box(at, 18, -4.5, 21, 12), depth_ft=0.8)
        plans.work(permit, "utility", "LineString", line(at, (2, -3.5), (2, 6), (5, 9)), depth_ft=4, width_ft=2)
        plans.work(permit, "staging", "Polygon", box(at, 5, 23.2, 17, 34), lasting="temporary",
                   note="stacked lumber and a toilet")


def additions(plans):
    """Smaller building work on lots; heritage-size trees end up with every finding."""
    at = plans.lot(2, 4, 0, 1)
    plans.plant(at, [(11, 33.2, "36", "Quercus robur"), (4, 23, "11", "Prunus avium")])
    plans.work("AB-25-104", "building", "Polygon", box(at, 7, 18, 15, 23.5), note="rear addition")  # minor for the oak

    at = plans.lot(2, 4, 1, 3)
    plans.plant(at, [(11, 31.5, "34", "Quercus garryana"), (17, 27, "16", "Juglans regia")])
    plans.work("AB-25-105", "addition", "Polygon", box(at, 5, 18, 17, 25.5), note="rear addition")  # moderate

    at = plans.lot(5, 4, 0, 3)
    plans.plant(at, [(15, 24, "33", "Thuja plicata"), (6, 24, "19", "Pseudotsuga menziesii")])
    plans.work("AB-25-106", "building", "Polygon", box(at, 13, 21, 20, 29), mitigation="screw piles",
               note="garage; cedar stands in it")

    at = plans.lot(0, 1, 1, 2)
    plans.plant(at, [(8, 32, "38", "Acer macrophyllum"), (18, 20, "10", "Betula pendula")])
    plans.work("AB-25-107", "pool", "Polygon", box(at, 6, 22, 15, 27), depth_ft=6.5)
    plans.work("AB-25-107", "paving", "Polygon",
               [ring(at, [(4.5, 20.5), (16.5, 20.5), (16.5, 28.5), (4.5, 28.5)]),
                ring(at, [(6, 22), (6, 27), (15, 27), (15, 22)])], depth_ft=0.5, note="deck around the pool")

    at = plans.lot(7, 0, 0, 3)
    plans.plant(at, [(12, 27, "44", "Quercus garryana"), (3, 26, "07-12", "Malus domestica")])
    for u, v in [(6, 19), (10, 19), (14, 19), (6, 22.5), (10, 22.5), (14, 22.5)]:
        plans.work("AB-25-108", "pier", "Point", at(u, v), radius_ft=0.75, depth_ft=4, note="raised deck")

    at = plans.lot(7, 2, 1, 0)
    plans.plant(at, [(5, 21, "31+", "Juglans nigra"), (18, 32, "13", "Betula pendula")])
    for number in range(9):
        plans.work("AB-25-109", "post", "Point", at(0.3, 2 + 4 * number), note="fence along the lot line")

    at = plans.lot(1, 4, 1, 4)
    plans.plant(at, [(12, 25, "47", "Quercus garryana"), (5, 29, "8", "Pyrus communis")])
    plans.work("AB-25-110", "fill", "Polygon", box(at, 4, 22, 20, 34), note="terrace raised by two feet")

    at = plans.lot(8, 3, 0, 2)
    plans.plant(at, [(4, 27, "32", "Acer macrophyllum"), (16, 26, "15", "Juglans regia")])
    plans.work("AB-25-111", "wall", "Polygon", box(at, 7, 22, 7.6, 34), note="retaining wall with its footing")
    plans.work("AB-25-111", "wall", "LineString", line(at, (20, 22), (20, 34)), note="garden wall, width not stated")

    at = plans.lot(5, 5, 1, 1)
    plans.plant(at, [(11, 29, "39", "Quercus garryana")])
    plans.work("AB-25-112", "planting", "Polygon", box(at, 2, 22, 20, 34), note="beds dug by hand")

    at = plans.lot(4, 0, 1, 2)
    plans.plant(at, [(6, 26, "30", "Quercus robur"), (15, 26, "21", "Pseudotsuga menziesii")])
    plans.work("AB-25-113", "basement", "Polygon", box(at, 5, 7, 17, 18), depth_ft=9)
    plans.work("AB-25-113", "access", "Polygon", box(at, 0.5, 0, 4.5, 22), lasting="temporary",
               mitigation="ground mats", note="excavator track")


def odd_geometry(plans):
    """Works that test a reader: a bow-tie, two parts, a courtyard, an unknown kind, a withdrawn permit."""
    at = plans.lot(3, 0, 0, 1)
    plans.plant(at, [(8, 27, "37", "Quercus garryana")])
    plans.work("AB-25-114", "grading (cut)", "Polygon", [ring(at, [(4, 20), (18, 32), (18, 20), (4, 32)])],
               depth_ft=1.5, note="outline drawn crosswise")

    west, south = block_corner(6, 1)
    school = lambda u, v: (west + u, south + v)  # noqa: E731
    plans.plant(school, [(55, 36, "52", "Quercus robur", {"designated": "yes"}), (24, 50, "33", "Acer macrophyllum"),
                         (88, 52, "26", "Pseudotsuga menziesii"), (12, 12, "18", "Acer rubrum"),
                         (99, 11, "22", "Quercus rubra"), (55, 8, "29.5", "Ulmus pumila")], owner="school")
    plans.work("AB-25-115", "building", "MultiPolygon",
               [box(school, 16, 20, 32, 44), box(school, 80, 20, 94, 46)], note="two class room wings")
    plans.work("AB-25-116", "building", "Polygon",
               [ring(school, [(40, 22), (70, 22), (70, 52), (40, 52)]),
                ring(school, [(45, 26), (45, 47), (65, 47), (65, 26)])], status="in review", note="hall with courtyard")

    at = plans.lot(5, 0, 0, 4)
    plans.plant(at, [(14, 31, "40", "Quercus garryana"), (4, 22, "12", "Prunus avium")])
    plans.work("AB-25-117", "ground heat field", "Polygon", box(at, 4, 22, 18, 28), note="not in any table of kinds")

    at = plans.lot(2, 0, 1, 1)
    plans.plant(at, [(11, 26, "54", "Quercus garryana"), (19, 21, "10", "Malus domestica")])
    plans.work("AB-25-118", "building", "Polygon", box(at, 4, 19, 18, 33), status="withdrawn", note="second house")
    plans.work("AB-25-119", "paving", "Polygon", box(at, 2, 18.5, 6, 22), depth_ft=0.5, note="seat under the oak")


def neighbours(plans):
    """Two additions that each take about 15 % of the oak on the lot line, and more than a quarter only together."""
    first, second = plans.lot(0, 5, 0, 1), plans.lot(0, 5, 0, 2)
    # Radius 36 ft = 10.97 m; a straight edge at 6.5 m cuts 14.6 %: acos(k) - k sqrt(1 - k^2) over pi, k = 0.592.
    plans.plant(second, [(0, 24, "36", "Quercus garryana", {"designated": "yes"})])
    plans.work("AB-25-120", "building", "Polygon", box(first, 10, 14, 15.5, 34), note="workshop west of the oak")
    plans.work("AB-25-121", "building", "Polygon", box(second, 6.5, 14, 12, 34), note="workshop east of the oak")


def unmeasured(plans):
    """Trees beside works whose diameter cannot be used, ranges, lists and doubles: none may vanish."""
    at = plans.lot(8, 1, 0, 1)
    plans.plant(at, [(6, 27, "", "Quercus garryana", {"crown": "70", "designated": "yes"}), (12, 27, "999", "Acer macrophyllum"),
                     (18, 27, "12-Jun", "Corylus avellana"), (6, 33, "0", "Prunus avium"),
                     (12, 33, "N/A", "Malus domestica"), (18, 33, "07-12", "Pyrus communis")])
    plans.work("AB-25-122", "building", "Polygon", box(at, 3, 19, 19, 25), note="garden house")

    at = plans.lot(8, 2, 0, 3)
    plans.plant(at, [(6, 27, "12,8,6", "Betula pendula"), (12, 28, "22;19;14", "Acer macrophyllum"),
                     (18, 27, "13-18", "Juglans regia"), (6, 33, "25-30", "Thuja plicata"),
                     (13, 33, "18/11", "Prunus avium"), (19, 33, "31+", "Quercus garryana")])
    plans.work("AB-25-123", "foundation", "Polygon", box(at, 3, 20, 19, 25), depth_ft=3)

    at = plans.lot(3, 5, 1, 3)
    plans.plant(at, [(6, 27, "17", "QUERCUS GARRYANA", {"id": "AT-D001"}),
                     (6.05, 27.02, "17", "Quercus garryana", {"id": "AT-D001"}),  # entered twice, 5 cm away
                     (16, 28, "23", "Acer macrophyllum", {"id": "AT-D002"}),
                     (10, 33, "15", "Prunus avium", {"id": "AT-D002"}),  # one id for two trees
                     (18, 22, "14", "Prunus avium", {"status": "stump"}),
                     (4, 21, "", "vacant site", {"status": "vacant"}),
                     (12, 22, "20", "Juglans regia", {"status": "removed"})])
    plans.work("AB-25-124", "building", "Polygon", box(at, 3, 18, 19, 24), note="rear addition")

    at = plans.lot(3, 5, 1, 1)
    plans.plant(at, [(6, 26, "28", "=\"Acer \"&\"rubrum\"", {"owner": "+1 555 0100"}),
                     (15, 27, "30", "Quercus × bebbiana", {"owner": "Søren Ångström-Müller",
                                                           "condition": "fair,\n\"leans\" over the shed"})])
    plans.work("AB-25-125", "paving", "Polygon", box(at, 3, 20, 19, 24.5), depth_ft=1.6, note="deep sub-base")


def streets_and_sites(plans):
    """Work in streets, a haul road, poles, and a subdivision at the edge of the town."""
    def street(u, v):  # u along the third street from the south, v across it
        return u, 3 * BLOCK_Y + v

    plans.work("AB-25-126", "resurfacing", "Polygon", box(street, BLOCK_X * 6 + 8, -4.4, BLOCK_X * 8 - 8, 4.4))
    plans.work("AB-25-127", "sidewalk", "Polygon", box(street, 12, 7.2, BLOCK_X - 12, 8.7), depth_ft=0.6)
    plans.work("AB-25-127", "sidewalk", "Polygon", box(street, 12, -8.7, BLOCK_X - 12, -7.2), depth_ft=0.6)
    for number in range(8):
        plans.work("AB-25-128", "pole", "Point", street(BLOCK_X + 14 + number * 14, 5.1), radius_ft=1, depth_ft=6,
                   note="lamp post")

    corner_x, corner_y = block_corner(8, 5)
    site = lambda u, v: (corner_x + u, corner_y + v)  # noqa: E731
    for side in (0, 1):
        for number in range(5):
            plans.taken.add((8, 5, side, number))
    plans.plant(site, [(10, 60, "41", "Quercus garryana"), (52, 50, "56", "Quercus garryana", {"designated": "yes"}),
                       (100, 62, "34", "Pseudotsuga menziesii"), (30, 14, "24", "Juglans regia"),
                       (75, 8, "9.5", "Prunus avium"), (92, 22, "16", "Thuja plicata"), (60, 30, "7", "Malus domestica"),
                       (24, 44, "20", "Pseudotsuga menziesii"), (84, 56, "11", "Betula pendula")])
    plans.work("AB-25-129", "road", "Polygon", box(site, 2, 32, 108, 38), depth_ft=1.5)
    for number in range(4):
        west = 8 + number * 26
        plans.work("AB-25-129", "foundation", "Polygon", box(site, west, 14, west + 13, 25), depth_ft=4)
        if number != 1:  # the old oak keeps its lot
            plans.work("AB-25-129", "foundation", "Polygon", box(site, west, 45, west + 13, 56), depth_ft=4)
    plans.work("AB-25-129", "grading", "Polygon", box(site, 4, 4, 106, 12), depth_ft=2)
    plans.work("AB-25-129", "drain", "LineString", line(site, (4, 40), (106, 40)), width_ft=2.5, depth_ft=5)
    plans.work("AB-25-130", "haul route", "LineString", line(site, (-9, 35), (-9, 78), (55, 84)), width_ft=14,
               lasting="temporary", mitigation="mats if the ground is wet")
    plans.work("AB-25-130", "storage", "Polygon", box(site, 70, 60, 96, 69))
    plans.work("AB-25-130", "crane pad", "Polygon", box(site, 44, 60, 54, 68), status="expired")
    plans.work("AB-25-131", "parking", "Polygon", box(site, 62, 58, 68, 69), depth_ft=0.9)


def park(plans):
    """Hollin Park: a playground, a new path, a pavilion, an event field."""
    west, south = block_corner(3, 2)
    at = lambda u, v: (west + u, south + v)  # noqa: E731
    middle = (2 * BLOCK_Y - 2 * HALF_STREET) / 2
    plans.work("AB-25-132", "excavation", "Polygon", box(at, 40, 100, 62, 118), depth_ft=1.2, note="playground")
    plans.work("AB-25-132", "storage", "Polygon", box(at, 64, 100, 72, 112))
    curve = [(20 + 2 * n, 40 + 14 * math.sin(n / 12)) for n in range(80)]
    plans.work("AB-25-133", "paving", "LineString", line(at, *curve), width_ft=8, depth_ft=0.7, note="new path")
    plans.work("AB-25-134", "resurfacing", "Polygon", box(at, 4, middle - 1.8, 234, middle + 1.8), note="avenue")
    circle = [(170 + 7 * math.cos(math.radians(a)), 120 + 7 * math.sin(math.radians(a))) for a in range(0, 360, 10)]
    plans.work("AB-25-135", "building", "Polygon", [ring(at, circle)], note="pavilion")
    plans.work("AB-25-135", "trench", "LineString", line(at, (170, 113), (170, middle), (234, middle - 6)),
               width_ft=1.5, depth_ft=3)
    plans.work("AB-25-136", "staging", "Polygon", box(at, 100, 10, 160, 26), note="summer stage")


def utilities(plans):
    """Pipes and cables, as lines: trenches, drains, and bores of known and unknown depth."""
    def along(row, offset, start, end):
        return [(start, row * BLOCK_Y + offset), ((start + end) / 2, row * BLOCK_Y + offset), (end, row * BLOCK_Y + offset)]

    def up(column, offset, start, end):
        return [(column * BLOCK_X + offset, start), (column * BLOCK_X + offset, end)]

    add = plans.work
    add("UT-25-01", "trench", "LineString", along(2, 3.4, 12, 3 * BLOCK_X - 12), width_ft=3, depth_ft=6, note="water")
    add("UT-25-02", "trench", "LineString", along(5, -7.9, 4 * BLOCK_X, 6 * BLOCK_X), width_ft=2, depth_ft=3, note="gas")
    add("UT-25-03", "bore", "LineString", along(1, 6.0, BLOCK_X, 4 * BLOCK_X - 12), width_ft=1, depth_ft=9, note="fibre")
    add("UT-25-04", "bore", "LineString", up(2, -6.0, 3 * BLOCK_Y, 5 * BLOCK_Y), width_ft=1, depth_ft=1.5, note="fibre")
    add("UT-25-05", "bore", "LineString", up(7, 6.0, BLOCK_Y, 3 * BLOCK_Y), note="depth to be settled on site")
    add("UT-25-06", "drain", "LineString", up(8, 0.5, 12, 4 * BLOCK_Y), width_ft=4, depth_ft=8, note="storm drain")
    add("UT-25-07", "utility", "LineString", along(4, -5.2, 12, 2 * BLOCK_X - 10), note="width not stated")
    add("UT-25-08", "trench", "LineString", up(5, -3.8, 4 * BLOCK_Y + 10, 6 * BLOCK_Y - 10), width_ft=2.5, depth_ft=4)
    add("UT-25-09", "trench", "MultiLineString",
        [up(1, 4.2, 4 * BLOCK_Y + 10, 5 * BLOCK_Y - 10), up(1, -4.2, 5 * BLOCK_Y + 10, 6 * BLOCK_Y - 10)],
        width_ft=2, depth_ft=3, note="power, two lengths")
    add("UT-25-10", "trench", "LineString", along(3, 5.0, 6 * BLOCK_X + 8, 8 * BLOCK_X - 8), width_ft=1.5, depth_ft=2,
        status="expired")

    at = plans.lot(6, 3, 0, 2)
    plans.plant(at, [(9, 28, "45", "Quercus garryana"), (17, 30, "12", "Malus domestica")])
    add("UT-25-11", "drain", "LineString", line(at, (7, 18), (7, 34.5)), width_ft=1.5, depth_ft=3.5, note="lateral")
    at = plans.lot(6, 0, 1, 3)
    plans.plant(at, [(14, 27, "33", "Pseudotsuga menziesii")])
    add("UT-25-12", "trench", "LineString", line(at, (3, -4), (3, 20), (19, 22.5)), width_ft=1.5, depth_ft=2.5)
    add("UT-25-13", "bore", "LineString", line(at, (2, 27), (21, 27.5)), width_ft=1, depth_ft=7, note="under the fir")
    add("UT-25-14", "trench", "LineString", along(0, 3.0, 5 * BLOCK_X, 8 * BLOCK_X), width_ft=2, depth_ft=3,
        status="withdrawn")


def surfaces():
    """What lies there already: the carriageways of all streets, as lines with a width, and houses beside some permits."""
    streets = [("street", "LineString", [(-BLOCK_X / 2, row * BLOCK_Y), (9.5 * BLOCK_X, row * BLOCK_Y)], 32)
               for row in range(7)]
    streets += [("street", "LineString", [(column * BLOCK_X, -BLOCK_Y / 2), (column * BLOCK_X, 6.5 * BLOCK_Y)], 32)
                for column in range(10) if column != 4]  # the park lies across that one
    lots = [(1, 1, 0, 2), (7, 4, 1, 1), (0, 3, 0, 4), (2, 4, 0, 1), (2, 4, 1, 3), (5, 4, 0, 3), (0, 1, 1, 2),
            (7, 0, 0, 3), (1, 4, 1, 4), (8, 3, 0, 2), (4, 0, 1, 2), (2, 0, 1, 1), (0, 5, 0, 1), (0, 5, 0, 2)]
    found = streets
    for key in lots:
        found += [("house", "Polygon", box(lot(*key), 6, 8, 16, 17), None),
                  ("drive", "Polygon", box(lot(*key), 18, -4, 20.5, 14), None)]
    # A terrace drawn crosswise, and a path whose width nobody wrote down.
    found.append(("terrace", "Polygon", [ring(lot(2, 4, 0, 1), [(7, 17), (15, 20), (15, 17), (7, 20)])], None))
    found.append(("path", "LineString", line(lot(2, 4, 0, 1), (2, 2), (2, 20)), None))
    return [{"surface": kind, "width_ft": width_ft, "type": geometry_type, "coordinates": coordinates}
            for kind, geometry_type, coordinates, width_ft in found]


def all_plans():
    """Every story, in the order of the permit numbers."""
    plans = Plans()
    for story in (houses, additions, odd_geometry, neighbours, unmeasured, streets_and_sites, park, utilities):
        story(plans)
    return plans
