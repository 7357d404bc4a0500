"""Seeded seasons of a trial, with and without events, to count what the rules find and what they imagine.

Shapes: logistic fill, nearly full in about six weeks; bloom in flushes of four to six weeks; a trim that costs two to
three weeks of bloom; leaves that hang in the heat for a day (all common practice, no source). Plants of a row are domes
side by side that grow over each other. Measuring errors have the widths of ``measurement.intervals``, half of their
variance shared by all photos of a planting. The evenness of the slots was matched
to that of made scenes of long planters at the same canopy fill.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray
from skimage.color import lab2rgb

from journal_server.analysis.look_at.things import CareDone, PhotoSeen, StandingPlanting
from journal_server.analysis.series import Z_90, PlantingSeason, SeasonPoint
from journal_server.analysis.weather import DayWeather
from journal_server.measurement.intervals import Circumstances, interval
from journal_server.measurement.result import Estimate
from journal_server.measurement.segmentation import METHOD

Floats = NDArray[np.float64]
PLANTED = date(2026, 5, 16)
WALKS = tuple(range(7, 120, 7))
EVENTS = ("stunted", "bud loss", "heat sag", "trim", "flush", "fade", "stop", "late bloom", "spent")
GENERA = ("Petunia", "Calibrachoa", "Verbena", "Bidens")
LEAVES = (50.0, -19.0, 23.0)

#: How unevenly an even row looks, chosen so that the lowest twentieth of log (slot / its like) at each canopy fill is
#: about that of 263 made scenes of even rows: how far plants stand off their places (slots), how much a slot differs on
#: all dates, and how much less the camera looks past one end of a full row than of one of small plants.
JITTER, LASTING, PAST = 0.04, 0.20, 0.50


@dataclass(frozen=True)
class Simulated:
    """A simulated trial: its plantings, weather, and what befell which planting on which day after planting."""

    plantings: tuple[StandingPlanting, ...]
    weather: tuple[DayWeather, ...]
    events: dict[str, tuple[str, int, int | None]]
    spent: dict[tuple[str, date], float]


def simulate_trial(seed: int, *, plantings: int = 24, with_events: bool = True) -> Simulated:
    """A trial with weekly walks; with events, two plantings each are struck by one of `EVENTS`."""
    rng = np.random.default_rng(seed)
    struck = dict(enumerate(EVENTS * 2)) if with_events else {}
    heat_on = int(rng.integers(60, 90)) if with_events else None
    made, events, spent = [], {}, {}
    for number in range(plantings):
        event = struck.get(number)
        one = _Planting(rng, number, event, heat_on)
        planting, day, plant = one.make()
        made.append(planting)
        spent |= {(planting.id, p.taken_on): float(s) for p, s in zip(planting.days, one.spent, strict=True)}
        if event:
            events[planting.id] = (event, day, plant)
    return Simulated(tuple(made), _weather(rng, heat_on), events, spent)


def _weather(rng: np.random.Generator, heat_on: int | None) -> tuple[DayWeather, ...]:
    days = np.arange(0, 125)
    highest = np.minimum(24 + 4 * np.sin((days + 20) / 125 * np.pi) + rng.normal(0, 2, days.size), 31.5)
    if heat_on is not None:
        highest[heat_on - 2 : heat_on + 1] = 35.0
    return tuple(
        DayWeather(PLANTED + timedelta(days=int(d)), float(h) - 10, float(h))
        for d, h in zip(days, highest, strict=True)
    )


def slot_fills(
    rng: np.random.Generator, grown: Floats, plants: int, stunted: int | None = None, factor: float = 0.5
) -> Floats:
    """Slots of one row of plants on dates with these growths (0 to 1), shape (dates, plants).

    Each plant is a dome as seen from the front: its middle, width and vigour stay over the season, what the camera sees
    of it changes a little from date to date, and while the plants are small the camera looks past one end.
    """
    middle = np.arange(plants) + 0.5 + rng.normal(0, JITTER, plants)
    vigour = rng.normal(1.0, 0.06, plants).clip(0.8, 1.2)
    if stunted is not None:
        vigour[stunted] *= factor
    width, height = rng.uniform(1.2, 1.8), rng.uniform(0.65, 1.1)
    lasting, looking = rng.normal(0, LASTING, plants), rng.normal(0, 0.5)
    along = (np.arange(plants * 40) + 0.5) / 40
    fills = []
    for g in grown:
        size = vigour * g
        past = (looking + rng.normal(0, 0.2)) * (1 - PAST * g)
        inside = 1 - ((along[:, None] - middle - past) / (width * size)) ** 2
        seen = (height * size * np.sqrt(np.clip(inside, 0, None))).max(axis=1)
        fill = np.clip(seen, 0, 1).reshape(plants, 40).mean(axis=1)
        fill = 0.97 * fill * np.exp((lasting + rng.normal(0, 0.05, plants)) * (1.2 - fill))
        fills.append(np.clip(fill, 0.002, 0.995))
    return np.array(fills)


def growth(rng: np.random.Generator, days: Floats) -> Floats:
    """How far plants have grown on these days after planting, from about 0.2 to 1."""
    return np.asarray(0.18 + 0.82 / (1 + np.exp(-rng.uniform(0.09, 0.13) * (days - rng.uniform(28, 40)))))


class _Planting:
    def __init__(self, rng: np.random.Generator, number: int, event: str | None, heat_on: int | None):
        self.rng, self.event, self.heat_on = rng, event, heat_on
        self.id, self.genus = f"planting {number}", GENERA[number % len(GENERA)]
        self.days = np.array(WALKS) + rng.integers(-1, 2, len(WALKS))
        self.struck_on = int(rng.integers(40, 85))
        self.plants = int(rng.integers(4, 7))
        self.stunted = int(rng.integers(0, self.plants)) if event == "stunted" else None
        self.care: list[CareDone] = []
        self.shared_error = {name: rng.normal() for name in ("canopy_fill", "bloom_cover", "spent_share")}

    def make(self) -> tuple[StandingPlanting, int, int | None]:
        if self.event == "heat sag" and self.heat_on is not None:
            self.struck_on = self.heat_on
            self.days[np.argmin(abs(self.days - self.heat_on))] = self.heat_on
        if self.event == "stop":
            self.struck_on = int(self.rng.integers(21, 32))
        slots = self._slots()
        fill = slots.mean(axis=1)
        bloom, spent = self._bloom_and_spent()
        self.spent = spent
        colours = self._colours()
        points = [self._point(i, fill[i], bloom[i], spent[i], slots[i], colours[i]) for i in range(self.days.size)]
        season = PlantingSeason(
            self.id, f"Made Up {self.id[9:]}", self.genus, "Trough", PLANTED, plants=self.plants, points=tuple(points)
        )
        photos = tuple(PhotoSeen(p.photo_id, p.taken_on, True) for p in points)
        planting = StandingPlanting(season, cultivar_id=self.id, photos=photos, care=tuple(self.care))
        plant = None if self.stunted is None else self.stunted + 1
        return planting, 14 if self.event == "stunted" else self.struck_on, plant

    def _slots(self) -> Floats:
        days = self.days.astype(float)
        if self.event == "stop":
            days = np.minimum(days, self.struck_on)
        grown = growth(self.rng, days)
        if self.event == "trim":
            since = self.days - self.struck_on
            grown = np.where(since >= 0, grown * (1 - 0.45 * np.exp(-np.maximum(since, 0) / 14)), grown)
            self.care.append(CareDone(PLANTED + timedelta(days=self.struck_on), "trimmed"))
        factor = self.rng.uniform(0.42, 0.62)
        slots = slot_fills(self.rng, grown, self.plants, self.stunted, factor)
        if self.event == "heat sag":
            slots[self.days == self.heat_on] *= 0.72
        return slots

    def _bloom_and_spent(self) -> tuple[Floats, Floats]:
        rng, days = self.rng, self.days
        level, starts = rng.uniform(0.15, 0.45), rng.uniform(12, 24)
        if self.event == "late bloom":
            starts += 40
        swing = rng.uniform(0.6, 0.75) if self.event == "flush" else rng.uniform(0.05, 0.3)
        period, phase = rng.uniform(28, 42), rng.uniform(0, 2 * np.pi)
        wave = 1 + swing * np.sin(2 * np.pi * days / period + phase)
        late = 1 - 0.4 * np.clip((days - 80) / 40, 0, 1)
        bloom = level * wave * late / (1 + np.exp(-(days - starts) / 3))
        cleans_itself = rng.random() < 0.5
        shed = np.clip(-np.gradient(bloom, days), 0, None) * 10
        spent = bloom * (0.05 if cleans_itself else 0.2) + shed * (0.1 if cleans_itself else 0.35)
        if self.event == "spent":
            spent = spent + 0.16 / (1 + np.exp(-(days - self.struck_on) / 3))
        since = days - self.struck_on
        if self.event == "bud loss":
            left = rng.uniform(0.05, 0.4)
            bloom = np.where(since >= 0, bloom * (left + (1 - left) * np.clip((since - 28) / 40, 0, 1)), bloom)
            spent = np.where(since >= 0, spent * 0.3, spent)
        if self.event == "trim":
            bloom = np.where(since >= 0, bloom * np.clip(since / 24, 0.1, 1), bloom)
        return np.clip(bloom, 0, 0.9), np.clip(spent, 0, 0.5)

    def _colours(self) -> Floats:
        rng = self.rng
        start = np.array([rng.uniform(40, 80), rng.uniform(-5, 45), rng.uniform(-35, 55)])
        age = np.clip((self.days - 20) / 100, 0, 1)[:, None]
        moved = age * rng.uniform(1, 4) * np.array([1.0, 0, 0])
        if self.event == "fade":
            since = np.clip((self.days - self.struck_on) / 21, 0, 1)[:, None]
            moved = moved + since * np.array([12.0, -9.0, 6.0])
        return start + moved

    def _point(self, i: int, fill: float, bloom: float, spent: float, slots: Floats, lab: Floats) -> SeasonPoint:
        rng, day = self.rng, PLANTED + timedelta(days=int(self.days[i]))
        card, doubt = float(rng.random() < 0.9), rng.uniform(0.01, 0.05)
        seen = Circumstances(fill, bloom, doubt, doubt, 1.0, card, 1.0, 0.0, rng.uniform(0.5, 1), 0.5, 0.0, 1.0, 0.3)
        cover = self._measured("bloom_cover", bloom, seen)
        light = rng.normal(0, 1.2, 3) if rng.random() < 0.8 else rng.normal(0, 5, 3)
        petals = lab + light + rng.normal(0, 1.0, 3)
        return SeasonPoint(
            f"{self.id} day {self.days[i]}",
            day,
            canopy_fill=self._measured("canopy_fill", fill, seen),
            bloom_cover=cover,
            spent_share=self._measured("spent_share", spent, seen),
            slots=tuple(float(s) for s in np.clip(slots + rng.normal(0, 0.012, slots.size), 0.001, 1)),
            bloom_lab=(float(petals[0]), float(petals[1]), float(petals[2])) if bloom > 0.02 else None,
            foliage_hex=_hex(np.array(LEAVES) + light),
            white_reference="card" if card else "estimated",
        )

    def _measured(self, name: str, truth: float, seen: Circumstances) -> Estimate:
        half = (
            interval(name, truth, seen, METHOD).high - truth
            if truth < 0.5
            else truth - interval(name, truth, seen, METHOD).low
        )
        error = np.sqrt(0.5) * self.shared_error[name] + np.sqrt(0.5) * self.rng.normal()
        return interval(name, float(np.clip(truth + error * half / Z_90, 0, 1)), seen, METHOD)


def _hex(lab: Floats) -> str:
    red, green, blue = (np.clip(lab2rgb(lab), 0, 1) * 255).round().astype(int)
    return f"#{red:02x}{green:02x}{blue:02x}"
