"""Edits from people and phones: checked, merged and stored one by one, each whole or not at all."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from journal_server.domain.cards import new_card_code
from journal_server.domain.cultivar_names import NAMED_BY, earlier_names
from journal_server.domain.dates import full_day_words
from journal_server.domain.days_to_come import DAY_OF, refuse_days_to_come
from journal_server.domain.field_checks import record_id
from journal_server.domain.merging import FieldConflict, decide_merge
from journal_server.domain.point_fields import changed_once_ended, unequal_lengths
from journal_server.domain.records import (
    CREATABLE,
    ID_FOLLOWS_FROM,
    KINDS,
    check_fields,
    complete_fields,
    id_that_follows,
    kind_in_words,
)
from journal_server.errors import InputRefused
from journal_server.services.class_maps import ask_for_class_maps
from journal_server.services.journal import Journal
from journal_server.services.matching import rematch_after_change
from journal_server.storage.records import Record, count_pointing, load_record, load_records, save_record
from journal_server.storage.set_up_queries import card_codes_of_plantings, last_in_walking_order

STAY_BEHIND = {
    "planting": ("frame", "look_at_answer", "identity_note", "point_count"),
    "cultivar": ("identity_note",),
    "visit": ("photo", "recording", "care"),
}
"""Kinds that may go on pointing to what was deleted: a photo of a deleted visit is a photo all the same, and what a
planting was once taken for is told in words."""


@dataclass(frozen=True)
class ChangeResult:
    """What became of one change: 'applied', 'merged' (others had moved on), 'conflict' or 'refused'.

    ``changed`` is False where all was so already, as when a change is sent a second time.
    """

    id: str
    status: str
    record: Record | None = None
    errors: tuple[InputRefused, ...] = ()
    conflicts: tuple[FieldConflict, ...] = ()
    changed: bool = True

    def as_dict(self) -> dict[str, Any]:
        return {
            "id": self.id,
            "status": self.status,
            "record": self.record.as_dict() if self.record else None,
            "errors": [{"field": e.field, "message": str(e)} for e in self.errors],
            "conflicts": [{"field": c.field, "yours": c.yours, "theirs": c.theirs} for c in self.conflicts],
        }


@dataclass
class Change:
    kind: str
    id: str
    fields: dict[str, Any] = field(default_factory=dict)
    base: dict[str, int] | None = None
    delete: bool = False
    restore: bool = False


def parse_change(given: Any) -> Change:
    """A change as it was sent, its shape checked."""
    if not isinstance(given, dict):
        raise InputRefused("A change is an object with kind, id and fields.")
    kind = given.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        raise InputRefused(f"The kind must be one of: {', '.join(KINDS)}.", "kind")
    fields, base = given.get("fields", {}), given.get("base")
    if not isinstance(fields, dict):
        raise InputRefused("The fields must be an object.", "fields")
    if base is not None and not (
        isinstance(base, dict) and all(isinstance(v, int) and not isinstance(v, bool) for v in base.values())
    ):
        raise InputRefused("The base must say a version for each field.", "base")
    try:
        identity = record_id(given.get("id"))
    except InputRefused as error:
        raise InputRefused(str(error), "id") from None
    delete, restore = (_flag(given, name) for name in ("delete", "restore"))
    if restore and (delete or fields):
        raise InputRefused("What is put back comes as it was: without fields, and not deleted.", "restore")
    return Change(kind, identity, fields, base, delete, restore)


def _flag(given: dict[str, Any], name: str) -> bool:
    value = given.get(name, False)
    if not isinstance(value, bool):
        raise InputRefused("This must be true or false.", name)
    return value


def apply_changes(journal: Journal, changes: Sequence[Any]) -> list[ChangeResult]:
    """Apply each change, whole or not at all, then let matches and measurements follow.

    All are stored in one transaction: once this returns every applied change is durable.
    """
    today = journal.today()
    with journal.database.writing() as session:
        results = [_apply_given(session, given, today) for given in changes]
    touched = [r.record for r in results if r.record and r.changed and r.status in ("applied", "merged")]
    rematch_after_change(journal, touched)
    ask_for_class_maps(journal, touched)
    return [_as_it_is_now(journal, r) for r in results]


def _apply_given(session: Session, given: Any, today: date) -> ChangeResult:
    try:
        change = parse_change(given)
        return _has_not_been_yet(session, change, today) or apply_change(session, change)
    except InputRefused as error:
        sent_id = given.get("id") if isinstance(given, dict) else None
        return ChangeResult(sent_id if isinstance(sent_id, str) else "", "refused", errors=(error,))


def _has_not_been_yet(session: Session, change: Change, today: date) -> ChangeResult | None:
    if change.kind not in DAY_OF or change.delete or change.restore:
        return None
    stored = load_record(session, change.id)
    refused = refuse_days_to_come(change.kind, stored.fields if stored else {}, change.fields, today)
    return ChangeResult(change.id, "refused", stored, tuple(refused)) if refused else None


def apply_change(session: Session, change: Change) -> ChangeResult:
    """Apply one change within the caller's transaction (used where several must stand or fall together)."""
    stored = load_record(session, change.id)
    if stored and stored.kind != change.kind:
        return _refused(change, InputRefused(f"This id belongs to a {kind_in_words(stored.kind)}.", "id"))
    if change.delete:
        return _delete(session, change, stored)
    if change.restore:
        return _restore(session, change, stored)
    if stored is None and change.kind not in CREATABLE:
        return _refused(change, InputRefused(f"There is no such {change.kind}.", "id"))
    if stored is None or _comes_back(change, stored):
        return _create(session, change)
    if stored.deleted:
        return _refused(change, _deleted_meanwhile(change.kind, "id"), stored)
    return _edit(session, change, stored)


def _comes_back(change: Change, stored: Record) -> bool:
    """Made anew after it was deleted: where the id follows from what the record is about there can be no other."""
    return stored.deleted and change.base == {} and change.kind in ID_FOLLOWS_FROM


def _create(session: Session, change: Change) -> ChangeResult:
    accepted, refused = check_fields(change.kind, complete_fields(change.kind, change.fields))
    if not refused:
        _fill_in_new(session, change.kind, accepted)
        refused = _problems(session, change, accepted, accepted)
    if refused:
        return ChangeResult(change.id, "refused", errors=tuple(refused))
    return ChangeResult(change.id, "applied", save_record(session, change.kind, change.id, accepted))


def _edit(session: Session, change: Change, stored: Record) -> ChangeResult:
    accepted, refused = check_fields(change.kind, change.fields)
    if refused:
        return ChangeResult(change.id, "refused", stored, tuple(refused))
    decision = decide_merge(stored.fields, stored.field_versions, accepted, change.base)
    if decision.conflicts:
        return ChangeResult(change.id, "conflict", stored, conflicts=decision.conflicts)
    after = {**stored.fields, **decision.apply}
    changing = {name: value for name, value in decision.apply.items() if stored.fields.get(name) != value}
    problems = changed_once_ended(stored.fields, changing) if change.kind == "point_count" else []
    problems += _problems(session, change, after, changing)
    if problems:
        return ChangeResult(change.id, "refused", stored, tuple(problems))
    to_write = _with_what_follows(change.kind, decision.apply, stored.fields, after)
    status = "merged" if decision.merged else "applied"
    if all(stored.fields.get(name) == value for name, value in to_write.items()):
        return ChangeResult(change.id, status, stored, changed=False)
    return ChangeResult(change.id, status, save_record(session, change.kind, change.id, to_write))


def _refused(change: Change, error: InputRefused, stored: Record | None = None) -> ChangeResult:
    return ChangeResult(change.id, "refused", stored, errors=(error,))


def _deleted_meanwhile(kind: str, field: str) -> InputRefused:
    return InputRefused(f"This {kind_in_words(kind)} was deleted meanwhile, here or on another phone.", field)


def _as_it_is_now(journal: Journal, result: ChangeResult) -> ChangeResult:
    if result.record is None or result.status not in ("applied", "merged"):
        return result
    with journal.database.reading() as session:
        return replace(result, record=load_record(session, result.id))


def _fill_in_new(session: Session, kind: str, fields: dict[str, Any]) -> None:
    if kind == "planting":
        fields["card_code"] = fields["card_code"] or new_card_code(card_codes_of_plantings(session), secrets.choice)
        fields["identity"] = fields["identity"] or "confirmed"
    if kind == "planter" and fields["walk_order"] is None:
        fields["walk_order"] = last_in_walking_order(session) + 1


def _with_what_follows(
    kind: str, edit: dict[str, Any], before: dict[str, Any], after: dict[str, Any]
) -> dict[str, Any]:
    """The edit and what the journal itself writes beside it."""
    if kind == "photo":
        return _photo_edit(edit, after)
    if kind == "cultivar" and any(before.get(name) != after.get(name) for name in NAMED_BY):
        return edit | {"earlier_names": earlier_names(before, after)}
    return edit


def _photo_edit(edit: dict[str, Any], after: dict[str, Any]) -> dict[str, Any]:
    out = dict(edit)
    if "taken_at" in edit:
        out |= {"taken_at_source": "person", "taken_at_doubtful": False, "moment_note": "Set by hand."}
    if {"planting_id", "set_aside"} & set(edit):
        out["named_planting_id"] = None
    if edit.get("planting_id"):
        accepted = edit["planting_id"] == after.get("suggested_planting_id")
        reason = "Suggestion accepted by hand." if accepted else "Set by hand."
        out |= {"match": "set by hand", "match_reason": reason, "set_aside": False}
    elif edit.get("set_aside"):
        out |= {"match": "set aside", "match_reason": "Set aside by hand.", "planting_id": None}
    elif "planting_id" in edit or "set_aside" in edit:
        out |= {"match": "question", "planting_id": None, "set_aside": False}
    return out


def _problems(session: Session, change: Change, after: dict[str, Any], edit: dict[str, Any]) -> list[InputRefused]:
    found = [*_dangling(session, change.kind, edit), *_wrong_identity(change, after)]
    if found:
        return found
    if change.kind == "planting":
        found += _planting_problems(session, change.id, after)
    if change.kind == "plant_count":
        found += _counted_before_planted(session, after)
    if change.kind == "care_plan" and after.get("begins_on") and (after.get("ends_on") or "9999") < after["begins_on"]:
        found.append(InputRefused("The plan cannot end before it begins.", "ends_on"))
    if change.kind == "photo" and change.fields.get("planting_id") and change.fields.get("set_aside"):
        found.append(InputRefused("A photo is either matched or set aside, not both.", "set_aside"))
    if change.kind == "point_count":
        found += unequal_lengths(after)
    if change.kind == "weather":
        low, high = after.get("tmin_c"), after.get("tmax_c")
        if low is not None and high is not None and low > high:
            found.append(InputRefused(f"The lowest ({low:g}) is above the highest ({high:g}).", "tmin_c"))
    return found


def _dangling(session: Session, kind: str, edit: dict[str, Any]) -> Any:
    for name, value in edit.items():
        refers_to = KINDS[kind][name].refers_to
        if refers_to and value is not None:
            target = load_record(session, value)
            if target is None or target.kind != refers_to:
                yield InputRefused(f"There is no such {kind_in_words(refers_to)} in this journal.", name)
            elif target.deleted:
                yield _deleted_meanwhile(refers_to, name)


def _wrong_identity(change: Change, after: dict[str, Any]) -> list[InputRefused]:
    if id_that_follows(change.kind, after) in (None, change.id):
        return []
    names = " and ".join(name.removesuffix("_id").replace("walked_on", "day") for name in ID_FOLLOWS_FROM[change.kind])
    return [InputRefused(f"The id of a {change.kind} follows from its {names}, and these stay as they are.", "id")]


def _planting_problems(session: Session, planting_id: str, after: dict[str, Any]) -> list[InputRefused]:
    found: list[InputRefused] = []
    begins, ends = after["planted_on"], after.get("removed_on")
    if ends and ends < begins:
        found.append(
            InputRefused(
                f"The planting cannot be removed ({_day(ends)}) before it was planted ({_day(begins)}).", "removed_on"
            )
        )
    planter = load_record(session, after["planter_id"])
    if planter and planter.fields["trial_id"] != after["trial_id"]:
        found.append(InputRefused("This planter belongs to another trial.", "planter_id"))
    code = after.get("card_code")
    for other in load_records(session, "planting", equals={"card_code": code}) if code else ():
        if other.id != planting_id and _overlap(other.fields, after):
            found.append(
                InputRefused(
                    f"The card {code} already stands at another planting during that time "
                    f"(from {_day(other.fields['planted_on'])} to {_day(other.fields['removed_on'])}).",
                    "card_code",
                )
            )
    return found


def _counted_before_planted(session: Session, count: dict[str, Any]) -> list[InputRefused]:
    planting = load_record(session, count["planting_id"])
    if planting is None or count["counted_on"] >= planting.fields["planted_on"]:
        return []
    counted, planted = _day(count["counted_on"]), _day(planting.fields["planted_on"])
    return [
        InputRefused(f"The plants cannot be counted ({counted}) before they were planted ({planted}).", "counted_on")
    ]


def _day(iso: str | None) -> str:
    return full_day_words(date.fromisoformat(iso)) if iso else "now"


def _overlap(a: dict[str, Any], b: dict[str, Any]) -> bool:
    last = date.max.isoformat()
    begins_in_time = a["planted_on"] <= (b.get("removed_on") or last)
    return bool(begins_in_time and b["planted_on"] <= (a.get("removed_on") or last))


def _delete(session: Session, change: Change, stored: Record | None) -> ChangeResult:
    words = kind_in_words(change.kind)
    if stored is None:
        return _refused(change, InputRefused(f"There is no such {words}.", "id"))
    if stored.deleted:
        return ChangeResult(change.id, "applied", stored, changed=False)
    if change.kind == "photo":
        return _refused(change, InputRefused("Photos are kept; set the photo aside instead.", "delete"), stored)
    users = _users(session, change.kind, change.id)
    if users:
        instead = " Give it the day it was removed instead; its season is kept." if change.kind == "planting" else ""
        says = f"This {words} is still used by {', '.join(users)}.{instead}"
        return _refused(change, InputRefused(says, "delete"), stored)
    return ChangeResult(change.id, "applied", save_record(session, change.kind, change.id, {}, deleted=True))


def _restore(session: Session, change: Change, stored: Record | None) -> ChangeResult:
    """Put back what was deleted, as it was; checked like a new record, since the journal went on meanwhile."""
    if stored is None:
        return _refused(change, InputRefused(f"There is no such {kind_in_words(change.kind)}.", "id"))
    if not stored.deleted:
        return ChangeResult(change.id, "applied", stored, changed=False)
    checked = {name: value for name, value in stored.fields.items() if not _may_dangle(change.kind, name)}
    problems = _problems(session, change, stored.fields, checked)
    if problems:
        return ChangeResult(change.id, "refused", stored, tuple(problems))
    return ChangeResult(change.id, "applied", save_record(session, change.kind, change.id, {}))


def _may_dangle(kind: str, name: str) -> bool:
    """Whether this field may go on pointing to what was deleted."""
    return kind in STAY_BEHIND.get(KINDS[kind][name].refers_to or "", ())


def _users(session: Session, kind: str, target_id: str) -> list[str]:
    """What points to a record, in words: '3 photos', '1 visit'."""
    users = []
    for other, fields in sorted(KINDS.items()):
        pointing = [name for name, f in fields.items() if f.refers_to == kind]
        count = count_pointing(session, other, pointing, target_id) if pointing else 0
        if count and other not in STAY_BEHIND.get(kind, ()):
            users.append(kind_in_words(other, count) if count > 1 else f"1 {kind_in_words(other)}")
    return users
