"""How a planting grows beside others of its genus, said only where it is more than error and their own spread."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import median, quantiles
from typing import Any

from journal_server.analysis.differences import difference
from journal_server.analysis.fill_in import FillIn, time_to_fill
from journal_server.analysis.series import PlantingSeason
from journal_server.measurement.result import Estimate


@dataclass(frozen=True)
class GrowthRemark:
    """``word`` (slow to start, quick to start, compact, vigorous), the two values, and the plantings behind them."""

    word: str
    name: str
    own: Estimate
    others: Estimate
    other_plantings: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON-ready dict."""
        return {
            "word": self.word,
            "name": self.name,
            "own": self.own.as_dict(),
            "others": self.others.as_dict(),
            "other_plantings": list(self.other_plantings),
        }


@dataclass(frozen=True)
class GenusGrowth:
    """Remarks on one planting's growth; ``reason`` says why there are none."""

    remarks: tuple[GrowthRemark, ...] = ()
    reason: str | None = None


#: For each number: the word where it is higher than that of the others, and where it is lower.
_WORDS = {"days_to_50": ("slow to start", "quick to start"), "asymptote": ("vigorous", "compact")}


def fills_of(seasons: Sequence[PlantingSeason]) -> dict[str, FillIn]:
    """The fill curve of each planting, by its id; fitted once as long as the planting's numbers stay the same."""
    return {season.planting_id: _fill_in(season) for season in seasons}


_fill_in = lru_cache(maxsize=4096)(time_to_fill)


def beside_genus(season: PlantingSeason, others: Sequence[PlantingSeason], fills: Mapping[str, FillIn]) -> GenusGrowth:
    """Days to half of its full size, and the fill at which it levels off, against the median of ``others``.

    Of ``others``, plantings of a trial, those of its genus count, without other plantings of its cultivar. ``fills``
    are the curves of all of them (`fills_of`). The others' interval reaches from the lower quartile of their lower
    bounds to the upper quartile of their upper bounds, so that what is usual among them is no remark.
    """
    beside = [one for one in others if one.genus == season.genus and one.cultivar != season.cultivar]
    if not beside:
        return GenusGrowth(reason=f"no other cultivar of {season.genus} to compare with")
    own = fills[season.planting_id]
    theirs = [(one.planting_id, fills[one.planting_id]) for one in beside]
    remarks = [remark for name in _WORDS if (remark := _remark(name, own, theirs)) is not None]
    if remarks:
        return GenusGrowth(tuple(remarks))
    if own.days_to_50 is None and own.asymptote is None:
        return GenusGrowth(reason=own.reasons["days_to_50"])
    if not any(fill.days_to_50 or fill.asymptote for _, fill in theirs):
        return GenusGrowth(reason=f"no other {season.genus} has been measured often enough")
    return GenusGrowth(reason=f"grows like the other {season.genus}, within measuring error and what they differ by")


def _middle_half(estimates: Sequence[Estimate]) -> Estimate:
    value = median(estimate.value for estimate in estimates)
    if len(estimates) == 1:
        return estimates[0]
    low, _, _ = quantiles((estimate.low for estimate in estimates), method="inclusive")
    _, _, high = quantiles((estimate.high for estimate in estimates), method="inclusive")
    return Estimate(value, min(low, value), max(high, value))


def _remark(name: str, own: FillIn, others: Sequence[tuple[str, FillIn]]) -> GrowthRemark | None:
    mine: Estimate | None = getattr(own, name)
    known = [(planting_id, estimate) for planting_id, fill in others if (estimate := getattr(fill, name)) is not None]
    if mine is None or not known:
        return None
    theirs = _middle_half([estimate for _, estimate in known])
    apart = difference(theirs, mine)
    if apart.low <= 0 <= apart.high:
        return None
    higher, lower = _WORDS[name]
    return GrowthRemark(
        higher if apart.value > 0 else lower, name, mine, theirs, tuple(planting_id for planting_id, _ in known)
    )
