"""The walks of the demo journal, from what the sample folder tells of them."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from journal_server.domain.records import id_that_follows

MakeId = Callable[..., str]


def walk_changes(folder: Path, trial_id: str, planting_ids: Mapping[str, str], make_id: MakeId) -> list[dict[str, Any]]:
    """The sample walks with their visits, findings and ratings, the care plans, and what was counted."""
    told = json.loads((folder / "walks.json").read_text(encoding="utf-8"))
    changes: list[dict[str, Any]] = []
    for walk in told["walks"]:
        made = _derived("walk", trial_id=trial_id, walked_on=walk["on"], ended=True, note=walk["note"])
        changes.append(made)
        for code, visit in walk["visits"].items():
            whose = {"trial_id": trial_id, "walk_id": made["id"], "planting_id": planting_ids[code]}
            seen = _derived("visit", **whose, visited_on=walk["on"], done=True, remark=visit.get("remark"))
            changes += [seen, *_noted(visit, seen, told, lambda *parts, c=code, d=walk["on"]: make_id(*parts, c, d))]
    for plan in told["care_plans"]:
        planting_id = planting_ids.get(plan.pop("planting"))
        identity = make_id("care plan", plan["action"], planting_id or "all")
        fields = {"trial_id": trial_id, "planting_id": planting_id, **plan}
        changes.append({"kind": "care_plan", "id": identity, "fields": fields})
    for count in told["plant_counts"]:
        planting_id = planting_ids[count.pop("planting")]
        identity = make_id("plant count", planting_id, count["counted_on"])
        changes.append({"kind": "plant_count", "id": identity, "fields": {"planting_id": planting_id, **count}})
    return changes


def _noted(visit: dict[str, Any], seen: dict[str, Any], told: dict[str, Any], make_id: MakeId) -> list[dict[str, Any]]:
    day = seen["fields"]["visited_on"]
    where = {"visit_id": seen["id"], "planting_id": seen["fields"]["planting_id"]}
    noted = [
        {"kind": "finding", "id": make_id("finding", found["what"]), "fields": {**where, "found_on": day, **found}}
        for found in visit.get("findings", ())
    ]
    if "ratings" in visit:
        scores = dict(zip(told["ratings_in_order"], visit["ratings"], strict=True))
        noted.append(_derived("rating", **where, rated_on=day, rater=told["rater"], **scores))
    return noted


def _derived(kind: str, **fields: Any) -> dict[str, Any]:
    return {"kind": kind, "id": id_that_follows(kind, fields), "fields": fields}
