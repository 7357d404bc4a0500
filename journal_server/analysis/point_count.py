"""A person's point count: what was said at each point, and the shares that follow.

Points lie at random in the frame, so how many of them fall on a class is binomial, and a share's interval is Wilson's
(1927). Within the plant the number of points is itself random; given that number the count is binomial again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from journal_server.analysis.wilson import wilson
from journal_server.measurement.result import Estimate

CLASSES = ("bloom", "spent", "foliage", "other")
LETTERS = "bsfo"
UNANSWERED = "-"

COUNTED_SHARES = ("canopy_fill", "bloom_cover", "spent_share")

#: Below this many points on the plant, a share within the plant says next to nothing: its interval is half of all.
LEAST_PLANT_POINTS = 10


@dataclass(frozen=True)
class PointTally:
    """How many answered points fell on each class, and how many were left unanswered."""

    bloom: int = 0
    spent: int = 0
    foliage: int = 0
    other: int = 0
    unanswered: int = 0

    @property
    def answered(self) -> int:
        return self.plant + self.other

    @property
    def plant(self) -> int:
        """Points on open bloom, spent bloom or foliage."""
        return self.bloom + self.spent + self.foliage

    def __add__(self, other: PointTally) -> PointTally:
        return PointTally(
            self.bloom + other.bloom,
            self.spent + other.spent,
            self.foliage + other.foliage,
            self.other + other.other,
            self.unanswered + other.unanswered,
        )

    def as_dict(self) -> dict[str, int]:
        """Plain JSON-ready dict."""
        return {name: getattr(self, name) for name in (*CLASSES, "unanswered")}


def tally_of(answers: str) -> PointTally:
    """The tally of answers, one letter a point: b bloom, s spent, f foliage, o other, - unanswered.

    Raises ValueError for any other letter.
    """
    if not set(answers) <= set(LETTERS + UNANSWERED):
        raise ValueError(f"answers are letters of {LETTERS + UNANSWERED}, got {answers!r}")
    return PointTally(*(answers.count(letter) for letter in LETTERS + UNANSWERED))


def successes(tally: PointTally, name: str) -> tuple[int, int]:
    """For a share: how many points speak for it, of how many."""
    if name == "canopy_fill":
        return tally.plant, tally.answered
    return {"bloom_cover": tally.bloom, "spent_share": tally.spent}[name], tally.plant


def counted_share(tally: PointTally, name: str) -> tuple[Estimate | None, str | None]:
    """One of ``COUNTED_SHARES`` with its 90 % Wilson interval, or the reason why there is none."""
    for_it, of = successes(tally, name)
    if of == 0:
        return None, "no point was answered" if name == "canopy_fill" else "no point lies on the plant"
    if name != "canopy_fill" and of < LEAST_PLANT_POINTS:
        return None, f"only {of} points lie on the plant; it takes {LEAST_PLANT_POINTS}"
    return wilson(for_it, of), None


def counting_variance(tally: PointTally, name: str) -> float:
    """The variance that counting points alone gives a share, unbiased: p (1 - p) / (n - 1).

    Raises ValueError for fewer than two points.
    """
    for_it, of = successes(tally, name)
    if of < 2:
        raise ValueError(f"the variance of a share needs two points, got {of}")
    share = for_it / of
    return share * (1 - share) / (of - 1)


def confusion(said: str, seen: Sequence[str]) -> tuple[tuple[int, ...], ...]:
    """How often the method saw each class (rows) where the person said each (columns), both in the order of CLASSES.

    Parameters
    ----------
    said : a letter a point; unanswered points are left out
    seen : the method's class at the same points, words of ``CLASSES``
    """
    table = [[0] * len(CLASSES) for _ in CLASSES]
    for letter, word in zip(said, seen, strict=True):
        if letter != UNANSWERED:
            table[CLASSES.index(word)][LETTERS.index(letter)] += 1
    return tuple(tuple(row) for row in table)
