"""``python -m journal_server.measurement.benchmark [SCENES-FOLDER] [--no-speed]``"""

from __future__ import annotations

import argparse
from pathlib import Path

from journal_server.measurement.benchmark import accuracy, colours
from journal_server.measurement.benchmark.cases import made_case_table
from journal_server.measurement.benchmark.hand_corrections import hand_table
from journal_server.measurement.benchmark.repeats import repeat_table
from journal_server.measurement.benchmark.residuals import measured
from journal_server.measurement.benchmark.scenes import scenes_in
from journal_server.measurement.benchmark.speed import speed_lines


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m journal_server.measurement.benchmark")
    parser.add_argument(
        "scenes", nargs="?", type=Path, default=Path("tests/scenes"), help="folder of scenes with truth"
    )
    parser.add_argument("--no-speed", action="store_true", help="only the accuracy tables")
    asked = parser.parse_args()
    scenes = list(scenes_in(asked.scenes))
    if not scenes:
        parser.error(f"no scenes (NAME.jpg with NAME.truth.json) in {asked.scenes}")
    rows = measured(scenes)
    method = rows[0].drawn.measurement.method
    _print(accuracy.error_table(rows, f"{method}: mean absolute error in points, {len(scenes)} scenes"))
    _print(accuracy.error_table(measured(scenes, method="colour"), "Colour alone"))
    _print(accuracy.baseline_table(scenes))
    for table in (
        accuracy.interval_table,
        colours.colour_table,
        colours.fade_table,
        accuracy.card_table,
        accuracy.slot_table,
    ):
        _print(table(rows))
    _print(repeat_table(scenes))
    _print(hand_table(scenes))
    _print(made_case_table(asked.scenes.parent / "cases" / "scenes_by_case.py"))
    if not asked.no_speed:
        _print(speed_lines(scenes))
    return 0


def _print(lines: list[str]) -> None:
    print("\n".join(lines), end="\n\n", flush=True)


if __name__ == "__main__":
    raise SystemExit(main())
