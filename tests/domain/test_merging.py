from typing import Any

import pytest

from journal_server.domain.merging import FieldConflict, decide_merge

STORED = {"plants": 4, "note": "old"}


BOTH_OLD = {"plants": 1, "note": 1}
PLANTS_MOVED = {"plants": 2, "note": 1}
CLASH = (FieldConflict("plants", 5, 4),)


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
