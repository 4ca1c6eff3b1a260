"""Drawings of the manual: plain SVG, the same bytes each time."""
