"""A small SVG writer: shapes in metres on a panel, hatches that work in black and white, text in black.

Colours: the eight of Okabe and Ito, "Color Universal Design" (2008), chosen to be told apart by colour-blind readers (values from
memory). No colour stands alone: every area also has a hatch, a line style or a word.
"""

from xml.sax.saxutils import escape

BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILLION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"
GREY, PALE = "#555555", "#F4F4F4"

# Name of a hatch -> (colour, path on an 8 x 8 tile, fill behind it).
HATCHES = {
    "overlap": (VERMILLION, "M-2,2 l4,-4 M0,8 l8,-8 M6,10 l4,-4", "#F6D5BF"),
    "severed": (BLUE, "M-2,6 l4,4 M0,0 l8,8 M6,-2 l4,4", "#E3EFF6"),
    "work": (GREY, "M0,4 h8", "#E2E2E2"),
    "seal": (GREY, "M2,2 h1 M6,6 h1", "#EFEFEF"),
}


def number(value):
    """At most two decimals, no trailing zeros, never -0."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def attributes(named):
    """Keyword arguments as XML attributes; `stroke_width` becomes `stroke-width`."""
    return "".join(f' {name.replace("_", "-")}="{escape(str(value), {chr(34): "&quot;"})}"' for name, value in named.items())


class Drawing:
    """One SVG file with a title and a description for those who cannot see it."""

    def __init__(self, width, height, title, description):
        self.width, self.height, self.title, self.description = width, height, title, description
        self.defs, self.body = [], []
        for name, (colour, path, behind) in HATCHES.items():
            self.defs.append(
                f'<pattern id="{name}" width="8" height="8" patternUnits="userSpaceOnUse">'
                f'<rect width="8" height="8" fill="{behind}"/>'
                f'<path d="{path}" stroke="{colour}" stroke-width="1.3" fill="none"/></pattern>')
        self.defs.append('<marker id="arrow" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="8" markerHeight="8" '
                         'orient="auto-start-reverse"><path d="M0,0.5 L8,4 L0,7.5 z"/></marker>')

    def add(self, element, text=None, **named):
        named = {name: number(value) if isinstance(value, (int, float)) else value for name, value in named.items()}
        inner = "/>" if text is None else f">{escape(text)}</{element}>"
        self.body.append(f"<{element}{attributes(named)}{inner}")

    def text(self, x, y, words, size=14, anchor="start", weight="normal", halo=True):
        """A line of text; a white halo keeps it readable on a hatch."""
        around = {"stroke": "#FFFFFF", "stroke_width": 4, "stroke_linejoin": "round", "paint_order": "stroke"} if halo else {}
        self.add("text", words, x=x, y=y, font_size=size, text_anchor=anchor, font_weight=weight, **around)

    def lines(self, x, y, rows, size=14, anchor="start"):
        for row, words in enumerate(rows):
            self.text(x, y + row * size * 1.35, words, size, anchor)

    def path(self, points, close=True, **named):
        """A path through pixels."""
        data = "M" + " L".join(f"{number(x)},{number(y)}" for x, y in points) + (" z" if close else "")
        self.add("path", d=data, **named)

    def clip_circle(self, name, x, y, r):
        self.defs.append(f'<clipPath id="{name}"><circle cx="{number(x)}" cy="{number(y)}" r="{number(r)}"/></clipPath>')

    def svg(self):
        head = (f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width}" height="{self.height}" '
                f'viewBox="0 0 {self.width} {self.height}" role="img" font-family="Helvetica, Arial, sans-serif" fill="#000000">')
        said = f"<title>{escape(self.title)}</title><desc>{escape(self.description)}</desc>"
        ground = f'<rect width="{self.width}" height="{self.height}" fill="#FFFFFF"/>'
        return "\n".join([head, said, "<defs>", *self.defs, "</defs>", ground, *self.body, "</svg>"]) + "\n"


class Panel:
    """A piece of ground with the trunk centre at 0, 0: x metres east, y metres north."""

    def __init__(self, drawing, name, centre_x, centre_y, pixels_per_metre, radius_m):
        self.drawing, self.name, self.scale, self.radius_m = drawing, name, pixels_per_metre, radius_m
        self.x0, self.y0 = centre_x, centre_y
        drawing.clip_circle(name, centre_x, centre_y, radius_m * pixels_per_metre)

    def at(self, x_m, y_m):
        return self.x0 + x_m * self.scale, self.y0 - y_m * self.scale

    def area(self, corners, fill, clipped=False, **named):
        """A polygon in metres with a colour or the name of a hatch; `clipped` cuts it to the root zone."""
        if clipped:
            named["clip_path"] = f"url(#{self.name})"
        named.setdefault("stroke", BLACK if not clipped else "none")
        named.setdefault("stroke_width", 1.2)
        paint = f"url(#{fill})" if fill in HATCHES else fill
        self.drawing.path([self.at(*corner) for corner in corners], fill=paint, **named)

    def circle(self, radius_m, x_m=0.0, y_m=0.0, **named):
        x, y = self.at(x_m, y_m)
        named = {"fill": "none", "stroke": BLACK, "stroke_width": 1.4, **named}
        self.drawing.add("circle", cx=x, cy=y, r=radius_m * self.scale, **named)

    def trunk(self, radius_m):
        self.circle(radius_m, fill=BLACK, stroke="#FFFFFF", stroke_width=1)

    def line(self, points, **named):
        named = {"fill": "none", "stroke": BLACK, "stroke_width": 1.2, **named}
        self.drawing.path([self.at(*point) for point in points], close=False, **named)

    def arrow(self, start, end):
        self.line([start, end], marker_end="url(#arrow)")

    def label(self, x_m, y_m, words, size=13, anchor="middle", weight="normal"):
        self.drawing.text(*self.at(x_m, y_m), words, size, anchor, weight)

    def pointer(self, from_m, to_m, words, anchor="start"):
        """A word outside with a thin line to what it names."""
        self.line([from_m, to_m], stroke=GREY, stroke_width=1)
        x, y = self.at(*from_m)
        self.drawing.text(x + (4 if anchor == "start" else -4), y + 5, words, 13, anchor)


def box(west, south, east, north):
    """Corners of a rectangle."""
    return [(west, south), (east, south), (east, north), (west, north)]
