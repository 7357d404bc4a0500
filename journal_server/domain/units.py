"""Temperatures, rain and lengths in the units that a person reads; everything is kept in °C, mm and cm. Pure."""

from __future__ import annotations

from dataclasses import dataclass

CELSIUS, FAHRENHEIT = TEMPERATURE_UNITS = ("°C", "°F")
CM, INCHES = LENGTH_UNITS = ("cm", "inches")
CM_AN_INCH = 2.54


@dataclass(frozen=True)
class Units:
    """``length`` goes for rain too: mm beside cm, inches beside inches."""

    temperature: str = CELSIUS
    length: str = CM

    def read(self, value_c: float) -> tuple[float, str]:
        """A temperature in the unit that is read, and that unit."""
        return (value_c * 9 / 5 + 32 if self.temperature == FAHRENHEIT else value_c), self.temperature

    def temperature_words(self, value_c: float, *, exact: bool = False) -> str:
        """To the whole degree, "33 °C"; a threshold exactly, "89.6 °F"."""
        value, unit = self.read(value_c)
        return f"{value:.4g} {unit}" if exact else f"{value:.0f} {unit}"

    def rain_words(self, value_mm: float) -> str:
        if self.length == INCHES:
            return f"{value_mm / 10 / CM_AN_INCH:.2f} in"
        return f"{value_mm:.0f} mm"


METRIC = Units()
