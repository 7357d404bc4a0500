"""Coverage-guided fuzzing of the way from a file's bytes to pixels and moment; needs the extra `fuzz` (atheris).

`PYTHONPATH=tests python tests/fuzz/intake.py -max_total_time=300 CORPUS_FOLDER`; the folder is filled with sound files
first. What is no PhotoRefused, takes over five seconds or over 2 GB ends it, and the file is kept beside.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path


def one(data: bytes) -> None:
    """The whole of an intake but the card and the database."""
    from journal_server.errors import PhotoRefused
    from journal_server.measurement.moment import camera_facts, read_exif, read_moment
    from journal_server.measurement.photo_file import luminance, open_photo, render

    try:
        photo = open_photo(io.BytesIO(data))
        if photo.width * photo.height > 1_000_000:
            return  # the size itself is not what is looked for here
        tags = read_exif(photo.exif)
        read_moment(tags, photo.name, None, "Europe/Paris")
        camera_facts(tags)
        assert luminance(photo).ndim == 2
        assert render(photo, 320).mode == "RGB"
    except PhotoRefused as error:
        refusal = error
    else:
        return
    assert str(refusal).endswith(".")


def main() -> None:
    import atheris

    with atheris.instrument_imports(include=["journal_server", "PIL"]):
        import journal_server.measurement.moment
        import journal_server.measurement.photo_file  # noqa: F401
    from hostile_photos import sound_files  # after the modules that are to be watched

    for argument in sys.argv[1:]:
        if not argument.startswith("-"):
            Path(argument).mkdir(exist_ok=True)
            for name, content in sound_files().items():
                (Path(argument) / name).write_bytes(content)
    atheris.Setup([*sys.argv, "-timeout=5", "-rss_limit_mb=2048", "-max_len=20000"], one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
