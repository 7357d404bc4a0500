"""Each fault of a photo is named in words, and a sound photo is not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageFilter

from journal_server.measurement import measure_photo
from journal_server.measurement.colour import linear_to_srgb, srgb_to_linear
from journal_server.measurement.quality import MESSAGES, quality_of

SCENE = Path(__file__).parents[1] / "scenes" / "dev_37.jpg"
FRAME = [(150, 350), (2150, 350), (2150, 1250), (150, 1250)]


def codes(picture: Image.Image, **options: object) -> set[str]:
    return {warning.code for warning in measure_photo(picture, **options).quality.warnings}  # type: ignore[arg-type]


def exposed(picture: Image.Image, factor: float) -> Image.Image:
    linear = srgb_to_linear(np.asarray(picture)) * np.float32(factor)
    return Image.fromarray(np.rint(linear_to_srgb(linear) * 255).astype(np.uint8))


@pytest.fixture(scope="module")
def sound() -> Image.Image:
    with Image.open(SCENE) as image:
        image.load()
        return image.copy()


def test_a_sound_photo_has_no_fault_of_the_picture(sound: Image.Image) -> None:
    found = codes(sound, frame=FRAME)
    assert not found & {"blurred", "too_dark", "overexposed", "half_in_shadow", "low_resolution", "no_card", "cut_off"}


def test_blur_darkness_glare_and_smallness_are_named(sound: Image.Image) -> None:
    assert "blurred" in codes(sound.filter(ImageFilter.GaussianBlur(8)), frame=FRAME)
    assert "too_dark" in codes(exposed(sound, 0.06), frame=FRAME)
    assert "overexposed" in codes(exposed(sound, 6), frame=FRAME)
    assert "card_clipped" in codes(exposed(sound, 1.8), frame=FRAME)
    assert "card_flat" in codes(exposed(sound, 3), frame=FRAME)
    assert "low_resolution" in codes(sound.resize((480, 360)), frame=[(x / 5, y / 5) for x, y in FRAME])


def test_a_hard_shadow_across_the_planting_is_named(sound: Image.Image) -> None:
    values = np.asarray(exposed(sound, 1.3)).copy()
    values[:, :1150] = np.asarray(exposed(sound, 0.12))[:, :1150]
    assert "half_in_shadow" in codes(Image.fromarray(values), frame=FRAME)


def test_framing_is_named(sound: Image.Image) -> None:
    assert "frame_missing" in codes(sound)
    assert "cut_off" in codes(sound, frame=[(-400, 350), (2150, 350), (2150, 1250), (-400, 1250)])
    assert "frame_small" in codes(sound, frame=[(900, 600), (1200, 600), (1200, 800), (900, 800)])


def test_every_message_is_a_sentence_and_unusable_is_said() -> None:
    assert all(message.endswith(".") and message[0].isupper() for message in MESSAGES.values())
    assert quality_of(["no_card"]).usable
    assert not quality_of(["greyscale"]).usable
    assert [warning.code for warning in quality_of(["no_card", "no_card"]).warnings] == ["no_card"]
