"""What was read from a curve, in words: under the figure, in its description, and in print."""

from __future__ import annotations

from journal_server.analysis.series import SHARE_WORDS, PlantingSeason
from journal_server.analysis.summary import PlantingSummary
from journal_server.domain.dates import day_words
from journal_server.figures.words import days_words, estimate_words, week_words, weeks_words


def caption(season: PlantingSeason, summary: PlantingSummary, of: str) -> str:
    """A sentence or two on the number called ``of``; what could not be had is said with its reason."""
    if of == "canopy_fill":
        return _fill(summary)
    if of == "bloom_cover":
        return _bloom(season, summary)
    latest = summary.latest.get(of)
    if latest is None:
        return _sentence(summary.reasons.get(of, f"{SHARE_WORDS[of]} has not been measured on any photo"))
    when = f"{day_words(latest.taken_on)}, {week_words(season.planted_on, latest.taken_on)}"
    return f"Last {SHARE_WORDS[of]}: {estimate_words(of, latest.estimate)} on {when}."


def _fill(summary: PlantingSummary) -> str:
    fill = summary.fill_in
    if fill.fit is None:
        return _sentence(fill.reasons["days_to_90"])
    parts = []
    for words, name, when in (("Half", "days_to_50", fill.days_to_50), ("90 %", "days_to_90", fill.days_to_90)):
        if when is not None:
            parts.append(f"{words} of its full size after {days_words(when)}.")
        else:
            parts.append(f"{words} of its full size: not known, {fill.reasons[name]}.")
    if fill.asymptote is not None:
        parts.append(f"Levels off at {estimate_words('canopy_fill', fill.asymptote)}.")
    return " ".join(parts)


def _bloom(season: PlantingSeason, summary: PlantingSummary) -> str:
    bloom = summary.bloom
    parts = []
    if bloom.peak is not None and bloom.peak_on is not None:
        when = f"{day_words(bloom.peak_on)}, {week_words(season.planted_on, bloom.peak_on)}"
        parts.append(f"Peak {estimate_words('bloom_cover', bloom.peak)} on {when}.")
    if bloom.in_bloom is not None:
        longer = bloom.in_bloom.began_before or bloom.in_bloom.goes_on_after
        parts.append(f"In bloom for {weeks_words(bloom.in_bloom.weeks, at_least=longer)}.")
    if bloom.season_bloom is not None:
        parts.append(f"Season bloom {estimate_words('bloom_cover', bloom.season_bloom)}.")
    unknown = sorted(set(bloom.reasons.values()))
    return " ".join([*parts, *map(_sentence, unknown)])


def _sentence(reason: str) -> str:
    return f"{reason[:1].upper()}{reason[1:]}."
