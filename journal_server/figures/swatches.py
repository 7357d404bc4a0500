"""The bloom colour of each date as a swatch, with its difference from the reference date under it."""

from __future__ import annotations

from journal_server.analysis.fade import Fade, FadeStep
from journal_server.analysis.series import PlantingSeason
from journal_server.domain.dates import MONTHS, day_words
from journal_server.figures.svg import INK, MUTED, SMALL_PX, UNKNOWN, Svg, colour, document, tag, text, wrap
from journal_server.figures.words import season_name, week_words

_LEAST_PX = 52.0
_SWATCH_PX = 44.0
_ROW_PX = 92.0
_SIDE_PX = 8.0


def draw_swatches(season: PlantingSeason, faded: Fade, *, width_px: int = 390, name: str = "swatches") -> str:
    """SVG text; each date is a group ``fig-date`` with data-photo and data-date."""
    steps = faded.steps
    across = max(1, int((width_px - 2 * _SIDE_PX) // _LEAST_PX))
    each = (width_px - 2 * _SIDE_PX) / min(across, max(len(steps), 6))
    drawn = [
        _swatch(season, step, _SIDE_PX + (i % across) * each, (i // across) * _ROW_PX, each, first=i == 0)
        for i, step in enumerate(steps)
    ]
    y = -(-len(steps) // across) * _ROW_PX + 12
    words = swatch_words(faded)
    lines = wrap(words, SMALL_PX, width_px - 2 * _SIDE_PX)
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


def _swatch(season: PlantingSeason, step: FadeStep, x: float, y: float, width: float, *, first: bool) -> Svg:
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
            height=_SWATCH_PX,
            fill=colour(step.bloom_hex) or UNKNOWN,
            stroke=INK,
            stroke_opacity=0.35,
            stroke_dasharray="3 3" if step.doubt else None,
        ),
        text(x, y + 12, day, opacity=MUTED),
        text(x, y + 18 + _SWATCH_PX + 14, moved),
        class_="fig-date",
        data_planting=season.planting_id,
        data_photo=step.photo_id,
        data_date=step.taken_on.isoformat(),
    )
