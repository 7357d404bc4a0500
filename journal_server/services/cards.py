"""The printed cards, true to size, as PDF (dimensions: 100 x 70 mm, code 50 mm, three neutral squares)."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass

import segno
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from journal_server.errors import InputRefused, NotFound
from journal_server.services.journal import Journal
from journal_server.storage.records import load_records

CARD_WIDTH_MM, CARD_HEIGHT_MM, STRIP_MM = 100.0, 70.0, 12.0
CODE_MM, CODE_CENTRE_MM = 50.0, (35.0, 35.0)
SQUARE_MM, SQUARE_CENTRES_MM = (22.0, 16.0), ((82.0, 13.0), (82.0, 35.0), (82.0, 57.0))
SQUARE_GREYS = (1.0, 0.466, 0.247)
"""sRGB levels of the white, about 18 % and about 5 % squares: the encoding of these reflectances (IEC 61966-2-1)."""
PAPERS = {"a4": A4, "letter": LETTER}


@dataclass(frozen=True)
class PrintedCard:
    code: str
    name: str | None = None


def cards_of(journal: Journal, planting_ids: Sequence[str] = ()) -> list[PrintedCard]:
    """The cards of the given plantings, or of all that still stand, in walking order."""
    with journal.database.reading() as session:
        plantings = load_records(session, "planting")
        cultivars = {r.id: r.fields for r in load_records(session, "cultivar")}
        planters = {r.id: r.fields for r in load_records(session, "planter")}
    missing = set(planting_ids) - {p.id for p in plantings}
    if missing:
        raise NotFound("There is no such planting.")
    chosen = [p for p in plantings if (p.id in planting_ids if planting_ids else not p.fields["removed_on"])]
    if not chosen:
        raise InputRefused("There is no planting yet to print a card for. Set up the trial first.")
    chosen.sort(key=lambda p: (planters[p.fields["planter_id"]]["walk_order"] or 0, p.id))
    return [
        PrintedCard(
            p.fields["card_code"],
            f"{planters[p.fields['planter_id']]['name']}: {cultivars[p.fields['cultivar_id']]['genus']} "
            f"'{cultivars[p.fields['cultivar_id']]['name']}'",
        )
        for p in chosen
        if p.fields["card_code"]
    ]


def draw_cards(cards: Sequence[PrintedCard], paper: str = "a4") -> bytes:
    """A PDF of the cards, as many a page as fit, with cutting lines."""
    if paper not in PAPERS:
        raise InputRefused(f"The paper must be one of: {', '.join(PAPERS)}.", "paper")
    width, height = PAPERS[paper]
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(width, height), invariant=1, pageCompression=1)
    canvas.setTitle("Cards of the planting trial journal: print at 100 %, not fitted to the page")
    per_column = int((height - 20 * mm) // ((CARD_HEIGHT_MM + STRIP_MM) * mm))
    per_row = max(1, int((width - 6 * mm) // (CARD_WIDTH_MM * mm)))
    left = (width - per_row * CARD_WIDTH_MM * mm) / 2
    for index, card in enumerate(cards):
        place = index % (per_row * per_column)
        if index and place == 0:
            canvas.showPage()
        x = left + (place % per_row) * CARD_WIDTH_MM * mm
        top = height - 10 * mm - (place // per_row) * (CARD_HEIGHT_MM + STRIP_MM) * mm
        _draw_card(canvas, card, x, top)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _draw_card(canvas: Canvas, card: PrintedCard, left: float, top: float) -> None:
    canvas.setLineWidth(0.2)
    canvas.setStrokeGray(0.6)
    canvas.rect(left, top - (CARD_HEIGHT_MM + STRIP_MM) * mm, CARD_WIDTH_MM * mm, (CARD_HEIGHT_MM + STRIP_MM) * mm)
    canvas.setDash(1, 2)
    canvas.line(left, top - CARD_HEIGHT_MM * mm, left + CARD_WIDTH_MM * mm, top - CARD_HEIGHT_MM * mm)
    canvas.setDash()
    _draw_code(canvas, card.code, left, top)
    for (cx, cy), grey in zip(SQUARE_CENTRES_MM, SQUARE_GREYS, strict=True):
        w, h = SQUARE_MM
        canvas.setFillGray(grey)
        canvas.setStrokeGray(0.5)
        canvas.rect(left + (cx - w / 2) * mm, top - (cy + h / 2) * mm, w * mm, h * mm, fill=1, stroke=int(grey == 1))
    canvas.setFillGray(0)
    canvas.setFont("Courier-Bold", 12)
    canvas.drawString(left + 4 * mm, top - (CARD_HEIGHT_MM + 7.5) * mm, card.code)
    canvas.setFont("Helvetica", 8)
    name = (card.name or "").encode("cp1252", "replace").decode("cp1252")
    canvas.drawString(left + 34 * mm, top - (CARD_HEIGHT_MM + 7.3) * mm, name[:44])


def _draw_code(canvas: Canvas, code: str, left: float, top: float) -> None:
    made = segno.make(code, version=1, error="h", mode="alphanumeric", boost_error=False, micro=False)
    module = CODE_MM / 21 * mm
    x0 = left + (CODE_CENTRE_MM[0] - CODE_MM / 2) * mm
    y0 = top - (CODE_CENTRE_MM[1] - CODE_MM / 2) * mm
    canvas.setFillGray(0)
    path = canvas.beginPath()
    for r, row in enumerate(made.matrix):
        for c, dark in enumerate(row):
            if dark:
                path.rect(x0 + c * module, y0 - (r + 1) * module, module, module)
    canvas.drawPath(path, stroke=0, fill=1)
