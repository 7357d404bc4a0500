"""What drafts are made from: the plantings of one cultivar in one kind of place, and what stood beside them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from journal_server.analysis.quotable import QuotableNumber
from journal_server.analysis.ranking import group_estimate
from journal_server.analysis.series import PlantingSeason, SeasonPoint, points_by_day
from journal_server.analysis.weather import HEAT_THRESHOLD_C, DayWeather
from journal_server.domain.verdict_fields import PLACE_WORDS
from journal_server.measurement.result import Estimate

Numbers = Mapping[str, QuotableNumber]


@dataclass(frozen=True)
class Noted:
    """Something that a person noted on a day: a finding, or care that was done."""

    on: date
    what: str


@dataclass(frozen=True)
class PlantingMaterial:
    """One planting: its season, its numbers by key (`quotable_numbers`), and what was noted of it.

    ``photos`` counts those matched to it, measured or not. ``ratings`` are the overall ones, 1 to 5. ``lifted`` counts
    plants taken up for elsewhere, which are neither living nor dead.
    """

    season: PlantingSeason
    numbers: Numbers
    photos: int = 0
    afternoon_shade: bool = False
    identity_doubtful: bool = False
    label_said: str | None = None
    looks_like: str | None = None
    care: tuple[Noted, ...] = ()
    findings: tuple[Noted, ...] = ()
    ratings: tuple[int, ...] = ()
    lifted: int = 0

    @property
    def id(self) -> str:
        return self.season.planting_id

    @cached_property
    def days(self) -> tuple[SeasonPoint, ...]:
        return points_by_day(self.season)

    def times_done(self, action: str) -> int:
        return sum(done.what == action for done in self.care)

    def times_found(self, what: str) -> int:
        return sum(found.what == what for found in self.findings)


@dataclass(frozen=True)
class Beside:
    """Another cultivar of the trial: its plantings' numbers by planting id."""

    cultivar_id: str
    name: str
    genus: str
    place: str
    numbers: Mapping[str, Numbers]

    def estimate(self, key: str, most: float) -> Estimate | None:
        """The mean of its plantings' numbers; None where none of them has it."""
        known = [numbers[key].estimate for numbers in self.numbers.values() if key in numbers]
        return group_estimate([one for one in known if one], most) if any(known) else None


@dataclass(frozen=True)
class VerdictMaterial:
    """A cultivar in one kind of place (container or ground), its trial and its weather.

    ``elsewhere`` is the same cultivar in the other kind of place; ``beside`` the trial's other cultivars, each in each
    kind of place; ``standard`` the id of the trial's standard cultivar. ``until`` is the day that the trial is looked
    at: weather after it is not known. ``heat_words`` says the heat threshold as the person reads it.
    """

    cultivar_id: str
    name: str
    genus: str
    place: str
    plantings: tuple[PlantingMaterial, ...]
    until: date
    habit: str | None = None
    foliage_only: bool = False
    earlier_names: tuple[str, ...] = ()
    elsewhere: tuple[PlantingMaterial, ...] = ()
    beside: tuple[Beside, ...] = ()
    seasons: tuple[PlantingSeason, ...] = ()
    standard: str | None = None
    weather: tuple[DayWeather, ...] = field(default=())
    heat_day_c: float = HEAT_THRESHOLD_C
    heat_words: str = "32 °C"

    @property
    def place_words(self) -> str:
        return PLACE_WORDS[self.place]

    @cached_property
    def own(self) -> Beside:
        """The cultivar itself, as the others are given."""
        numbers = {planting.id: planting.numbers for planting in self.plantings}
        return Beside(self.cultivar_id, self.name, self.genus, self.place, numbers)

    @cached_property
    def genus_mates(self) -> tuple[Beside, ...]:
        """Other cultivars of the genus in the same kind of place."""
        return tuple(one for one in self.beside if one.genus == self.genus and one.place == self.place)
