import uuid
from datetime import timedelta
from typing import Any

import pytest
from conftest import SetUp

from journal_server.domain.cards import is_card_code
from journal_server.domain.derived_ids import derived_id
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


def test_plants_are_not_counted_before_they_were_planted(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting(planted_on="2026-05-16")
    identity = str(uuid.uuid4())
    early = change(journal, "plant_count", identity, planting_id=planting, counted_on="2026-05-15", plants=3)
    (error,) = early.errors
    assert (error.field, early.record) == ("counted_on", None)
    assert "(15 May 2026) before they were planted (16 May 2026)" in str(error)
    on_the_day = change(journal, "plant_count", identity, planting_id=planting, counted_on="2026-05-16", plants=3)
    assert on_the_day.status == "applied"
    moved = change(journal, "plant_count", identity, counted_on="2020-05-16")
    assert [error.field for error in moved.errors] == ["counted_on"]


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


@pytest.mark.parametrize(("kind", "day_field"), [("weather", "day"), ("care", "done_on")])
def test_what_has_not_been_yet_is_not_noted_as_done(journal: Journal, set_up: SetUp, kind: str, day_field: str) -> None:
    fields = {"trial_id": set_up.trial_id, **({"action": "fed"} if kind == "care" else {"tmax_c": 30.0})}
    in_days = [(journal.today() + timedelta(days=days)).isoformat() for days in (1, 3)]
    tomorrow, later = (change(journal, kind, str(uuid.uuid4()), **fields, **{day_field: day}) for day in in_days)
    assert (tomorrow.status, later.status) == ("applied", "refused")
    assert later.errors[0].field == day_field
    assert "has not been yet" in str(later.errors[0])
    with journal.database.reading() as session:
        assert len(load_records(session, kind)) == 1
    assert tomorrow.record is not None
    moved = change(journal, kind, tomorrow.id, **{day_field: in_days[1]})
    assert moved.status == "refused"
    assert moved.record == tomorrow.record


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


def gone_and_back(journal: Journal, kind: str, identity: str) -> ChangeResult:
    (deleted,) = apply_changes(journal, [{"kind": kind, "id": identity, "delete": True}])
    assert deleted.status == "applied", deleted.errors
    return put_back(journal, kind, identity)


def put_back(journal: Journal, kind: str, identity: str) -> ChangeResult:
    (result,) = apply_changes(journal, [{"kind": kind, "id": identity, "restore": True}])
    return result


@pytest.mark.parametrize("kind", ["cultivar", "planter", "planting", "care", "care_plan", "weather", "plant_count"])
def test_what_was_deleted_comes_back_as_it_was(journal: Journal, set_up: SetUp, kind: str) -> None:
    planting = set_up.planting(note="by the gate") if kind in ("planting", "plant_count") else None
    trial = set_up.trial_id
    made = {
        "cultivar": lambda: set_up.make("cultivar", genus="Petunia", name="Made Up"),
        "planter": lambda: set_up.make("planter", trial_id=trial, name="T", planter_kind="pot"),
        "planting": lambda: planting,
        "care": lambda: set_up.make("care", trial_id=trial, done_on="2026-06-12", action="fed"),
        "care_plan": lambda: set_up.make("care_plan", trial_id=trial, action="fed", every_days=7),
        "weather": lambda: set_up.make("weather", trial_id=trial, day="2026-06-12", tmax_c=30),
        "plant_count": lambda: set_up.make("plant_count", planting_id=planting, counted_on="2026-06-12", plants=4),
    }[kind]()
    assert made is not None
    with journal.database.reading() as session:
        before = load_record(session, made)
    back = gone_and_back(journal, kind, made)
    assert before is not None
    assert back.record is not None
    assert (back.status, back.record.fields, back.record.deleted) == ("applied", before.fields, False)
    assert (back.record.version, back.record.field_versions) == (before.version + 2, before.field_versions)


def test_putting_back_twice_or_what_was_never_gone_changes_nothing(journal: Journal, set_up: SetUp) -> None:
    cultivar = set_up.make("cultivar", genus="Petunia", name="Made Up")
    never_gone = put_back(journal, "cultivar", cultivar)
    assert (never_gone.status, never_gone.changed) == ("applied", False)
    first = gone_and_back(journal, "cultivar", cultivar)
    again = put_back(journal, "cultivar", cultivar)
    assert first.record is not None
    assert again.record is not None
    assert (again.status, again.record.version) == ("applied", first.record.version)


def test_an_edit_made_before_the_deleting_meets_the_record_as_if_it_had_stayed(journal: Journal, set_up: SetUp) -> None:
    cultivar = set_up.make("cultivar", genus="Petunia", name="Made Up")
    gone_and_back(journal, "cultivar", cultivar)
    late = {"kind": "cultivar", "id": cultivar, "fields": {"name": "Renamed"}, "base": {"name": 1}}
    (result,) = apply_changes(journal, [late])
    assert result.status == "applied"


def test_what_stands_on_something_gone_is_not_put_back_alone(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting()
    with journal.database.reading() as session:
        record = load_record(session, planting)
    assert record is not None
    planter = record.fields["planter_id"]
    for kind, identity in (("planting", planting), ("planter", planter)):
        apply_changes(journal, [{"kind": kind, "id": identity, "delete": True}])
    refused = put_back(journal, "planting", planting)
    assert [(e.field, "planter was deleted" in str(e)) for e in refused.errors] == [("planter_id", True)]
    assert put_back(journal, "planter", planter).status == "applied"
    assert put_back(journal, "planting", planting).status == "applied"


def test_a_planting_whose_card_stands_elsewhere_now_is_not_put_back(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting("TAG-7K3Q9M")
    apply_changes(journal, [{"kind": "planting", "id": planting, "delete": True}])
    set_up.planting("TAG-7K3Q9M")
    refused = put_back(journal, "planting", planting)
    assert [e.field for e in refused.errors] == ["card_code"]
    assert refused.record is not None
    assert refused.record.deleted


def test_care_comes_back_though_its_visit_is_gone(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting()
    trial = set_up.trial_id
    walk = derived_id("walk", trial, "2026-06-12")
    visit = derived_id("visit", walk, planting)
    care = str(uuid.uuid4())
    apply_changes(journal, [
        {"kind": "walk", "id": walk, "fields": {"trial_id": trial, "walked_on": "2026-06-12"}},
        {"kind": "visit", "id": visit, "fields": {
            "trial_id": trial, "walk_id": walk, "planting_id": planting, "visited_on": "2026-06-12"}},
        {"kind": "care", "id": care, "fields": {
            "trial_id": trial, "planting_id": planting, "visit_id": visit, "done_on": "2026-06-12", "action": "fed"}},
        {"kind": "care", "id": care, "delete": True},
        {"kind": "visit", "id": visit, "delete": True},
    ])  # fmt: skip
    assert put_back(journal, "care", care).status == "applied"


@pytest.mark.parametrize("more", [{"fields": {"name": "other"}}, {"delete": True}, {"restore": "yes"}])
def test_putting_back_says_nothing_else(journal: Journal, set_up: SetUp, more: dict[str, Any]) -> None:
    cultivar = set_up.make("cultivar", genus="Petunia", name="Made Up")
    (result,) = apply_changes(journal, [{"kind": "cultivar", "id": cultivar, "restore": True, **more}])
    assert (result.status, result.errors[0].field) == ("refused", "restore")
    assert put_back(journal, "cultivar", str(uuid.uuid4())).status == "refused"
