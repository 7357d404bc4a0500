"""The card read on the phone: drawn in any pose and light, in the sample photos, and never a code that is not there."""

from __future__ import annotations

import base64
import io
import json
import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import segno
import zxingcpp
from browser.serving import serve
from measurement.made_card import photo_of_card
from PIL import Image, ImageFilter, ImageOps
from playwright.sync_api import Browser, Page

from journal_server.measurement.card_layout import CORNERS_MM
from journal_server.packaged import packaged_folder
from journal_server.services.journal import open_journal

SCENES = Path(__file__).parents[1] / "scenes"
LIVE_FRAME_PX = 1280
CODE = "TAG-7K3Q9M"
MADE = """
    const { greyOf } = await import("/card_reading/grey.js");
    const { readCard } = await import("/card_reading/read_card.js");
    const { CardReader } = await import("/card_reading/card_reader.js");
    const imageOf = ({ width, height, grey }) => {
        const bytes = atob(grey);
        const image = new ImageData(width, height);
        for (let at = 0; at < bytes.length; at++) {
            const level = bytes.charCodeAt(at);
            image.data.set([level, level, level, 255], 4 * at);
        }
        return image;
    };
"""

Run = Callable[..., Any]


@pytest.fixture(scope="module")
def page(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """One page for all of them: nothing here changes the journal."""
    journal = open_journal(tmp_path_factory.mktemp("cards") / "journal")
    with serve(journal) as served:
        opened = browser.new_page()
        opened.goto(served.address)
        yield opened
        opened.close()
    journal.close()


@pytest.fixture
def run(page: Page) -> Run:
    return lambda script, given=None: page.evaluate(f"async (given) => {{ {MADE} {script} }}", given)


def sent(image: Image.Image) -> dict[str, Any]:
    grey = image.convert("L")
    return {"width": grey.width, "height": grey.height, "grey": base64.b64encode(grey.tobytes()).decode()}


def read(run: Run, image: Image.Image) -> dict[str, Any] | None:
    found: dict[str, Any] | None = run("return readCard(greyOf(imageOf(given)));", sent(image))
    return found


def seen_from(
    module_px: float, yaw: float = 0, pitch: float = 0, roll: float = 0, size: tuple[int, int] = (640, 480)
) -> np.ndarray:
    """The card's corners, seen by a pinhole camera; turns in degrees, a module of the code so large in the middle."""
    y, p, r = (math.radians(angle) for angle in (yaw, pitch, roll))
    turn = (
        np.array([[math.cos(r), -math.sin(r), 0], [math.sin(r), math.cos(r), 0], [0, 0, 1]])
        @ np.array([[1, 0, 0], [0, math.cos(p), -math.sin(p)], [0, math.sin(p), math.cos(p)]])
        @ np.array([[math.cos(y), 0, math.sin(y)], [0, 1, 0], [-math.sin(y), 0, math.cos(y)]])
    )
    flat = np.column_stack([CORNERS_MM - [50, 35], np.zeros(4)]) * module_px * 21 / 50
    x, down, depth = (flat @ turn.T).T
    focal_px = 0.72 * size[0]
    return np.column_stack([x, down]) * (focal_px / (focal_px + depth))[:, None] + np.array(size) / 2


def off_by(found: dict[str, Any], corners: np.ndarray) -> float:
    """The worst corner, in card widths."""
    width = np.linalg.norm(corners[1] - corners[0])
    return float(np.linalg.norm(np.array(found["corners"]) - corners, axis=1).max() / width)


def darkened(image: Image.Image, gain: float, noise: float, slope: float = 1.0) -> Image.Image:
    values = np.asarray(image, float) * gain * np.linspace(1, slope, image.width)
    values += np.random.default_rng(5).normal(0, noise, values.shape)
    return Image.fromarray(np.clip(values, 0, 255).astype(np.uint8))


@pytest.mark.parametrize("module_px", [1.8, 2.5, 4, 8, 13])
def test_a_card_is_read_small_and_large(run: Run, module_px: float) -> None:
    corners = seen_from(module_px)
    found = read(run, photo_of_card(CODE, corners, (640, 480)))
    assert found is not None
    assert found["code"] == CODE
    assert off_by(found, corners) < 0.03


@pytest.mark.parametrize("roll", [-170, -90, -45, -20, 10, 30, 60, 90, 135])
def test_a_card_is_read_turned_any_way(run: Run, roll: float) -> None:
    corners = seen_from(4, roll=roll)
    found = read(run, photo_of_card(CODE, corners, (640, 480)))
    assert found is not None
    assert found["code"] == CODE
    assert off_by(found, corners) < 0.03


@pytest.mark.parametrize(("yaw", "pitch"), [(40, 0), (-45, 10), (0, 40), (25, -40), (-35, -35)])
@pytest.mark.parametrize("module_px", [3, 7])
def test_a_card_is_read_aslant(run: Run, yaw: float, pitch: float, module_px: float) -> None:
    corners = seen_from(module_px, yaw, pitch, 8)
    found = read(run, photo_of_card(CODE, corners, (640, 480)))
    assert found is not None
    assert found["code"] == CODE
    assert off_by(found, corners) < 0.05


@pytest.mark.parametrize("blur_modules", [0.2, 0.3, 0.4])
@pytest.mark.parametrize("module_px", [2.5, 6])
def test_a_card_is_read_somewhat_blurred(run: Run, blur_modules: float, module_px: float) -> None:
    picture = photo_of_card(CODE, seen_from(module_px, 10, 5, 4), (640, 480))
    found = read(run, picture.filter(ImageFilter.GaussianBlur(blur_modules * module_px)))
    assert found is not None
    assert found["code"] == CODE


@pytest.mark.parametrize(
    ("gain", "noise", "slope"), [(0.2, 2, 1), (0.5, 5, 0.3), (1.25, 3, 0.8)], ids=["dusk", "half in shade", "glare"]
)
def test_a_card_is_read_in_any_light(run: Run, gain: float, noise: float, slope: float) -> None:
    picture = photo_of_card(CODE, seen_from(4, 15, 0, -6), (640, 480))
    found = read(run, darkened(picture, gain, noise, slope))
    assert found is not None
    assert found["code"] == CODE


def test_a_leaf_over_a_corner_and_dirt_on_the_code_are_borne(run: Run) -> None:
    picture = photo_of_card(CODE, seen_from(6, 10), (640, 480))
    code = np.array([[x, y] for x, y in seen_from(6, 10)])
    left, top = code[0] + 0.1 * (code[2] - code[0])
    for box in ((left + 70, top + 70, left + 95, top + 90), (left, top + 100, left + 14, top + 140)):
        dirty = picture.copy()
        dirty.paste(70, tuple(round(v) for v in box))
        found = read(run, dirty)
        assert found is not None
        assert found["code"] == CODE


def test_a_card_in_a_photo_at_full_size_is_read_and_placed(run: Run) -> None:
    corners = seen_from(9, 12, -8, 5, size=(2400, 1800))
    found = read(run, photo_of_card(CODE, corners, (2400, 1800)))
    assert found is not None
    assert found["code"] == CODE
    assert off_by(found, corners) < 0.02


def test_only_codes_of_the_cards_form_count(run: Run) -> None:
    for text in ("TAG-7K3Q9U", "TAX-7K3Q9M", "HELLO"):
        assert read(run, photo_of_card(text, seen_from(6), (640, 480))) is None
    web = segno.make("https://example.org/TAG-7K3Q9M")
    out = io.BytesIO()
    web.save(out, kind="png", scale=6, border=6)
    assert read(run, Image.open(out)) is None


@pytest.mark.parametrize("level", "LMQH")
def test_a_card_printed_by_another_programme_is_read(run: Run, level: str) -> None:
    for mode in ("alphanumeric", "byte")[: 1 if level == "H" else 2]:
        for mask in range(8):
            made = segno.make(
                CODE, version=1, error=level, mask=mask, mode=mode, boost_error=False, micro=False
            )  # fmt: skip
            out = io.BytesIO()
            made.save(out, kind="png", scale=5, border=6)
            found = read(run, Image.open(out))
            assert found is not None
            assert found["code"] == CODE


def test_random_words_are_never_taken_for_a_code(run: Run) -> None:
    taken = run(
        """const { cardCodeOf } = await import("/card_reading/decode.js");
        let state = 12345;
        const random = () => (state = (state * 1103515245 + 12345) % 2147483648) / 2147483648;
        let taken = 0;
        for (let trial = 0; trial < 1500; trial++) {
            if (cardCodeOf(Float32Array.from({ length: 441 }, () => 2 * random() - 1))) taken++;
        }
        return taken;"""
    )
    assert taken == 0


def test_what_reed_and_solomon_allow_is_put_right_and_no_more(run: Run) -> None:
    """ISO/IEC 18004: version 1-H corrects 8 words; 17 erasures by the general bound 2 errors + erasures <= words."""
    found = run(
        """const { corrected } = await import("/card_reading/reed_solomon.js");
        const zero = new Uint8Array(26);
        const spoilt = (count) => zero.map((_, at) => (at < count ? 3 + at : 0));
        const isRight = (words) => words !== null && words.every((word) => word === 0);
        const first = (count) => Array.from({ length: count }, (_, at) => at);
        return [
            isRight(corrected(spoilt(8), 17)), corrected(spoilt(9), 17), isRight(corrected(spoilt(17), 17, first(17))),
            corrected(spoilt(17), 17, first(16)), isRight(corrected(spoilt(11), 17, first(5))),
        ];"""
    )
    assert found == [True, None, True, None, True]


def live_frames() -> Iterator[tuple[str, Image.Image, str | None]]:
    """Every sample photo and scene as a live picture would show it, with the code of its card where it has one."""
    season = json.loads((packaged_folder("sample_photos") / "season.json").read_text(encoding="utf-8"))
    codes = {planting["code"].lower(): planting["card_code"] for planting in season["plantings"]}
    photos = [(Path(str(file)), codes.get(file.stem[:2])) for file in packaged_folder("sample_photos").iterdir()]
    for truth in SCENES.glob("*.truth.json"):
        tag = json.loads(truth.read_text(encoding="utf-8"))["tag"]
        photos.append((truth.with_name(truth.name.replace(".truth.json", ".jpg")), tag and tag["payload"]))
    for path, code in sorted(photos):
        if path.suffix != ".jpg":
            continue
        with Image.open(path) as image:
            upright = ImageOps.exif_transpose(image).convert("L")
        scale = min(1, LIVE_FRAME_PX / max(upright.size))
        size = (round(upright.width * scale), round(upright.height * scale))
        yield path.stem, upright.resize(size, Image.Resampling.BOX), code


def test_more_cards_are_read_than_by_a_good_general_reader_and_none_wrongly(run: Run) -> None:
    ours, theirs = set(), set()
    qr = zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode])
    for name, frame, code in live_frames():
        found = read(run, frame)
        assert found is None or found["code"] == code, name
        if found:
            ours.add(name)
        if any(code == other.text for other in zxingcpp.read_barcodes(np.asarray(frame), formats=qr)):
            theirs.add(name)
    assert len(ours) >= 84
    assert theirs <= ours


def test_the_worker_reads_and_a_picture_without_a_card_is_null(run: Run) -> None:
    given = {"card": sent(photo_of_card(CODE, seen_from(5), (640, 480))), "none": sent(Image.new("L", (640, 480), 90))}
    found = run(
        """const reader = new CardReader({ Detector: null });
        const both = await Promise.all([reader.read(imageOf(given.card)), reader.read(imageOf(given.none))]);
        reader.close();
        return [both[0].code, both[1]];""",
        given,
    )
    assert found == [CODE, None]


def test_the_browsers_own_reader_goes_first_and_ours_helps_when_it_fails(run: Run) -> None:
    corners = seen_from(5, 10, 5, 3)
    given = {"image": sent(photo_of_card(CODE, corners, (640, 480)))}
    found = run(
        """const image = imageOf(given.image);
        const { corners } = readCard(greyOf(image));
        const points = [[0, 0], [9, 0], [9, 9], [0, 9]].map(([x, y]) => ({ x, y }));
        const seeing = (codes) => class { detect = async () => codes };
        const read = async (Detector) => {
            const reader = new CardReader({ Detector });
            const found = await reader.read(image);
            reader.close();
            return found;
        };
        return [
            await read(seeing([{ rawValue: "https://example.org", cornerPoints: points },
                               { rawValue: "TAG-000001", cornerPoints: points }])),
            await read(seeing([])),
            await read(class { detect() { return Promise.reject(new DOMException("no", "NotSupportedError")); } }),
            await read(class { constructor() { throw new TypeError("no such format"); } }),
        ];""",
        given,
    )
    assert [one["code"] for one in found] == ["TAG-000001", CODE, CODE, CODE]
    # 50 mm of code are 9 pixels here, so the card is 18 by 12.6 and begins 10 mm before it.
    assert np.allclose(found[0]["corners"], [[-1.8, -1.8], [16.2, -1.8], [16.2, 10.8], [-1.8, 10.8]])
    assert off_by(found[1], corners) < 0.03


def test_a_video_is_read_in_its_own_pixels_with_and_without_a_canvas_in_the_worker(run: Run) -> None:
    corners = seen_from(9, 8, 5, 4, size=(1600, 1200))
    found = run(
        """const image = imageOf(given);
        const canvas = Object.assign(document.createElement("canvas"), { width: image.width, height: image.height });
        const context = canvas.getContext("2d");
        const ticking = setInterval(() => context.putImageData(image, 0, 0), 50);
        const video = document.createElement("video");
        Object.assign(video, { muted: true, srcObject: canvas.captureStream() });
        await video.play();
        // As a worker without a canvas says it.
        const withoutCanvas = () => {
            const worker = new Worker("/card_reading/worker.js", { type: "module" });
            return {
                set onmessage(tell) {
                    worker.onmessage = ({ data }) => tell({ data: data.drawsBitmaps ? { drawsBitmaps: false } : data });
                },
                postMessage: (...message) => worker.postMessage(...message),
                terminate: () => worker.terminate(),
            };
        };
        const found = [];
        for (const parts of [{ Detector: null }, { Detector: null, startWorker: withoutCanvas }]) {
            const reader = new CardReader(parts);
            found.push(await reader.read(video));
            reader.close();
        }
        clearInterval(ticking);
        return found;""",
        sent(photo_of_card(CODE, corners, (1600, 1200))),
    )
    assert [one and one["code"] for one in found] == [CODE, CODE]
    assert max(off_by(one, corners) for one in found) < 0.05


def test_a_worker_that_does_not_start_is_said_in_a_sentence(run: Run) -> None:
    message = run(
        """const startWorker = () => new Worker("/card_reading/not_there.js", { type: "module" });
        const reader = new CardReader({ Detector: null, startWorker });
        return reader.read(new ImageData(8, 8)).then(() => null, (problem) => problem.message);"""
    )
    assert message.startswith("Cards cannot be read live just now.")


def test_the_page_lives_on_while_a_card_is_sought(run: Run) -> None:
    frame = next(image for name, image, _ in live_frames() if name == "dev_03")
    longest = run(
        """const image = imageOf(given), reader = new CardReader({ Detector: null });
        await reader.read(image);
        let longest = 0, last = performance.now(), on = true;
        const beat = () => {
            const now = performance.now();
            longest = Math.max(longest, now - last);
            last = now;
            if (on) setTimeout(beat, 0);
        };
        beat();
        for (let round = 0; round < 5; round++) await reader.read(image);
        on = false;
        const t = performance.now();
        readCard(greyOf(image));
        return [longest, performance.now() - t];""",
        sent(frame),
    )
    assert longest[0] < 5 * longest[1]
