"""What the reports say of a trial, of two, and of next year: the numbers are those of the analysis, the words plain."""

from __future__ import annotations

import io
import re

import pypdfium2
import pytest
from conftest import SetUp
from made_reports import SEASON, asked, measured, photographed, say_verdict, texts_of

from journal_server.analysis.differences import difference
from journal_server.errors import InputRefused, NotFound
from journal_server.figures.ranking import change_words
from journal_server.measurement.result import Estimate
from journal_server.services.compare_plantings import Asked as Compare
from journal_server.services.compare_plantings import compare_plantings
from journal_server.services.journal import Journal
from journal_server.services.reports import agreement_part
from journal_server.services.reports.document import Document, Table
from journal_server.services.reports.make_report import build, make_report
from journal_server.services.reports.order_list import SECTIONS
from journal_server.storage.records import load_records


def cultivar_with(journal: Journal, set_up: SetUp, name: str, bloom: float, **planting: object) -> str:
    """A cultivar whose bloom is this many times that of `SEASON`."""
    cultivar = set_up.make("cultivar", genus="Petunia", name=name)
    days = {day: (fill, cover * bloom) for day, (fill, cover) in SEASON.items()}
    measured(journal, set_up.planting(cultivar_id=cultivar, **planting), days)
    return cultivar


def table(document: Document, title: str) -> Table:
    (found,) = (block for block in document.blocks if isinstance(block, Table) and block.title == title)
    return found


def test_the_ranking_is_that_of_the_comparison_with_ties_said_to_be_ties(journal: Journal, set_up: SetUp) -> None:
    for name, bloom in (("One", 1.0), ("Two", 0.99), ("Three", 0.4)):
        cultivar_with(journal, set_up, name, bloom)
    compared = compare_plantings(journal, Compare("cultivar", "season_bloom", trial_id=set_up.trial_id))
    rows = table(build(journal, asked(set_up, "trial")), "Season bloom").rows
    assert [row[:2] for row in rows] == [
        (rank.words, compared.labels[rank.contender.key]) for rank in compared.comparison.ranks
    ]
    assert [row[0] for row in rows] == ["1–2", "1–2", "3"]
    assert [row[4] for row in rows] == ["Petunia ‘Two’", "Petunia ‘One’", "none"]
    for text in texts_of(journal, set_up, "trial").values():
        assert "Ranks such as 2–4 are ties" in text
        assert "One planter is one planter" in text


def test_the_trial_says_method_weather_care_and_what_was_checked(journal: Journal, set_up: SetUp) -> None:
    cultivar_with(journal, set_up, "One", 1.0)
    for day, high in (("2026-06-01", 33.0), ("2026-06-02", 20.0)):
        set_up.make("weather", trial_id=set_up.trial_id, day=day, tmin_c=10.0, tmax_c=high, rain_mm=4.0)
    for day in ("2026-06-01", "2026-06-08"):
        set_up.make("care", trial_id=set_up.trial_id, done_on=day, action="fed", product="a feed")
    document = build(journal, asked(set_up, "trial"))
    assert table(document, "Care done").rows == (
        ("fed", "2 days", "from 1 June to 8 June 2026", "the whole trial", "a feed"),
    )
    (row,) = table(document, "What was measured how often").rows
    assert row[1:] == ("6", "6", "from 30 May to 8 August 2026", "14 days", "6 of 6", "6 of 6")
    text = texts_of(journal, set_up, "trial")["markdown"]
    assert "1 day reached 32 °C or more (heat days); the highest was 33 °C on 1 June 2026." in text
    assert "8 mm of rain fell." in text
    assert "Measured by made up, 1 (6 photos)." in text
    assert agreement_part.NONE_MADE in text


def test_without_weather_and_care_both_are_said_to_be_missing(journal: Journal, set_up: SetUp) -> None:
    cultivar_with(journal, set_up, "One", 1.0)
    for text in texts_of(journal, set_up, "trial").values():
        assert "No weather was recorded." in text
        assert "No care was noted." in text


def test_the_agreement_is_quoted_as_it_is_reckoned(
    journal: Journal, set_up: SetUp, monkeypatch: pytest.MonkeyPatch
) -> None:
    cultivar = cultivar_with(journal, set_up, "One", 1.0)
    sentences = ["2 photos were checked by hand.", "The method reads 3 points high."]
    said = {"photos": 2, "sentences": sentences, "shares": [{"sentences": sentences[1:]}]}
    monkeypatch.setattr(agreement_part, "agreement", lambda journal, trial_id: said)
    for kind, more in (("trial", {}), ("cultivar", {"cultivar_id": cultivar})):
        for text in texts_of(journal, set_up, kind, **more).values():
            assert "2 photos were checked by hand. The method reads 3 points high." in text


def test_a_number_that_changed_under_a_verdict_is_said_beside_it(journal: Journal, set_up: SetUp) -> None:
    cultivar = cultivar_with(journal, set_up, "One", 1.0)
    planting = planting_of(journal, cultivar)
    quoted = [{"key": "peak", "planting_id": planting, "shown": "70 %", "interval": "65–75", "value": 0.7}]
    say_verdict(journal, set_up.trial_id, cultivar, text="Its peak was 70 % (65–75).", quoted=quoted)
    wanted = "Bloom cover at its peak: 70 % (65–75) when the verdict was written, now 60 % (58–62)."
    for kind, more in (("trial", {}), ("cultivar", {"cultivar_id": cultivar})):
        for text in texts_of(journal, set_up, kind, **more).values():
            assert wanted in text


BLOOM_COLOUR = {"lab": [45.0, 30.0, -20.0], "hex": "#884499", "spread_de00": 3.0, "error_de00": 2.0}
USUAL = 700
"""Characters of a verdict's text: all the sentences that the sample season's gardener took, and a few of his own."""


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize(("characters", "most_pages"), [(USUAL, 1), (3000, 2)])
def test_a_cultivar_is_a_page_and_two_with_a_long_verdict(
    journal: Journal, set_up: SetUp, paper: str, characters: int, most_pages: int
) -> None:
    cultivar = set_up.make("cultivar", genus="Petunia", name="One", bloom_colours=["#884499"])
    photographed(journal, set_up.planting(cultivar_id=cultivar), SEASON, bloom_colour=BLOOM_COLOUR)
    sentence = "Bloom cover peaked at 60 % (58–62) on 11 July. "
    say_verdict(
        journal,
        set_up.trial_id,
        cultivar,
        grow_again="yes",
        good_for=["container", "edge that trails"],
        needs=["water"],
        one_line="In flower all summer, and nothing to pick off.",
        text=(sentence * (characters // len(sentence))).strip(),
        **dict.fromkeys(("strengths", "weaknesses", "companions"), "Even from end to end until the end of August."),
    )
    made = make_report(journal, asked(set_up, "cultivar", cultivar_id=cultivar, format="pdf", paper=paper))
    with pypdfium2.PdfDocument(io.BytesIO(made.content)) as pdf:
        assert len(pdf) <= most_pages


def planting_of(journal: Journal, cultivar: str) -> str:
    with journal.database.reading() as session:
        return load_records(session, "planting", equals={"cultivar_id": cultivar})[0].id


def test_the_order_list_has_each_verdict_in_its_section_and_adds_up_the_plants(journal: Journal, set_up: SetUp) -> None:
    wanted = {"more": 12, "again": None, "try elsewhere": 4, "drop": None, None: None}
    for answer, plants in wanted.items():
        cultivar = set_up.make("cultivar", genus="Petunia", name=str(answer))
        set_up.planting(cultivar_id=cultivar, plants=5)
        if answer:
            say_verdict(journal, set_up.trial_id, cultivar, next_year=answer, next_year_plants=plants)
    for text in texts_of(journal, set_up, "order-list").values():
        at = [text.index(words) for _, words in SECTIONS if words != "Again"]
        assert at == sorted(at)
        assert "At least 16 plants for 3 entries; for 1 of them the number is not said." in text
    tables = [block for block in build(journal, asked(set_up, "order-list")).blocks if isinstance(block, Table)]
    rows = {one.rows[0][0]: one.rows[0] for one in tables}
    assert rows["Petunia ‘more’"][2:4] == ("12", "5")
    assert rows["Petunia ‘again’"][2:4] == ("not said", "5")
    assert rows["Petunia ‘None’"][-1] == "no verdict yet"


def test_a_verdict_whose_planting_is_gone_stays_on_the_order_list(journal: Journal, set_up: SetUp) -> None:
    cultivar = set_up.make("cultivar", genus="Petunia", name="Gone")
    say_verdict(journal, set_up.trial_id, cultivar, next_year="more", next_year_plants=20)
    for text in texts_of(journal, set_up, "order-list").values():
        assert "20 plants for 1 entry." in text
        assert "its planting is no longer there" in text


def test_two_trials_tell_differences_beyond_measuring_error_from_others(journal: Journal, set_up: SetUp) -> None:
    same, less = (cultivar_with(journal, set_up, name, 1.0) for name in ("Same", "Less"))
    only = cultivar_with(journal, set_up, "Only Here", 1.0)
    first, set_up.trial_id = set_up.trial_id, set_up.make("trial", title="The year after", year=2027)
    for cultivar, bloom in ((same, 1.0), (less, 0.4)):
        days = {day: (fill, cover * bloom) for day, (fill, cover) in SEASON.items()}
        measured(journal, set_up.planting(cultivar_id=cultivar), days)
    document = build(journal, asked(set_up, "two-trials", trial_id=first, other_trial_id=set_up.trial_id))
    rows = {row[0]: row[1:] for row in table(document, "Peak bloom, with 90 % intervals").rows}
    change = difference(Estimate(0.6, 0.58, 0.62), Estimate(0.24, 0.22, 0.26))
    assert rows["Petunia ‘Less’"] == (
        "60 % (58–62)",
        "24 % (22–26)",
        change_words("peak", change),
        "more than measuring error",
    )
    assert rows["Petunia ‘Same’"][3] == "within measuring error"
    assert only not in rows
    texts = texts_of(journal, set_up, "two-trials", trial_id=first, other_trial_id=set_up.trial_id)
    for text in texts.values():
        assert "2 cultivars grew in both trials; 1 only in the first, 0 only in the second." in text
        assert "Only in Terrace, 2026: Petunia ‘Only Here’." in text
        assert "A difference is of the trials as they were, not of the cultivars alone." in text


def test_what_cannot_be_reported_on_is_refused_in_a_sentence(journal: Journal, set_up: SetUp) -> None:
    cultivar = set_up.make("cultivar", genus="Petunia", name="Nowhere")
    with pytest.raises(NotFound, match="no planting in this trial"):
        build(journal, asked(set_up, "cultivar", cultivar_id=cultivar))
    with pytest.raises(NotFound, match="no such trial"):
        build(journal, asked(set_up, "trial", trial_id=cultivar))
    with pytest.raises(InputRefused, match="two different trials"):
        asked(set_up, "two-trials", other_trial_id=set_up.trial_id)
    with pytest.raises(InputRefused, match="Say which cultivar"):
        asked(set_up, "cultivar")
    for name, given in (("kind", "page"), ("format", "docx"), ("paper", "a3")):
        with pytest.raises(InputRefused, match="must be one of"):
            asked(set_up, **({"kind": "trial"} | {name: given}))  # type: ignore[arg-type]


def test_a_pdf_has_its_title_page_numbers_and_the_paper_asked_for(journal: Journal, set_up: SetUp) -> None:
    cultivar_with(journal, set_up, "One", 1.0)
    for paper, size in (("a4", (595.28, 841.89)), ("letter", (612.0, 792.0))):
        made = make_report(journal, asked(set_up, "trial", format="pdf", paper=paper))
        assert b"/StructTreeRoot" in made.content
        assert b"pdfuaid:part" in made.content
        with pypdfium2.PdfDocument(io.BytesIO(made.content)) as pdf:
            assert pdf.get_metadata_value("Title") == "Terrace, 2026"
            for number, page in enumerate(pdf, start=1):
                assert page.get_size() == pytest.approx(size, abs=0.01)
                assert re.search(rf"\b{number} of {len(pdf)}\b", page.get_textpage().get_text_range())
