"""Which photos to count next, so that what is counted speaks for all: spread over fill, bloom, dates and cultivars."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

#: How far two photos are apart by showing two cultivars, where the whole range of fill, bloom or the season is 1.
OTHER_CULTIVAR = 0.5
#: As many are drawn for each that is chosen; more would always choose the extremes.
DRAWN = 8


@dataclass(frozen=True)
class Countable:
    """A measured photo that can be counted; shares as fractions, None where not measured."""

    photo_id: str
    cultivar: str
    taken_on: date
    canopy_fill: float | None
    bloom_cover: float | None


def next_to_count(photos: Sequence[Countable], counted: Collection[str], number: int, seed: str) -> list[str]:
    """The ids of at most ``number`` photos that are not counted yet, each far from those counted and chosen before it.

    For each a few are drawn at random and the one farthest from all before it is taken, so that the choice is spread
    and still a draw: taking the farthest of all would show the method at its extremes. The same ``seed`` gives the same
    list, and counting its first photo leaves the others in it.

    References
    ----------
    Mitchell, D. P. (1991), Spectrally optimal sampling for distribution ray tracing, Computer Graphics 25, 157-164
    (best-candidate sampling).
    """
    ordered = sorted(photos, key=lambda photo: (photo.taken_on, photo.photo_id))
    season_days = (ordered[-1].taken_on - ordered[0].taken_on).days if ordered else 0
    chosen = [photo for photo in ordered if photo.photo_id in counted]
    left = [photo for photo in ordered if photo.photo_id not in counted]
    taken: list[str] = []
    while left and len(taken) < number:
        drawn = [left[int(at)] for at in _draw(f"{seed} {len(chosen)}", len(left))]
        best = max(drawn, key=lambda photo: _nearest(photo, chosen, season_days))
        chosen.append(best)
        left.remove(best)
        taken.append(best.photo_id)
    return taken


def _draw(seed: str, number: int) -> list[np.int64]:
    """At most ``DRAWN`` different places below ``number``, the same for the same seed."""
    random = np.random.default_rng(int.from_bytes(hashlib.sha256(seed.encode()).digest()[:8], "big"))
    return list(random.choice(number, min(DRAWN, number), replace=False))


def _nearest(photo: Countable, others: Sequence[Countable], season_days: int) -> float:
    return min((_apart(photo, other, season_days) for other in others), default=0.0)


def _apart(one: Countable, other: Countable, season_days: int) -> float:
    season = abs((one.taken_on - other.taken_on).days) / season_days if season_days else 0.0
    cultivar = OTHER_CULTIVAR if one.cultivar != other.cultivar else 0.0
    return (
        _between(one.canopy_fill, other.canopy_fill) + _between(one.bloom_cover, other.bloom_cover) + season + cultivar
    )


def _between(one: float | None, other: float | None) -> float:
    if one is None or other is None:
        return 0.0 if one is other else OTHER_CULTIVAR
    return abs(one - other)
