"""Writes data/sample_season_measured.json: the sample season's numbers as a demo journal has them.

PYTHONPATH=tests python -m analysis.keep_sample_season FOLDER    # the folder of a demo journal that is measured

Only photos count that belong to a planting and are measured in its frame by the method in use. Tests of what follows
from the numbers read that file, so that they need not measure 64 photos; after a change of the method it is made anew.
"""

from __future__ import annotations

import contextlib
import json
import sys
from pathlib import Path
from typing import Any

from journal_server.services.journal import open_journal
from journal_server.services.measuring_inputs import METHOD
from journal_server.storage.records import current_measurements, load_records

TARGET = Path(__file__).parent / "data" / "sample_season_measured.json"
SHARES = ("canopy_fill", "bloom_cover", "spent_share", "flower_to_leaf", "evenness")


def measured_season(folder: Path) -> dict[str, Any]:
    """By planting (p1 to p8) its measured dates in order of time."""
    with contextlib.closing(open_journal(folder)) as journal, journal.database.reading() as session:
        photos = sorted(load_records(session, "photo"), key=lambda photo: photo.fields["taken_at"])
        held = [photo for photo in photos if photo.fields["planting_id"]]
        newest = current_measurements(session, [photo.id for photo in held])
    plantings: dict[str, list[dict[str, Any]]] = {}
    for photo in held:
        one = newest.get(photo.id)
        if one is None or one["fields"]["method"] != METHOD:
            raise SystemExit(f"{photo.fields['file_name']} is not measured by {METHOD!r} yet: serve the journal first.")
        if one["fields"]["frame_polygon"]:
            code = photo.fields["file_name"].partition("_")[0]
            plantings.setdefault(code, []).append(_date(photo.fields, one["fields"]["numbers"]))
    left_out = len(photos) - sum(len(dates) for dates in plantings.values())
    source = (
        f"The sample season as measured by '{METHOD}' in the demo journal (frames carried; {left_out} photos that wait "
        "for a decision are left out); shares as value, low, high. Names, planting dates and plants as in "
        "sample_season_truth.json; care as in sample_photos/care.csv. Made by keep_sample_season.py."
    )
    return {"source": source, "plantings": dict(sorted(plantings.items()))}


def _date(photo: dict[str, Any], numbers: dict[str, Any]) -> dict[str, Any]:
    colour, leaves = numbers.get("bloom_colour"), numbers.get("foliage_colour")
    told = colour or leaves
    return {
        "date": photo["taken_at"][:10],
        "card": photo["tag"] is not None,
        **{name: _three(numbers.get(name)) for name in SHARES},
        "slots": [round(slot, 4) for slot in numbers["slots"]] if numbers.get("slots") else None,
        "bloom_lab": [round(axis, 2) for axis in colour["lab"]] if colour else None,
        "colour_error": round(told["error_de00"], 2) if told else 0.0,
        "foliage_hex": leaves["hex"] if leaves else None,
        "white": numbers["white_reference"],
    }


def _three(estimate: dict[str, float] | None) -> list[float] | None:
    return [round(estimate[side], 4) for side in ("value", "low", "high")] if estimate else None


def main() -> None:
    kept = measured_season(Path(sys.argv[1]))
    rows = [f" {json.dumps(code)}: [\n  {_one_a_line(dates)}\n ]" for code, dates in kept["plantings"].items()]
    body = ",\n".join(rows)
    TARGET.write_text(f'{{"source": {json.dumps(kept["source"])}, "plantings": {{\n{body}\n}}}}\n', encoding="utf-8")
    count = sum(map(len, kept["plantings"].values()))
    print(f"{count} dates of {len(kept['plantings'])} plantings kept in {TARGET.name}")


def _one_a_line(dates: list[dict[str, Any]]) -> str:
    return ",\n  ".join(map(json.dumps, dates))


if __name__ == "__main__":
    main()
