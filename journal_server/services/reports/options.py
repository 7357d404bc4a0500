"""Which reports there are, and what a person chooses of one beside what it is about."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

KINDS = ("cultivar", "trial", "two-trials", "order-list")


@dataclass(frozen=True)
class Options:
    """``with_place`` tells the name of the site (the only place that a report ever tells); ``crop`` shows of each
    photo its frame and a little around it; ``made_on`` is the day that stands in the footer.
    """

    made_on: date
    with_place: bool = False
    photos: bool = True
    crop: bool = False
