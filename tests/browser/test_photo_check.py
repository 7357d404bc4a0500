"""What the phone says of a photo, held against what the server says of the same one, untouched and spoilt."""

from __future__ import annotations

import base64
import io
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from browser.serving import serve
from PIL import Image, ImageDraw, ImageFilter, ImageOps
from playwright.sync_api import Browser, Page

from journal_server.measurement.colour import linear_to_srgb, srgb_to_linear
from journal_server.measurement.quality import Look, codes_of, look_at
from journal_server.measurement.segmentation import working_size
from journal_server.packaged import packaged_folder
from journal_server.services.journal import open_journal

SCENES = Path(__file__).parents[1] / "scenes"
PLANT_CLASSES = (1, 2, 3)
SPOILT = ("dev_01", "dev_05", "dev_09", "dev_13", "dev_20", "dev_26", "dev_31", "dev_38")
CARD = [[100, 100], [200, 100], [200, 170], [100, 170]]

Ask = Callable[..., Any]


@pytest.fixture(scope="module")
def page(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    journal = open_journal(tmp_path_factory.mktemp("checks") / "journal")
    with serve(journal) as served:
        opened = browser.new_page()
        opened.goto(served.address)
        yield opened
        opened.close()
    journal.close()


@pytest.fixture
def ask(page: Page) -> Ask:
    """Runs a script with the picture as ``image``."""

    def asked(script: str, picture: Image.Image, given: Any = None) -> Any:
        out = io.BytesIO()
        picture.save(out, "JPEG", quality=97, subsampling=0)
        return page.evaluate(
            f"""async ([picture, given]) => {{
                const {{ checkPhoto, lookAt }} = await import("/photo_check/check_photo.js");
                const bytes = Uint8Array.from(atob(picture), (letter) => letter.charCodeAt(0));
                const bitmap = await createImageBitmap(new Blob([bytes], {{ type: "image/jpeg" }}));
                const canvas = new OffscreenCanvas(bitmap.width, bitmap.height);
                canvas.getContext("2d").drawImage(bitmap, 0, 0);
                const image = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
                {script} }}""",
            [base64.b64encode(out.getvalue()).decode(), given],
        )

    return asked


def codes(ask: Ask, picture: Image.Image, known: dict[str, Any] | None = None) -> list[str]:
    return [one["code"] for one in ask("return checkPhoto(image, given ?? {});", picture, known)]


def opened(path: Path) -> Image.Image:
    with Image.open(path) as image:
        return ImageOps.exif_transpose(image).convert("RGB")


def exposed(picture: Image.Image, factor: float) -> Image.Image:
    linear = srgb_to_linear(np.asarray(picture)) * np.float32(factor)
    return Image.fromarray(np.rint(linear_to_srgb(linear) * 255).astype(np.uint8))


def servers_codes(name: str, picture: Image.Image) -> set[str]:
    """What the server's quality signs say inside the scene's true frame."""
    truth = json.loads((SCENES / f"{name}.truth.json").read_text(encoding="utf-8"))
    size = working_size(*picture.size)
    across, down = size[0] / truth["image"]["width"], size[1] / truth["image"]["height"]
    frame = Image.new("L", size)
    ImageDraw.Draw(frame).polygon([(x * across, y * down) for x, y in truth["frame_polygon"]], fill=1)
    with Image.open(SCENES / f"{name}.classes.png") as classes:
        plant = np.isin(np.asarray(classes.resize(size, Image.Resampling.NEAREST)), PLANT_CLASSES)
    small = np.asarray(picture.resize(size, Image.Resampling.BOX))
    look = look_at(small, np.asarray(frame, np.float32), plant.astype(np.float32), 1.0)
    return set(codes_of(look)) & {"blurred", "too_dark", "overexposed"}


def test_sharpness_is_measured_as_on_the_server(ask: Ask) -> None:
    for name, radius in (("dev_01", 0.0), ("dev_01", 1.2), ("dev_38", 0.0)):
        picture = opened(SCENES / f"{name}.jpg").filter(ImageFilter.GaussianBlur(radius))
        seen, on_server = ask("return lookAt(image);", picture), servers_look(picture)
        assert seen["sharpness"] == pytest.approx(on_server.sharpness, abs=0.02)
        assert seen["brightness"] == pytest.approx(on_server.brightness, rel=0.02)


def test_photos_as_taken_are_let_pass_where_the_server_lets_them(ask: Ask) -> None:
    """Of 40 scenes of all lights and kinds: the two agree on blur but for one in ten near the limit, since the
    server knows the frame; burnt-out blooms they judge on other pixels."""
    agreed_on_blur, false_alarms = 0, 0
    for truth in sorted(SCENES.glob("*.truth.json")):
        name = truth.name.removesuffix(".truth.json")
        picture = opened(SCENES / f"{name}.jpg")
        phone, server = set(codes(ask, picture)), servers_codes(name, picture)
        agreed_on_blur += ("blurred" in phone) == ("blurred" in server)
        false_alarms += bool(phone - server)
    assert agreed_on_blur >= 36
    assert false_alarms <= 3


def servers_look(picture: Image.Image) -> Look:
    """The server's quality signs of the middle of a picture, for photos whose frame is not known here."""
    small = np.asarray(picture.resize(working_size(*picture.size), Image.Resampling.BOX))
    middle = np.zeros(small.shape[:2], np.float32)
    height, width = middle.shape
    middle[height // 6 : height - height // 6, width // 8 : width - width // 8] = 1
    return look_at(small, middle, middle, 1.0)


def test_of_the_sample_photos_those_are_called_blurred_that_the_server_calls_so_and_few_anything_else(ask: Ask) -> None:
    blurred, on_server, others = set(), set(), []
    for file in packaged_folder("sample_photos").iterdir():
        if not file.name.endswith(".jpg"):
            continue
        picture = opened(Path(str(file)))
        found = codes(ask, picture)
        if "blurred" in found:
            blurred.add(file.name)
        if "blurred" in codes_of(servers_look(picture)):
            on_server.add(file.name)
        others += [code for code in found if code != "blurred"]
    assert blurred == on_server
    assert len(others) <= 3, others


@pytest.mark.parametrize(
    ("code", "spoil"),
    [
        ("blurred", lambda picture: picture.filter(ImageFilter.GaussianBlur(1.6 * max(picture.size) / 1280))),
        ("blurred", lambda picture: picture.filter(ImageFilter.GaussianBlur(6 * max(picture.size) / 1280))),
        ("too_dark", lambda picture: exposed(picture, 0.06)),
        ("overexposed", lambda picture: exposed(picture, 4)),
    ],
    ids=["shaken", "out of focus", "night", "glare"],
)
def test_spoilt_photos_are_named(ask: Ask, code: str, spoil: Callable[[Image.Image], Image.Image]) -> None:
    for name in SPOILT:
        assert code in codes(ask, spoil(opened(SCENES / f"{name}.jpg"))), name


def at_size(factor: float) -> list[list[float]]:
    return [[x * factor, y * factor] for x, y in CARD]


@pytest.mark.parametrize(
    ("card", "last", "expected"),
    [
        (CARD, None, []),
        (None, None, []),
        (None, {"corners": CARD, "width": 1280, "height": 960}, ["card_not_read"]),
        (CARD, {"corners": CARD, "width": 1280, "height": 960}, []),
        (CARD, {"corners": at_size(3), "width": 3840, "height": 2880}, []),
        (CARD, {"corners": at_size(3), "width": 2880, "height": 3840}, []),
        (at_size(1.2), {"corners": CARD, "width": 1280, "height": 960}, []),
        (at_size(1.5), {"corners": CARD, "width": 1280, "height": 960}, ["nearer"]),
        (at_size(1.5), {"corners": at_size(3), "width": 2560, "height": 1920}, []),
        (CARD, {"corners": at_size(1.5), "width": 1280, "height": 960}, ["farther"]),
        (CARD, {"corners": at_size(2), "width": 1600, "height": 1200}, ["farther"]),
    ],
)
def test_the_card_tells_when_the_photo_is_taken_from_elsewhere(
    ask: Ask, card: list[list[float]] | None, last: dict[str, Any] | None, expected: list[str]
) -> None:
    picture = opened(SCENES / "dev_01.jpg")
    known = {"cardRead": card and {"code": "TAG-000000", "corners": card}, "lastCard": last}
    assert codes(ask, picture, known) == expected


def test_every_message_says_what_is_wrong_and_what_to_do(ask: Ask) -> None:
    grey = Image.new("RGB", (400, 300), (8, 8, 8))
    white = Image.new("RGB", (400, 300), "white")
    last = {"corners": CARD, "width": 400, "height": 300}
    said = []
    for picture, card in ((grey, None), (white, at_size(2)), (white, at_size(0.2))):
        known = {"cardRead": card and {"corners": card}, "lastCard": last}
        said += ask("return checkPhoto(image, given);", picture, known)
    assert {one["code"] for one in said} == {"blurred", "too_dark", "overexposed", "card_not_read", "nearer", "farther"}
    assert all(one["message"].count(".") == 2 and one["message"].endswith(".") for one in said)
