from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal_server.domain.derived_ids import derived_id
from journal_server.domain.records import (
    CREATABLE,
    KINDS,
    check_fields,
    complete_fields,
    id_that_follows,
    kind_in_words,
)
from journal_server.errors import InputRefused

WRONG: list[tuple[str, str, Any]] = [
    ("trial", "title", ""),
    ("trial", "title", "x" * 121),
    ("trial", "title", 7),
    ("trial", "title", "\ud800"),
    ("trial", "year", 1889),
    ("trial", "year", "next"),
    ("trial", "year", 2026.5),
    ("trial", "year", True),
    ("trial", "year", float("inf")),
    ("trial", "year", 10**400),
    ("cultivar", "genus", None),
    ("cultivar", "bloom_colours", ["red"]),
    ("cultivar", "bloom_colours", "#ff0000"),
    ("cultivar", "bloom_colours", ["#ff0000"] * 9),
    ("cultivar", "habit", "climbing"),
    ("cultivar", "foliage_only", "yes"),
    ("planter", "planter_kind", "bucket"),
    ("planter", "length_cm", -1),
    ("planter", "length_cm", float("nan")),
    ("planter", "trial_id", "not an id"),
    ("planting", "planted_on", "2026-02-30"),
    ("planting", "planted_on", "16.5.2026"),
    ("planting", "planted_on", "0001-01-01"),
    ("planting", "plants", 0),
    ("planting", "plants", 3.5),
    ("planting", "card_code", "TAG-ILOU"),
    ("planting", "surprise", 1),
    ("frame", "polygon", [[0, 0], [1, 1]]),
    ("frame", "polygon", [[0, 0], [100, 0], [200, 0]]),
    ("frame", "polygon", [[0, 0], [100, 0], ["a", 5]]),
    ("frame", "polygon", [[0, 0], [100, 0], [float("nan"), 5]]),
    ("care", "action", "danced"),
    ("care_plan", "every_days", 0),
    ("care_plan", "every_days", 366),
    ("plant_count", "plants", -1),
    ("plant_count", "reason", "vanished"),
    ("visit", "remark", "x" * 4001),
    ("visit", "done", "yes"),
    ("finding", "what", "sad"),
    ("finding", "plant", 0),
    ("rating", "flower", 6),
    ("rating", "flower", 0),
    ("rating", "rater", "x" * 61),
    ("recording", "seconds", 3),
    ("point_count", "points", [[1, 1]] * 9),
    ("point_count", "points", [[1, 1]] * 401),
    ("point_count", "points", [[1, 1]] * 9 + [[1]]),
    ("point_count", "points", [[1, 1]] * 9 + [[1, -1]]),
    ("point_count", "points", [[1, 1]] * 9 + [[1, True]]),
    ("point_count", "points", [[1, 1]] * 9 + [[1, float("nan")]]),
    ("point_count", "points", "everywhere"),
    ("point_count", "answers", "b" * 9),
    ("point_count", "answers", "b" * 401),
    ("point_count", "answers", "bbbbbbbbbbx"),
    ("point_count", "answers", None),
    ("point_count", "polygon", [[0, 0], [1, 1]]),
    ("point_count", "seed", -1),
    ("point_count", "seed", 2**32),
    ("photo", "how", "viewfinder"),
    ("weather", "tmax_c", 99),
    ("photo", "taken_at", "2026-06-12T10:14:03"),
    ("photo", "taken_at", "yesterday"),
    ("photo", "sha256", "0" * 64),
]


@pytest.mark.parametrize(("kind", "name", "value"), WRONG)
def test_wrong_values_get_a_plain_sentence_at_their_field(kind: str, name: str, value: Any) -> None:
    accepted, refused = check_fields(kind, {name: value})
    assert accepted == {}
    (error,) = refused
    assert error.field == name
    assert str(error).endswith(".")
    assert len(str(error)) < 250


def test_values_are_kept_in_one_form() -> None:
    accepted, refused = check_fields(
        "planting", {"plants": "4", "card_code": "7k3q9m", "removed_on": "", "note": "  two\nlines \x07"}
    )
    assert refused == []
    assert accepted == {"plants": 4, "card_code": "TAG-7K3Q9M", "removed_on": None, "note": "two\nlines"}


def test_points_are_kept_to_a_tenth_and_may_lie_in_the_whole_photo() -> None:
    given = {"points": [[1.234, 5]] * 10, "answers": "bsfo-bsfo-", "polygon": None}
    accepted, refused = check_fields("point_count", given)
    assert refused == []
    assert accepted == {"points": [[1.2, 5.0]] * 10, "answers": "bsfo-bsfo-", "polygon": None}


@given(
    st.sampled_from(sorted(KINDS)),
    st.dictionaries(
        st.text(max_size=8) | st.sampled_from(["title", "year", "polygon", "plants", "taken_at", "bloom_colours"]),
        st.recursive(
            st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
            lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=3), inner, max_size=2),
            max_leaves=6,
        ),
        max_size=4,
    ),
)
def test_nothing_but_refusals_comes_of_any_input(kind: str, fields: dict[str, Any]) -> None:
    accepted, refused = check_fields(kind, fields)
    assert all(isinstance(error, InputRefused) for error in refused)
    assert set(accepted).isdisjoint({error.field for error in refused})


@pytest.mark.parametrize("kind", CREATABLE)
def test_a_new_record_lists_every_missing_required_field(kind: str) -> None:
    _, refused = check_fields(kind, complete_fields(kind, {}))
    assert {error.field for error in refused} <= set(KINDS[kind])
    assert refused, "every kind has something that it cannot do without"


def test_derived_ids_are_the_first_bytes_of_the_hash_as_a_uuid_of_version_8() -> None:
    # SHA-256 of "abc" by FIPS 180-4 (its example, from memory): ba7816bf 8f01cfea 414140de 5dae2223 ...; of RFC 9562's
    # version 8 only the version and variant bits are laid down.
    assert derived_id("abc") == "ba7816bf-8f01-8fea-8141-40de5dae2223"
    trial = "7d9f4f6e-6c1e-4a53-9d0a-0f4c2f3f8a11"
    assert derived_id("walk", trial, "2026-06-12") == "e3bd8db6-fa55-8474-b3f7-e3d430cc6806", "as on the phones"


def test_ids_follow_from_what_a_record_is_about() -> None:
    assert id_that_follows("rating", {"visit_id": "v", "rater": None}) == derived_id("rating", "v", "")
    assert id_that_follows("visit", {"walk_id": "w", "planting_id": "p"}) == derived_id("visit", "w", "p")
    assert id_that_follows("finding", {"visit_id": "v"}) is None


def test_kinds_are_named_in_words() -> None:
    assert [kind_in_words(k, n) for k, n in (("care", 1), ("care", 2), ("plant_count", 2), ("visit", 1))] == [
        "care entry",
        "2 care entries",
        "2 plant counts",
        "visit",
    ]
