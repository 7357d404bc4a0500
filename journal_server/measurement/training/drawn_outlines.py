"""Outlines of petals and leaves: (n, 2) points, base at the origin, length 1 along +x."""

from __future__ import annotations

import numpy as np

from journal_server.measurement.training.drawn_canvas import Floats, Random


def petal_outline(random: Random, form: str, width: float) -> Floats:
    t = np.linspace(0, 1, 14)
    profiles = {
        "obovate": np.sqrt(t) * np.sqrt(np.clip(1 - t**6, 0, 1)),
        "round": np.sqrt(np.clip(t * (1 - t), 0, 1)) * 2,
        "pointed": np.sin(np.pi * t**0.8) * (1 - 0.35 * t),
        "narrow": np.clip(4 * t, 0, 1) * np.sqrt(np.clip(1 - t**8, 0, 1)),
        "wedge": t * np.sqrt(np.clip(1 - t**12, 0, 1)),
    }
    half = 0.5 * width * profiles[form]
    x = t.copy()
    if random.random() < 0.3:
        x[-3:] -= np.array([0.0, 0.03, random.uniform(0.05, 0.2)])
    wave = random.normal(0, 0.02, t.size)
    return np.concatenate((np.stack((x, half + wave), 1), np.stack((x, -half + wave), 1)[::-1]))


def leaf_outline(random: Random, form: str) -> Floats:
    t = np.linspace(0, 1, 13)
    width, profile = {
        "lance": (0.22, np.sin(np.pi * t)),
        "ovate": (0.5, np.sin(np.pi * t**0.7)),
        "linear": (0.07, np.sqrt(np.clip(np.sin(np.pi * t), 0, 1))),
        "round": (0.9, np.sqrt(np.clip(np.sin(np.pi * t), 0, 1))),
        "serrate": (0.5, np.sin(np.pi * t**0.8) * (1 + 0.25 * np.tile([1, -1], 7)[:13])),
        "lobed": (0.8, np.sin(np.pi * t**0.8) * (0.65 + 0.35 * np.abs(np.cos(2.5 * np.pi * t)))),
        "succulent": (0.4, np.clip(np.sin(np.pi * t), 0, 1) ** 0.4),
    }[form]
    bend = random.normal(0, 0.12) * t**2
    half = 0.5 * width * profile * random.uniform(0.7, 1.3)
    return np.concatenate((np.stack((t, bend + half), 1), np.stack((t, bend - half), 1)[::-1]))


def place_outline(outline: Floats, at: Floats, angle: float, size: float, squash: Floats | None = None) -> Floats:
    c, s = np.cos(angle), np.sin(angle)
    turned = size * outline @ np.array([[c, s], [-s, c]])
    return np.asarray(at + (turned if squash is None else turned @ squash))


def tilt(random: Random) -> Floats:
    """A squeeze along a random direction, as a flower looks from aside."""
    angle, ratio = random.uniform(0, np.pi), random.uniform(0.4, 1.0)
    axis = np.array([np.cos(angle), np.sin(angle)])
    return np.eye(2) - (1 - ratio) * np.outer(axis, axis)
