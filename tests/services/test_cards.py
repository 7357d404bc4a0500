"""The printed cards: true to size, and read back from a rasterised page."""

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from conftest import SetUp

from journal_server.errors import NotFound
from journal_server.services.cards import PrintedCard, cards_of, draw_cards
from journal_server.services.journal import Journal

DPI = 300
PIXELS_PER_MM = DPI / 25.4


def pages_of(pdf: bytes) -> list[np.ndarray]:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [np.asarray(page.render(scale=DPI / 72).to_pil().convert("L")) for page in document]
    finally:
        document.close()


def test_the_code_measures_50_mm_and_sits_where_the_card_says() -> None:
    (page,) = pages_of(draw_cards([PrintedCard("TAG-7K3Q9M", "Trough 1")]))
    (found,) = zxingcpp.read_barcodes(page)
    assert found.text == "TAG-7K3Q9M"
    x, y = found.position.top_left.x, found.position.top_left.y
    around = page[y - 30 : y + round(50 * PIXELS_PER_MM) + 30, x - 30 : x + round(50 * PIXELS_PER_MM) + 30] < 128
    rows, columns = np.flatnonzero(around.any(axis=1)), np.flatnonzero(around.any(axis=0))
    assert (rows[-1] - rows[0] + 1) / PIXELS_PER_MM == pytest.approx(50, abs=0.15)
    assert (columns[-1] - columns[0] + 1) / PIXELS_PER_MM == pytest.approx(50, abs=0.15)
    # the card's own edge: the code's centre lies 35 mm from the left and from the top
    left, top = x - 30 + columns[0] - 10 * PIXELS_PER_MM, y - 30 + rows[0] - 10 * PIXELS_PER_MM
    for (across, down), level in (((82, 35), 118), ((82, 57), 63), ((82, 13), 255)):
        patch = int(page[round(top + down * PIXELS_PER_MM), round(left + across * PIXELS_PER_MM)])
        assert patch == pytest.approx(level, abs=2)


@pytest.mark.parametrize(("paper", "size_mm"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
def test_every_card_of_a_full_page_is_read(paper: str, size_mm: tuple[float, float]) -> None:
    codes = [f"TAG-AAAAA{n}" for n in range(6)]
    (page,) = pages_of(draw_cards([PrintedCard(code) for code in codes], paper))
    assert page.shape[::-1] == pytest.approx([side * PIXELS_PER_MM for side in size_mm], abs=2)
    assert sorted(found.text for found in zxingcpp.read_barcodes(page)) == codes


def test_cards_come_in_walking_order_and_by_choice(journal: Journal, set_up: SetUp) -> None:
    first, second = set_up.planting("TAG-7K3Q9M"), set_up.planting("TAG-0V4CAR")
    assert [c.code for c in cards_of(journal)] == ["TAG-7K3Q9M", "TAG-0V4CAR"]
    assert [c.code for c in cards_of(journal, [second])] == ["TAG-0V4CAR"]
    set_up.edit("planting", first, removed_on="2026-09-01")
    assert [c.code for c in cards_of(journal)] == ["TAG-0V4CAR"]
    with pytest.raises(NotFound):
        cards_of(journal, ["nobody"])


def test_many_cards_make_several_pages_and_odd_names_do_no_harm() -> None:
    cards = [PrintedCard("TAG-7K3Q9M", "名前 'Ünïcode' \\) BT (" + "x" * 200)] * 13
    assert len(pages_of(draw_cards(cards, "letter"))) == 3
