"""What is doubtful or missing is said in words in every report and format, and nothing unknown is shown as 0."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from conftest import SetUp
from made_reports import SEASON, change, measured, squeezed, texts_of
from made_season import keep_numbers, numbers, photo_without_numbers

from journal_server.services.journal import Journal

Case = Callable[[Journal, SetUp], str]
"""Makes a cultivar and answers its id."""


def cultivar_of(set_up: SetUp, **fields: object) -> str:
    return set_up.make("cultivar", genus="Lobelia", name="Case", **fields)


def never_photographed(journal: Journal, set_up: SetUp) -> str:
    cultivar = cultivar_of(set_up)
    set_up.planting(cultivar_id=cultivar)
    return cultivar


def photographed_once(journal: Journal, set_up: SetUp) -> str:
    cultivar = cultivar_of(set_up)
    measured(journal, set_up.planting(cultivar_id=cultivar), {"2026-06-13": (0.4, 0.3)})
    return cultivar


def not_measured(journal: Journal, set_up: SetUp) -> str:
    cultivar = cultivar_of(set_up)
    photo_without_numbers(journal, set_up.planting(cultivar_id=cultivar), "2026-06-13")
    return cultivar


def unusable(journal: Journal, set_up: SetUp) -> str:
    cultivar = cultivar_of(set_up)
    planting = set_up.planting(cultivar_id=cultivar)
    warned = {"usable": False, "warnings": [{"code": "dark", "message": "The photo is too dark to measure."}]}
    keep_numbers(
        journal, photo_without_numbers(journal, planting, "2026-06-13"), planting, numbers(0, 0, quality=warned)
    )
    return cultivar


def for_its_leaves(journal: Journal, set_up: SetUp) -> str:
    cultivar = cultivar_of(set_up, foliage_only=True)
    measured(journal, set_up.planting(cultivar_id=cultivar), {day: (fill, 0.0) for day, (fill, _) in SEASON.items()})
    return cultivar


def renamed(journal: Journal, set_up: SetUp) -> str:
    cultivar = cultivar_of(set_up)
    measured(journal, set_up.planting(cultivar_id=cultivar), SEASON)
    change(journal, "cultivar", cultivar, name="New Name")
    return cultivar


def removed_early(journal: Journal, set_up: SetUp) -> str:
    cultivar = cultivar_of(set_up)
    measured(journal, set_up.planting(cultivar_id=cultivar, removed_on="2026-06-20"), {"2026-06-13": (0.4, 0.3)})
    return cultivar


def photographed_after_its_removal(journal: Journal, set_up: SetUp) -> str:
    cultivar = cultivar_of(set_up)
    days = {day: SEASON[day] for day in ("2026-06-13", "2026-06-27", "2026-07-11")}
    measured(journal, set_up.planting(cultivar_id=cultivar, removed_on="2026-06-20"), days)
    return cultivar


def doubtful(journal: Journal, set_up: SetUp) -> str:
    cultivar = cultivar_of(set_up)
    planting = set_up.planting(cultivar_id=cultivar, identity="doubtful", label_said="Blue One", looks_like="a white")
    measured(journal, planting, SEASON)
    return cultivar


def two_plantings(journal: Journal, set_up: SetUp) -> str:
    cultivar = cultivar_of(set_up)
    measured(journal, set_up.planting(cultivar_id=cultivar), SEASON)
    bed = set_up.make("planter", trial_id=set_up.trial_id, name="Bed A", planter_kind="bed", walk_order=1000)
    measured(journal, set_up.planting(cultivar_id=cultivar, planter_id=bed), {"2026-06-14": (0.1, 0.1)})
    return cultivar


def without_card(journal: Journal, set_up: SetUp) -> str:
    cultivar = cultivar_of(set_up)
    measured(journal, set_up.planting(cultivar_id=cultivar), SEASON, white_reference="estimated")
    return cultivar


def without_frame(journal: Journal, set_up: SetUp) -> str:
    cultivar = cultivar_of(set_up)
    measured(journal, set_up.planting(cultivar_id=cultivar), SEASON, framed=False)
    return cultivar


CASES: list[tuple[Case, str]] = [
    (never_photographed, "No photo was taken of it, so nothing of it was measured."),
    (photographed_once, "It was measured on one day only, so nothing is known of how it changed."),
    (not_measured, "Its only photo could not be measured: it has not been measured yet."),
    (unusable, "Its only photo could not be measured: The photo is too dark to measure."),
    (for_its_leaves, "It is grown for its leaves, so numbers of bloom do not apply to it."),
    (renamed, "It was called Lobelia ‘Case’ earlier."),
    (removed_early, "It was removed on 20 June 2026, 35 days after planting: what is said of it"),
    (photographed_after_its_removal, "2 photos taken after that are counted as of it."),
    (doubtful, "Its identity is doubtful: the label said “Blue One” and it looks like “a white”."),
    (two_plantings, "There are 2 plantings of it in this trial (Trough 1 and Bed A); each has its own numbers"),
    (without_card, "No card was read on its photos, so its colours are estimated without a white to go by."),
    (without_frame, "No frame was drawn for it: its shares are of the whole photo"),
]  # fmt: skip


@pytest.mark.parametrize(("case", "sentence"), CASES, ids=[case.__name__ for case, _ in CASES])
def test_the_cultivar_says_so_in_every_format(journal: Journal, set_up: SetUp, case: Case, sentence: str) -> None:
    cultivar = case(journal, set_up)
    for name, text in texts_of(journal, set_up, "cultivar", cultivar_id=cultivar).items():
        assert squeezed(sentence) in squeezed(text), name


@pytest.mark.parametrize(("case", "sentence"), CASES, ids=[case.__name__ for case, _ in CASES])
def test_the_trial_says_so_in_every_format(journal: Journal, set_up: SetUp, case: Case, sentence: str) -> None:
    case(journal, set_up)
    if case is two_plantings:
        sentence = (
            "Of Lobelia ‘Case’ there are several plantings: in the ranking they stand for their cultivar together"
        )
    for name, text in texts_of(journal, set_up, "trial").items():
        assert squeezed(sentence) in squeezed(text), name


@pytest.mark.parametrize("case", [never_photographed, not_measured, unusable])
def test_nothing_unknown_is_shown_as_0(journal: Journal, set_up: SetUp, case: Case) -> None:
    cultivar = case(journal, set_up)
    for kind in ("cultivar", "trial", "order-list"):
        more = {"cultivar_id": cultivar} if kind == "cultivar" else {}
        for name, text in texts_of(journal, set_up, kind, **more).items():
            assert not re.search(r"(?<![\d.])0(\.0+)?\s*(%|weeks|plants\b)", text), (kind, name)
            if kind == "cultivar":
                assert "Not known" in text


@pytest.mark.parametrize(
    ("case", "why"),
    [(never_photographed, "no photo was taken"), (unusable, "no photo could be measured")],
)
def test_where_no_photo_was_measured_one_reason_stands_for_all(
    journal: Journal, set_up: SetUp, case: Case, why: str
) -> None:
    text = texts_of(journal, set_up, "cultivar", cultivar_id=case(journal, set_up))["markdown"]
    assert f"- All that is measured on photos: {why}." in text
    assert "Plants living of those planted: " in text
    assert text.count("Bloom cover at its peak") == 0


def test_the_trial_says_which_plantings_its_picture_lacks(journal: Journal, set_up: SetUp) -> None:
    never_photographed(journal, set_up)
    measured(journal, set_up.planting(), SEASON)
    text = texts_of(journal, set_up, "trial")["markdown"]
    assert "The season in walking order, to 8 August" in text
    assert "Not drawn, as nothing was measured: Lobelia ‘Case’, Trough 1." in text
    assert text.count("Not drawn") == 1


def test_numbers_of_bloom_of_leaves_are_not_known_with_that_reason(journal: Journal, set_up: SetUp) -> None:
    text = texts_of(journal, set_up, "cultivar", cultivar_id=for_its_leaves(journal, set_up))["markdown"]
    assert "Bloom cover at its peak, mean bloom cover over the season" in text
    assert "this cultivar is grown for its leaves." in text


def test_each_planting_has_its_own_numbers(journal: Journal, set_up: SetUp) -> None:
    text = texts_of(journal, set_up, "cultivar", cultivar_id=two_plantings(journal, set_up))["markdown"]
    assert "| number, with 90 % interval | Trough 1 | Bed A |" in text
    assert "| bloom cover at its peak | 60 % (58–62), 11 July |" in text


def test_the_order_list_says_what_matters_when_ordering_by_name(journal: Journal, set_up: SetUp) -> None:
    doubtful(journal, set_up)
    renamed(journal, set_up)
    for text in texts_of(journal, set_up, "order-list").values():
        assert "Its identity is doubtful" in text
        assert "was called Lobelia ‘Case’ earlier" in text
        assert "No verdict says yet what is wanted next year." in text


def test_a_trial_without_plantings_says_so(journal: Journal, set_up: SetUp) -> None:
    for kind in ("trial", "order-list"):
        for text in texts_of(journal, set_up, kind).values():
            assert "Nothing is planted in this trial yet." in text
