"""Errors by everyday case: leaves grown for colour, white flowers, brick, a hand, dusk and the like."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from journal_server.measurement.benchmark.accuracy import WAY_WORDS, errors
from journal_server.measurement.benchmark.residuals import Row, measured
from journal_server.measurement.benchmark.scenes import scenes_in

WAYS = ((True, True), (False, True))
UNCHANGED = "unchanged"
QUANTITIES = ("canopy_fill", "bloom_cover", "spent_share")


def made_case_table(maker: Path, each: int = 6) -> list[str]:
    """`case_table` of pictures that the script ``maker`` writes; it runs as its own program, being no part of this."""
    if not maker.exists():
        return [f"No errors by case: {maker} is not there."]
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([sys.executable, str(maker), folder, "--each", str(each)], check=True, capture_output=True)
        return case_table(measured(scenes_in(Path(folder)), ways=WAYS))


def case_table(rows: list[Row]) -> list[str]:
    """For each case and way: number of photos, then for each quantity the mean absolute error in points, in brackets
    that of the same scenes unchanged, the mean error, and the share of intervals that hold the truth.
    """
    lines = []
    for way in WAYS:
        chosen = [row for row in rows if (row.told, row.framed) == way]
        changed = [row for row in chosen if row.scene.truth["case"] != UNCHANGED]
        before = {r.scene.truth["made_from"]: r for r in chosen if r.scene.truth["case"] == UNCHANGED}
        lines += [
            f"By case, {WAY_WORDS[way]}: mean absolute error in points (of the same scenes unchanged), mean error,"
            " truth inside the 90 % interval",
            f"  {'':<24}{'n':>3}" + "".join(f"{name:>28}" for name in QUANTITIES),
        ]
        for case in dict.fromkeys(row.scene.truth["case"] for row in changed):
            lines.append(_line(case, [row for row in changed if row.scene.truth["case"] == case], before))
        lines += [_line("all cases", changed, before), _line("scenes unchanged", list(before.values()), before)]
    return lines


def inside(rows: list[Row], quantity: str) -> list[bool]:
    """For each row that has the number: does its interval hold the truth?"""
    pairs = [(getattr(row.drawn.measurement, quantity), row.truth(quantity)) for row in rows]
    return [e.low <= truth <= e.high for e, truth in pairs if e is not None and truth is not None]


def _line(case: str, rows: list[Row], before: dict[str, Row]) -> str:
    cells = []
    for quantity in QUANTITIES:
        off, held = errors(rows, quantity) * 100, inside(rows, quantity)
        base = errors([before[row.scene.truth["made_from"]] for row in rows], quantity) * 100
        wrong = f"{np.abs(off).mean():.1f} ({np.abs(base).mean():.1f})"
        cells.append(f"{wrong:>13} {off.mean():+6.1f} {np.mean(held):6.0%}" if held else "-")
    return f"  {case:<24}{len(rows):>3}" + "".join(f"{cell:>28}" for cell in cells)
