"""The tables beside this file are also what the phones' own copies of the rules are tested by."""

import json
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from journal_server.domain.care_due import CareDone, CarePlan, Standing, care_due

HERE = Path(__file__).parent


def cases(name: str) -> list[Any]:
    return [pytest.param(case, id=case["name"]) for case in json.loads((HERE / name).read_text(encoding="utf-8"))]


def with_dates(given: dict[str, Any]) -> dict[str, Any]:
    return {k: date.fromisoformat(v) if k.endswith("_on") and v else v for k, v in given.items()}


@pytest.mark.parametrize("case", cases("care_due_cases.json"))
def test_what_is_due(case: dict[str, Any]) -> None:
    found = care_due(
        [CarePlan(**with_dates(plan)) for plan in case["plans"]],
        [CareDone(**with_dates(done)) for done in case["care"]],
        [Standing(**with_dates(planting)) for planting in case["plantings"]],
        date.fromisoformat(case["day"]),
    )
    assert [asdict(due) for due in found] == [with_dates(due) for due in case["due"]]
