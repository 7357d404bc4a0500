"""Names are shown as typed and executed nowhere, whatever they hold; files are named safely."""

from __future__ import annotations

import contextlib
import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from html.parser import HTMLParser
from typing import Any

import pytest
from conftest import SetUp
from made_reports import SEASON, asked, change, measured, photographed, say_verdict, squeezed, texts_of
from markdown_it import MarkdownIt

from journal_server.services.journal import Journal, open_journal
from journal_server.services.reports.make_report import make_report, markdown_files

NAMES = {
    "quotes": "“O'Hara's” \"best\"",
    "umlauts": "Grünspecht Žluťoučký",
    "right to left": "שושנה وردة",
    "emoji": "Bloom 🌼 now",
    "HTML": "<script>alert(1)</script><img src=x onerror=alert(2)> &amp;",
    "Markdown": "*b* _i_ `c` [l](javascript:x) | # 1. ![p](x) ~~s~~",
    "typst": '#panic("x") $x$ @ref <l> // c /* #read("/etc/hostname")',
    "long": "w" * 80,
    "paths": "../../etc/passwd C:\\con NUL:",
}
ALLOWED = {
    "html", "head", "meta", "title", "style", "body", "main", "header", "footer", "h1", "h2", "h3", "p", "aside", "ul",
    "li", "dl", "dt", "dd", "div", "table", "caption", "colgroup", "col", "thead", "tbody", "tr", "th", "td", "figure",
    "figcaption", "img", "strong", "bdi", "span",
    # of the figures
    "svg", "desc", "defs", "pattern", "path", "g", "line", "rect", "text", "circle", "lineargradient", "stop", "tspan",
    "polygon",
}  # fmt: skip


class Elements(HTMLParser):
    def __init__(self, page: str):
        super().__init__()
        self.names: set[str] = set()
        self.ids: list[str] = []
        self.listeners: list[str] = []
        self.addresses: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.add(tag)
        for name, value in attrs:
            if name == "id":
                self.ids.append(str(value))
            if name.startswith("on"):
                self.listeners.append(name)
            if name in ("src", "href", "action", "srcset", "data", "xlink:href"):
                self.addresses.append(str(value))


@dataclass(frozen=True)
class Named:
    """A trial with a cultivar, a planter and a verdict of each name; ``cultivars`` are their ids by the name's kind."""

    journal: Journal
    set_up: SetUp
    cultivars: dict[str, str]
    other: str

    def all_reports(self) -> Iterator[tuple[str, dict[str, Any]]]:
        """Each kind of report with what else it is asked with."""
        yield "trial", {}
        yield "order-list", {}
        yield "two-trials", {"other_trial_id": self.other}
        yield from (("cultivar", {"cultivar_id": id_}) for id_ in self.cultivars.values())


@pytest.fixture(scope="module")
def named(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Named]:
    with contextlib.closing(open_journal(tmp_path_factory.mktemp("named"))) as journal:
        set_up = SetUp(journal)
        change(journal, "trial", set_up.trial_id, title=NAMES["HTML"])
        cultivars = {}
        for kind, name in NAMES.items():
            cultivars[kind] = set_up.make("cultivar", genus="Petunia", name=name)
            planter = set_up.make("planter", trial_id=set_up.trial_id, name=name, planter_kind="trough")
            planting = set_up.planting(cultivar_id=cultivars[kind], planter_id=planter)
            measured(journal, planting, SEASON)
            say = {"one_line": name, "text": name, "next_year": "again", "strengths": name}
            say_verdict(journal, set_up.trial_id, cultivars[kind], **say)
        photographed(journal, planting, {"2026-08-20": (0.8, 0.7)})
        yield Named(journal, set_up, cultivars, set_up.make("trial", title=NAMES["Markdown"], year=2025))


def is_shown(name: str, text: str) -> bool:
    """As typed, or with what no font of this computer has spelled out; words from right to left may change lines."""
    words = name.split() if name == NAMES["right to left"] else [name]
    return all(
        any(squeezed(one) in squeezed(text) for one in (word, word.replace("🌼", "[blossom]"))) for word in words
    )


@pytest.mark.parametrize("kind", NAMES)
def test_a_cultivar_is_named_as_typed_in_every_format(named: Named, kind: str) -> None:
    texts = texts_of(named.journal, named.set_up, "cultivar", cultivar_id=named.cultivars[kind])
    for form, text in texts.items():
        assert is_shown(NAMES[kind], text), form


@pytest.mark.parametrize("report", ["trial", "order-list", "two-trials"])
def test_all_names_stand_as_typed_in_every_format(named: Named, report: str) -> None:
    more = {"other_trial_id": named.other} if report == "two-trials" else {}
    for form, text in texts_of(named.journal, named.set_up, report, **more).items():
        for name in NAMES.values():
            assert is_shown(name, text), (form, name)


def test_no_name_becomes_an_element_a_listener_or_an_address(named: Named) -> None:
    for kind, more in named.all_reports():
        made = make_report(named.journal, asked(named.set_up, kind, **more))
        found = Elements(made.content.decode("utf-8"))
        assert found.names <= ALLOWED
        assert found.listeners == []
        assert all(one.startswith("data:image/jpeg;base64,") for one in found.addresses)
        assert len(found.ids) == len(set(found.ids))
        assert re.fullmatch(r"[a-z0-9-]+\.html", made.file_name)
        assert len(made.file_name) < 110


def test_no_name_becomes_markdown(named: Named) -> None:
    for kind, more in named.all_reports():
        files = markdown_files(named.journal, asked(named.set_up, kind, format="markdown", **more))
        assert all(re.fullmatch(r"(pictures/)?[a-z0-9-]+\.(md|svg|jpg)", path) for path in files)
        (report,) = (content.decode("utf-8") for path, content in files.items() if path.endswith(".md"))
        tokens = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"]).parse(report)
        inline = [child for token in tokens for child in token.children or []]
        assert not [t for t in (*tokens, *inline) if t.type in ("html_block", "html_inline", "link_open", "s_open")]
        images = {str(t.attrs["src"]) for t in inline if t.type == "image"}
        assert images == {path for path in files if not path.endswith(".md")}
        assert {t.tag for t in tokens if t.type == "heading_open"} <= {"h1", "h2", "h3"}


def test_the_zip_holds_one_folder_with_the_report_and_its_pictures(named: Named) -> None:
    wanted = asked(named.set_up, "cultivar", cultivar_id=named.cultivars["paths"], format="markdown")
    made = make_report(named.journal, wanted)
    with zipfile.ZipFile(io.BytesIO(made.content)) as archive:
        paths = archive.namelist()
        assert archive.testzip() is None
    folder = made.file_name.removesuffix(".zip")
    assert all(path.startswith(f"{folder}/") and ".." not in path for path in paths)
    assert f"{folder}/{folder}.md" in paths


@pytest.mark.parametrize("form", ["html", "markdown", "pdf"])
def test_the_same_records_give_the_same_bytes(named: Named, form: str) -> None:
    once, again = (make_report(named.journal, asked(named.set_up, "trial", format=form)).content for _ in range(2))
    assert once == again
