"""What is typeset is what was given: every script, no markup from data, the same bytes each time."""

import io

import pypdfium2
import pytest
import typst
from PIL import Image

from journal_server.printing.glyphs import drawable
from journal_server.printing.typeset import typeset

PAGE = """
#let data = json(bytes(sys.inputs.data))
#set document(title: data.name)
#set text(font: ("FiraGO", "Noto Sans Symbols2"))
= #data.name
#for line in data.lines [#line \\ ]
"""
UMLAUTS, HEBREW, ARABIC = "Grüße, Žižková, Ærø", "שלום", "مرحبا"
HOSTILE = (
    '#panic("x") *b* _i_ $x$ `code` @ref <label> // note /* <script>alert(1)</script> &amp; "] #read("/etc/passwd")'
)
PETAL = '<svg xmlns="http://www.w3.org/2000/svg" width="90" height="20"><text x="2" y="14">{}</text></svg>'


def text_of(pdf: bytes) -> str:
    with pypdfium2.PdfDocument(pdf) as document:
        return "\n".join(page.get_textpage().get_text_range() for page in document)


@pytest.mark.parametrize("words", [UMLAUTS, HEBREW, ARABIC, HOSTILE, "‘Name’ “quoted” 57–65 % ☼"])
def test_words_are_shown_as_typed(words: str) -> None:
    pdf = typeset(PAGE, {"name": "x", "lines": [words]}, {})
    assert words in " ".join(text_of(pdf).split())


def test_a_long_name_full_of_markup_is_all_there() -> None:
    name = ("#let x = 1 *" * 20)[:200]
    shown = text_of(typeset(PAGE, {"name": name, "lines": []}, {}))
    assert "".join(shown.split()) == "".join(name.split())


def test_what_no_font_can_draw_is_spelled_out_in_text_and_figures() -> None:
    no_font_has_it = "\U000e0fff"
    source = PAGE + '#image("/petal.svg")'
    pdf = typeset(source, {"name": no_font_has_it, "lines": []}, {"petal.svg": PETAL.format(no_font_has_it).encode()})
    assert text_of(pdf).lower().count("[u+e0fff]") == 2
    assert drawable("a\u0301 ü ש\u200f") == "a\u0301 ü ש\u200f"


def test_half_of_a_character_does_not_stop_the_page() -> None:
    assert "[u+d800]" in text_of(typeset(PAGE, {"name": "x\ud800", "lines": []}, {})).lower()


def test_the_same_input_gives_the_same_bytes_tagged_and_titled() -> None:
    once, again = (typeset(PAGE, {"name": UMLAUTS, "lines": [HEBREW]}, {}) for _ in range(2))
    assert once == again
    assert once.startswith(b"%PDF-")
    assert b"/StructTreeRoot" in once
    with pypdfium2.PdfDocument(once) as document:
        assert document.get_metadata_value("Title") == UMLAUTS


def test_a_page_as_a_picture() -> None:
    assert typeset(PAGE, {"name": "x", "lines": []}, {}, ppi=72).startswith(b"\x89PNG")
    with pytest.raises(ValueError, match="there are 2"):
        typeset(PAGE + "#pagebreak() y", {"name": "x", "lines": []}, {}, ppi=72)


def test_a_figure_without_words_is_refused_where_screen_readers_are_promised() -> None:
    data, files = {"name": "x", "lines": []}, {"petal.svg": PETAL.format("x").encode()}
    assert b"pdfuaid:part" in typeset(PAGE + '#image("/petal.svg", alt: "x")', data, files, standard="ua-1")
    with pytest.raises(typst.TypstError):
        typeset(PAGE + '#image("/petal.svg")', data, files, standard="ua-1")


def test_a_photo_is_set_as_it_is() -> None:
    out = io.BytesIO()
    Image.new("RGB", (30, 20), "#2040a0").save(out, "JPEG")
    pdf = typeset(
        PAGE + '#image("/photo.jpg", alt: data.name)', {"name": "x", "lines": []}, {"photo.jpg": out.getvalue()}
    )
    assert out.getvalue() in pdf


def test_the_source_reads_no_file_of_this_computer() -> None:
    with pytest.raises(typst.TypstError):
        typeset('#read("/etc/hostname")', {}, {})
