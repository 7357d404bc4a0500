"""How to read a ribbon: a small piece of one in greys, with a word at each of its parts."""

from __future__ import annotations

from journal_server.figures.svg import INK, MUTED, PAPER, UNKNOWN, Svg, join, line, tag, text

KEY_PX = 86.0
_PIECE_PX = 44.0


def draw_key(left: float, top: float, hatch_id: str, *, grey_used: bool) -> Svg:
    """The key, `KEY_PX` high; ``grey_used`` adds what plain grey means."""
    right = left + _PIECE_PX
    parts = [
        line(left, top + 4, right, top + 4, opacity=0.5, stroke_dasharray="1 3"),
        tag("rect", x=left, y=top + 14, width=_PIECE_PX, height=14, fill=INK, fill_opacity=0.1),
        tag("rect", x=left, y=top + 28, width=_PIECE_PX, height=32, fill=INK, fill_opacity=0.38),
        tag("rect", x=left, y=top + 28, width=_PIECE_PX, height=10, fill=f"url(#{hatch_id})"),
        line(left, top + 14, right, top + 14, opacity=0.7),
        tag("line", x1=left, y1=top + 28, x2=right, y2=top + 28, stroke=PAPER, stroke_width=1.25),
        line(left, top + 60, right, top + 60, opacity=0.75),
    ]
    words = ["all of the frame filled", "in flower, in the colour of sure days", "spent bloom", "leaves"]
    heights = (8, 25, 40, 56)
    parts += [text(right + 8, top + y, line_words, opacity=MUTED) for y, line_words in zip(heights, words, strict=True)]
    if grey_used:
        parts.append(tag("rect", x=left, y=top + 65, width=_PIECE_PX, height=12, fill=UNKNOWN, fill_opacity=0.45))
        parts.append(text(right + 8, top + 75, "flowers not measured", opacity=MUTED))
    return join(*parts)
