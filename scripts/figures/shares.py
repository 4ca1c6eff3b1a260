"""The closed forms behind the worked examples of docs/method.md, each short enough to redo on a calculator."""

import math


def segment_pct(distance_m, radius_m):
    """Share of a disc beyond a straight edge, percent: (r^2 acos(d/r) - d sqrt(r^2 - d^2)) / (pi r^2)."""
    d, r = distance_m, radius_m
    return 100 * (r * r * math.acos(d / r) - d * math.sqrt(r * r - d * d)) / (math.pi * r * r)


def strip_pct(near_m, far_m, radius_m):
    """Share of a disc between two parallel straight edges on one side of its centre, percent."""
    return segment_pct(near_m, radius_m) - segment_pct(far_m, radius_m)


def shadow_pct(distance_m, half_length_m, radius_m):
    """Share of a disc behind a straight cut that faces the centre, percent.

    A sector of the angle 2 atan(h/d), less the triangle in front of the cut.
    """
    d, h, r = distance_m, half_length_m, radius_m
    return 100 * (r * r * math.atan(h / d) - d * h) / (math.pi * r * r)


def box_pct(width_m, length_m, radius_m):
    """Share of a disc under a rectangle that lies wholly within it, percent."""
    return 100 * width_m * length_m / (math.pi * radius_m * radius_m)
