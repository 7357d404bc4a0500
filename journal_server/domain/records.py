"""The kinds of records and their fields: the one table behind forms, API, merging and storage."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from journal_server.domain.derived_ids import derived_id
from journal_server.domain.field_checks import (
    EARLIEST_YEAR,
    LATEST_YEAR,
    Check,
    card_code,
    colours,
    day,
    identifier,
    moment,
    number,
    one_of,
    polygon,
    shown,
    text,
    whole,
    yes_or_no,
)
from journal_server.domain.hand_strokes import strokes
from journal_server.domain.point_fields import answers, points, polygon_or_whole
from journal_server.domain.verdict_fields import PLACES, VERDICT_CHECKS
from journal_server.errors import InputRefused


@dataclass(frozen=True)
class Field:
    check: Check
    refers_to: str | None = None
    editable: bool = True


HABITS = ("mounding", "trailing", "upright", "spreading")
PLANTER_KINDS = ("trough", "wall rack", "pot", "hanging basket", "bed")
EXPOSURES = ("full sun", "part shade", "shade")
IRRIGATIONS = ("drip", "hand", "none")
IDENTITIES = ("confirmed", "doubtful")
CARE_ACTIONS = ("fed", "sprayed", "deadheaded", "trimmed", "watered", "repaired", "planted", "noted")
FINDINGS = (
    "dry",
    "soggy",
    "wilted",
    "caterpillar damage",
    "other chewing",
    "spent blooms showing",
    "leggy",
    "flopped",
    "faded",
    "off-type flower",
    "one plant lagging",
    "plant dead",
    "label missing",
)
RATINGS = ("overall", "vigour", "flower", "habit", "health")
COUNT_REASONS = ("died", "lifted for elsewhere", "added", "counted again")
LOOK_AT_ANSWERS = ("dismissed", "noted")
HOW_TAKEN = ("viewfinder", "phone camera", "added later")

_note = Field(text(2000))
_read_only = Field(lambda value: value, editable=False)

SET_AT_INTAKE = ("sha256", "file_name", "bytes", "taken_in_at")
"""What the journal itself writes when bytes are taken in, for photos and recordings alike."""

PHOTO_SET_BY_THE_JOURNAL = (
    "taken_at_source",
    "taken_at_doubtful",
    "moment_note",
    "width",
    "height",
    "format",
    "tag",
    "tags",
    "card_corners",
    "focal_35mm",
    "how",
    "has_location",
    "match",
    "match_reason",
    "suggested_planting_id",
    "choices",
    "named_planting_id",
    "measuring",
    "measuring_note",
)

KINDS: dict[str, dict[str, Field]] = {
    "trial": {
        "title": Field(text(120, required=True)),
        "year": Field(whole(EARLIEST_YEAR, LATEST_YEAR, required=True)),
        "site": Field(text(120)),
        "note": _note,
    },
    "cultivar": {
        "genus": Field(text(60, required=True)),
        "species": Field(text(80)),
        "name": Field(text(200, required=True)),
        "bloom_colours": Field(colours),
        "foliage_colours": Field(colours),
        "habit": Field(one_of(*HABITS)),
        "foliage_only": Field(yes_or_no),
        "introduced": Field(whole(1700, LATEST_YEAR)),
        "standard": Field(yes_or_no),
        "note": _note,
        "earlier_names": _read_only,
    },
    "planter": {
        "trial_id": Field(identifier(required=True), refers_to="trial"),
        "name": Field(text(200, required=True)),
        "planter_kind": Field(one_of(*PLANTER_KINDS, required=True)),
        "length_cm": Field(number(5, 5000, unit="cm")),
        "walk_order": Field(number(-1e6, 1e6)),
        "exposure": Field(one_of(*EXPOSURES)),
        "afternoon_shade": Field(yes_or_no),
        "wind": Field(yes_or_no),
        "irrigation": Field(one_of(*IRRIGATIONS)),
        "note": _note,
    },
    "planting": {
        "trial_id": Field(identifier(required=True), refers_to="trial"),
        "planter_id": Field(identifier(required=True), refers_to="planter"),
        "cultivar_id": Field(identifier(required=True), refers_to="cultivar"),
        "planted_on": Field(day(required=True)),
        "removed_on": Field(day()),
        "plants": Field(whole(1, 500)),
        "identity": Field(one_of(*IDENTITIES)),
        "label_said": Field(text(300)),
        "looks_like": Field(text(300)),
        "card_code": Field(card_code),
        "note": _note,
    },
    "identity_note": {
        "planting_id": Field(identifier(required=True), refers_to="planting"),
        "decided_on": Field(day(required=True)),
        "thought": Field(one_of(*IDENTITIES, required=True)),
        "was_cultivar_id": Field(identifier(), refers_to="cultivar"),
        "was_named": Field(text(400)),
        "label_said": Field(text(300)),
        "cultivar_id": Field(identifier(), refers_to="cultivar"),
        "says": Field(text(400)),
        "note": _note,
    },
    "frame": {
        "planting_id": Field(identifier(required=True), refers_to="planting"),
        "photo_id": Field(identifier(required=True), refers_to="photo"),
        "polygon": Field(polygon),
    },
    "correction": {
        "photo_id": Field(identifier(required=True), refers_to="photo"),
        "strokes": Field(strokes),
        "corrected_by": Field(text(60)),
        "corrected_on": Field(day(required=True)),
        "note": _note,
    },
    "point_count": {
        "photo_id": Field(identifier(required=True), refers_to="photo"),
        "planting_id": Field(identifier(), refers_to="planting"),
        "polygon": Field(polygon_or_whole),
        "points": Field(points),
        "answers": Field(answers),
        "seed": Field(whole(0, 2**32 - 1, required=True)),
        "counted_by": Field(text(60)),
        "counted_on": Field(day(required=True)),
        "ended": Field(yes_or_no),
    },
    "care": {
        "trial_id": Field(identifier(required=True), refers_to="trial"),
        "planting_id": Field(identifier(), refers_to="planting"),
        "done_on": Field(day(required=True)),
        "action": Field(one_of(*CARE_ACTIONS, required=True)),
        "product": Field(text(120)),
        "visit_id": Field(identifier(), refers_to="visit"),
        "note": _note,
    },
    "care_plan": {
        "trial_id": Field(identifier(required=True), refers_to="trial"),
        "planting_id": Field(identifier(), refers_to="planting"),
        "action": Field(one_of(*CARE_ACTIONS, required=True)),
        "every_days": Field(whole(1, 365, required=True)),
        "begins_on": Field(day()),
        "ends_on": Field(day()),
        "product": Field(text(120)),
        "note": _note,
    },
    "plant_count": {
        "planting_id": Field(identifier(required=True), refers_to="planting"),
        "counted_on": Field(day(required=True)),
        "plants": Field(whole(0, 500, required=True)),
        "reason": Field(one_of(*COUNT_REASONS)),
        "note": _note,
    },
    "walk": {
        "trial_id": Field(identifier(required=True), refers_to="trial"),
        "walked_on": Field(day(required=True)),
        "ended": Field(yes_or_no),
        "note": _note,
    },
    "visit": {
        "trial_id": Field(identifier(required=True), refers_to="trial"),
        "walk_id": Field(identifier(required=True), refers_to="walk"),
        "planting_id": Field(identifier(required=True), refers_to="planting"),
        "visited_on": Field(day(required=True)),
        "done": Field(yes_or_no),
        "remark": Field(text(4000)),
    },
    "finding": {
        "visit_id": Field(identifier(required=True), refers_to="visit"),
        "planting_id": Field(identifier(required=True), refers_to="planting"),
        "found_on": Field(day(required=True)),
        "what": Field(one_of(*FINDINGS, required=True)),
        "plant": Field(whole(1, 500)),
        "note": _note,
    },
    "rating": {
        "visit_id": Field(identifier(required=True), refers_to="visit"),
        "planting_id": Field(identifier(required=True), refers_to="planting"),
        "rated_on": Field(day(required=True)),
        "rater": Field(text(60)),
        **{name: Field(whole(1, 5)) for name in RATINGS},
    },
    "look_at_answer": {
        "planting_id": Field(identifier(required=True), refers_to="planting"),
        "rule": Field(text(40, required=True)),
        "day": Field(day(required=True)),
        "answer": Field(one_of(*LOOK_AT_ANSWERS)),
        "note": _note,
    },
    "weather": {
        "trial_id": Field(identifier(required=True), refers_to="trial"),
        "day": Field(day(required=True)),
        "tmin_c": Field(number(-60, 60, unit="°C")),
        "tmax_c": Field(number(-60, 60, unit="°C")),
        "rain_mm": Field(number(0, 2000, unit="mm")),
        "forecast": Field(yes_or_no),
    },
    "verdict": {
        "trial_id": Field(identifier(required=True), refers_to="trial"),
        "cultivar_id": Field(identifier(required=True), refers_to="cultivar"),
        "place": Field(one_of(*PLACES, required=True)),
        **{name: Field(check) for name, check in VERDICT_CHECKS.items()},
        "next_year_plants": Field(whole(0, 5000)),
    },
    "photo": {
        "planting_id": Field(identifier(), refers_to="planting"),
        "set_aside": Field(yes_or_no),
        "taken_at": Field(moment),
        "visit_id": Field(identifier(), refers_to="visit"),
        **dict.fromkeys((*SET_AT_INTAKE, *PHOTO_SET_BY_THE_JOURNAL), _read_only),
    },
    "recording": {
        "planting_id": Field(identifier(), refers_to="planting"),
        "visit_id": Field(identifier(), refers_to="visit"),
        "note": _note,
        **dict.fromkeys((*SET_AT_INTAKE, "mime", "seconds", "recorded_at"), _read_only),
    },
}

CREATABLE = tuple(kind for kind in KINDS if kind not in ("photo", "recording"))
"""Photos and recordings come into being by being taken in, never by a change."""

ID_FOLLOWS_FROM: dict[str, tuple[str, ...]] = {
    "walk": ("trial_id", "walked_on"),
    "visit": ("walk_id", "planting_id"),
    "rating": ("visit_id", "rater"),
    "look_at_answer": ("planting_id", "rule", "day"),
    "verdict": ("trial_id", "cultivar_id", "place"),
}
"""Kinds whose id is made of what they are about, so that two phones without a signal make the same record."""


def check_fields(kind: str, given: dict[str, Any]) -> tuple[dict[str, Any], list[InputRefused]]:
    """Check the given fields of one kind: the accepted values, and one refusal per field that is wrong."""
    accepted: dict[str, Any] = {}
    refused: list[InputRefused] = []
    for name, value in given.items():
        field = KINDS[kind].get(name)
        try:
            if field is None:
                raise InputRefused(f"A {kind} has no field {shown(name)}.")
            if not field.editable:
                raise InputRefused("This is set by the journal itself and cannot be edited.")
            accepted[name] = field.check(value)
        except InputRefused as error:
            refused.append(InputRefused(str(error), name))
    return accepted, refused


def complete_fields(kind: str, given: dict[str, Any]) -> dict[str, Any]:
    """All editable fields of a new record, the missing ones as None (so that required ones are refused)."""
    return {name: given.get(name) for name, field in KINDS[kind].items() if field.editable} | given


def id_that_follows(kind: str, fields: dict[str, Any]) -> str | None:
    """The id that a record of this kind must have; None for kinds whose ids are random."""
    if kind not in ID_FOLLOWS_FROM:
        return None
    return derived_id(kind, *(str(fields.get(name) or "") for name in ID_FOLLOWS_FROM[kind]))


def kind_in_words(kind: str, count: int = 1) -> str:
    """'care plan', or '3 care plans' with a count other than one."""
    words = {"care": "care entry"}.get(kind, kind.replace("_", " "))
    many = words.removesuffix("y") + "ies" if words.endswith("ry") else words + "s"
    return words if count == 1 else f"{count} {many}"
