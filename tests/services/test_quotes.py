"""Quotes of numbers: one sentence with interval, day and source, in three formats that show what was typed."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser

import pytest
from conftest import SetUp
from hostile_names import HOSTILE_NAMES
from made_season import keep_numbers, measured_season, numbers, photo_without_numbers
from markdown_it import MarkdownIt

from journal_server.analysis.numbers import PhotoFacts
from journal_server.analysis.quotable import QuotableNumber
from journal_server.domain.units import Units
from journal_server.measurement.result import Estimate
from journal_server.services.journal import Journal
from journal_server.services.photo_quotes import quotes_of_photo, quotes_of_planting
from journal_server.services.planting_summary import planting_summary
from journal_server.services.quotes import Named, Quoted, quote, quote_number

FACTS = PhotoFacts("IMG_0001.jpg", "0" * 64, "2026-07-03T09:12:00+02:00", "learned 3, measure 3")
PEAK = QuotableNumber(
    "peak", "planting", "bloom cover at its peak", "share", Estimate(0.612, 0.574, 0.648),
    on=date(2026, 7, 3), photo_ids=("photo",), methods=(FACTS.method,),
)  # fmt: skip
NAMED = Named("Petunia", "Plum Gaslight", "Trough 3")
PEAK_WORDS = (
    "Bloom cover at its peak: 61 % (90 % interval 57–65 %) on 3 July 2026, Petunia ‘Plum Gaslight’ in Trough 3, "
    "photo IMG_0001.jpg, measured by learned 3, measure 3"
)


class Tags(HTMLParser):
    """The elements of a piece of HTML and its text."""

    def __init__(self, written: str):
        super().__init__()
        self.names: list[str] = []
        self.text = ""
        self.feed(written)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.append(tag)

    def handle_data(self, data: str) -> None:
        self.text += data


def rendered(markdown: str) -> Tags:
    """As an independent reader of Markdown shows it, with tables, strikethrough and HTML let through."""
    return Tags(MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"]).render(markdown))


def test_a_number_is_quoted_with_interval_day_and_source() -> None:
    made = quote_number(PEAK, NAMED, {"photo": FACTS})
    assert made is not None
    assert made["text"] == PEAK_WORDS
    assert made["markdown"].startswith(
        "Bloom cover at its peak: **61 %** (90 % interval 57–65 %) on 3 July 2026, *Petu"
    )
    assert Tags(made["html"]).text == PEAK_WORDS
    assert '<time datetime="2026-07-03">3 July 2026</time>' in made["html"]
    assert rendered(made["markdown"]).text.strip() == PEAK_WORDS


def test_a_number_from_many_photos_says_how_many_and_of_which_days() -> None:
    facts = {
        str(month): PhotoFacts(f"{month}.jpg", "0" * 64, f"2026-0{month}-22T10:00:00+02:00", "learned 3")
        for month in (5, 6, 7)
    }
    weeks = QuotableNumber(
        "weeks_in_bloom", "planting", "time with at least half of the peak bloom", "weeks", Estimate(9.3, 8.8, 9.9),
        at_least=True, on=date(2026, 7, 22), photo_ids=("5", "6", "7"),
    )  # fmt: skip
    made = quote_number(weeks, NAMED, facts)
    assert made is not None
    assert made["text"] == (
        "Time with at least half of the peak bloom: at least 9.3 weeks (90 % interval 8.8–9.9 weeks), Petunia ‘Plum "
        "Gaslight’ in Trough 3, 3 photos, 22 May to 22 July 2026, measured by learned 3"
    )


def test_what_is_not_known_is_not_quoted() -> None:
    unknown = replace(PEAK, estimate=None, reason="bloom cover was not measured on any photo")
    assert quote_number(unknown, NAMED, {"photo": FACTS}) is None


def test_a_length_is_said_as_the_person_reads_lengths() -> None:
    spill = replace(PEAK, words="spill", unit="cm", estimate=Estimate(25.4, 17.78, 33.02))
    made = quote_number(spill, NAMED, {"photo": FACTS}, units=Units(length="inches"))
    assert made is not None
    assert made["text"].startswith("Spill: 10 in (90 % interval 7–13 in) on")


@pytest.mark.parametrize("name", [*HOSTILE_NAMES, "‮turned " + "w" * 200])
def test_a_name_shows_as_typed_and_is_never_markup(name: str) -> None:
    made = quote(
        Quoted("bloom cover", "61 %", "57–65 %", (), Named(name, name, name), (replace(FACTS, file_name=name),))
    )
    assert made["text"].count(name) == 4
    as_html, as_markdown = Tags(made["html"]), rendered(made["markdown"])
    assert as_html.text.count(name) == as_markdown.text.count(name) == 4
    assert set(as_html.names) == {"p", "strong", "i", "bdi"}
    assert set(as_markdown.names) == {"p", "strong", "em"}


def test_a_summary_quotes_every_number_it_shows(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting()
    days = {"2026-05-22": (0.1, 0.02), "2026-06-20": (0.5, 0.4), "2026-07-14": (0.8, 0.6), "2026-08-14": (0.8, 0.1)}
    measured_season(journal, planting, days)
    answer = planting_summary(journal, planting)
    for row in answer["rows"]:
        assert (row["quote"] is None) == (row["value"] is None), row["name"]
        if row["quote"]:
            assert row["value"] in row["quote"]["text"]
            assert row["interval"] in row["quote"]["text"]
            assert "Petunia ‘Made Up 1’ in Trough 1" in row["quote"]["text"]
    peak = next(row for row in answer["rows"] if row["name"].startswith("peak"))
    assert "on 14 July 2026" in peak["quote"]["text"]
    assert len(answer["copies"]["text"].splitlines()) == len(answer["rows"]) + 3


def test_a_photos_numbers_are_quoted_with_what_must_be_known(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting()
    photo = photo_without_numbers(journal, planting, "2026-07-14")
    colour = {"lab": [40.0, 50.0, -40.0], "hex": "#8a3fa0", "error_de00": 2.04, "spread_de00": 3.0}
    unusable = numbers(
        0.5, 0.3, slots=[0.9, None], bloom_colour=colour, method="made up, 2",
        quality={"usable": False, "warnings": []}, reasons={"evenness": "one part is hidden"},
    )  # fmt: skip
    keep_numbers(journal, photo, planting, unusable, framed=False)
    found = quotes_of_planting(journal, planting)["photos"][photo]
    assert quotes_of_photo(journal, photo)["photos"][photo] == found
    assert set(found["quotes"]) == {"canopy_fill", "bloom_cover", "spent_share", "slots", "bloom_colour"}
    fill = found["quotes"]["canopy_fill"]["text"]
    assert fill.startswith(
        "Canopy fill: 50 % (90 % interval 48–52 %) on 14 July 2026, Petunia ‘Made Up 1’ in Trough 1, "
    )
    assert fill.endswith("of the whole photo, without a frame, left out of the season, since the photo cannot be used")
    assert "90 %, not known" in found["quotes"]["slots"]["text"]
    assert "#8a3fa0, CIELAB (D65) L* 40, a* 50, b* −40" in found["quotes"]["bloom_colour"]["text"]
    assert "expected error dE00 2.0" in found["quotes"]["bloom_colour"]["text"]
    assert "\nevenness\tone part is hidden\t\n" in found["copies"]["text"]
    assert "measured by made up, 2" in fill


@pytest.mark.parametrize("name", HOSTILE_NAMES)
def test_a_copied_table_keeps_its_cells_apart(journal: Journal, set_up: SetUp, name: str) -> None:
    cultivar = set_up.make("cultivar", genus="Petunia", name=name)
    planting = set_up.planting(cultivar_id=cultivar)
    measured_season(journal, planting, {"2026-07-14": (0.8, 0.6)})
    answer = planting_summary(journal, planting)
    rows, copies = answer["rows"], answer["copies"]
    lines = copies["text"].rstrip("\n").split("\n")
    assert [len(line.split("\t")) for line in lines[1:-1]] == [4] * (len(rows) + 1)
    shown = rendered(copies["markdown"])
    assert shown.names.count("tr") == len(rows) + 1
    assert shown.names.count("td") == 4 * len(rows)
    assert f"‘{name}’" in shown.text
    tags = Tags(copies["html"])
    assert set(tags.names) == {"table", "caption", "thead", "tbody", "tfoot", "tr", "th", "td"}
    assert f"‘{name}’" in html.unescape(re.sub("<.*?>", "", copies["html"]))
