"""The tidy table of numbers, one row a photo, and its data dictionary. Plain dicts; writes no file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from journal_server.analysis.fade import (
    colour_difference,
    difference_doubt,
    fade_interval,
    reference_point,
    usual_leaf_lab,
)
from journal_server.analysis.series import SHARES, Lab, PlantingSeason, SeasonPoint, days_after_planting
from journal_server.measurement.result import Estimate

Cell = str | int | float | None


@dataclass(frozen=True)
class PhotoFacts:
    """What the table says about a photo beside its numbers."""

    file_name: str
    sha256: str
    taken_at: str
    method: str


@dataclass(frozen=True)
class Column:
    """One column of a table: its name, what it means, its unit (empty for words) and what may stand in it.

    ``kind`` is a type of Table Schema (string, number, integer, boolean, date, datetime); ``least`` and ``most`` bound
    a number, ``pattern`` is a regular expression for all of a text, ``required`` says that it is never unknown.
    """

    name: str
    description: str
    unit: str = ""
    kind: str = "string"
    least: float | None = None
    most: float | None = None
    pattern: str | None = None
    required: bool = False


_SHARE_MEANING = {
    "canopy_fill": ("open bloom, foliage and spent bloom inside the frame / area of the frame", "fraction"),
    "bloom_cover": ("open bloom / (open bloom + foliage + spent bloom), inside the frame", "fraction"),
    "flower_to_leaf": ("open bloom / foliage inside the frame; may exceed 1", "ratio"),
    "spent_share": ("spent bloom / (open bloom + foliage + spent bloom), inside the frame", "fraction"),
    "spill_cm": ("how far the canopy hangs below the planter's rim", "cm"),
    "evenness": ("lowest slot / median slot of canopy fill along the planter", "ratio"),
}


def estimate_columns(name: str, meaning: str, unit: str, *, most: float | None = None) -> list[Column]:
    """The columns of a number, never below 0, and of the bounds of its 90 % interval."""
    meanings = {
        name: meaning,
        f"{name}_low": f"lower bound of the 90 % interval of {name}",
        f"{name}_high": f"upper bound of the 90 % interval of {name}",
    }
    return [Column(each, words, unit, "number", 0.0, most) for each, words in meanings.items()]


def _share_columns() -> list[Column]:
    columns = []
    for name in SHARES:
        meaning, unit = _SHARE_MEANING[name]
        columns += estimate_columns(name, meaning, unit, most=1.0 if unit == "fraction" else None)
    return columns


def _fade_columns() -> list[Column]:
    return estimate_columns("fade_de00", "CIEDE2000 difference from the planting's reference date", "CIEDE2000 units")


#: Every column of the table in order.
DATA_DICTIONARY: tuple[Column, ...] = (
    Column("photo", "original file name of the photo", required=True),
    Column("sha256", "SHA-256 of the original file, in hexadecimal", pattern="[0-9a-f]{64}", required=True),
    Column("planting", "id of the planting the photo was matched to"),
    Column("cultivar", "cultivar name"),
    Column("planter", "the planter or place the planting stands in"),
    Column("taken_at", "moment the photo was taken, ISO 8601 with UTC offset", kind="datetime"),
    Column("days_after_planting", "calendar days from the planting date; negative before it", "days", "integer"),
    *_share_columns(),
    Column(
        "bloom_hex",
        "sRGB code of the mean colour of the open bloom, corrected to the white reference",
        pattern="#[0-9a-fA-F]{6}",
    ),
    *_fade_columns(),
    Column("fade_doubt", "why part of that difference may be the light and not the petals"),
    Column("white_reference", "card where the colour was corrected to a card's white, else estimated"),
    Column(
        "method", "name and version of the measuring method, and whether the photo was corrected by hand", required=True
    ),
)


def number_rows(season: PlantingSeason, facts: Mapping[str, PhotoFacts]) -> list[dict[str, Cell]]:
    """One dict a photo in order of date, keyed by the names of `DATA_DICTIONARY`; unknown is None.

    Parameters
    ----------
    facts : photo id -> PhotoFacts, for every photo of the season

    Raises
    ------
    KeyError : a photo of the season is missing from ``facts``
    """
    reference, leaves = reference_point(season), usual_leaf_lab(season)
    points = sorted(season.points, key=lambda point: (point.taken_on, facts[point.photo_id].taken_at, point.photo_id))
    return [_row(season, point, facts[point.photo_id], reference, leaves) for point in points]


def _row(
    season: PlantingSeason, point: SeasonPoint, facts: PhotoFacts, reference: SeasonPoint | None, leaves: Lab | None
) -> dict[str, Cell]:
    row: dict[str, Cell] = {
        "photo": facts.file_name,
        "sha256": facts.sha256,
        "planting": season.planting_id,
        "cultivar": season.cultivar,
        "planter": season.place,
        "taken_at": facts.taken_at,
        "days_after_planting": days_after_planting(season.planted_on, point.taken_on),
    }
    for name in SHARES:
        estimate: Estimate | None = getattr(point, name)
        row[name] = estimate.value if estimate else None
        row[f"{name}_low"] = estimate.low if estimate else None
        row[f"{name}_high"] = estimate.high if estimate else None
    row["bloom_hex"] = point.bloom_hex
    row |= _fade_cells(point, reference, leaves)
    row["white_reference"] = point.white_reference
    row["method"] = facts.method
    return row


def _fade_cells(point: SeasonPoint, reference: SeasonPoint | None, leaves: Lab | None) -> dict[str, Cell]:
    unknown: dict[str, Cell] = dict.fromkeys(("fade_de00", "fade_de00_low", "fade_de00_high", "fade_doubt"))
    if reference is None or reference.bloom_lab is None or point.bloom_lab is None:
        return unknown
    if point.taken_on < reference.taken_on:
        return unknown
    interval = fade_interval(reference, point)
    return {
        "fade_de00": colour_difference(reference.bloom_lab, point.bloom_lab).de00,
        "fade_de00_low": interval.low if interval else None,
        "fade_de00_high": interval.high if interval else None,
        "fade_doubt": difference_doubt(reference, point, leaves),
    }
