"""A journal of many seasons, written straight into the tables: so many records could not be entered one by one here.

python tests/big_journal.py FOLDER [seasons] [plantings] [walks]
"""

from __future__ import annotations

import contextlib
import json
import sys
import uuid
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from sqlalchemy import insert, update

sys.path.insert(0, str(Path(__file__).parent))

from analysis.simulated_seasons import simulate_trial

from journal_server.analysis.series import SeasonPoint
from journal_server.services.journal import Journal, open_journal
from journal_server.storage.tables import CounterRow, MeasurementRow, RecordRow

A_WARNING = {"code": "frame_carried", "message": "The frame was carried by the card alone. Please check it."}


def fill_big_journal(journal: Journal, *, seasons: int = 10, plantings: int = 200, walks: int = 20) -> list[str]:
    """Fill an empty journal; answers the ids of the trials, the latest season last."""
    rows = _Rows()
    trials = [rows.season(2017 + number, plantings, walks) for number in range(seasons)]
    with journal.database.writing() as session:
        for start in range(0, len(rows.records), 2000):
            session.execute(insert(RecordRow), rows.records[start : start + 2000])
        for start in range(0, len(rows.measurements), 2000):
            session.execute(insert(MeasurementRow), rows.measurements[start : start + 2000])
        session.execute(update(CounterRow).where(CounterRow.name == "seq").values(value=rows.seq))
    return trials


class _Rows:
    def __init__(self) -> None:
        self.records: list[dict[str, Any]] = []
        self.measurements: list[dict[str, Any]] = []
        self.seq = 0
        self.ids = np.random.default_rng(1)

    def record(self, kind: str, **fields: Any) -> str:
        self.seq += 1
        identity = self._id()
        self.records.append(
            {
                "id": identity,
                "kind": kind,
                "seq": self.seq,
                "version": 1,
                "deleted": False,
                "fields": fields,
                "field_versions": dict.fromkeys(fields, 1),
                "planting_id": fields.get("planting_id"),
            }
        )
        return identity

    def season(self, year: int, plantings: int, walks: int) -> str:
        trial = self.record("trial", title=f"Season {year}", year=year, site=None, note=None)
        made = simulate_trial(year, plantings=min(plantings, 24), with_events=False)
        for number in range(plantings):
            self._planting(trial, number, year, made.plantings[number % len(made.plantings)].season.points, walks)
        for day in made.weather:
            on = day.day.replace(year=year).isoformat()
            self.record("weather", trial_id=trial, day=on, tmin_c=day.tmin_c, tmax_c=day.tmax_c, rain_mm=0.0)
        return trial

    def _planting(self, trial: str, number: int, year: int, points: tuple[SeasonPoint, ...], walks: int) -> None:
        cultivar = self.record(
            "cultivar",
            genus=("Petunia", "Bidens", "Verbena", "Calibrachoa")[number % 4],
            species=None,
            name=f"Made Up {year} {number}",
            bloom_colours=["#7a3fa6"],
            foliage_colours=["#607d4d"],
            habit="trailing",
            foliage_only=False,
            introduced=None,
            standard=False,
            note=None,
        )
        planter = self.record(
            "planter",
            trial_id=trial,
            name=f"Trough {number + 1}",
            planter_kind="trough",
            length_cm=90.0,
            walk_order=float(number),
            exposure="full sun",
            afternoon_shade=False,
            wind=False,
            irrigation="drip",
            note=None,
        )
        planting = self.record(
            "planting",
            trial_id=trial,
            planter_id=planter,
            cultivar_id=cultivar,
            planted_on=f"{year}-05-16",
            removed_on=None,
            plants=len(points[0].slots or ()),
            identity="confirmed",
            label_said=None,
            looks_like=None,
            card_code=None,
            note=None,
        )
        self.record("care_plan", trial_id=trial, planting_id=planting, action="fed", every_days=7,
                    begins_on=None, ends_on=None, product=None, note=None)  # fmt: skip
        for week in range(walks):
            point = points[min(week, len(points) - 1)]
            self._photo(planting, date(year, 5, 16) + timedelta(days=6 * week + 6), point)
            self.record("care", trial_id=trial, planting_id=planting, action="fed", product=None, visit_id=None,
                        done_on=(date(year, 5, 16) + timedelta(days=6 * week)).isoformat(), note=None)  # fmt: skip

    def _photo(self, planting: str, day: date, point: SeasonPoint) -> None:
        name = f"IMG_{self.seq:07d}.jpg"
        photo = self.record(
            "photo",
            planting_id=planting,
            set_aside=False,
            visit_id=None,
            how=None,
            sha256=self.ids.bytes(32).hex(),
            file_name=name,
            taken_at=f"{day.isoformat()}T09:55:52+02:00",
            taken_at_source="exif",
            taken_at_doubtful=False,
            moment_note=None,
            width=4000,
            height=3000,
            format="JPEG",
            bytes=3_400_000,
            tag="TAG-7K3Q9M",
            tags=["TAG-7K3Q9M"],
            card_corners=[[362.84, 369.51], [460.82, 351.3], [471.98, 417.55], [375.65, 436.94]],
            focal_35mm=None,
            has_location=False,
            match="matched",
            match_reason="The card in the photo belongs to this planting.",
            suggested_planting_id=None,
            choices=[],
            taken_in_at=f"{day.isoformat()}T18:00:00+00:00",
            measuring="done",
            measuring_note=None,
        )
        self.seq += 1
        self.measurements.append(
            {
                "id": self._id(),
                "seq": self.seq,
                "photo_id": photo,
                "planting_id": planting,
                "inputs_hash": self.ids.bytes(32).hex(),
                "basis_hash": self.ids.bytes(32).hex(),
                "method": "learned 1, measure 2",
                "numbers": _numbers(name, day, point),
                "frame_polygon": [[115.8, 518.6], [36.0, 359.6], [80.4, 226.2], [886.0, 157.8], [982.4, 264.1]],
                "frame_how": "card",
                "measured_at": f"{day.isoformat()}T18:00:05+00:00",
            }
        )

    def _id(self) -> str:
        return str(uuid.UUID(bytes=self.ids.bytes(16), version=4))


def _numbers(name: str, day: date, point: SeasonPoint) -> dict[str, Any]:
    def colour(lab: Any, code: str | None) -> dict[str, Any] | None:
        return {"lab": list(lab), "hex": code, "spread_de00": 5.9, "error_de00": 4.0} if lab and code else None

    shares = ("canopy_fill", "bloom_cover", "spent_share", "flower_to_leaf", "evenness")
    estimates = {one: getattr(point, one) for one in shares}
    return {
        "photo": name,
        "method": "learned 1, measure 2",
        "taken_at": f"{day.isoformat()}T09:55:52+02:00",
        "taken_at_source": "exif",
        "width": 4000,
        "height": 3000,
        "tag": "TAG-7K3Q9M",
        "other_tags": [],
        "card_corners": [[362.84, 369.51], [460.82, 351.3], [471.98, 417.55], [375.65, 436.94]],
        "white_reference": point.white_reference,
        **{one: estimate.as_dict() if estimate else None for one, estimate in estimates.items()},
        "spill_cm": None,
        "slots": list(point.slots or ()),
        "lagging_slot": None,
        "bloom_colour": colour(point.bloom_lab, "#7a3fa6"),
        "foliage_colour": colour((50.0, -19.0, 23.0), point.foliage_hex),
        "quality": {"usable": True, "warnings": [A_WARNING]},
        "reasons": {"spill_cm": "This version does not measure how far the plants hang below the rim."},
    }


if __name__ == "__main__":
    folder, *sizes = sys.argv[1:]
    names = ("seasons", "plantings", "walks")
    given = {name: int(size) for name, size in zip(names, sizes, strict=False)}
    with contextlib.closing(open_journal(Path(folder))) as opened:
        print(json.dumps(fill_big_journal(opened, **given)))
