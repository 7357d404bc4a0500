"""How well the method and point counts agree, in sentences for screens and reports."""

from __future__ import annotations

from journal_server.analysis.agreement import ShareAgreement
from journal_server.analysis.kappa import Kappa
from journal_server.analysis.series import SHARE_WORDS
from journal_server.domain.words import counted
from journal_server.figures.words import signed
from journal_server.measurement.result import Estimate

WITHIN = "within error"
BEYOND = "beyond error"


def points_digits(estimate: Estimate) -> int:
    """Decimals of a difference in points of a per cent that its interval supports."""
    return 1 if 0 < estimate.high - estimate.low < 0.02 else 0


def points_words(value: float, digits: int = 0) -> str:
    """A difference of shares in points of a per cent: "+3 points"."""
    number = signed(100 * value, digits)
    return f"{number} point" if number in ("+1", "−1") else f"{number} points"


def points_interval(estimate: Estimate) -> str:
    digits = points_digits(estimate)
    return f"{signed(100 * estimate.low, digits)} to {signed(100 * estimate.high, digits)}"


def difference_words(estimate: Estimate) -> str:
    """Value and interval: "+3 points (−2 to +8)"."""
    return f"{points_words(estimate.value, points_digits(estimate))} ({points_interval(estimate)})"


def kappa_words(kappa: Kappa) -> str:
    """Kappa with its interval: "0.82 (0.78–0.86)", "0.02 (−0.07 to 0.11)"."""
    value, low, high = (f"{n:.2f}".replace("-", "−") for n in _values(kappa.estimate))
    return f"{value} ({low}{' to ' if kappa.estimate.low < 0 else '–'}{high})"


def counted_sentence(photos: int, points: int, unanswered: int) -> str:
    """What the check rests on."""
    if photos == 0:
        return "No photo has been checked by a point count yet, so how far the method can be trusted here is not known."
    left_out = f"; {unanswered:,} more could not be told and are left out" if unanswered else ""
    named = counted(photos, "photo was", "photos were")
    return f"{named} checked by hand: {points:,} random points classed by eye{left_out}."


def share_sentences(found: ShareAgreement) -> list[str]:
    """Bias, limits of agreement and what the counting itself makes of them; reasons where they cannot be had."""
    name = SHARE_WORDS[found.name]
    if found.bias is None:
        return [_sentence(f"{name}: {found.reasons['bias']}")]
    said = [
        _sentence(
            f"{name}: {_bias(found.bias)}, over {found.photos} photos (90 % interval {points_interval(found.bias)})"
        )
    ]
    if found.lower is None or found.upper is None:
        return [*said, _sentence(found.reasons["limits"])]
    lower, upper = (signed(100 * limit.value, 0) for limit in (found.lower, found.upper))
    said.append(f"In 95 % of photos the two differ by {lower} to {upper} points (limits of agreement).")
    return [*said, *_left(found)]


def kappa_sentence(kappa: Kappa | None, reason: str | None) -> str:
    if kappa is None:
        return _sentence(f"Cohen's kappa is not known: {reason}")
    return (
        f"Point by point, the method and the eye say the same at {100 * kappa.alike:.0f} % of {kappa.points:,} points; "
        f"Cohen's kappa is {kappa_words(kappa)}, where 1 is full agreement and 0 what chance would give."
    )


def _left(found: ShareAgreement) -> list[str]:
    if found.spread_left is None or found.counting_spread is None or found.lower_left is None:
        return []
    counting = f"Counting so few points makes ±{196 * found.counting_spread:.0f} of that by itself"
    if found.spread_left.value == 0:
        high = f"{196 * found.spread_left.high:.0f}"
        return [f"{counting}, which is all of it: the method's own part is not told from 0, and is at most ±{high}."]
    left = found.spread_left
    return [
        f"{counting}; with that taken off, ±{196 * left.value:.0f} ({196 * left.low:.0f}–{196 * left.high:.0f}) points "
        "are left for the method."
    ]


def _bias(bias: Estimate) -> str:
    size = abs(100 * bias.value)
    digits = points_digits(bias)
    more = "more" if bias.value > 0 else "less"
    if float(f"{size:.{digits}f}") == 0:
        return "the method reads as much as the counts"
    return (
        f"the method reads {size:.{digits}f} point{'' if f'{size:.{digits}f}' == '1' else 's'} {more} than the counts"
    )


def _values(estimate: Estimate) -> tuple[float, float, float]:
    return estimate.value, estimate.low, estimate.high


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."
