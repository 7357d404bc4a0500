"""Tables of errors, intervals, colours, cards and slots over scenes with exact truth."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from PIL import Image

from journal_server.measurement.benchmark.baselines import METHODS, baseline_shares
from journal_server.measurement.benchmark.residuals import ROUND, SHARES, WAYS, Row
from journal_server.measurement.benchmark.scenes import Scene
from journal_server.measurement.frame import coverage
from journal_server.measurement.photo_file import open_photo, render

WAY_WORDS = {(True, True): "frame and colours", (False, True): "frame only", (False, False): "neither"}


def errors(rows: Iterable[Row], quantity: str) -> np.ndarray:
    """Measured minus true, for the rows where both are known."""
    pairs = [(row.value(quantity), row.truth(quantity)) for row in rows]
    return np.array([value - truth for value, truth in pairs if value is not None and truth is not None])


def error_table(rows: list[Row], title: str) -> list[str]:
    """Mean absolute error and its 90th percentile, in points, for each way of measuring."""
    lines = [title, f"  {'':<18}" + "".join(f"{name:>22}" for name in SHARES)]
    for way in WAYS:
        chosen = [row for row in rows if (row.told, row.framed) == way]
        if chosen:
            cells = [np.abs(errors(chosen, quantity)) * 100 for quantity in SHARES]
            words = "".join(f"{c.mean():13.1f} (p90 {np.percentile(c, 90):4.1f})" for c in cells)
            lines.append(f"  {WAY_WORDS[way]:<18}{words}")
    return lines


def interval_table(rows: list[Row]) -> list[str]:
    """How often the 90 % intervals hold the truth, and their median width in points."""
    lines = ["90 % intervals: share that holds the truth, median width in points"]
    for way in WAYS:
        chosen = [row for row in rows if (row.told, row.framed) == way]
        cells = [f"{name} {_inside(chosen, name)}" for name in (*SHARES, "evenness")] if chosen else []
        lines.append(f"  {WAY_WORDS[way]:<18}" + "; ".join(cells))
    return lines


def _inside(rows: list[Row], quantity: str) -> str:
    known = [(getattr(row.drawn.measurement, quantity), row.truth(quantity)) for row in rows]
    known = [(estimate, truth) for estimate, truth in known if estimate is not None and truth is not None]
    if not known:
        return "-"
    inside = np.mean([estimate.low <= truth <= estimate.high for estimate, truth in known])
    width = np.median([100 * (estimate.high - estimate.low) for estimate, _ in known])
    return f"{inside:.0%} of {len(known)}, {width:.1f}"


def baseline_table(scenes: Iterable[Scene]) -> list[str]:
    """The threshold methods on the same scenes, frame given."""
    found: dict[str, list[tuple[float, float]]] = {name: [] for name in METHODS}
    for scene in scenes:
        photo = open_photo(scene.photo)
        picture = render(photo, min_pixels=400_000)
        srgb = np.asarray(picture.resize((640, round(640 * photo.height / photo.width)), Image.Resampling.BOX))
        scale = srgb.shape[1] / photo.width, srgb.shape[0] / photo.height
        inside = coverage(np.array(scene.truth["frame_polygon"]), srgb.shape[:2], scale)
        for name, errors_found in found.items():
            fill, cover = baseline_shares(name, srgb, inside)
            truth = scene.truth["frame"]
            errors_found.append((abs(fill - truth["canopy_fill"]), abs((cover or 0.0) - truth["bloom_cover"])))
    lines = ["Threshold methods, frame given: mean absolute error in points, canopy fill / bloom cover"]
    for name, pairs in found.items():
        fill, cover = 100 * np.mean(pairs, axis=0)
        lines.append(f"  {name:<32}{fill:5.1f} / {cover:4.1f}")
    return lines


def card_table(rows: list[Row]) -> list[str]:
    """Cards read, by how hard they are, wrong codes, and how far the corners are off."""
    chosen = [row for row in rows if (row.told, row.framed) == (True, True)]
    groups: dict[str, list[bool]] = {}
    wrong, off = 0, []
    for row in chosen:
        tag, read = row.scene.truth["tag"], row.drawn.measurement.tag
        wrong += read is not None and (tag is None or read != tag["payload"])
        if tag is None:
            continue
        kind = "at full size" if tag["decodes"] else "enlarged" if tag["decodes_enlarged"] else "by no plain reader"
        groups.setdefault(kind, []).append(read == tag["payload"])
        corners = row.drawn.measurement.card_corners
        if corners:
            off.append(np.linalg.norm(np.array(corners) - np.array(tag["corners_px"]), axis=1))
    lines = [f"Card: wrong codes {wrong}; corners off by {np.median(off):.2f} pixels (median)"]
    lines += [f"  readable {kind}: {sum(hits)} of {len(hits)}" for kind, hits in sorted(groups.items())]
    return lines


def slot_table(rows: list[Row]) -> list[str]:
    """Errors of the slots in long planters, and how often a lagging plant is named rightly and wrongly."""
    chosen = [row for row in rows if (row.told, row.framed) == (True, True) and row.scene.truth["planter"] not in ROUND]
    off = [
        np.abs(np.array(row.drawn.measurement.slots) - np.array(row.scene.truth["slot_fill"])).mean()
        for row in chosen
        if row.drawn.measurement.slots
    ]
    named = [(row.drawn.measurement.lagging_slot, row.scene.truth["stunted_plant"]) for row in chosen]
    stunted = [slot == plant + 1 for slot, plant in named if plant is not None]
    even = [slot is None for slot, plant in named if plant is None]
    return [
        f"Slots in long planters: mean absolute error {100 * np.mean(off):.1f} points",
        f"  a plant lagging by half named in {sum(stunted)} of {len(stunted)} photos;"
        f" none named in {sum(even)} of {len(even)} photos of even plantings",
    ]
