"""Line patterns and mark shapes that tell several curves apart without colour."""

from __future__ import annotations

from journal_server.figures.svg import INK, PAPER, Svg, number, tag

#: Dash patterns in pixels; None is a whole line. With the shapes they repeat after 24 curves.
DASHES = (None, "7 4", "2 3", "9 3 2 3", "12 4", "4 2 1 2", "1 5", "8 2 2 2 2 2")
_SHAPES = ("circle", "square", "triangle")


def dash(position: int) -> str | None:
    """The dash pattern of the curve at this position."""
    return DASHES[position % len(DASHES)]


def mark(position: int, x: float, y: float) -> Svg:
    """The mark of a measured day: the shape changes with each curve, and is filled or open in turn."""
    fill = INK if position % 2 == 0 else PAPER
    shape = _SHAPES[position % len(_SHAPES)]
    if shape == "circle":
        return tag("circle", cx=x, cy=y, r=3.5, fill=fill, stroke=INK, stroke_width=1.25)
    if shape == "square":
        return tag("rect", x=x - 3, y=y - 3, width=6, height=6, fill=fill, stroke=INK, stroke_width=1.25)
    corners = f"M{number(x)} {number(y - 4.2)}L{number(x + 4)} {number(y + 3)}H{number(x - 4)}Z"
    return tag("path", d=corners, fill=fill, stroke=INK, stroke_width=1.25)
