"""How many plants of a planting are alive: the number set out, until they were counted again. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class PlantCount:
    """``seq`` is the server's sequence number, which orders two counts of one day."""

    counted_on: date
    plants: int
    seq: int


def living_plants(set_out: int | None, counts: Iterable[PlantCount], day: date | None = None) -> int | None:
    """The latest count (up to ``day``, if given), else the number set out; None where neither is known."""
    known = [count for count in counts if day is None or count.counted_on <= day]
    latest = max(known, key=lambda count: (count.counted_on, count.seq), default=None)
    return set_out if latest is None else latest.plants
