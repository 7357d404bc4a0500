"""The table of seasons, one row a planting: every number that a review may quote, or the reason why not. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from journal_server.analysis.numbers import Cell, Column, estimate_columns
from journal_server.analysis.quotable import CM, DAYS, DE00, RATIO, SHARE, WEEK, WEEKS, WORDS, QuotableNumber
from journal_server.analysis.series import PlantingSeason, points_by_day

#: Names that say their unit, where the key of a number alone does not.
COLUMN_NAMES = {
    "peak": "peak_bloom_cover",
    "season_bloom": "season_bloom_cover",
    "full_size": "full_size_canopy_fill",
    "spill_most": "spill_most_cm",
    "fade_most": "fade_most_de00",
    "spent_most": "spent_share_most",
    "survival": "survival_share",
}
AT_LEAST = "weeks_in_bloom"
COUNTED = ("plants_living", "plants_planted")
UNIT_WORDS = {
    SHARE: "fraction",
    RATIO: "ratio",
    DAYS: "days",
    WEEKS: "weeks",
    WEEK: "weeks after planting",
    DE00: "CIEDE2000 units",
    CM: "cm",
}

_PLANTING_COLUMNS = (
    Column("planting", "id of the planting", required=True),
    Column("trial", "title of the trial"),
    Column("genus", "genus, in Latin"),
    Column("cultivar", "cultivar name"),
    Column("planter", "the planter or place it stands in", required=True),
    Column("planted_on", "planting date", kind="date", required=True),
    Column("removed_on", "day on which it was removed; unknown while it stands", kind="date"),
    Column("photos", "measured photos of its season", "photos", "integer", 0, required=True),
    Column("first_photo_on", "day of the first of them", kind="date"),
    Column("last_photo_on", "day of the last of them", kind="date"),
)


def _columns_of(key: str) -> list[Column]:
    name, words = column_name(key), WORDS[key]
    unit = UNIT_WORDS.get(_UNITS[key], "plants")
    if key in COUNTED:
        columns = [Column(name, words, unit, "integer", 0)]
    else:
        # A size that a curve levels off at is read from the curve, which may lie above 1.
        columns = estimate_columns(name, words, unit, most=1.0 if unit == "fraction" and key != "full_size" else None)
    if key == AT_LEAST:
        meaning = "whether it may be longer, since it began or went on outside the photos"
        columns.append(Column(f"{name}_at_least", meaning, kind="boolean"))
    return [
        *columns,
        Column(f"{name}_on", f"the day of {name}, or the last day that it rests on", kind="date"),
        Column(f"{name}_reason", f"why {name} is not known"),
    ]


def column_name(key: str) -> str:
    return COLUMN_NAMES.get(key, key)


_UNITS = {
    "peak": SHARE,
    "season_bloom": SHARE,
    "weeks_in_bloom": WEEKS,
    "first_bloom_week": WEEK,
    "bloom_cover_latest": SHARE,
    "flower_to_leaf_most": RATIO,
    "days_to_50": DAYS,
    "days_to_90": DAYS,
    "full_size": SHARE,
    "canopy_fill_latest": SHARE,
    "evenness_latest": RATIO,
    "spill_most": CM,
    "fade_most": DE00,
    "spent_most": SHARE,
    "survival": SHARE,
}

#: The numbers of the table by their keys; what is only said in words in a review is left out.
KEYS = (*_UNITS, *COUNTED)
_UNITS |= dict.fromkeys(COUNTED, "plants")

#: Every column of the table in order.
SEASON_DICTIONARY: tuple[Column, ...] = (
    *_PLANTING_COLUMNS,
    *(column for key in KEYS for column in _columns_of(key)),
    Column("methods", "names and versions of the measuring methods behind these numbers"),
)


def season_row(
    season: PlantingSeason, numbers: Sequence[QuotableNumber], *, trial: str, methods: Sequence[str]
) -> dict[str, Cell]:
    """One planting's row, keyed by the names of `SEASON_DICTIONARY`; unknown is None, with its reason beside it."""
    days = points_by_day(season)
    row: dict[str, Cell] = {
        "planting": season.planting_id,
        "trial": trial,
        "genus": season.genus,
        "cultivar": season.cultivar,
        "planter": season.place,
        "planted_on": season.planted_on.isoformat(),
        "removed_on": season.removed_on.isoformat() if season.removed_on else None,
        "photos": len(season.points),
        "first_photo_on": days[0].taken_on.isoformat() if days else None,
        "last_photo_on": days[-1].taken_on.isoformat() if days else None,
    }
    by_key = {number.key: number for number in numbers}
    for key in KEYS:
        row |= _cells(by_key[key])
    return row | {"methods": "; ".join(methods) or None}


def _cells(number: QuotableNumber) -> dict[str, Cell]:
    name, estimate = column_name(number.key), number.estimate
    cells: dict[str, Cell] = {name: estimate.value if estimate else None}
    if number.key in COUNTED:
        cells = {name: round(estimate.value) if estimate else None}
    else:
        cells |= {f"{name}_low": estimate.low if estimate else None}
        cells |= {f"{name}_high": estimate.high if estimate else None}
    if number.key == AT_LEAST:
        cells[f"{name}_at_least"] = number.at_least if estimate else None
    on = number.on.isoformat() if number.on and estimate else None
    return cells | {f"{name}_on": on, f"{name}_reason": number.reason}
