"""The plot of method against counts, and the sentences beneath it."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from journal_server.analysis.agreement import ComparedShare, share_agreement
from journal_server.analysis.kappa import cohen_kappa_1960
from journal_server.figures.agreement_plot import agreement_table, draw_agreement
from journal_server.figures.agreement_words import (
    counted_sentence,
    difference_words,
    kappa_sentence,
    points_interval,
    points_words,
    share_sentences,
)
from journal_server.measurement.result import Estimate

HOSTILE = '<script>"&'


def compared(*differences: float, counted: float = 0.5, counting: float = 0.0025) -> list[ComparedShare]:
    return [
        ComparedShare(
            f"photo {at}",
            Estimate(counted, counted - 0.08, counted + 0.08),
            Estimate(counted + one, counted + one - 0.03, counted + one + 0.03),
            counting,
        )
        for at, one in enumerate(differences)
    ]


def drawn(photos: list[ComparedShare], name: str = "canopy_fill", **how: int) -> str:
    labels = {one.photo_id: f"{one.photo_id}, Trough 1" for one in photos}
    return draw_agreement(share_agreement(name, photos), photos, labels, **how)


def parts(svg: str, tag: str) -> list[ET.Element]:
    return [node for node in ET.fromstring(svg).iter() if node.tag.endswith(f"}}{tag}")]


def named_lines(svg: str) -> list[ET.Element]:
    return [one for one in parts(svg, "text") if re.fullmatch(r"(limit|bias) [+−]?\d+", one.text or "")]


@pytest.mark.parametrize("width", [300, 390, 1200])
def test_circles_stand_at_their_differences_within_the_picture(width: int) -> None:
    svg = drawn(compared(-0.05, 0.0, 0.05, 0.02, -0.02, 0.2), width_px=width)
    circles = parts(svg, "circle")
    assert len(circles) == 6
    heights = [float(circle.get("cy", "")) for circle in circles]
    assert heights[0] > heights[1] > heights[2]
    assert heights[0] - heights[1] == pytest.approx(heights[1] - heights[2], abs=0.02)
    assert all(0 < float(circle.get("cx", "")) < width for circle in circles)
    filled = [circle.get("fill") == "currentColor" for circle in circles]
    assert filled == [False] * 5 + [True], "only 0.2 is beyond the errors of both"
    texts = [float(one.get("x", "")) for one in parts(svg, "text") if one.get("text-anchor") != "end"]
    assert max(texts) < width


def test_every_circle_says_what_it_is() -> None:
    svg = drawn(compared(-0.05, 0.0, 0.05))
    titles = [node.text or "" for node in parts(svg, "title")][1:]
    assert titles[0] == (
        "photo 0, Trough 1: counted 50 % (42–58), method 45 % (42–48), difference −5 points (−14 to +4)"
    )


def test_lines_that_lie_close_have_their_names_apart() -> None:
    svg = drawn(compared(*[0.001 * at for at in range(6)], counting=1e-6))
    heights = [float(one.get("y", "")) for one in named_lines(svg)]
    assert len(heights) == 3
    assert min(below - above for above, below in pairwise(heights)) > 12.9


def test_few_photos_are_drawn_without_lines_and_none_without_circles() -> None:
    few = drawn(compared(0.1, -0.1))
    assert len(parts(few, "circle")) == 2
    assert "only 2 photos are counted" in few
    assert named_lines(few) == []
    assert "no photo is counted" in drawn([])


def test_what_people_typed_stays_text() -> None:
    photos = compared(0.1, 0.0, -0.1)
    labels = dict.fromkeys((one.photo_id for one in photos), HOSTILE)
    svg = draw_agreement(share_agreement("bloom_cover", photos), photos, labels)
    assert "<script>" not in svg
    assert ET.fromstring(svg) is not None


def test_the_table_has_a_row_a_photo() -> None:
    photos = compared(0.0, 0.2)
    table = agreement_table(share_agreement("bloom_cover", photos), photos, {"photo 0": "A", "photo 1": "B"})
    assert table.headers[1:3] == ("bloom cover, counted", "bloom cover, by the method")
    assert table.rows[0] == ("A", "50 % (42–58)", "50 % (47–53)", "0 points (−9 to +9)", "within error")
    assert table.rows[1][-1] == "beyond error"


def test_differences_in_words() -> None:
    assert [points_words(share) for share in (0.0, 0.01, -0.01, 0.124, -0.004)] == [
        "0 points", "+1 point", "−1 point", "+12 points", "0 points",
    ]  # fmt: skip
    assert points_interval(Estimate(0.0, -0.02, 0.031)) == "−2 to +3"
    assert difference_words(Estimate(0.0123, 0.0041, 0.0204)) == "+1.2 points (+0.4 to +2.0)"


def test_the_sentences_tell_the_counting_from_the_method() -> None:
    wide = share_agreement("bloom_cover", compared(-0.2, -0.1, 0.0, 0.1, 0.2, 0.15, -0.15))
    bias, limits, left = share_sentences(wide)
    assert bias == ("Bloom cover: the method reads as much as the counts, over 7 photos (90 % interval −11 to +11).")
    assert limits.startswith("In 95 % of photos the two differ by −")
    assert "makes ±10 of that by itself" in left
    assert "are left for the method" in left
    narrow = share_agreement("bloom_cover", compared(-0.02, 0.0, 0.02, 0.01, -0.01))
    assert "not told from 0" in share_sentences(narrow)[-1]
    three = share_agreement("spent_share", compared(0.02, 0.03, 0.04))
    assert share_sentences(three) == [
        "Spent share: the method reads 3 points more than the counts, over 3 photos (90 % interval +1 to +5).",
        "Only 3 photos are counted; limits of agreement take 5.",
    ]


def test_sentences_about_what_the_check_rests_on() -> None:
    assert counted_sentence(1, 50, 0) == "1 photo was checked by hand: 50 random points classed by eye."
    assert "1,234 random points" in counted_sentence(12, 1234, 5)
    assert kappa_sentence(None, "no point was judged") == "Cohen's kappa is not known: no point was judged."
    kappa = cohen_kappa_1960([[40, 2], [3, 55]])
    assert kappa_sentence(kappa, None).startswith("Point by point, the method and the eye say the same at 95 % of 100")
