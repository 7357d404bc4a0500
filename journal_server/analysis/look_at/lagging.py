"""One plant of a row that lags behind the others, told from all dates of the planting together.

Neighbours grow over a weak plant, so that one photo names few of them. What the dates have in common tells more, but
not without end: most of what makes the slots of an even planting differ (where its plants stand, how the frame lies
over them) is the same on all dates, and no number of dates takes it away.
"""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from journal_server.analysis.look_at.things import (
    SHARE,
    Evidence,
    LookAt,
    StandingPlanting,
    TrialDay,
    is_news,
)
from journal_server.analysis.series import SeasonPoint

Floats = NDArray[np.float64]

#: Slots are told apart from this canopy fill on.
LEAST_FILL = 0.05
#: Keeps the ratio of two small slots from leaping.
STEADY = 0.03

#: Spread (standard deviation) of the logarithm of slot / others in even plantings, and the shift of it to expect from
#: a plant lagging by half, by canopy fill: read off 263 even and 65 uneven made scenes of long planters, smoothed. Both
#: ends vary more, since the outline tapers there and the camera looks past one of them.
FILL = (0.10, 0.22, 0.37, 0.52, 0.67, 0.87)
INNER_SPREAD, END_SPREAD = (0.27, 0.28, 0.20, 0.15, 0.15, 0.12), (0.64, 0.71, 0.55, 0.37, 0.23, 0.13)
INNER_SHIFT, END_SHIFT = (0.45, 0.45, 0.30, 0.22, 0.12, 0.06), (0.60, 0.70, 0.70, 0.60, 0.60, 0.37)

#: How much of an even planting's spread is the same on all its dates (the correlation between two dates): 0.7 to 0.9 on
#: the seven even plantings of the sample season.
SHARED = 0.7

#: On simulated even rows about three times as many are named on any day of a season as on one day.
INDEPENDENT_DAYS = 3

#: The neighbours have grown over it where the last date shows at least this share of theirs.
GROWN_OVER = 0.85
SHOWN_DATES = 3


def lagging_plant(planting: StandingPlanting, trial: TrialDay, wrongly_named: float) -> LookAt | None:
    """The plant that lags more than even plantings let expect.

    ``wrongly_named``: per cent of even plantings that may be named by mistake on any day of a season.
    Needs at least three plants in a row. Only the dates with as many slots as the last one has are used.
    """
    points = [p for p in planting.days if p.slots and sum(p.slots) >= LEAST_FILL * len(p.slots)]
    if not planting.in_a_row or not points or not is_news(points[-1], trial.day):
        return None
    plants = len(points[-1].slots or ())
    points = [p for p in points if len(p.slots or ()) == plants]
    if plants < 3:
        return None
    scores = lag_scores(np.array([p.slots for p in points], dtype=np.float64))
    worst = int(scores.argmax())
    if scores[worst] < least_score(wrongly_named, plants):
        return None
    return _thing(planting, points, worst, plants)


def least_score(wrongly_named: float, plants: int) -> float:
    """The score from which a plant is named, so that so many per cent of even rows have one over a season.

    The scores of a season's days are worth about `INDEPENDENT_DAYS` independent ones.
    """
    return NormalDist().inv_cdf(1 - wrongly_named / 100 / (INDEPENDENT_DAYS * plants))


def lag_scores(slots: Floats) -> Floats:
    """How far each plant lags, in standard deviations of even plantings, all dates weighed together.

    Each date gives the logarithm of a slot's fill over that of its like: of an inner slot the median of the other inner
    ones, of an end the other end. The dates are joined with the weights that best tell a plant lagging by half from an
    even planting whose spread is shared by all dates as far as `SHARED` says (Fisher's linear discriminant; weights are
    kept at or above 0).

    Parameters
    ----------
    slots : shape (dates, plants), plants >= 3, shares of fill

    Returns
    -------
    shape (plants,), positive where a plant lags; about standard normal for one plant of an even planting
    """
    mean_fill = slots.mean(axis=1)
    behind = -log_ratios(slots)
    inner = _weights(mean_fill, INNER_SPREAD, INNER_SHIFT) @ behind
    ends = _weights(mean_fill, END_SPREAD, END_SHIFT) @ behind[:, [0, -1]]
    return np.asarray(np.concatenate([ends[:1], inner[1:-1], ends[1:]]), dtype=np.float64)


def _weights(mean_fill: Floats, spreads: tuple[float, ...], shifts: tuple[float, ...]) -> Floats:
    """Weights of the dates, shape (dates,), that make of a slot's log ratios a number of spread 1 in even plantings."""
    spread = np.interp(mean_fill, FILL, spreads)
    shift = np.interp(mean_fill, FILL, shifts) / spread
    # Inverse of (1 - SHARED) I + SHARED J, times the shift (Sherman and Morrison 1950).
    weights = np.maximum(shift - SHARED * shift.sum() / (1 + (shift.size - 1) * SHARED), 0.0)
    if not weights.any():
        weights = shift
    variance = (1 - SHARED) * (weights**2).sum() + SHARED * weights.sum() ** 2
    return np.asarray(weights / spread / np.sqrt(variance), dtype=np.float64)


def log_ratios(slots: Floats) -> Floats:
    """Logarithm of each slot's fill over that of its like, shape (dates, plants); negative where it is behind."""
    plants = slots.shape[1]
    steadied = np.log(slots + STEADY)
    likes = np.empty_like(steadied)
    likes[:, 0], likes[:, -1] = steadied[:, -1], steadied[:, 0]
    inner = range(1, plants - 1)
    others = [[i for i in inner if i != plant] or [0, plants - 1] for plant in inner]
    likes[:, 1:-1] = np.median(steadied[:, others], axis=2)
    return np.asarray(steadied - likes, dtype=np.float64)


def _thing(planting: StandingPlanting, points: list[SeasonPoint], worst: int, plants: int) -> LookAt:
    told = sorted(points, key=lambda p: _share_of_others(p, worst))[:SHOWN_DATES]
    evidence: list[Evidence] = []
    for point in sorted(told, key=lambda p: p.taken_on):
        slots = point.slots or ()
        others = float(np.median([fill for i, fill in enumerate(slots) if i != worst]))
        evidence += [
            Evidence(f"plant {worst + 1}", slots[worst], SHARE, point.taken_on, photo_ids=point.photo_ids),
            Evidence("the others, median", others, SHARE, point.taken_on),
        ]
    last = points[-1]
    side = "top" if planting.slots_from_top else "left"
    sentence = f"Plant {worst + 1} of {plants}, from the {side}, lags behind: check its dripper, then its roots."
    if _share_of_others(last, worst) >= GROWN_OVER:
        sentence += " Its neighbours have grown over it by now."
    return LookAt(
        "lagging_plant",
        planting.id,
        last.taken_on,
        sentence,
        tuple(evidence),
        (*_gone(planting), "The plants may stand unevenly, or the camera looked from one side."),
        "Told from all dates together. An even planting is named too now and then: look before digging.",
    )


def _share_of_others(point: SeasonPoint, worst: int) -> float:
    slots = point.slots or ()
    others = float(np.median([fill for i, fill in enumerate(slots) if i != worst]))
    return slots[worst] / others if others > 0 else 1.0


def _gone(planting: StandingPlanting) -> tuple[str, ...]:
    living, set_out = _living(planting), planting.season.plants
    if living is None or set_out is None or living >= set_out:
        return ()
    return (f"{living} of {set_out} plants are living by the last count: it may be the gap of one that is gone.",)


def _living(planting: StandingPlanting) -> int | None:
    latest = max(planting.counts, key=lambda c: c.counted_on, default=None)
    return latest.plants if latest else None
