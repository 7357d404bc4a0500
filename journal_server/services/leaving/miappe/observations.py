"""Every observation of the plantings as one row: from the current measurements, the ratings and the counts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from journal_server.analysis.numbers import number_rows
from journal_server.domain.records import RATINGS
from journal_server.services.csv_file import Cell
from journal_server.services.leaving.miappe.variables import BY_PHOTO, PLANTS_ALIVE
from journal_server.services.season import StoredSeason
from journal_server.storage.records import Record

Row = dict[str, Cell]


def observation_rows(
    season: StoredSeason,
    reasons: Mapping[str, Mapping[str, str]],
    ratings: Sequence[Record],
    counts: Sequence[Record],
    raters: Mapping[str | None, str | None],
) -> list[Row]:
    """The rows of one planting, photos first.

    Parameters
    ----------
    reasons : SHA-256 of a photo -> name of a number -> why it could not be had
    raters : name of a rater -> what is told of them
    """
    rows = [*_of_photos(season, reasons), *_of_ratings(ratings, raters), *_of_counts(counts)]
    planted_on = season.season.planted_on
    of_planting: Row = {"study_id": season.planting.fields["trial_id"], "observation_unit_id": season.planting.id}
    for row in rows:
        day = date.fromisoformat(str(row["observed_at"])[:10])
        row |= of_planting | {"days_after_planting": (day - planted_on).days}
    return rows


def _of_photos(season: StoredSeason, reasons: Mapping[str, Mapping[str, str]]) -> Iterator[Row]:
    foliage_only = season.season.foliage_only
    for numbers in number_rows(season.season, season.photos):
        why = reasons.get(str(numbers["sha256"]), {})
        for variable in BY_PHOTO:
            if foliage_only and variable.id not in ("canopy_fill", "evenness", "spill_cm"):
                continue
            value = numbers[variable.id]
            if value is None and variable.id == "fade_de00":
                continue  # it follows from two photos; the bloom colour says why there is none
            name = {"bloom_hex": "bloom_colour"}.get(variable.id, variable.id)
            yield {
                "variable_id": variable.id,
                "observed_at": numbers["taken_at"],
                "value": value,
                "low_90": numbers.get(f"{variable.id}_low"),
                "high_90": numbers.get(f"{variable.id}_high"),
                "why_missing": why.get(name, "It was not measured on this photo.") if value is None else None,
                "doubt": numbers["fade_doubt"] if variable.id == "fade_de00" else None,
                "method_version": numbers["method"],
                "photo_file": numbers["photo"],
                "photo_sha256": numbers["sha256"],
            }


def _of_ratings(ratings: Sequence[Record], raters: Mapping[str | None, str | None]) -> Iterator[Row]:
    for record in sorted(ratings, key=lambda r: (r.fields["rated_on"], r.id)):
        fields: dict[str, Any] = record.fields
        for name in RATINGS:
            if fields[name] is not None:
                yield {
                    "variable_id": f"rating_{name}",
                    "observed_at": fields["rated_on"],
                    "value": fields[name],
                    "rater": raters[fields["rater"]],
                }


def _of_counts(counts: Sequence[Record]) -> Iterator[Row]:
    for record in sorted(counts, key=lambda r: (r.fields["counted_on"], r.seq)):
        yield {
            "variable_id": PLANTS_ALIVE,
            "observed_at": record.fields["counted_on"],
            "value": record.fields["plants"],
        }
