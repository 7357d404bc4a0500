"""Photos and spoken remarks, with Chromium's fake camera and microphone, and what is said without them."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable, Iterator
from typing import Any

import exifread
import pytest
from browser.conftest import FLAGS
from browser.serving import Served
from made_photos import jpeg, picture
from PIL import Image
from playwright.sync_api import Browser, Page, Playwright

from journal_server.measurement.moment import moment_of
from journal_server.measurement.photo_file import Photo, open_photo

FAKE_DEVICES = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]
MOMENT = "2026-06-12T10:14:03.250+02:00"
MADE = """
    const { Camera, CameraProblem } = await import("/capture/camera.js");
    const { Recorder } = await import("/capture/recorder.js");
    const { withMoment } = await import("/capture/exif.js");
    const base64Of = (buffer) => {
        let text = "";
        for (const byte of new Uint8Array(buffer)) text += String.fromCharCode(byte);
        return btoa(text);
    };
    const bytesOf = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer;
    const shown = () => document.body.appendChild(document.createElement("video"));
    const refusedWith = (name) => {
        navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("no", name));
    };
    const kindOf = (work) => work.then(() => null, (problem) => [problem.kind, problem.message]);
"""

Run = Callable[..., Any]


@pytest.fixture(scope="module")
def browser(playwright_driver: Playwright, chromium: str) -> Iterator[Browser]:
    started = playwright_driver.chromium.launch(executable_path=chromium, args=[*FLAGS, *FAKE_DEVICES])
    yield started
    started.close()


@pytest.fixture
def run(empty: Served, open_page: Callable[..., Page]) -> Run:
    page = open_page(empty.address)
    return lambda script, given=None: page.evaluate(f"async (given) => {{ {MADE} {script} }}", given)


def picture_in(text: str) -> Image.Image:
    image = Image.open(io.BytesIO(base64.b64decode(text)))
    image.load()
    return image


def opened(data: bytes) -> Photo:
    return open_photo(io.BytesIO(data))


def plain_jpeg() -> bytes:
    """As a canvas writes it: no Exif."""
    out = io.BytesIO()
    picture().save(out, "JPEG")
    return out.getvalue()


def test_a_photo_of_the_viewfinder_is_full_size_and_carries_its_moment(run: Run) -> None:
    taken = run(
        """delete globalThis.ImageCapture;
        const camera = new Camera(), video = shown();
        await camera.start(video);
        const { bytes, mime, takenAt } = await camera.take(given);
        const size = [video.videoWidth, video.videoHeight];
        camera.stop();
        return { photo: base64Of(bytes), mime, takenAt, size, live: camera.isLive, shows: video.srcObject };""",
        MOMENT,
    )
    assert picture_in(taken["photo"]).size == tuple(taken["size"])
    assert (taken["mime"], taken["takenAt"], taken["live"], taken["shows"]) == ("image/jpeg", MOMENT, False, None)
    moment = moment_of(opened(base64.b64decode(taken["photo"])))
    assert (moment.taken_at, moment.source) == ("2026-06-12T10:14:03+02:00", "exif")
    assert not moment.doubtful


@pytest.mark.parametrize(
    ("take_photo", "width"),
    [
        ("async () => new Blob([bytesOf(given)], { type: 'image/jpeg' })", 640),
        ("() => new Promise(() => {})", None),
        ("() => Promise.reject(new DOMException('no', 'UnknownError'))", None),
        ("async () => new Blob([], { type: 'image/jpeg' })", None),
    ],
    ids=["its own photo", "never answers", "fails", "empty"],
)
def test_the_cameras_own_photo_is_taken_when_it_comes_else_the_live_picture(
    run: Run, take_photo: str, width: int | None
) -> None:
    taken = run(
        f"""globalThis.ImageCapture = class {{ takePhoto = {take_photo} }};
        const camera = new Camera(), video = shown();
        await camera.start(video);
        const {{ bytes }} = await camera.take();
        return {{ photo: base64Of(bytes), live: video.videoWidth }};""",
        base64.b64encode(jpeg("2026:05:01 08:00:00", seed=3)).decode(),
    )
    assert picture_in(taken["photo"]).width == (width or taken["live"])
    assert moment_of(opened(base64.b64decode(taken["photo"]))).source == "exif"
    if width:
        assert base64.b64decode(taken["photo"]) == jpeg("2026:05:01 08:00:00", seed=3)


def test_single_frames_are_as_large_as_asked_and_the_camera_goes_over_to_another_video(run: Run) -> None:
    seen = run(
        """const camera = new Camera(), first = shown(), second = shown();
        const before = camera.frame(320);
        await camera.start(first);
        const stream = first.srcObject;
        await camera.start(second);
        const frame = camera.frame(320);
        const levels = new Set(frame.data).size;
        return { before, longest: Math.max(frame.width, frame.height), same: second.srcObject === stream, levels };"""
    )
    assert seen["before"] is None
    assert (seen["longest"], seen["same"]) == (320, True)
    assert seen["levels"] > 3


@pytest.mark.parametrize(
    ("name", "kind", "says"),
    [
        ("NotAllowedError", "denied", "not allowed"),
        ("NotFoundError", "missing", "No camera was found"),
        ("NotReadableError", "busy", "another app"),
    ],
)
def test_without_a_camera_a_sentence_says_why_and_the_other_way(run: Run, name: str, kind: str, says: str) -> None:
    found = run("refusedWith(given); return kindOf(new Camera().start(shown()));", name)
    assert found[0] == kind
    assert says in found[1]
    assert found[1].endswith("Photos can still be taken with the phone’s own camera.")


def test_a_page_without_https_is_told_so(run: Run) -> None:
    found = run(
        """Object.defineProperty(navigator, "mediaDevices", { value: undefined });
        const refused = [await kindOf(new Camera().start(shown())), await kindOf(new Recorder().start())];
        return [...refused, Recorder.isPossible()];"""
    )
    assert [found[0][0], found[1][0], found[2]] == ["insecure", "insecure", False]
    assert "https" in found[0][1]
    assert "https" in found[1][1]


def test_an_empty_capture_and_a_camera_that_is_off_keep_nothing(run: Run) -> None:
    found = run(
        """delete globalThis.ImageCapture;
        const camera = new Camera();
        const off = await kindOf(camera.take());
        await camera.start(shown());
        HTMLCanvasElement.prototype.toBlob = (done) => done(new Blob([]));
        return [off[0], (await kindOf(camera.take()))[0]];"""
    )
    assert found == ["off", "empty"]


def test_a_spoken_remark_is_recorded_with_its_length_and_loudness(run: Run) -> None:
    sound = run(
        """const recorder = new Recorder();
        await recorder.start();
        let loudest = 0;
        while (recorder.seconds < 2.2) {
            await new Promise((done) => setTimeout(done, 50));
            loudest = Math.max(loudest, recorder.level);
        }
        const { bytes, mime, seconds, recordedAt } = await recorder.stop();
        const start = [...new Uint8Array(bytes, 0, 4)], length = bytes.byteLength;
        const audio = await new AudioContext().decodeAudioData(bytes);
        return { start, length, mime, seconds, recordedAt, loudest, decoded: audio.duration };"""
    )
    assert sound["mime"] == "audio/webm"
    assert sound["start"] == [0x1A, 0x45, 0xDF, 0xA3]  # EBML, RFC 8794
    assert 2.2 <= sound["seconds"] < 4
    assert abs(sound["decoded"] - sound["seconds"]) < 0.6
    assert sound["length"] < 8 * 32_000 / 8 * sound["seconds"]
    assert 0 < sound["loudest"] <= 1
    assert sound["recordedAt"][19] in "+-"


@pytest.mark.parametrize(
    ("name", "kind"), [("NotAllowedError", "denied"), ("NotFoundError", "missing"), ("AbortError", "busy")]
)
def test_without_a_microphone_a_sentence_says_why_and_the_other_way(run: Run, name: str, kind: str) -> None:
    found = run("refusedWith(given); return kindOf(new Recorder().start());", name)
    assert found[0] == kind
    assert found[1].endswith("The remark can still be written.")


def test_what_webkit_writes_is_asked_for_where_webm_is_not_known(run: Run) -> None:
    found = run(
        """const asked = [];
        globalThis.MediaRecorder = class {
            static isTypeSupported = (kind) => kind === "audio/mp4";
            state = "inactive";
            constructor(stream, { mimeType }) { asked.push(mimeType); this.mimeType = mimeType; }
            start() { this.state = "recording"; }
            stop() { this.state = "inactive"; this.ondataavailable({ data: new Blob(["x"]) }); this.onstop(); }
        };
        const recorder = new Recorder();
        await recorder.start();
        const { mime } = await recorder.stop();
        return [asked, mime, await kindOf(recorder.stop())];"""
    )
    assert found[:2] == [["audio/mp4"], "audio/mp4"]
    assert found[2][0] == "off"


def with_moment(run: Run, data: bytes, moment: str = MOMENT) -> bytes:
    given = [base64.b64encode(data).decode(), moment]
    return base64.b64decode(run("return base64Of(withMoment(bytesOf(given[0]), given[1]));", given))


def test_the_moment_written_is_read_by_two_other_readers(run: Run) -> None:
    plain = plain_jpeg()
    written = with_moment(run, plain)
    exif = Image.open(io.BytesIO(written)).getexif()
    assert exif[0x0112] == 1
    assert {tag: exif.get_ifd(0x8769)[tag] for tag in (0x9000, 0x9003, 0x9011, 0x9291)} == {
        0x9000: b"0232", 0x9003: "2026:06:12 10:14:03", 0x9011: "+02:00", 0x9291: "250",
    }  # fmt: skip
    tags = exifread.process_file(io.BytesIO(written), details=False)
    assert str(tags["EXIF DateTimeOriginal"]) == "2026:06:12 10:14:03"
    assert str(tags["EXIF SubSecTimeOriginal"]) == "250"
    # The picture itself is not touched.
    assert written.endswith(plain[2:])


def test_the_moment_may_lie_west_be_in_utc_and_have_no_fraction(run: Run) -> None:
    for moment, read in (("2026-01-02T03:04:05-09:30", "-09:30"), ("2026-01-02T03:04:05Z", "+00:00")):
        found = moment_of(opened(with_moment(run, plain_jpeg(), moment)))
        assert found.taken_at == f"2026-01-02T03:04:05{read}"


def test_a_photo_with_exif_and_what_is_no_jpeg_stay_as_they_are(run: Run) -> None:
    for data in (
        jpeg("2026:05:01 08:00:00"),
        b"",
        b"\xff\xd8",
        b"\xff\xd8\xff\xe1\xff\xff",
        b"\0\0\0\x18ftypheic" + bytes(40),
    ):
        assert with_moment(run, data) == data


def test_a_moment_without_an_offset_is_refused(run: Run) -> None:
    said = run(
        "try { withMoment(new ArrayBuffer(0), given); } catch (problem) { return problem.message; }",
        "2026-06-12T10:14:03",
    )
    assert said == "not a moment with an offset: 2026-06-12T10:14:03"
