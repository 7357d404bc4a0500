"""The printed cards, true to size: where everything stands in millimetres, and what the sheet says about printing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import segno

from journal_server.printing.typeset import typeset

CARD_MM = (100.0, 70.0)
STRIP_MM = 12.0
"""Below the card: for people to read, so that the code's quiet zone of four modules stays empty."""
MODULES, MODULES_MM = 21, 50.0
CODE_MM = (10.0, 10.0)
"""Left and top edge of the modules: their centre is 35 mm from the card's left and top edge."""
SQUARE_MM, SQUARE_CENTRES_MM = (22.0, 16.0), ((82.0, 13.0), (82.0, 35.0), (82.0, 57.0))
SQUARE_GREYS = (1.0, 0.466, 0.247)
"""sRGB levels of the white, about 18 % and about 5 % squares: the encoding of these reflectances (IEC 61966-2-1)."""
TEST_LINE_MM = 100.0

PAPERS_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
ACROSS, DOWN = 2, 3
_TOP_MM = 8.0

_WORDS = {
    "title": "Cards of the planting trial journal: print at 100 %, not fitted to the page",
    "spare": "A spare card: write its code down at the planting that gets it.",
    "line": (
        "Measure this line: it must be 100 mm long. If it is not, print again at 100 % (actual size, not fitted "
        "to the page), for the card is the scale of every measurement."
    ),
    "paper": (
        "Print on matt white paper or card and cut along the corner marks. Do not laminate it glossy: the glare hides "
        "the code and whitens the squares. Against rain take a matt pouch, or weatherproof matt paper in a laser "
        "printer. The strip below a card may stay on or be folded back."
    ),
}


@dataclass(frozen=True)
class PrintedCard:
    """A spare card has a code and a line to write on."""

    code: str
    cultivar: str = ""
    place: str = ""
    spare: bool = False


def draw_cards(cards: Sequence[PrintedCard], paper: str) -> bytes:
    """A PDF, six cards a sheet, with marks to cut along and a line to check the printer's scale.

    Raises KeyError for a paper that is not in ``PAPERS_MM``.
    """
    source = Path(__file__).with_name("cards.typ").read_text(encoding="utf-8")
    data = {"cards": [asdict(card) for card in cards], "layout": layout_mm(paper), "words": _WORDS}
    return typeset(source, data, {f"{card.code}.svg": code_svg(card.code) for card in cards})


def layout_mm(paper: str) -> dict[str, Any]:
    """Where the cards stand on the paper, and what stands where on a card, in millimetres."""
    width, height = PAPERS_MM[paper]
    return {
        "page": (width, height),
        "card": CARD_MM,
        "strip": STRIP_MM,
        "modules": MODULES_MM,
        "code": CODE_MM,
        "square": SQUARE_MM,
        "squares": SQUARE_CENTRES_MM,
        "greys": SQUARE_GREYS,
        "across": ACROSS,
        "down": DOWN,
        "left": (width - ACROSS * CARD_MM[0]) / 2,
        "top": _TOP_MM,
        "foot": _TOP_MM + DOWN * (CARD_MM[1] + STRIP_MM) + 4.0,
        "test-line": TEST_LINE_MM,
    }


def code_svg(text: str) -> bytes:
    """The modules of the code (ISO/IEC 18004, version 1, level H) without a quiet zone, one unit a module."""
    made = segno.make(text, version=1, error="h", mode="alphanumeric", boost_error=False, micro=False)
    dark = "".join(
        f"M{column} {row}h1v1h-1z" for row, line in enumerate(made.matrix) for column, on in enumerate(line) if on
    )
    view = f'viewBox="0 0 {MODULES} {MODULES}" width="{MODULES}" height="{MODULES}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {view}><path d="{dark}"/></svg>'.encode()
