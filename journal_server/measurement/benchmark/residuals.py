"""Measuring scenes and keeping, for each, what was measured, what is true and under which circumstances."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from journal_server.measurement.benchmark.scenes import Scene
from journal_server.measurement.intervals import Circumstances
from journal_server.measurement.measure import Drawn, measure_and_draw

ROUND = ("round_pot", "hanging_bowl")
SHARES = ("canopy_fill", "bloom_cover", "flower_to_leaf", "spent_share")
# Declared colours told or not, frame given or not: the three ways in which accuracy is stated.
WAYS = ((True, True), (False, True), (False, False))


@dataclass(frozen=True)
class Row:
    """One scene measured in one way."""

    scene: Scene
    told: bool
    framed: bool
    drawn: Drawn

    @property
    def circumstances(self) -> Circumstances:
        return self.drawn.circumstances

    def value(self, quantity: str) -> float | None:
        estimate = getattr(self.drawn.measurement, quantity)
        return None if estimate is None else float(estimate.value)

    def truth(self, quantity: str) -> float | None:
        truth = self.scene.truth
        if quantity == "evenness":
            # In round planters the order of the plants round the pot has no long side to follow.
            known = self.framed and truth["planter"] not in ROUND and "slot_fill" in truth
            return evenness_of(truth["slot_fill"]) if known else None
        shares = truth["frame"] if self.framed else truth.get("whole_image")
        return None if shares is None else shares[quantity]

    def as_residuals(self) -> dict[str, Any]:
        """For fitting: quantity -> (value, truth), with the circumstances."""
        pairs = {name: (self.value(name), self.truth(name)) for name in (*SHARES, "evenness")}
        known = {name: pair for name, pair in pairs.items() if None not in pair}
        return {
            "scene": self.scene.name,
            "folder": self.scene.photo.parent.name,
            "pairs": known,
            "circumstances": asdict(self.circumstances),
        }


def measured(
    scenes: Iterable[Scene], *, method: str | None = None, ways: Iterable[tuple[bool, bool]] = WAYS
) -> list[Row]:
    """Every scene measured in every way."""
    rows = []
    asked = tuple(ways)
    for scene in scenes:
        for told, framed in asked:
            drawn = measure_and_draw(scene.photo, method=method, **scene.settings(told=told, framed=framed))
            rows.append(Row(scene, told, framed, drawn))
    return rows


def evenness_of(slots: list[float]) -> float | None:
    """Lowest slot over the median slot."""
    ordered = sorted(slots)
    middle = (ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2
    return ordered[0] / middle if len(ordered) > 1 and middle > 0.01 else None
