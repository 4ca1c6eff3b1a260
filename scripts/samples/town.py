"""The invented town of Alderwick: its ground plan, its trees and the park's trees.

Works in town metres (x east, y north, origin at the south-west corner); `place` turns them into longitude and
latitude (WGS 84). Nothing here touches a file. Every random number comes from one seeded generator, so the same
town comes out each time.
"""

import math
import random

SEED = 1887
# Where the town is put. There is no such town: the place only has to lie somewhere on Earth.
CENTRE_LONGITUDE, CENTRE_LATITUDE = -118.452, 46.852
TURN_DEGREES = 4.0

# Ground plan, metres: street centre lines every BLOCK_X by BLOCK_Y, streets 18 m wide between lot lines.
COLUMNS, ROWS = 9, 6
BLOCK_X, BLOCK_Y = 128.0, 88.0
HALF_STREET = 9.0
TREE_LINE = 6.0  # street trees stand this far from the centre line, between kerb and footpath
LOT_X, LOT_Y = 22.0, 35.0  # five lots beside each other, two rows back to back
LOTS = 5
PARK = {(3, 2), (4, 2), (3, 3), (4, 3)}
SCHOOL = {(6, 1)}

STREET_SPECIES = [  # name, share, mean diameter in inches
    ("Acer platanoides", 18, 14), ("Tilia cordata", 14, 13), ("Fraxinus pennsylvanica", 12, 13),
    ("Prunus serrulata", 11, 9), ("Platanus × hispanica", 9, 19), ("Acer rubrum", 9, 12),
    ("Quercus rubra", 8, 17), ("Ulmus pumila", 6, 18), ("Gleditsia triacanthos", 6, 12),
    ("Tilia × europaea", 4, 16), ("Ginkgo biloba", 3, 8),
]
GARDEN_SPECIES = [
    ("Malus domestica", 18, 8), ("Prunus avium", 14, 10), ("Acer macrophyllum", 10, 19), ("Thuja plicata", 9, 17),
    ("Pseudotsuga menziesii", 9, 21), ("Juglans regia", 7, 17), ("Betula pendula", 9, 10),
    ("Picea pungens", 8, 13), ("Corylus avellana", 6, 5), ("Quercus garryana", 6, 22), ("Pyrus communis", 4, 9),
]
HERITAGE_SPECIES = [
    ("Quercus garryana", 55, 40), ("Quercus robur", 15, 42), ("Acer macrophyllum", 12, 38),
    ("Pseudotsuga menziesii", 10, 41), ("Juglans nigra", 8, 36),
]
PARK_SPECIES = [
    ("Quercus robur", 20, 68), ("Fagus sylvatica", 14, 72), ("Tilia cordata", 16, 48), ("Pinus ponderosa", 18, 55),
    ("Aesculus hippocastanum", 12, 60), ("Betula pendula", 10, 28), ("Populus tremuloides", 10, 25),
]


class Dice:
    """A seeded generator that rests on `random()` alone, whose sequence Python keeps from version to version."""

    def __init__(self, seed):
        self.source = random.Random(seed)

    def chance(self, share):
        return self.source.random() < share

    def between(self, low, high):
        return low + (high - low) * self.source.random()

    def pick(self, weighted):
        """One of (value, weight, ...) tuples."""
        mark = self.source.random() * sum(entry[1] for entry in weighted)
        for entry in weighted:
            mark -= entry[1]
            if mark < 0:
                return entry
        return weighted[-1]

    def bell(self):
        """About normal: mean 0, deviation 1 (sum of twelve uniform numbers)."""
        return sum(self.source.random() for _ in range(12)) - 6.0


def degrees(centre, east_m, north_m):
    """Longitude and latitude (WGS 84) of a point given in metres from `centre`, by the ellipsoid's radii of curvature there.

    Over 1 km the error stays below 3 cm, which no one can see in an invented place.
    """
    semi_major_m, eccentricity2 = 6378137.0, 0.00669437999014
    latitude = math.radians(centre[1])
    bend = 1 - eccentricity2 * math.sin(latitude) ** 2
    meridian_m = semi_major_m * (1 - eccentricity2) / bend ** 1.5
    prime_vertical_m = semi_major_m / math.sqrt(bend)
    return (round(centre[0] + math.degrees(east_m / (prime_vertical_m * math.cos(latitude))), 7),
            round(centre[1] + math.degrees(north_m / meridian_m), 7))


def place(x, y):
    """Town metres to (longitude, latitude) in degrees, WGS 84."""
    east, north = x - COLUMNS * BLOCK_X / 2, y - ROWS * BLOCK_Y / 2
    turn = math.radians(TURN_DEGREES)
    return degrees((CENTRE_LONGITUDE, CENTRE_LATITUDE), east * math.cos(turn) - north * math.sin(turn),
                   east * math.sin(turn) + north * math.cos(turn))


def block_corner(column, row):
    """South-west corner of a block's lots."""
    return column * BLOCK_X + HALF_STREET, row * BLOCK_Y + HALF_STREET


def lot(column, row, side, number):
    """A function from lot metres (u along the street, v from the street backwards) to town metres.

    Side 0 faces the street to the south, side 1 the street to the north. A usual house covers u 5-17, v 7-18; the
    lot is 22 x 35 m; v below 0 is footpath (to -1.8), tree line (-3) and kerb (-4.5).
    """
    west, south = block_corner(column, row)
    if side == 0:
        return lambda u, v: (west + number * LOT_X + u, south + v)
    return lambda u, v: (west + LOTS * LOT_X - number * LOT_X - u, south + 2 * LOT_Y - v)


def tree(x, y, diameter, species, **more):
    """A tree as the inventory will write it; `diameter` is the cell's text, in inches (in the park: a number, cm)."""
    record = {"x": x, "y": y, "diameter": diameter, "species": species, "condition": "good", "status": "present",
              "crown": "", "owner": "city", "designated": ""}
    record.update(more)
    return record


def inches(dice, mean, low=2.0, high=29.0):
    """A diameter around the mean; whole inches mostly, halves sometimes, as people write them."""
    value = min(max(mean * (1 + 0.38 * dice.bell()), low), high)
    if dice.chance(0.12):
        return f"{round(value * 2) / 2:g}"
    return f"{round(value)}"


def crown_feet(dice, text):
    """A crown spread in feet, missing for a third of the trees."""
    if dice.chance(0.33):
        return ""
    return f"{round(6 + 1.5 * float(text) * (1 + 0.15 * dice.bell()))}"


CONDITIONS = [("good", 55), ("fair", 30), ("poor", 10), ("", 4), ("dead", 1)]


def ordinary(dice, x, y, species_list, owner):
    """One tree of no special purpose."""
    species, _, mean = dice.pick(species_list)
    text = inches(dice, mean)
    return tree(x, y, text, species, owner=owner, condition=dice.pick(CONDITIONS)[0], crown=crown_feet(dice, text))


def street_trees(dice):
    """Trees along both sides of every street, about 9 m apart, none at corners, gaps at one in five places."""
    trees = []
    for row in range(ROWS):
        for column in range(COLUMNS):
            west, south = block_corner(column, row)
            east, north = west + LOTS * LOT_X, south + 2 * LOT_Y
            step_in = HALF_STREET - TREE_LINE
            edges = [((west + 6, south - step_in), (east - 6, south - step_in), (column, row - 1)),
                     ((east + step_in, south + 6), (east + step_in, north - 6), (column + 1, row)),
                     ((east - 6, north + step_in), (west + 6, north + step_in), (column, row + 1)),
                     ((west - step_in, north - 6), (west - step_in, south + 6), (column - 1, row))]
            for (x0, y0), (x1, y1), beyond in edges:
                if {(column, row), beyond} <= PARK:
                    continue  # no street runs through the park
                length = math.hypot(x1 - x0, y1 - y0)
                for number in range(int(length // 9) + 1):
                    if dice.chance(0.2):
                        continue
                    share = (number * 9.0 + dice.between(-0.8, 0.8)) / length
                    trees.append(ordinary(dice, x0 + (x1 - x0) * share, y0 + (y1 - y0) * share, STREET_SPECIES, "city"))
    return trees


def garden_trees(dice, taken):
    """Trees on lots that no permit's story has taken: fruit trees, conifers, and on one lot in seven an old oak."""
    trees = []
    for row in range(ROWS):
        for column in range(COLUMNS):
            if (column, row) in PARK | SCHOOL:
                continue
            for side in (0, 1):
                for number in range(LOTS):
                    at = lot(column, row, side, number)
                    spots = []
                    if dice.chance(0.4):
                        spots.append((dice.between(3, 10), dice.between(1.5, 5), GARDEN_SPECIES))
                    if dice.chance(0.8):
                        spots.append((dice.between(2, 20), dice.between(22, 28), GARDEN_SPECIES))
                    if dice.chance(0.4):
                        spots.append((dice.between(2, 20), dice.between(29, 34), GARDEN_SPECIES))
                    old = dice.chance(1 / 7)
                    where = (dice.between(4, 18), dice.between(23, 31))
                    species, _, mean = dice.pick(HERITAGE_SPECIES)
                    text = f"{round(min(max(mean + 8 * dice.bell(), 30), 60))}"
                    grown = [ordinary(dice, *at(u, v), kinds, "private") for u, v, kinds in spots]
                    if old:
                        grown.append(tree(*at(*where), text, species, owner="private", crown=crown_feet(dice, text)))
                    if (column, row, side, number) not in taken:
                        trees.extend(grown)
    return trees


def park_trees(dice):
    """Hollin Park: an avenue, scattered old trees and a grove; diameters in whole centimetres."""
    west, south = block_corner(3, 2)
    width, height = 2 * BLOCK_X - 2 * HALF_STREET, 2 * BLOCK_Y - 2 * HALF_STREET
    spots = []
    for number in range(25):  # a double avenue from west to east
        for offset in (-4.5, 4.5):
            spots.append((west + 8 + number * 9.2, south + height / 2 + offset, "Tilia cordata", 52))
    for _ in range(400):
        if len(spots) >= 180:
            break
        x, y = west + dice.between(4, width - 4), south + dice.between(4, height - 4)
        if abs(y - south - height / 2) < 10 or any(math.hypot(x - a, y - b) < 5 for a, b, _, _ in spots):
            continue
        species, _, mean = dice.pick(PARK_SPECIES)
        spots.append((x, y, species, mean))
    trees = []
    for x, y, species, mean in spots:
        diameter_cm = round(min(max(mean * (1 + 0.35 * dice.bell()), 5), 160))
        crown_m = round(1.5 + 0.16 * diameter_cm * (1 + 0.12 * dice.bell()), 1)
        height_m = round(3 + 22 * (1 - math.exp(-diameter_cm / 45)) * (1 + 0.08 * dice.bell()), 1)
        trees.append(tree(x, y, diameter_cm, species, crown=crown_m, height=height_m,
                          condition=dice.pick(CONDITIONS)[0]))
    trees[60]["diameter"] = None  # one tree of the park was never measured
    trees[61]["designated"] = "yes"
    trees[61]["diameter"] = 24
    return trees
