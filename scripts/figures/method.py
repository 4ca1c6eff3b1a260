"""The figures of docs/method.md. Every number printed in them is computed here."""

import math

from figures.shares import box_pct, segment_pct, shadow_pct, strip_pct
from figures.svg import GREEN, GREY, ORANGE, PALE, SKY, VERMILLION, Drawing, Panel, box

FAR = 40.0  # metres: beyond every root zone drawn here


def zone():
    """Root zone, rings and works: what is measured from where."""
    d = Drawing(760, 400, "Root zone, rings and works",
                "A circle around a trunk with two inner circles, a building outside to the right that reaches into it, "
                "and a trench that crosses it below.")
    p = Panel(d, "zone", 330, 195, 19, 9.0)
    p.circle(9.0, fill="#EAF6F1", stroke=GREEN, stroke_width=2.5)
    p.circle(4.5, stroke_dasharray="9 4")
    p.circle(2.25, stroke_dasharray="3 3")
    p.area(box(5.6, 0.8, 13.0, 8.8), "work", fill_opacity=0.9)
    p.area(box(-15.0, -7.6, 13.0, -7.0), "work")
    p.trunk(0.38)
    p.line([(0, 0), (5.6, 0.8)], marker_end="url(#arrow)")
    p.line([(0, 0), (-6.36, 6.36)], marker_end="url(#arrow)")
    p.label(-4.1, 5.2, "radius", anchor="start")
    p.label(2.5, 0.95, "distance", anchor="middle")
    p.label(9.3, 4.8, "building", weight="bold")
    p.label(-10.0, -6.75, "trench, drawn out to its width", anchor="middle")
    p.pointer((10.2, -1.2), (8.9, -1.2), "root zone")
    p.pointer((10.2, -2.6), (3.7, -2.6), "half ring")
    p.pointer((10.2, -3.9), (0.95, -2.05), "quarter ring")
    p.pointer((-10.4, -1.2), (-0.45, -0.1), "trunk", anchor="end")
    return d


def overlap():
    """Overlap: one edge, works that cover each other, and the closed form."""
    d = Drawing(760, 330, "Overlap",
                "Three discs: one cut by a straight edge at half its radius; one under two works that cover each other, counted once; "
                "one with an edge whose inner part makes a triangle and whose outer parts make sectors.")
    r = 10.0
    one = Panel(d, "edge", 130, 135, 11, r)
    one.circle(r, fill=PALE)
    one.area(box(5, -FAR, FAR, FAR), "overlap", clipped=True)
    one.line([(5, -11.2), (5, 11.2)], stroke_width=2)
    one.trunk(0.5)
    one.arrow((0, 0), (5, 0))
    one.label(2.4, 0.7, "r / 2")
    d.lines(130, 275, ["A: a straight edge at r / 2", f"overlap {segment_pct(5, r):.3f} %"], 13, "middle")
    two = Panel(d, "two", 372, 135, 11, r)
    two.circle(r, fill=PALE)
    first, second = box(-3.5, 3, 5.5, 11.4), box(2.5, -3, 11.4, 6.5)
    two.area(first, "overlap", clipped=True)
    two.area(second, "overlap", clipped=True)
    two.area(first, "none")
    two.area(second, "none")
    two.area(box(2.5, 3, 5.5, 6.5), "none", stroke_dasharray="3 3")
    two.trunk(0.5)
    two.label(4.0, 4.3, "once")
    d.lines(372, 275, ["B: works are united first:", "shared ground counts once"], 13, "middle")
    three = Panel(d, "form", 640, 135, 11, r)
    three.circle(r, fill=PALE)
    # The edge y = 5 from (-11, 5) to (4, 5): enters the disc at x = -sqrt(75), ends inside.
    enter = -math.sqrt(75)
    three.area([(0, 0), (enter, 5), (4, 5)], "overlap")
    arc = [(r * math.cos(t), r * math.sin(t)) for t in steps(math.atan2(5, -11), math.atan2(5, enter), 24)]
    three.area([(0, 0), *arc], "severed")
    three.line([(0, 0), (-11, 5)], stroke=GREY, stroke_width=0.8)
    three.line([(-11, 5), (4, 5)], stroke_width=2.4, marker_end="url(#arrow)")
    three.trunk(0.5)
    three.label(-10.8, 6.0, "p", weight="bold")
    three.label(4.6, 6.0, "q", weight="bold")
    three.label(-2.2, 2.6, "T", weight="bold")
    three.label(-7.75, 3.65, "S", weight="bold")
    d.lines(640, 275, ["C: one edge of the boundary:", "triangle T inside, sector S outside"], 13, "middle")
    return d


def steps(start, end, count):
    return [start + (end - start) * step / count for step in range(count + 1)]


def severed():
    """Severed: what lies behind a cut, for an endless trench and a short one."""
    r, near, far, half = 10.0, 5.0, 5.6, 3.0
    d = Drawing(760, 400, "Severed ground behind a trench",
                "Two discs. A trench 0.6 m wide that crosses the whole disc at 5 m severs everything behind it; a trench 6 m long "
                "severs the wedge behind it.")
    left = Panel(d, "endless", 190, 170, 14.5, r)
    left.circle(r, fill=PALE)
    left.area(box(-FAR, near, FAR, FAR), "severed", clipped=True)
    left.area(box(-12, near, 12, far), "overlap")
    left.trunk(0.5)
    left.arrow((0, 0), (0, near))
    left.label(0.4, 2.2, "d = 5 m", anchor="start")
    left.line([(0, 0), (-8.9, -4.5)], marker_end="url(#arrow)")
    left.label(-3.6, -3.2, "r = 10 m", anchor="start")
    left.label(0, 7.2, "severed", weight="bold")
    d.lines(190, 342, ["A: a trench 0.6 m wide, right across",
                       f"overlap {strip_pct(near, far, r):.4f} %, severed {segment_pct(near, r):.4f} %"], 13, "middle")
    right = Panel(d, "short", 570, 170, 14.5, r)
    right.circle(r, fill=PALE)
    reach = 4.0
    wedge = [(-half, near), (half, near), (half * reach, near * reach), (-half * reach, near * reach)]
    right.area(wedge, "severed", clipped=True)
    right.area(box(-half, near, half, far), "overlap")
    right.line([(0, 0), (-half, near)], stroke=GREY, stroke_dasharray="4 3")
    right.line([(0, 0), (half, near)], stroke=GREY, stroke_dasharray="4 3")
    right.trunk(0.5)
    right.label(0, 7.2, "severed", weight="bold")
    right.label(0.0, 2.9, "in sight")
    right.label(-6.2, 2.0, "in sight")
    d.lines(570, 342, ["B: the same trench, 6 m long",
                       f"overlap {box_pct(far - near, 2 * half, r):.4f} %, severed {shadow_pct(near, half, r):.4f} %"], 13, "middle")
    return d


def affected_shares(r=10.0):
    """The worked example: trench 5 to 5.6 m south, right across; driveway 5 to 8 m east, right across, not severing."""
    trench, drive, severed_pct = strip_pct(5, 5.6, r), strip_pct(5, 8, r), segment_pct(5, r)
    crossing = box_pct(3, 0.6, r)
    # Behind the trench: half the driveway's strip, less the 3 m x 5 m between the centre line and the trench.
    behind = drive / 2 - box_pct(3, 5, r)
    return {"overlap": trench + drive - crossing, "severed": severed_pct, "affected": severed_pct + drive - behind}


def affected():
    """Affected: overlap and severed together."""
    r, shares = 10.0, affected_shares()
    d = Drawing(760, 380, "Affected ground",
                "Three discs with the same trench and driveway: the overlap of both, the ground severed by the trench, and both together.")
    trench, drive = box(-10.7, -5.6, 10.7, -5.0), box(5, -11.2, 8, 11.2)
    behind = box(-FAR, -FAR, FAR, -5.0)
    for name, x, fills in [("overlap", 130, [(trench, "overlap"), (drive, "overlap")]), ("severed", 380, [(behind, "severed")]),
                           ("affected", 630, [(drive, "overlap"), (behind, "severed"), (trench, "overlap")])]:
        p = Panel(d, f"a-{name}", x, 150, 11, r)
        p.circle(r, fill=PALE)
        for corners, fill in fills:
            p.area(corners, fill, clipped=True)
        p.area(trench, "none")
        p.area(drive, "none")
        p.trunk(0.5)
        d.lines(x, 305, [f"{'ABC'[['overlap', 'severed', 'affected'].index(name)]}: {name}", f"{shares[name]:.4f} %"], 13, "middle")
    d.lines(380, 355, ["trench: cuts and severs; driveway: seals, does not sever (its part behind the trench counts once)"], 13, "middle")
    return d


def borderline():
    """Borderline: the place moved to sixteen bearings, and the diameter by its rounding."""
    foot = 0.3048
    r, edge = 30 * foot, 4.5
    d = Drawing(760, 410, "Borderline findings",
                "Left: the trunk's place moved one metre to sixteen bearings; moved towards the work the overlap passes the limit. Right: "
                "the zone of a 30 inch tree with the zones of 29.5 and 30.5 inches.")
    left = Panel(d, "moved", 185, 175, 15, r)
    left.circle(r, fill=PALE)
    left.area(box(edge, -FAR, FAR, FAR), "overlap", clipped=True)
    left.line([(edge, -10.5), (edge, 10.5)], stroke_width=2)
    left.circle(r, x_m=1.0, stroke=VERMILLION, stroke_width=2, stroke_dasharray="7 4")
    left.circle(1.0, stroke=GREY, stroke_width=1)
    for step in range(16):
        x, y = math.cos(step * math.pi / 8), math.sin(step * math.pi / 8)
        left.circle(0.16, x, y, fill=VERMILLION if step == 0 else "#FFFFFF")
    left.trunk(0.3)
    left.label(-1.2, -2.6, "16 bearings, 1 m", anchor="middle")
    d.lines(185, 352, [f"A: place: {segment_pct(edge, r):.2f} % as mapped,",
                       f"{segment_pct(edge - 1.0, r):.2f} % moved 1 m towards the work; limit 25 %"], 13, "middle")
    near = 3.72
    right = Panel(d, "rounded", 570, 175, 15, r)
    right.circle(r, fill=PALE)
    right.area(box(near, -FAR, FAR, FAR), "overlap", clipped=True)
    right.circle(29.5 * foot, stroke=SKY, stroke_width=1.6, stroke_dasharray="2 3")
    right.circle(30.5 * foot, stroke=ORANGE, stroke_width=1.6, stroke_dasharray="7 4")
    right.line([(near, -10.5), (near, 10.5)], stroke_width=2)
    right.trunk(0.38)
    right.label(-4.6, -0.2, "written 30 in:", anchor="middle")
    right.label(-4.6, -1.4, "29.5 to 30.5 in", anchor="middle")
    d.lines(570, 352, [f"B: diameter: {segment_pct(near, r):.2f} % at 30 in,",
                       f"{segment_pct(near, 30.5 * foot):.2f} % at 30.5 in; limit 25 %"], 13, "middle")
    return d


FIGURES = {"zone": zone, "overlap": overlap, "severed": severed, "affected": affected, "borderline": borderline}
