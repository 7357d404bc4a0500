"""What a drawn figure needs to stand in a page with others, or alone in a file or on paper."""

from __future__ import annotations

import re

_ID = re.compile(r'(?<=\sid=")[^"]+(?=")')
_INK, _PAPER = "#1a1a1a", "#ffffff"
_OPENING = re.compile(r"^<svg[^>]*>")
_SIZE = re.compile(r'^<svg[^>]*? width="([\d.]+)" height="([\d.]+)"')


def with_ids_of_its_own(svg: str, name: str) -> str:
    """The figure with every id beginning with ``name``, and every use of one."""
    for found in sorted(set(_ID.findall(svg)), key=len, reverse=True):
        named = re.escape(found)
        svg = re.sub(rf'(\sid=")({named})(")', rf"\g<1>{name}-\g<2>\g<3>", svg)
        svg = re.sub(rf"(url\(#)({named})(\))", rf"\g<1>{name}-\g<2>\g<3>", svg)
        svg = re.sub(rf'(aria-labelledby="(?:[^"]* )?)({named})([ "])', rf"\g<1>{name}-\g<2>\g<3>", svg)
    return svg


def for_paper(svg: str) -> str:
    """The figure in ink on white, with the typeface of print: it has no page around it to take colours from."""
    svg = svg.replace("currentColor", _INK).replace("var(--paper, Canvas)", _PAPER).replace('"transparent"', '"none"')
    return re.sub(r'font-family="[^"]*"', 'font-family="FiraGO"', svg, count=1)


def for_a_file(svg: str) -> str:
    """The figure as a file of its own, on a white ground."""
    opening = _OPENING.match(svg)
    if opening is None:
        raise ValueError("this is no figure")
    ground = f'<rect width="100%" height="100%" fill="{_PAPER}"/>'
    drawn = svg[: opening.end()] + ground + svg[opening.end() :]
    return drawn.replace("currentColor", _INK).replace("var(--paper, Canvas)", _PAPER)


def size_px(svg: str) -> tuple[float, float]:
    """Width and height as drawn."""
    found = _SIZE.match(svg)
    if found is None:
        raise ValueError("this is no figure")
    return float(found[1]), float(found[2])
