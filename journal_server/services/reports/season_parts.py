"""What surrounded the plants of a trial: weather, care, what was seen and how often."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from typing import Any

from journal_server.analysis.weather import DayWeather
from journal_server.domain.dates import full_day_words
from journal_server.domain.words import counted, listed
from journal_server.figures.lanes import CareMark
from journal_server.services.journal import Journal
from journal_server.services.reports.document import Block, Paragraph, Table
from journal_server.services.reports.gathered import Gathered, Grown
from journal_server.services.reports.notices import measured_days
from journal_server.services.reports.plain_words import span_words
from journal_server.services.timeline import NOT_CARE
from journal_server.services.weather import load_weather, weather_of_trial
from journal_server.storage.records import Record, load_records


def load_surroundings(journal: Journal, gathered: Gathered) -> tuple[tuple[DayWeather, ...], tuple[CareMark, ...]]:
    """The days of weather and the care done, ready to be drawn."""
    with journal.database.reading() as session:
        weather = load_weather(session, gathered.trial.id)
    marks = tuple(
        CareMark(
            date.fromisoformat(record.fields["done_on"]),
            record.fields["action"],
            (record.fields["planting_id"],) if record.fields["planting_id"] else (),
        )
        for record in load_care(journal, gathered)
    )
    return weather, marks


def load_care(journal: Journal, gathered: Gathered) -> list[Record]:
    """Care of the trial and of its plantings, in order of days."""
    ids = {one.season.planting_id for one in gathered.grown}
    with journal.database.reading() as session:
        records = load_records(session, "care", equals={"trial_id": gathered.trial.id})
    own = [r for r in records if r.fields["planting_id"] is None or r.fields["planting_id"] in ids]
    return sorted((r for r in own if r.fields["action"] not in NOT_CARE), key=lambda r: str(r.fields["done_on"]))


def weather_words(journal: Journal, gathered: Gathered) -> str:
    """Heat, warmth and rain in a few sentences; what was not recorded is said."""
    found, units = weather_of_trial(journal, gathered.trial.id), gathered.units
    with journal.database.reading() as session:
        days = [day for day in load_weather(session, gathered.trial.id) if not day.forecast]
    if not days:
        return "No weather was recorded."
    highs = [day for day in days if day.tmax_c is not None]
    said = [f"Weather was recorded on {counted(len(days), 'day')} {span_words([day.day for day in days])}."]
    if highs:
        hot, hottest = found["heat_days"], max(highs, key=lambda day: day.tmax_c or 0)
        threshold = units.temperature_words(found["heat_day_c"], exact=True)
        said.append(f"{counted(len(hot), 'day')} reached {threshold} or more (heat days);")
        highest = units.temperature_words(hottest.tmax_c or 0)
        said.append(f"the highest was {highest} on {full_day_words(hottest.day)}.")
    else:
        said.append("Highest temperatures were not recorded.")
    said.append(_degree_days(found))
    rain = found["rain_mm"]
    said.append("Rain was not recorded." if rain is None else f"{units.rain_words(rain)} of rain fell.")
    return " ".join(said)


def _degree_days(found: dict[str, Any]) -> str:
    degree_days = found["degree_days"]
    if not degree_days:
        return str(found["reasons"]["degree_days"])
    missing = degree_days["days_missing"]
    short = f" ({counted(missing, 'day')} without temperatures not counted)" if missing else ""
    return f"Growing degree days since planting, base {found['base_c']:g} °C: {degree_days['total']:.0f}{short}."


def care_table(journal: Journal, gathered: Gathered) -> list[Block]:
    """Each kind of care: on how many days, to how many plantings, with what."""
    kinds: dict[str, list[Record]] = {}
    for record in load_care(journal, gathered):
        kinds.setdefault(record.fields["action"], []).append(record)
    if not kinds:
        return [Paragraph(("No care was noted.",))]
    rows: list[tuple[str, ...]] = []
    headers: tuple[str, ...]
    widths: tuple[float, ...]
    for action, records in kinds.items():
        days = [date.fromisoformat(r.fields["done_on"]) for r in records]
        whole = any(r.fields["planting_id"] is None for r in records)
        plantings = {r.fields["planting_id"] for r in records if r.fields["planting_id"]}
        to = "the whole trial" if whole else counted(len(plantings), "planting")
        products = list(dict.fromkeys(str(r.fields["product"]) for r in records if r.fields["product"]))
        rows.append((action, counted(len(set(days)), "day"), span_words(days), to, listed(products)))
    headers, widths = ("what", "how often", "when", "to", "with"), (1.0, 0.9, 2.2, 1.3, 1.8)
    if not any(row[-1] for row in rows):
        rows, headers, widths = [row[:-1] for row in rows], headers[:-1], widths[:-1]
    return [Table("Care done", headers, tuple(rows), widths)]


def measured_table(grown: Sequence[Grown]) -> Table:
    """How often each planting was photographed and measured, and what the photos lacked."""
    headers = ("planting", "photos", "measured days", "from and to", "longest gap", "with card", "in frame")
    rows = tuple(_measured_row(one) for one in grown)
    return Table("What was measured how often", headers, rows, (2.6, 0.7, 0.9, 2.4, 0.9, 0.9, 0.9))


def _measured_row(one: Grown) -> tuple[str, ...]:
    days, usable = measured_days(one), [shot for shot in one.shots if shot.usable and shot.measured]
    cards = sum(shot.measured["numbers"]["white_reference"] == "card" for shot in usable if shot.measured)
    frames = sum(bool(shot.measured["frame_polygon"]) for shot in usable if shot.measured)
    gap = max(((after - before).days for before, after in pairwise(days)), default=None)
    return (
        f"{one.name}, {one.season.place}",
        str(len(one.shots)) if one.shots else "none",
        str(len(days)) if days else "none",
        span_words(days) if days else "never measured",
        counted(gap, "day") if gap is not None else "one day only" if days else "",
        f"{cards} of {len(usable)}" if usable else "",
        f"{frames} of {len(usable)}" if usable else "",
    )


def findings_table(journal: Journal, gathered: Gathered) -> list[Block]:
    """What was found on the walks, how often and at how many plantings."""
    names = {one.season.planting_id: f"{one.name}, {one.season.place}" for one in gathered.grown}
    with journal.database.reading() as session:
        found = load_records(session, "finding", among={"planting_id": list(names)})
    if not found:
        return [Paragraph(("Nothing was noted on the walks.",))]
    kinds: dict[str, list[str]] = {}
    for record in found:
        kinds.setdefault(str(record.fields["what"]), []).append(names[record.fields["planting_id"]])
    rows = tuple(
        (what, str(len(at)), "; ".join(dict.fromkeys(at)))
        for what, at in sorted(kinds.items(), key=lambda pair: -len(pair[1]))
    )
    return [Table("Noted on the walks", ("what", "times", "at"), rows, (1.4, 0.6, 5.0))]
