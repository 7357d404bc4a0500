"""Edits from people and phones: checked, merged and stored one by one, each whole or not at all."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from journal_server.domain.cards import new_card_code
from journal_server.domain.dates import full_day_words
from journal_server.domain.merging import FieldConflict, decide_merge
from journal_server.domain.records import CREATABLE, KINDS, check_fields, complete_fields, record_id
from journal_server.errors import InputRefused
from journal_server.services.journal import Journal, codes_ever_used
from journal_server.services.matching import rematch_after_change
from journal_server.storage.records import Record, load_record, load_records, save_record


@dataclass(frozen=True)
class ChangeResult:
    """What became of one change: 'applied', 'merged' (others had moved on), 'conflict' or 'refused'."""

    id: str
    status: str
    record: Record | None = None
    errors: tuple[InputRefused, ...] = ()
    conflicts: tuple[FieldConflict, ...] = ()

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
    if not isinstance(given.get("delete", False), bool):
        raise InputRefused("This must be true or false.", "delete")
    return Change(kind, identity, fields, base, given.get("delete", False))


def apply_changes(journal: Journal, changes: Sequence[Any]) -> list[ChangeResult]:
    """Apply each change, whole or not at all, then let matches and measurements follow.

    All are stored in one transaction: once this returns every applied change is durable.
    """
    with journal.database.writing() as session:
        results = [_apply_given(session, given) for given in changes]
    touched = [r.record for r in results if r.record and r.status in ("applied", "merged")]
    rematch_after_change(journal, touched)
    return [_as_it_is_now(journal, r) for r in results]


def _apply_given(session: Session, given: Any) -> ChangeResult:
    try:
        return apply_change(session, parse_change(given))
    except InputRefused as error:
        sent_id = given.get("id") if isinstance(given, dict) else None
        return ChangeResult(sent_id if isinstance(sent_id, str) else "", "refused", errors=(error,))


def apply_change(session: Session, change: Change) -> ChangeResult:
    """Apply one change within the caller's transaction (used where several must stand or fall together)."""
    stored = load_record(session, change.id)
    if stored and stored.kind != change.kind:
        return _refused(change, InputRefused(f"This id belongs to a {stored.kind}.", "id"))
    if change.delete:
        return _delete(session, change, stored)
    if stored is None and change.kind not in CREATABLE:
        return _refused(change, InputRefused(f"There is no such {change.kind}.", "id"))
    if stored and stored.deleted:
        return _refused(change, InputRefused(f"This {change.kind} was deleted meanwhile.", "id"))
    given = change.fields if stored else complete_fields(change.kind, change.fields)
    accepted, refused = check_fields(change.kind, given)
    if refused:
        return ChangeResult(change.id, "refused", errors=tuple(refused))
    if stored is None:
        _fill_in_new(session, change.kind, accepted)
    decision = decide_merge(stored.fields, stored.field_versions, accepted, change.base) if stored else None
    if decision and decision.conflicts:
        return ChangeResult(change.id, "conflict", record=stored, conflicts=decision.conflicts)
    to_write = decision.apply if decision else accepted
    after = {**(stored.fields if stored else {}), **to_write}
    problems = _problems(session, change, after, to_write)
    if problems:
        return ChangeResult(change.id, "refused", errors=tuple(problems))
    if change.kind == "photo":
        to_write = _photo_edit(to_write, after)
    record = save_record(session, change.kind, change.id, to_write)
    return ChangeResult(change.id, "merged" if decision and decision.merged else "applied", record)


def _refused(change: Change, error: InputRefused) -> ChangeResult:
    return ChangeResult(change.id, "refused", errors=(error,))


def _as_it_is_now(journal: Journal, result: ChangeResult) -> ChangeResult:
    if result.record is None or result.status not in ("applied", "merged"):
        return result
    with journal.database.reading() as session:
        return ChangeResult(result.id, result.status, load_record(session, result.id))


def _fill_in_new(session: Session, kind: str, fields: dict[str, Any]) -> None:
    if kind == "planting":
        fields["card_code"] = fields["card_code"] or new_card_code(codes_ever_used(session), secrets.choice)
        fields["identity"] = fields["identity"] or "confirmed"
    if kind == "planter" and fields["walk_order"] is None:
        orders = [r.fields["walk_order"] for r in load_records(session, "planter")]
        fields["walk_order"] = max((o for o in orders if o is not None), default=0) + 1


def _photo_edit(edit: dict[str, Any], after: dict[str, Any]) -> dict[str, Any]:
    out = dict(edit)
    if "taken_at" in edit:
        out |= {"taken_at_source": "person", "taken_at_doubtful": False, "moment_note": "Set by hand."}
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
    found = list(_dangling(session, change.kind, edit))
    if found:
        return found
    if change.kind == "planting":
        found += _planting_problems(session, change.id, after)
    if change.kind == "photo" and edit.get("planting_id") and edit.get("set_aside"):
        found.append(InputRefused("A photo is either matched or set aside, not both.", "set_aside"))
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
            if target is None or target.kind != refers_to or target.deleted:
                yield InputRefused(f"There is no such {refers_to} in this journal.", name)


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
    for other in load_records(session, "planting"):
        same_card = other.id != planting_id and other.fields["card_code"] == after.get("card_code")
        if same_card and after.get("card_code") and _overlap(other.fields, after):
            found.append(
                InputRefused(
                    f"The card {after['card_code']} already stands at another planting during that time "
                    f"(from {_day(other.fields['planted_on'])} to {_day(other.fields['removed_on'])}).",
                    "card_code",
                )
            )
    return found


def _day(iso: str | None) -> str:
    return full_day_words(date.fromisoformat(iso)) if iso else "now"


def _overlap(a: dict[str, Any], b: dict[str, Any]) -> bool:
    last = date.max.isoformat()
    begins_in_time = a["planted_on"] <= (b.get("removed_on") or last)
    return bool(begins_in_time and b["planted_on"] <= (a.get("removed_on") or last))


def _delete(session: Session, change: Change, stored: Record | None) -> ChangeResult:
    if stored is None:
        return _refused(change, InputRefused(f"There is no such {change.kind}.", "id"))
    if change.kind == "photo":
        return _refused(change, InputRefused("Photos are kept; set the photo aside instead.", "delete"))
    users = _users(session, change.kind, change.id)
    if users:
        kinds = ", ".join(f"{n} {kind}{'s' if n > 1 else ''}" for kind, n in sorted(users.items()))
        return _refused(change, InputRefused(f"This {change.kind} is still used by {kinds}.", "delete"))
    return ChangeResult(change.id, "applied", save_record(session, change.kind, change.id, {}, deleted=True))


def _users(session: Session, kind: str, target_id: str) -> dict[str, int]:
    users: dict[str, int] = {}
    for other_kind, fields in KINDS.items():
        pointing = [name for name, f in fields.items() if f.refers_to == kind]
        if not pointing or (kind == "planting" and other_kind == "frame"):
            continue
        n = sum(
            any(record.fields.get(name) == target_id for name in pointing)
            for record in load_records(session, other_kind)
        )
        if n:
            users[other_kind] = n
    return users
