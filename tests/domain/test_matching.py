from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from journal_server.domain.matching import (
    Match,
    PhotoFacts,
    Placed,
    PlantingFacts,
    Plantings,
    match_by_card,
    match_by_walk,
)

DAY = datetime(2026, 6, 12, 10, 0, tzinfo=UTC)


def planting(n: int, code: str | None = None, planted: str = "2026-05-16", removed: str | None = None) -> PlantingFacts:
    removed_on = date.fromisoformat(removed) if removed else None
    return PlantingFacts(f"p{n}", code, date.fromisoformat(planted), removed_on, n, f"'Made Up {n}'")


def photo(at: datetime | None = DAY, *codes: str, doubtful: bool = False, name: str = "x") -> PhotoFacts:
    return PhotoFacts(name, at, doubtful, codes)


def by_card(shown: PhotoFacts, *plantings: PlantingFacts) -> Match:
    match = match_by_card(shown, Plantings(plantings))
    assert match is not None
    return match


A, B = "TAG-AAAAAA", "TAG-BBBBBB"


def test_card_and_date_decide() -> None:
    assert by_card(photo(DAY, A), planting(1, A), planting(2, B)).planting_id == "p1"


def test_a_card_reused_next_season_means_the_planting_of_that_season() -> None:
    last_year = planting(1, A, planted="2025-05-10", removed="2025-10-20")
    this_year = planting(2, A)
    assert by_card(photo(DAY, A), last_year, this_year).planting_id == "p2"
    assert by_card(photo(DAY.replace(year=2025), A), last_year, this_year).planting_id == "p1"


@pytest.mark.parametrize("edge", ["2026-05-16", "2026-07-01"])
def test_planting_and_removal_day_belong_to_the_planting(edge: str) -> None:
    at = datetime.fromisoformat(f"{edge}T12:00:00+00:00")
    assert by_card(photo(at, A), planting(1, A, removed="2026-07-01")).state == "matched"


@pytest.mark.parametrize(
    ("at", "words"), [("2026-05-15", "before"), ("2026-07-02", "after")], ids=["before planting", "after removal"]
)
def test_a_card_outside_its_time_is_asked_about(at: str, words: str) -> None:
    match = by_card(photo(datetime.fromisoformat(f"{at}T12:00:00+00:00"), A), planting(1, A, removed="2026-07-01"))
    assert (match.state, match.planting_id) == ("question", None)
    assert words in match.reason
    assert match.choices == ("p1",)


def test_two_cards_a_strange_card_and_a_doubtful_date_are_asked_about() -> None:
    both = by_card(photo(DAY, A, B), planting(1, A), planting(2, B))
    assert (both.state, both.planting_id, set(both.choices)) == ("question", None, {"p1", "p2"})
    strange = by_card(photo(DAY, B), planting(1, A))
    assert (strange.state, strange.planting_id) == ("question", None)
    assert B in strange.reason
    doubtful = by_card(photo(DAY, A, doubtful=True), planting(1, A))
    assert (doubtful.state, doubtful.planting_id, doubtful.suggestion) == ("suggested", None, "p1")
    undated = by_card(photo(None, A), planting(1, A))
    assert (undated.state, undated.planting_id, undated.suggestion) == ("question", None, "p1")


ROW = [planting(n) for n in range(1, 9)]


def walk(missing: set[int], gap: timedelta = timedelta(minutes=2)) -> tuple[list[PhotoFacts], list[Placed]]:
    """One photo a planter at a steady pace; those of the ``missing`` planters have no readable card."""
    unplaced, placed = [], []
    for n in range(1, 9):
        at = DAY + n * gap
        if n in missing:
            unplaced.append(photo(at, name=f"photo{n}"))
        else:
            placed.append(Placed(f"photo{n}", at, f"p{n}"))
    return unplaced, placed


@pytest.mark.parametrize("missing", [{4}, {2, 3}, {4, 5, 6}, {8}, {1}, {1, 4, 8}, {2, 4, 5, 6, 8}])
def test_walking_order_tells_the_missing_ones(missing: set[int]) -> None:
    unplaced, placed = walk(missing)
    for facts in unplaced:
        match = match_by_walk(facts, unplaced, placed, ROW)
        assert match.suggestion == facts.id.replace("photo", "p"), match.reason
        assert match.planting_id is None, "a suggestion is never a match"


def test_seconds_after_a_placed_photo_the_same_planter_is_suggested() -> None:
    placed = [Placed("a", DAY, "p3"), Placed("b", DAY + timedelta(minutes=3), "p4")]
    close = photo(DAY + timedelta(seconds=20))
    assert match_by_walk(close, [close], placed, ROW).suggestion == "p3"


def test_between_two_photos_of_one_planter_that_planter_is_suggested() -> None:
    placed = [Placed("a", DAY, "p3"), Placed("b", DAY + timedelta(minutes=5), "p3")]
    between = photo(DAY + timedelta(minutes=2))
    assert match_by_walk(between, [between], placed, ROW).suggestion == "p3"


def test_far_from_everything_is_a_question_with_choices() -> None:
    lonely = photo(DAY + timedelta(hours=5))
    match = match_by_walk(lonely, [lonely], [Placed("a", DAY, "p3")], ROW)
    assert (match.state, match.suggestion) == ("question", None)
    assert "p3" not in match.choices
    assert len(match.choices) == 7


def test_no_planting_at_all_or_none_standing_and_no_moment_are_questions() -> None:
    assert "set up yet" in match_by_walk(photo(DAY), [], [], []).reason
    assert match_by_walk(photo(None), [], [], ROW).state == "question"
    for year in (2025, 2027):
        out_of_season = photo(DAY.replace(year=year))
        lifted = [replace(planting, removed_on=date(2026, 10, 3)) for planting in ROW]
        reason = match_by_walk(out_of_season, [out_of_season], [], lifted).reason
        assert reason == f"No planting was standing on 12 June {year}."
