import uuid
from typing import Any

import pytest
from conftest import SetUp

from journal_server.domain.cards import is_card_code
from journal_server.services.apply_changes import ChangeResult, apply_changes
from journal_server.services.journal import Journal
from journal_server.storage.records import load_record, load_records


def change(
    journal: Journal, kind: str, identity: str, base: dict[str, int] | None = None, **fields: Any
) -> ChangeResult:
    (result,) = apply_changes(journal, [{"kind": kind, "id": identity, "fields": fields, "base": base}])
    return result


def test_a_planting_gets_a_card_code_of_its_own(journal: Journal, set_up: SetUp) -> None:
    codes = set()
    for _ in range(5):
        with journal.database.reading() as session:
            record = load_record(session, set_up.planting())
        assert record is not None
        codes.add(record.fields["card_code"])
    assert len(codes) == 5
    assert all(is_card_code(code) for code in codes)


def test_two_phones_editing_different_fields_both_keep_their_edit(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting(plants=4)
    first = change(journal, "planting", planting, base={"plants": 1}, plants=5)
    second = change(journal, "planting", planting, base={"note": 1}, note="windy here")
    assert (first.status, second.status) == ("applied", "merged")
    with journal.database.reading() as session:
        record = load_record(session, planting)
    assert record is not None
    assert (record.fields["plants"], record.fields["note"]) == (5, "windy here")


def test_two_phones_editing_the_same_field_both_values_come_back(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting(plants=4)
    change(journal, "planting", planting, base={"plants": 1}, plants=5)
    late = change(journal, "planting", planting, base={"plants": 1}, plants=3)
    assert late.status == "conflict"
    (clash,) = late.conflicts
    assert (clash.field, clash.yours, clash.theirs) == ("plants", 3, 5)


def test_the_same_change_sent_twice_is_harmless(journal: Journal, set_up: SetUp) -> None:
    identity = str(uuid.uuid4())
    for _ in range(2):
        result = change(journal, "cultivar", identity, genus="Verbena", name="Made Up")
        assert result.status == "applied"
    with journal.database.reading() as session:
        assert len(load_records(session, "cultivar")) == 1


def test_removed_before_planted_is_refused_at_its_field(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting(planted_on="2026-05-16")
    result = change(journal, "planting", planting, removed_on="2026-05-15")
    (error,) = result.errors
    assert (result.status, error.field) == ("refused", "removed_on")
    with journal.database.reading() as session:
        record = load_record(session, planting)
    assert record is not None
    assert record.fields["removed_on"] is None


def test_one_card_at_two_plantings_at_once_is_refused_but_next_season_is_fine(set_up: SetUp) -> None:
    first = set_up.planting("TAG-7K3Q9M", planted_on="2025-05-10")
    with pytest.raises(AssertionError, match="already stands"):
        set_up.planting("TAG-7K3Q9M", planted_on="2026-05-16")
    set_up.edit("planting", first, removed_on="2025-10-20")
    set_up.planting("TAG-7K3Q9M", planted_on="2026-05-16")


def test_references_must_exist_and_be_of_the_right_kind(journal: Journal, set_up: SetUp) -> None:
    result = change(
        journal, "planting", str(uuid.uuid4()), trial_id=set_up.trial_id, planter_id=str(uuid.uuid4()),
        cultivar_id=set_up.trial_id, planted_on="2026-05-16",
    )  # fmt: skip
    assert {error.field for error in result.errors} == {"planter_id", "cultivar_id"}


def test_what_is_used_cannot_be_deleted_and_deleting_leaves_a_mark(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting()
    with journal.database.reading() as session:
        record = load_record(session, planting)
    assert record is not None
    cultivar = record.fields["cultivar_id"]
    (refused,) = apply_changes(journal, [{"kind": "cultivar", "id": cultivar, "delete": True}])
    assert "still used by 1 planting" in str(refused.errors[0])
    apply_changes(journal, [{"kind": "planting", "id": planting, "delete": True}])
    (gone,) = apply_changes(journal, [{"kind": "cultivar", "id": cultivar, "delete": True}])
    assert gone.status == "applied"
    with journal.database.reading() as session:
        assert [r.deleted for r in load_records(session, "cultivar", with_deleted=True)] == [True]
    late = change(journal, "cultivar", cultivar, note="edited on a phone that did not know")
    assert "deleted meanwhile" in str(late.errors[0])


def test_one_wrong_change_does_not_stop_the_others(journal: Journal) -> None:
    good = {"kind": "trial", "id": str(uuid.uuid4()), "fields": {"title": "Terrace", "year": 2026}}
    bad: list[Any] = [
        None, 7, {"kind": "spaceship"}, {"kind": "trial", "id": "x", "fields": {}},
        {"kind": "trial", "id": str(uuid.uuid4()), "fields": {"title": ""}},
        {"kind": "photo", "id": str(uuid.uuid4()), "fields": {"set_aside": True}},
        {"kind": "trial", "id": str(uuid.uuid4()), "fields": [], "base": {"title": "one"}},
    ]  # fmt: skip
    results = apply_changes(journal, [*bad, good])
    assert [r.status for r in results] == ["refused"] * len(bad) + ["applied"]
    with journal.database.reading() as session:
        assert len(load_records(session, "trial")) == 1
