"""Units as people read them: fixed points of both scales, and the inch of 2.54 cm by definition."""

from journal_server.domain.units import Units


def test_metric_and_imperial_words() -> None:
    metric, imperial = Units(), Units("°F", "inches")
    assert [metric.temperature_words(c) for c in (0, 31.6)] == ["0 °C", "32 °C"]
    assert [imperial.temperature_words(c) for c in (0, 100, -40)] == ["32 °F", "212 °F", "-40 °F"]
    assert imperial.temperature_words(32, exact=True) == "89.6 °F"
    assert (metric.rain_words(12.7), imperial.rain_words(12.7)) == ("13 mm", "0.50 in")
