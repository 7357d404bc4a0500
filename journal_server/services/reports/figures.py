"""The figures of reports, each drawn for a page and for a phone."""

from __future__ import annotations

from collections.abc import Sequence

from journal_server.analysis.comparison import QUANTITIES, Group
from journal_server.analysis.series import SHARE_WORDS
from journal_server.analysis.weather import DayWeather
from journal_server.domain.dates import day_words
from journal_server.figures.captions import caption
from journal_server.figures.comparison_curves import draw_comparison
from journal_server.figures.curves import draw_curve
from journal_server.figures.lanes import CareMark
from journal_server.figures.swatches import draw_swatches, swatch_words
from journal_server.figures.timeline import draw_timeline
from journal_server.services.compare_plantings import Compared
from journal_server.services.comparison_figures import curve_groups, ranking_figure
from journal_server.services.reports.document import Block, Figure, Figures, Paragraph
from journal_server.services.reports.gathered import Gathered, Grown

PAGE_PX, HALF_PX, TIMELINE_PX, PHONE_PX = 656, 316, 760, 340
"""At 96 dots an inch: the width of the text on A4, half of it, a timeline with room for names, a phone."""
CURVE_PX, SWATCH_PX = 84, 24
"""How high a curve and a colour are, so that a cultivar's report is a page."""
TIMELINE_PAGE_PX, ROW_PX, LANE_PX, AROUND_PX = 1000, 90, 18, 170
"""How high a timeline may be on a page, a ribbon, a lane, and its axis and key."""
MOST_RANKED = 18
"""Groups that a ranking can show on one page; more stand in the table alone."""


def season_curves(one: Grown, *, named: bool) -> list[Block]:
    """Canopy fill beside bloom cover, then the bloom colours; what a plant grown for its leaves lacks is left out.

    ``named``: the planter stands in the titles, where there are several.
    """
    season = one.season
    wanted = ("canopy_fill",) if season.foliage_only else ("canopy_fill", "bloom_cover")
    shown = [of for of in wanted if any(getattr(point, of) for point in season.points)]
    if not shown:
        return []
    where = f", {season.place}" if named else ""
    last = max(point.taken_on for point in season.points)
    curves = []
    for of in shown:
        width = HALF_PX if len(shown) > 1 else PAGE_PX
        drawn = [
            draw_curve(season, of, summary=one.summary, width_px=px, height_px=CURVE_PX, last_day=last, captioned=False)
            for px in (width, PHONE_PX)
        ]
        words = SHARE_WORDS[of]
        title = f"{words[:1].upper()}{words[1:]}{where}"
        curves.append(Figure(title, f"{title}. {caption(season, one.summary, of)}", *drawn))
    found: list[Block] = [Figures(tuple(curves))]
    if not season.foliage_only and one.summary.fade.steps:
        faded = one.summary.fade
        drawn = [
            draw_swatches(season, faded, width_px=px, swatch_px=SWATCH_PX, captioned=False)
            for px in (PAGE_PX, PHONE_PX)
        ]
        title = f"Bloom colour{where}"
        words = swatch_words(faded)
        found += [Figures((Figure(title, f"{title}. {words}", *drawn),)), Paragraph((words,), "quiet")]
    return found


def timeline_figures(gathered: Gathered, weather: Sequence[DayWeather], care: Sequence[CareMark]) -> list[Figures]:
    """The timeline, in as many figures as pages are needed for its rows; weather and care stand above each."""
    grown, found = gathered.grown, []
    seasons = [one.season for one in grown if any(point.canopy_fill for point in one.season.points)]
    if not seasons:
        return []
    first = min(season.planted_on for season in seasons)
    last = max(point.taken_on for season in seasons for point in season.points)
    lanes = LANE_PX * (2 * bool(weather) + len({mark.words for mark in care}))
    fits = max(2, (TIMELINE_PAGE_PX - AROUND_PX - lanes) // ROW_PX)
    pages = -(-len(seasons) // fits)
    each = -(-len(seasons) // pages)
    for at in range(0, len(seasons), each):
        rows = seasons[at : at + each]
        drawn = [
            draw_timeline(
                rows,
                width_px=px,
                weather=weather,
                care=care,
                heat_threshold_c=gathered.heat_day_c,
                units=gathered.units,
                gap_days=gathered.gap_days,
                first_day=min([first, *(point.taken_on for row in rows for point in row.points)]),
                last_day=last,
                name=f"timeline-{at}",
            )
            for px in (TIMELINE_PX, PHONE_PX)
        ]
        more = f", to {day_words(last)}"
        more += f", plantings {at + 1} to {at + len(rows)} of {len(seasons)}" if pages > 1 else ""
        title = f"The season in walking order{more}"
        names = "; ".join(f"{row.place}: {row.genus} ‘{row.cultivar}’" for row in rows)
        alt = f"{title}. {names}. The numbers stand in the tables of this report."
        found.append(Figures((Figure(title, alt, *drawn),)))
    return found


def ranking(compared: Compared) -> list[Figures]:
    """The groups in order with their intervals; none where there is nothing to rank or too much for a page."""
    if not 2 <= len(compared.comparison.ranks) <= MOST_RANKED:
        return []
    drawn = [ranking_figure(compared, px) for px in (PAGE_PX, PHONE_PX)]
    title = f"{title_of(compared)}, ranked"
    alt = f"{title}, with 90 % intervals. The table beside it holds the same numbers."
    return [Figures((Figure(title, alt, *drawn),))]


def title_of(compared: Compared) -> str:
    """'Season bloom', or 'Canopy fill 8 weeks after planting'."""
    quantity = QUANTITIES[compared.asked.of]
    words = quantity.words[:1].upper() + quantity.words[1:]
    return f"{words} {compared.asked.moment_words}" if quantity.then else words


def compared_curves(compared: Compared, of: str) -> list[Figures]:
    """The curves of the groups that can be told apart, by age."""
    drawn = curves_by_age(curve_groups(compared), of, compared.gap_days, _by_age_words(of), PAGE_PX)
    return [Figures((drawn,))] if drawn else []


def curves_by_age(groups: Sequence[Group], of: str, gap_days: int, title: str, width_px: int) -> Figure | None:
    """The groups' curves on one picture by weeks after planting; None where nothing was measured."""
    if not any(getattr(point, of) for group in groups for season in group.seasons for point in season.points):
        return None
    drawn = [draw_comparison(groups, of, by_age=True, gap_days=gap_days, width_px=px) for px in (width_px, PHONE_PX)]
    alt = f"{title}: {'; '.join(group.label for group in groups)}. The numbers stand in the tables of this report."
    return Figure(title, alt, *drawn)


def _by_age_words(of: str) -> str:
    words = SHARE_WORDS[of]
    return f"{words[:1].upper()}{words[1:]} by weeks after planting"
