"""The result types: plain, frozen, without numpy, so that every layer may hold them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Estimate:
    """A number with its 90 % interval; shares are fractions, lengths are in cm."""

    value: float
    low: float
    high: float

    def as_dict(self) -> dict[str, float]:
        return {"value": self.value, "low": self.low, "high": self.high}


@dataclass(frozen=True)
class BloomColour:
    """CIELAB (D65, 2 degree observer) of the open bloom, its sRGB hex, and the median spread in CIEDE2000.

    ``error_de00`` is the CIEDE2000 error to expect: its mean in like circumstances.
    """

    lab: tuple[float, float, float]
    hex: str
    spread_de00: float
    error_de00: float

    def as_dict(self) -> dict[str, Any]:
        return {"lab": list(self.lab), "hex": self.hex, "spread_de00": self.spread_de00, "error_de00": self.error_de00}


@dataclass(frozen=True)
class QualityWarning:
    """One thing that makes the numbers less certain, with what to do about it next time."""

    code: str
    message: str


@dataclass(frozen=True)
class Quality:
    usable: bool
    warnings: tuple[QualityWarning, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        return {
            "usable": self.usable,
            "warnings": [{"code": w.code, "message": w.message} for w in self.warnings],
        }


@dataclass(frozen=True)
class Measurement:
    """The numbers of one photo by one method; what could not be had is None with a sentence in ``reasons``."""

    photo: str | None
    method: str
    taken_at: str | None
    taken_at_source: str | None
    width: int
    height: int
    tag: str | None
    card_corners: tuple[tuple[float, float], ...] | None
    white_reference: str
    canopy_fill: Estimate | None
    bloom_cover: Estimate | None
    flower_to_leaf: Estimate | None
    spent_share: Estimate | None
    spill_cm: Estimate | None
    slots: tuple[float, ...] | None
    evenness: Estimate | None
    bloom_colour: BloomColour | None
    foliage_colour: BloomColour | None
    quality: Quality
    reasons: dict[str, str] = field(default_factory=dict)
    other_tags: tuple[str, ...] = ()
    lagging_slot: int | None = None

    def as_dict(self) -> dict[str, Any]:
        """The JSON object of one measurement, ready for ``json.dumps``."""
        estimates = ("canopy_fill", "bloom_cover", "flower_to_leaf", "spent_share", "spill_cm", "evenness")
        out: dict[str, Any] = {
            "photo": self.photo,
            "method": self.method,
            "taken_at": self.taken_at,
            "taken_at_source": self.taken_at_source,
            "width": self.width,
            "height": self.height,
            "tag": self.tag,
            "other_tags": list(self.other_tags),
            "card_corners": [list(c) for c in self.card_corners] if self.card_corners else None,
            "white_reference": self.white_reference,
        }
        for name in estimates:
            estimate: Estimate | None = getattr(self, name)
            out[name] = estimate.as_dict() if estimate else None
        out["slots"] = list(self.slots) if self.slots is not None else None
        out["lagging_slot"] = self.lagging_slot
        for name in ("bloom_colour", "foliage_colour"):
            colour: BloomColour | None = getattr(self, name)
            out[name] = colour.as_dict() if colour else None
        out["quality"] = self.quality.as_dict()
        out["reasons"] = dict(self.reasons)
        return out
