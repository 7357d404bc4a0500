from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from journal_server.domain.matching import PhotoFacts, PlantingFacts, Plantings
from journal_server.domain.visit_matching import match_by_visit

A, B, OLD, STRANGE = "TAG-7K3Q9M", "TAG-0V4CAR", "TAG-3T50A4", "TAG-ZZZZZZ"
MAY = date(2026, 5, 16)
HERE = PlantingFacts("here", A, MAY, None, 1, "'Plum'")
OTHER = PlantingFacts("other", B, MAY, None, 2, "'Whistle'")
GONE = PlantingFacts("gone", OLD, MAY, date(2026, 6, 1), 3, "'Lamp'")
ROW = Plantings((HERE, OTHER, GONE))
PHOTO = PhotoFacts("photo", datetime(2026, 6, 12, 10, 0, tzinfo=UTC), False, ())


@pytest.mark.parametrize(
    ("codes", "state", "choices", "words"),
    [
        pytest.param((), "matched", (), "Taken at this planting on the walk.", id="no card"),
        pytest.param((A,), "matched", (), "Taken at this planting on the walk.", id="its own card"),
        pytest.param((A, B), "matched", (), "Taken at this planting on the walk.", id="a neighbour's card beside it"),
        pytest.param(
            (B,),
            "question",
            ("here", "other"),
            "at 'Plum' on the walk, but the card TAG-0V4CAR of 'Whistle'",
            id="another's",
        ),
        pytest.param(
            (STRANGE,), "matched", (), "No planting standing then has the card TAG-ZZZZZZ.", id="a stranger's"
        ),
        pytest.param(
            (OLD,), "matched", (), "No planting standing then has the card TAG-3T50A4.", id="one that is gone"
        ),
        pytest.param((B, STRANGE), "question", ("here", "other"), "TAG-0V4CAR", id="another's and a stranger's"),
    ],
)
def test_the_planting_of_the_visit_unless_a_card_speaks_against_it(
    codes: tuple[str, ...], state: str, choices: tuple[str, ...], words: str
) -> None:
    match = match_by_visit(replace(PHOTO, codes=codes), "here", ROW)
    assert match is not None
    assert (match.state, match.choices, match.suggestion) == (state, choices, None)
    assert match.planting_id == ("here" if state == "matched" else None)
    assert words in match.reason


def test_without_a_moment_a_card_of_any_time_speaks() -> None:
    match = match_by_visit(replace(PHOTO, taken_at=None, codes=(OLD,)), "here", ROW)
    assert match is not None
    assert match.choices == ("here", "gone")


def test_a_doubtful_moment_does_not_matter_where_a_person_stood() -> None:
    match = match_by_visit(replace(PHOTO, moment_doubtful=True), "here", ROW)
    assert match is not None
    assert match.state == "matched"


def test_a_planting_that_is_not_known_decides_nothing() -> None:
    assert match_by_visit(PHOTO, "elsewhere", ROW) is None
