"""The printed cards: each length measured on the rasterised page in millimetres, each code read by other readers."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest
import zxingcpp
from conftest import SetUp
from made_season import photo_without_numbers
from PIL import Image

from journal_server.domain.cards import is_card_code
from journal_server.errors import InputRefused, NotFound
from journal_server.measurement import card_layout
from journal_server.printing.cards import (
    ACROSS,
    CARD_MM,
    DOWN,
    MODULES,
    PAPERS_MM,
    STRIP_MM,
    PrintedCard,
    draw_cards,
    layout_mm,
)
from journal_server.services.cards import MOST_SPARE, cards_of, choose_cards, print_cards
from journal_server.services.journal import Journal

DPI = 400
PIXELS_PER_MM = DPI / 25.4
TENTH_MM = 0.1
PER_SHEET = ACROSS * DOWN
Page = np.ndarray


def codes(count: int) -> list[str]:
    letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
    return [f"TAG-7K3Q{letters[n // 32]}{letters[n % 32]}" for n in range(count)]


def pages_of(pdf: bytes, dpi: int = DPI) -> list[Page]:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [np.asarray(page.render(scale=dpi / 72).to_pil().convert("L")) for page in document]
    finally:
        document.close()


def text_of(pdf: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [page.get_textpage().get_text_bounded() for page in document]
    finally:
        document.close()


def cards_on(page: Page, paper: str) -> Iterator[tuple[float, float]]:
    """Left and top edge of every place for a card, in mm from the corner of the sheet."""
    at = layout_mm(paper)
    for place in range(PER_SHEET):
        row, column = divmod(place, ACROSS)
        yield at["left"] + column * CARD_MM[0], at["top"] + row * (CARD_MM[1] + STRIP_MM)


def cut(page: Page, left: float, top: float, right: float, bottom: float) -> Page:
    """The part between these edges, in mm."""
    rows = slice(round(top * PIXELS_PER_MM), round(bottom * PIXELS_PER_MM))
    return page[rows, round(left * PIXELS_PER_MM) : round(right * PIXELS_PER_MM)]


def edges_mm(
    page: Page, left: float, top: float, right: float, bottom: float, darker_than: int = 200
) -> tuple[float, float, float, float]:
    """Left, top, right and bottom edge of what is drawn between these edges, in mm from the sheet's corner."""
    drawn = cut(page, left, top, right, bottom) < darker_than
    x, y = round(left * PIXELS_PER_MM), round(top * PIXELS_PER_MM)
    rows, columns = np.flatnonzero(drawn.any(axis=1)) + y, np.flatnonzero(drawn.any(axis=0)) + x
    found = (columns[0], rows[0], columns[-1] + 1, rows[-1] + 1)
    return tuple(float(edge) / PIXELS_PER_MM for edge in found)  # type: ignore[return-value]


@pytest.fixture(scope="module", params=sorted(PAPERS_MM))
def printed(request: pytest.FixtureRequest) -> tuple[str, list[Page]]:
    """Thirty cards on one of the papers."""
    cards = [PrintedCard(code, f"Petunia ‘Made Up {n}’", f"Trough {n}") for n, code in enumerate(codes(30))]
    return request.param, pages_of(draw_cards(cards, request.param))


def test_the_sheet_is_as_large_as_the_paper_and_thirty_cards_need_five(printed: tuple[str, list[Page]]) -> None:
    paper, pages = printed
    assert len(pages) == 5
    for page in pages:
        assert page.shape[::-1] == pytest.approx([side * PIXELS_PER_MM for side in PAPERS_MM[paper]], abs=1)


def test_code_and_squares_stand_where_the_layout_that_photos_are_measured_by_has_them(
    printed: tuple[str, list[Page]],
) -> None:
    paper, pages = printed
    expected = {"code": card_layout.CODE_MM, "grey": card_layout.PATCHES_MM["grey"]}
    expected |= {name: card_layout.PATCHES_MM[name] for name in ("white", "black")}
    for page in pages:
        for left, top in cards_on(page, paper):
            for name, (x0, y0, x1, y1) in expected.items():
                found = edges_mm(page, left + x0 - 3, top + y0 - 3, left + x1 + 3, top + y1 + 3)
                expected_mm = (left + x0, top + y0, left + x1, top + y1)
                assert found == pytest.approx(expected_mm, abs=TENTH_MM), (name, left, top)
    assert (CARD_MM, MODULES) == ((card_layout.WIDTH_MM, card_layout.HEIGHT_MM), card_layout.MODULES)


def test_a_module_measures_50_mm_by_21(printed: tuple[str, list[Page]]) -> None:
    """Told from every change between dark and light along the rows of modules: all lie on the grid."""
    paper, pages = printed
    left, top = next(cards_on(pages[0], paper))
    x0, y0, x1, _ = card_layout.CODE_MM
    changes = []
    for row in range(MODULES):
        middle = top + y0 + (row + 0.5) * 50 / 21
        line = cut(pages[0], left + x0 - 2, middle, left + x1 + 2, middle + 0.1)[0] < 128
        changes += list(np.flatnonzero(np.diff(line.astype(int))) + 1)
    edges = np.array(sorted(changes)) / PIXELS_PER_MM - 2
    modules = np.round(edges / (50 / 21))
    assert set(modules) == set(range(MODULES + 1))
    size, begins = np.polyfit(modules, edges, 1)
    assert size == pytest.approx(50 / 21, abs=0.001)
    assert begins == pytest.approx(0, abs=TENTH_MM / 2)
    assert np.abs(edges - modules * 50 / 21).max() < TENTH_MM


def test_the_quiet_zone_of_four_modules_is_empty(printed: tuple[str, list[Page]]) -> None:
    paper, pages = printed
    quiet = 4 * 50 / 21
    x0, y0, x1, y1 = card_layout.CODE_MM
    for page in pages:
        for left, top in cards_on(page, paper):
            around = cut(page, left + x0 - quiet, top + y0 - quiet, left + x1 + quiet, top + y1 + quiet).copy()
            inner = int(quiet * PIXELS_PER_MM) - 1
            around[inner:-inner, inner:-inner] = 255
            assert around.shape[0] > 69 * PIXELS_PER_MM
            assert around.min() >= 250


@pytest.mark.parametrize(("name", "level"), [("white", 255), ("grey", 118), ("black", 63)])
def test_the_squares_have_their_levels(printed: tuple[str, list[Page]], name: str, level: int) -> None:
    """Levels of 18 % and 5 % reflectance: 1.055 x ^ (1 / 2.4) - 0.055 of IEC 61966-2-1 gives 118 and 63."""
    paper, pages = printed
    x0, y0, x1, y1 = card_layout.PATCHES_MM[name]
    for page in pages:
        for left, top in cards_on(page, paper):
            inside = cut(page, left + x0 + 0.3, top + y0 + 0.3, left + x1 - 0.3, top + y1 - 0.3)
            assert np.abs(inside.astype(int) - level).max() <= 2


def test_every_code_is_read_by_two_readers_that_are_not_ours(printed: tuple[str, list[Page]]) -> None:
    paper, pages = printed
    reader = cv2.QRCodeDetector()
    by_zxing, by_opencv = [], []
    for page in pages:
        by_zxing += [found.text for found in zxingcpp.read_barcodes(page)]
        for left, top in cards_on(page, paper):
            card = cut(page, left, top, left + 70, top + 70)
            by_opencv.append(reader.detectAndDecode(cv2.resize(card, None, fx=0.25, fy=0.25))[0])
    assert sorted(by_zxing) == codes(30)
    assert by_opencv == codes(30)


def test_zbar_reads_them_too_where_this_computer_has_it(printed: tuple[str, list[Page]], tmp_path: Path) -> None:
    """One card a picture: of several in one it leaves some out."""
    paper, pages = printed
    program = shutil.which("zbarimg")
    pictures = []
    for page in pages if program else ():
        for left, top in cards_on(page, paper):
            pictures.append(tmp_path / f"{len(pictures):02}.png")
            card = cut(page, left, top, left + CARD_MM[0], top + CARD_MM[1])
            Image.fromarray(card).resize((400, 280)).save(pictures[-1])
    if program:
        command = [program, "--quiet", "--raw", *map(str, pictures)]
        assert subprocess.run(command, capture_output=True, text=True, check=True).stdout.split() == codes(30)


def test_the_line_to_measure_is_100_mm_long(printed: tuple[str, list[Page]]) -> None:
    paper, pages = printed
    at = layout_mm(paper)
    for page in pages:
        left, _, right, _ = edges_mm(page, at["left"] - 3, at["foot"] + 1.3, at["left"] + 103, at["foot"] + 1.7)
        assert right - left == pytest.approx(100, abs=TENTH_MM)


def test_nothing_stands_outside_of_cards_and_foot_or_where_printers_do_not_reach(
    printed: tuple[str, list[Page]],
) -> None:
    paper, pages = printed
    for page in pages:
        width, height = PAPERS_MM[paper]
        left, top, right, bottom = edges_mm(page, 0, 0, width, height)
        assert min(left, top, width - right, height - bottom) >= 4.2


def test_the_strip_says_code_cultivar_and_planter_and_the_sheet_how_to_print() -> None:
    (text,) = text_of(draw_cards([PrintedCard("TAG-7K3Q9M", "Petunia ‘Plum Lamp’", "Trough 1")], "a4"))
    for words in ("TAG-7K3Q9M", "Petunia ‘Plum Lamp’", "Trough 1", "must be 100 mm", "matt white", "laminate"):
        assert words in " ".join(text.split()), words


@pytest.mark.parametrize(
    ("cultivar", "place"),
    [
        ("Petunia ‘" + "Very Long Name " * 5 + "’", "Wall rack " + "w" * 70),
        ("G" * 60 + " " + "s" * 80 + " ‘" + "n" * 80 + "’", "p" * 80),
        ("Petunia ‘شتلة الحديقة’", "מרפסת 3"),
        ("Petunia ‘🌼 日本 <b>#x</b> $y$ \\ [z]’", "#let x = 1"),
    ],
)
def test_any_name_fits_its_strip_and_is_text(cultivar: str, place: str) -> None:
    """What is drawn stays between the dotted line and the corner marks, and keeps off the code's text."""
    pdf = draw_cards([PrintedCard("TAG-7K3Q9M", cultivar, place)], "a4")
    (page,) = pages_of(pdf)
    left, top = next(cards_on(page, "a4"))
    below = top + CARD_MM[1]
    x0, y0, x1, y1 = edges_mm(page, left + 32, below + 0.3, left + 99.8, below + STRIP_MM - 0.2, darker_than=140)
    assert x0 >= left + 35.9
    assert x1 <= left + 96.5
    assert y0 > below + 0.5
    assert y1 < below + STRIP_MM - 0.5
    assert zxingcpp.read_barcodes(page)[0].text == "TAG-7K3Q9M"
    (text,) = text_of(pdf)
    assert len([sign for sign in text if sign in "wnps"]) >= len([sign for sign in cultivar + place if sign in "wnps"])


def test_cards_come_in_walking_order_and_by_choice(journal: Journal, set_up: SetUp) -> None:
    first, second = set_up.planting("TAG-7K3Q9M"), set_up.planting("TAG-0V4CAR")
    assert [(c.code, c.cultivar, c.place) for c in cards_of(journal)] == [
        ("TAG-7K3Q9M", "Petunia ‘Made Up 1’", "Trough 1"),
        ("TAG-0V4CAR", "Petunia ‘Made Up 2’", "Trough 2"),
    ]
    assert [c.code for c in cards_of(journal, [second])] == ["TAG-0V4CAR"]
    set_up.edit("planting", first, removed_on="2026-09-01")
    assert [c.code for c in cards_of(journal)] == ["TAG-0V4CAR"]
    with pytest.raises(NotFound):
        cards_of(journal, ["nobody"])


def test_spare_cards_have_codes_that_nothing_in_the_journal_has(
    journal: Journal, set_up: SetUp, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A planting's code, a removed one's and one only seen in a photo are drawn again, until one is free."""
    planting = set_up.planting("TAG-AAAAAA")
    gone = set_up.planting("TAG-BBBBBB")
    set_up.edit("planting", gone, removed_on="2026-09-01")
    photo_without_numbers(journal, planting, "2026-06-12", tag="TAG-CCCCCC")
    drawn = iter("AAAAAA" + "BBBBBB" + "CCCCCC" + "DDDDDD" + "DDDDDD" + "EEEEEE")
    monkeypatch.setattr("secrets.choice", lambda letters: next(drawn))
    cards = choose_cards(journal, [], spare=2)
    assert [(card.code, card.spare) for card in cards] == [("TAG-DDDDDD", True), ("TAG-EEEEEE", True)]


def test_spare_cards_come_behind_the_others_fresh_each_time(journal: Journal, set_up: SetUp) -> None:
    set_up.planting("TAG-7K3Q9M")
    first, again = (choose_cards(journal, spare=MOST_SPARE) for _ in range(2))
    assert [card.spare for card in first] == [False] + [True] * MOST_SPARE
    assert all(is_card_code(card.code) for card in first)
    assert len({card.code for card in [*first, *again]}) == 1 + 2 * MOST_SPARE
    (text,) = text_of(draw_cards([first[1]], "a4"))
    assert "A spare card" in text
    assert first[1].code in text


@pytest.mark.parametrize("typed", ["TAG-7K3Q9M", "tag-7k3q9m", "7K3Q9M", " 7k3 q9m "])
def test_a_spare_cards_code_is_taken_at_a_planting_as_it_is_typed(set_up: SetUp, typed: str) -> None:
    planting = set_up.planting()
    assert set_up.edit("planting", planting, card_code=typed).record.fields["card_code"] == "TAG-7K3Q9M"


def test_no_card_unknown_paper_or_too_many_spare_are_said(journal: Journal, set_up: SetUp) -> None:
    with pytest.raises(InputRefused, match="no planting yet"):
        choose_cards(journal)
    for count in (-1, MOST_SPARE + 1):
        with pytest.raises(InputRefused, match="spare cards"):
            choose_cards(journal, spare=count)
    with pytest.raises(InputRefused, match="a4, letter"):
        print_cards(journal, [PrintedCard("TAG-7K3Q9M")], "a3")
    set_up.planting()
    journal.change_settings({"paper": "letter"})
    (page,) = pages_of(print_cards(journal, choose_cards(journal)), dpi=72)
    assert page.shape == (792, 612)
