"""Photo files: what is accepted, what is refused and why, and pixels as displayed in sRGB."""

from __future__ import annotations

import contextlib
import hashlib
import io
import math
import mmap
import os
import warnings
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO, TypeAlias

import numpy as np
import numpy.typing as npt
import pillow_heif
from PIL import Image, UnidentifiedImageError

from journal_server.errors import PhotoRefused
from journal_server.measurement.colour_profile import as_srgb, profile_fits, profile_of
from journal_server.measurement.file_kinds import why_not_a_photo
from journal_server.measurement.jpeg_scans import count_scans

PhotoSource: TypeAlias = "str | os.PathLike[str] | BinaryIO | Image.Image"

MAX_BYTES = 60_000_000
# "100-megapixel" cameras write up to 102 million pixels.
MAX_PIXELS = 102_500_000
MAX_SIDE = 65_000
# Cameras write one scan, progressive JPEG mostly ten; each costs a pass over all pixels.
MAX_SCANS = 40

# Pillow opens multi-picture JPEG ("MPO") through its JPEG reader.
ACCEPTED_FORMATS = ("JPEG", "HEIF", "PNG", "WEBP", "TIFF")

pillow_heif.register_heif_opener()
# The size is checked here before any pixel is decoded; Pillow's own limit lies below 100 megapixels.
Image.MAX_IMAGE_PIXELS = None
# Of a damaged file the decoders warn line after line; what is wrong is said in the refusal.
warnings.filterwarnings("ignore", category=UserWarning, module=r"PIL\.")

_ROWS_AT_ONCE = 256
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


@dataclass(frozen=True)
class Photo:
    """An accepted photo. ``width`` and ``height`` are as displayed, after the Exif orientation.

    ``profile_unfit``: its colour profile is damaged or of another kind of pixel, so its colours are taken as sRGB.
    """

    name: str | None
    format: str
    width: int
    height: int
    orientation: int
    sha256: str | None
    file_bytes: int | None
    greyscale: bool
    profile_unfit: bool
    exif: bytes
    file_time_s: float | None = None
    _path: Path | None = field(default=None, repr=False)
    _bytes: bytes | None = field(default=None, repr=False)
    _image: Image.Image | None = field(default=None, repr=False)

    @contextlib.contextmanager
    def opened(self) -> Iterator[Image.Image]:
        """A freshly opened Pillow image, not yet decoded."""
        if self._image is not None:
            yield self._image
            return
        with Image.open(self._path or io.BytesIO(self._bytes or b""), formats=ACCEPTED_FORMATS) as image:
            yield image


def open_photo(source: PhotoSource) -> Photo:
    """Check a photo's header and size and describe it; no pixel is decoded yet.

    Parameters
    ----------
    source : path, open binary file, or Pillow image

    Raises
    ------
    PhotoRefused
        With a plain sentence, for anything that is not a photo within the limits.
    """
    if isinstance(source, Image.Image):
        name = getattr(source, "filename", None)
        return _describe(source, Path(name).name if isinstance(name, str) and name else None)
    if isinstance(source, (str, os.PathLike)):
        return _open_path(Path(source))
    data = _read_all(source)
    name = getattr(source, "name", None)
    _refuse_by_content(data[:4096], len(data))
    with _reading(), Image.open(io.BytesIO(data), formats=ACCEPTED_FORMATS) as image:
        return _describe(image, Path(name).name if isinstance(name, str) else None, data=data)


def render(photo: Photo, max_side: int | None = None, *, min_pixels: int | None = None) -> Image.Image:
    """The photo as displayed, in sRGB, upright, at most ``max_side`` pixels on its longer side.

    With ``min_pixels`` instead, the cheapest decoding that still holds that many pixels (or the whole
    photo where it holds fewer). Transparent parts become mid grey.

    Raises
    ------
    PhotoRefused
        If the file is cut short or its pixels cannot be decoded.
    """
    with _reading(), photo.opened() as image:
        wanted = _wanted_size(image.size, max_side, min_pixels)
        decoded = _decode(image, wanted, "RGB", photo)
        profile = profile_of(image)
        if max_side is not None and max(decoded.size) > max_side:
            # Shrunk before the colour conversion, which is then cheap. Pillow shrinks no 16-bit levels.
            decoded = _flattened(decoded) if decoded.mode.startswith("I;16") else decoded
            decoded = decoded.resize(wanted, Image.Resampling.BOX, reducing_gap=2.0)
        return _turned(as_srgb(_flattened(decoded), profile), photo)


def luminance(photo: Photo, min_pixels: int | None = None) -> npt.NDArray[np.uint8]:
    """Grey levels as displayed, uint8 (H, W), for reading codes; colour profiles play no part here.

    Raises
    ------
    PhotoRefused
        If the file is cut short or its pixels cannot be decoded.
    """
    with _reading(), photo.opened() as image:
        decoded = _decode(image, _wanted_size(image.size, None, min_pixels), "L", photo)
        return np.asarray(_turned(_as_grey(_flattened(decoded)), photo))


def _as_grey(image: Image.Image) -> Image.Image:
    if image.mode == "LAB":  # Pillow makes no grey of it; its lightness is one
        return image.getchannel("L")
    return image if image.mode == "L" else image.convert("L")


def _open_path(path: Path) -> Photo:
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise PhotoRefused("This is a folder, not a photo.")
        with path.open("rb") as file:
            head = file.read(4096)
            _refuse_by_content(head, size)
            file.seek(0)
            sha256 = hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        raise PhotoRefused("There is no such file.") from None
    except (OSError, ValueError) as error:
        raise PhotoRefused(f"The file cannot be read: {_reason(error)}.") from error
    with _reading(), Image.open(path, formats=ACCEPTED_FORMATS) as image:
        return _describe(image, path.name, path=path, sha256=sha256)


def _read_all(file: BinaryIO) -> bytes:
    try:
        data = file.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        raise PhotoRefused(f"The file cannot be read: {_reason(error)}.") from error
    if not isinstance(data, bytes):
        raise PhotoRefused("The file was opened as text; a photo must be opened as binary.")
    return data


def _refuse_by_content(head: bytes, size: int) -> None:
    if size == 0:
        raise PhotoRefused("The file is empty.")
    if size > MAX_BYTES:
        raise PhotoRefused(f"The file is larger than {MAX_BYTES // 1_000_000} MB, the most that is taken in.")
    reason = why_not_a_photo(head)
    if reason:
        raise PhotoRefused(reason)


def _describe(
    image: Image.Image,
    name: str | None,
    *,
    path: Path | None = None,
    data: bytes | None = None,
    sha256: str | None = None,
) -> Photo:
    width, height = image.size
    if width < 1 or height < 1:
        raise PhotoRefused("The picture has no pixels.")
    if width * height > MAX_PIXELS or max(width, height) > MAX_SIDE:
        megapixels = width * height / 1e6
        raise PhotoRefused(f"The picture has {megapixels:.0f} megapixels; at most 100 are taken in.")
    if image.format in ("JPEG", "MPO") and (path or data):
        _refuse_many_scans(path, data)
    orientation = _orientation(image)
    # Pillow gives the size of a TIFF as displayed.
    if orientation >= 5 and image.format != "TIFF":
        width, height = height, width
    return Photo(
        name=name,
        format="JPEG" if image.format == "MPO" else image.format or "image",
        width=width,
        height=height,
        orientation=orientation,
        sha256=sha256 or (hashlib.sha256(data).hexdigest() if data is not None else None),
        file_bytes=len(data) if data is not None else path.stat().st_size if path else None,
        greyscale=image.mode in ("1", "L", "LA", "I", "F") or image.mode.startswith("I;16"),
        profile_unfit=_has_unfit_profile(image),
        exif=_exif_bytes(image),
        file_time_s=path.stat().st_mtime if path else None,
        _path=path,
        _bytes=data,
        _image=image if path is None and data is None else None,
    )


def _refuse_many_scans(path: Path | None, data: bytes | None) -> None:
    if data is not None:
        scans = count_scans(data, MAX_SCANS)
    elif path is not None:
        with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as mapped:
            scans = count_scans(mapped, MAX_SCANS)
    if scans > MAX_SCANS:
        raise PhotoRefused("The file goes over its picture again and again, as no camera writes it.")


def _has_unfit_profile(image: Image.Image) -> bool:
    profile = profile_of(image)
    return profile is not None and not profile_fits(image, profile)


def _orientation(image: Image.Image) -> int:
    try:
        value = image.getexif().get(0x0112, 1)
    except Exception:  # a damaged Exif block raises nearly anything; the picture itself may be fine
        return 1
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def _exif_bytes(image: Image.Image) -> bytes:
    """The Exif block as a bare TIFF structure; empty where there is none."""
    block = image.info.get("exif") or b""
    if not block and image.format == "TIFF":
        try:
            block = image.getexif().tobytes()
        except Exception:  # as above
            return b""
    return bytes(block).removeprefix(b"Exif\x00\x00")


def _wanted_size(size: tuple[int, int], max_side: int | None, min_pixels: int | None) -> tuple[int, int]:
    width, height = size
    scale = 1.0
    if max_side is not None:
        scale = min(1.0, max_side / max(size))
    elif min_pixels is not None:
        scale = min(1.0, math.sqrt(min_pixels / (width * height)))
    return max(1, round(width * scale)), max(1, round(height * scale))


def _decode(image: Image.Image, wanted: tuple[int, int], mode: str, photo: Photo) -> Image.Image:
    # A Pillow image that was handed in is the caller's: draft would shrink it for good.
    if photo._image is None and image.format in ("JPEG", "MPO") and image.mode in ("RGB", "L"):
        # Scaled during decoding, never below the wanted size: several times faster than the full decode.
        image.draft(mode if image.mode == "RGB" else "L", wanted)
    image.load()
    return image


def _turned(decoded: Image.Image, photo: Photo) -> Image.Image:
    # Pillow turns TIFF by itself while decoding.
    if photo.format == "TIFF" or photo.orientation not in _TURNS:
        return decoded
    return decoded.transpose(_TURNS[photo.orientation])


def _flattened(image: Image.Image) -> Image.Image:
    """Without alpha, palette or more than 8 bits a channel."""
    if image.mode in ("I", "F") or image.mode.startswith("I;16"):
        return _to_8_bits(image)
    if image.mode in ("LA", "PA", "RGBA", "RGBa", "La") or "transparency" in image.info:
        clear = image.convert("RGBA")
        ground = Image.new("RGBA", clear.size, (119, 119, 119, 255))
        ground.alpha_composite(clear)
        return ground.convert("L" if image.mode in ("LA", "La", "L") else "RGB")
    if image.mode in ("RGB", "L", "CMYK", "LAB"):
        return image
    return image.convert("L" if image.mode == "1" else "RGB")


def _to_8_bits(image: Image.Image) -> Image.Image:
    levels = np.asarray(image)
    if image.mode == "F":
        if not np.isfinite(levels).all():
            raise PhotoRefused("The file holds measured values, not a picture.")
        full = 1.0 if levels.max(initial=0.0) <= 1.0 else 255.0 if levels.max() <= 255.0 else 65535.0
    else:
        full = 65535.0
    grey = np.empty(levels.shape, np.uint8)
    for top in range(0, len(levels), _ROWS_AT_ONCE):  # in floating point the whole picture would fill the memory
        rows = slice(top, top + _ROWS_AT_ONCE)
        grey[rows] = np.clip(levels[rows].astype(np.float32) / np.float32(full), 0, 1) * 255 + 0.5
    return Image.fromarray(grey)


@contextlib.contextmanager
def _reading() -> Iterator[None]:
    """Turn whatever a decoder raises into one sentence; decoders raise nearly anything on bad input."""
    try:
        yield
    except PhotoRefused:
        raise
    except UnidentifiedImageError as error:
        raise PhotoRefused("The file is not a photo that can be read (JPEG, HEIC, PNG, WebP or TIFF).") from error
    except MemoryError as error:
        raise PhotoRefused("The picture is too large for this computer's memory.") from error
    except Exception as error:
        raise PhotoRefused(f"The photo is damaged or cut short: {_reason(error)}.") from error


def _reason(error: BaseException) -> str:
    text = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return text.strip().rstrip(".").splitlines()[0][:120]
