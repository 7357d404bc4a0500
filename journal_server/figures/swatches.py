"""The bloom colour of each date as a swatch, with its difference from the reference date under it."""

from __future__ import annotations

from journal_server.analysis.fade import Fade, FadeStep
from journal_server.analysis.series import PlantingSeason
from journal_server.domain.dates import MONTHS, day_words
from journal_server.figures.svg import INK, MUTED, SMALL_PX, UNKNOWN, Svg, colour, document, tag, text, wrap
from journal_server.figures.words import season_name, week_words

_LEAST_PX = 52.0
_AROUND_PX = 48.0
"""The day above a swatch, its difference below it, and the way to the next row."""
_SIDE_PX = 8.0


def draw_swatches(
    season: PlantingSeason,
    faded: Fade,
    *,
    width_px: int = 390,
    swatch_px: float = 44.0,
    captioned: bool = True,
    name: str = "swatches",
) -> str:
    """SVG text; each date is a group ``fig-date`` with data-photo and data-date.

    Without ``captioned`` what it shows stands in the description alone.
    """
    steps = faded.steps
    across = max(1, int((width_px - 2 * _SIDE_PX) // _LEAST_PX))
    each, row = (width_px - 2 * _SIDE_PX) / min(across, max(len(steps), 6)), swatch_px + _AROUND_PX
    drawn = [
        _swatch(season, step, _SIDE_PX + (i % across) * each, (i // across) * row, (each, swatch_px), first=i == 0)
        for i, step in enumerate(steps)
    ]
    y = -(-len(steps) // across) * row + (12 if captioned else -8)
    words = swatch_words(faded)
    lines = wrap(words, SMALL_PX, width_px - 2 * _SIDE_PX) if captioned else []
    notes = [text(_SIDE_PX, y + 16 * i, words) for i, words in enumerate(lines)]
    title = f"{season_name(season)}: bloom colour over the season"
    return document(name, width_px, y + 16 * len(lines), title, words, *drawn, *notes)


def swatch_words(faded: Fade) -> str:
    """How far the colour moved, or why that is not known."""
    if faded.reference is None:
        reason = faded.reason or "there is no bloom colour yet"
        return f"{reason[:1].upper()}{reason[1:]}."
    since = f"Difference (CIEDE2000) from {day_words(faded.reference.taken_on)}, the first date with 5 % in flower."
    most = faded.most
    if most is None:
        return f"{since} There is no later date yet."
    change = most.difference
    turns = [
        f"{abs(value):.1f} {more if value > 0 else less}"
        for value, more, less in (
            (change.dl, "lighter", "darker"),
            (change.dc, "more colourful", "less colourful"),
        )
        if abs(value) >= 0.5
    ]
    how = f" ({', '.join(turns)})" if turns else ""
    said = f"Most: {change.de00:.1f} on {day_words(most.taken_on)}{how}"
    if most.doubt:
        return f"{since} {said}, which is doubtful: {most.doubt}."
    doubts = sorted({step.doubt for step in faded.steps if step.doubt})
    return f"{since} {said}." + (f" * Doubtful: {'; '.join(doubts)}." if doubts else "")


def _swatch(
    season: PlantingSeason, step: FadeStep, x: float, y: float, size: tuple[float, float], *, first: bool
) -> Svg:
    width, height = size
    day = f"{step.taken_on.day} {MONTHS[step.taken_on.month - 1][:3]}"
    moved = "start" if first else f"{step.difference.de00:.1f}" + ("*" if step.doubt else "")
    change = step.difference
    when = f"{day_words(step.taken_on)}, {week_words(season.planted_on, step.taken_on)}"
    known = f"{when}: {step.bloom_hex or 'no colour code'}, CIEDE2000 {change.de00:.1f}"
    signed = f"dL* {change.dl:+.1f}, dC* {change.dc:+.1f}, dH* {change.dh:+.1f}"
    doubt = f". Doubtful: {step.doubt}" if step.doubt else ""
    return tag(
        "g",
        tag("title", f"{known}, {signed}{doubt}"),
        tag(
            "rect",
            x=x,
            y=y + 18,
            width=width - 4,
            height=height,
            fill=colour(step.bloom_hex) or UNKNOWN,
            stroke=INK,
            stroke_opacity=0.35,
            stroke_dasharray="3 3" if step.doubt else None,
        ),
        text(x, y + 12, day, opacity=MUTED),
        text(x, y + 18 + height + 14, moved),
        class_="fig-date",
        data_planting=season.planting_id,
        data_photo=step.photo_id,
        data_date=step.taken_on.isoformat(),
    )
