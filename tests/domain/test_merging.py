from typing import Any

import pytest

from journal_server.domain.merging import FieldConflict, decide_merge

STORED = {"plants": 4, "note": "old"}


BOTH_OLD = {"plants": 1, "note": 1}
PLANTS_MOVED = {"plants": 2, "note": 1}
CLASH = (FieldConflict("plants", 5, 4),)


VISIT = {"planting_id": "p", "done": True, "remark": None, "colours": ["#ffffff"]}
ONCE = dict.fromkeys(VISIT, 1)


@pytest.mark.parametrize(
    ("sent", "applied", "merged", "conflicts"),
    [
        pytest.param({"planting_id": "p"}, {"planting_id": "p"}, False, (), id="the same"),
        pytest.param({"remark": "dry"}, {"remark": "dry"}, False, (), id="fills what is empty here"),
        pytest.param({"done": False}, {}, True, (), id="a no leaves the yes"),
        pytest.param({"planting_id": None}, {}, True, (), id="nothing leaves what is set"),
        pytest.param({"colours": []}, {}, True, (), id="an empty list leaves what is set"),
        pytest.param({"new": 3}, {"new": 3}, False, (), id="a field that is not here yet"),
        pytest.param(
            {"planting_id": "q", "remark": "dry"},
            {},
            False,
            (FieldConflict("planting_id", "q", "p"),),
            id="another value",
        ),
    ],
)
def test_a_create_of_what_is_there_already_merges(
    sent: dict[str, Any], applied: dict[str, Any], merged: bool, conflicts: tuple[FieldConflict, ...]
) -> None:
    decision = decide_merge(VISIT, ONCE, sent, {})
    assert (decision.apply, decision.merged, decision.conflicts) == (applied, merged, conflicts)


def test_emptying_a_field_that_was_seen_is_an_edit_like_any_other() -> None:
    assert decide_merge(VISIT, ONCE, {"done": False}, {"done": 1}).apply == {"done": False}
    moved = decide_merge(VISIT, {"done": 2}, {"done": False}, {"done": 1})
    assert moved.conflicts == (FieldConflict("done", False, True),)


@pytest.mark.parametrize(
    ("versions", "edit", "base", "applied", "merged", "conflicts"),
    [
        pytest.param(BOTH_OLD, {"plants": 5}, {"plants": 1}, {"plants": 5}, False, (), id="nothing moved"),
        pytest.param(
            {"plants": 1, "note": 2}, {"plants": 5}, {"plants": 1}, {"plants": 5}, True, (), id="another field"
        ),
        pytest.param(PLANTS_MOVED, {"plants": 5}, {"plants": 1}, {}, False, CLASH, id="the same field"),
        pytest.param(PLANTS_MOVED, {"plants": 4}, {"plants": 1}, {"plants": 4}, False, (), id="the same value"),
        pytest.param(
            {"plants": 9, "note": 9}, {"plants": 5}, None, {"plants": 5}, False, (), id="no base: just set it"
        ),
        pytest.param(
            PLANTS_MOVED, {"plants": 5, "note": "new"}, BOTH_OLD, {}, False, CLASH, id="one of two: neither is written"
        ),
    ],
)
def test_merge_decisions(
    versions: dict[str, int],
    edit: dict[str, Any],
    base: dict[str, int] | None,
    applied: dict[str, Any],
    merged: bool,
    conflicts: tuple[FieldConflict, ...],
) -> None:
    decision = decide_merge(STORED, versions, edit, base)
    assert decision.apply == applied
    assert decision.merged is merged
    assert decision.conflicts == conflicts
