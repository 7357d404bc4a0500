"""A photo in, a frozen Measurement out. See README.md in this folder for what it may not import."""

from typing import TYPE_CHECKING

from journal_server.measurement.result import Estimate, Measurement

if TYPE_CHECKING:
    from journal_server.measurement.measure import measure_photo

__all__ = ["Estimate", "Measurement", "measure_photo"]


def __getattr__(name: str) -> object:
    # Loaded on first use: the result types are needed in places that never decode a photo.
    if name == "measure_photo":
        from journal_server.measurement.measure import measure_photo

        return measure_photo
    raise AttributeError(name)
