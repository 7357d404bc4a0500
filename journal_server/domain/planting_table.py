"""A list of plantings as a table: which column says what, and each cell in the form that the journal keeps. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from journal_server.domain.field_checks import shown
from journal_server.domain.records import PLANTER_KINDS
from journal_server.domain.text_table import TextTable, read_cells
from journal_server.domain.written_days import needs_an_order, read_day
from journal_server.errors import InputRefused

COLUMNS = (
    "planter", "cultivar", "genus", "plants", "exposure", "planted_on", "planter_kind", "bloom_colours",
    "foliage_colours", "card_code", "species", "note",
)  # fmt: skip

_HEADINGS = (
    ("planter", r"planter|place|position|container|trough|where|location|platz|standort|gef(ä|ae)(ß|ss)"),
    ("cultivar", r"cultivar|variety|cultivar name|sorte"),
    ("cultivar", r"name|plant|item|article|product|description|artikel|bezeichnung|pflanze"),
    ("genus", r"genus|gattung"),
    ("species", r"species|art"),
    (
        "plants",
        r"plants|number( of plants)?|qty|quantity|count|pcs|pieces|amount|ordered|anzahl|menge|st(ü|ue)ck(zahl)?",
    ),
    ("exposure", r"exposure|sun|light|licht"),
    ("planted_on", r"planted( on)?|planting date|date|gepflanzt( am)?|pflanzdatum|datum"),
    ("planted_on", r"deliver(y|ed)( date| day| on)?|lieferung|geliefert( am)?|lieferdatum|liefertermin"),
    ("planter_kind", r"(planter )?kind|kind of planter"),
    ("bloom_colours", r"(bloom )?colou?rs?( of bloom)?"),
    ("foliage_colours", r"(foliage|leaf) colou?rs?"),
    ("card_code", r"card( code)?"),
    ("note", r"notes?|remarks?|comments?|bemerkung"),
)
_EXPOSURES = (
    ("full sun", r"full sun|sun|sunny|sonn(e|ig)"),
    ("part shade", r"part(ial)?(ly)?[ -](shade|sun)|half[ -](shade|sun)|semi[ -]shade|halbschatt(en|ig)"),
    ("shade", r"(full )?shade|shady|schatt(en|ig)"),
)
_NAME_IN_QUOTES = re.compile(r"(?P<before>[^'‘’\"“”]*)(?:'(.+)'|‘(.+)’|\"(.+)\"|“(.+)”)(?P<after>[^'‘’\"“”]*)")
_HYBRID = re.compile(r"[×xX]\s+(?=\S)")
_A_COUNT = re.compile(r"(\d{1,4})(?:[.,]0+)?\s*(?:[x×]|pcs?|pieces|plants?|st(?:k|(?:ü|ue)ck)?)?\.?", re.IGNORECASE)


def read_list(text: str, has_headings: bool | None = None) -> TextTable:
    """The text as cells; whether it begins with headings is told by their words where a person does not say."""
    rows = read_cells(text)
    if has_headings is None:
        has_headings = _looks_like_headings(rows[0][1])
    if not has_headings:
        return TextTable((), tuple(rows))
    if len(rows) < 2:
        raise InputRefused("The list has a heading but no planting below it.", "text")
    return TextTable(rows[0][1], tuple(rows[1:]))


def guess_columns(table: TextTable) -> dict[str, int | None]:
    """Which column holds what, by its heading; without headings in the order of ``COLUMNS``."""
    if not table.headings:
        return {name: at if at < table.width else None for at, name in enumerate(COLUMNS)}
    guess: dict[str, int | None] = dict.fromkeys(COLUMNS)
    names = [_plain(heading) for heading in table.headings]
    for column, pattern in _HEADINGS:
        if guess[column] is None:
            taken = set(guess.values())
            found = (at for at, name in enumerate(names) if at not in taken and re.fullmatch(pattern, name))
            guess[column] = next(found, None)
    return guess


def ignored_columns(table: TextTable, columns: Mapping[str, int | None]) -> list[str]:
    """The names of the columns that nothing is taken from."""
    used = set(columns.values())
    unused = [at for at in range(table.width) if at not in used]
    with_words = [at for at in unused if any(at < len(cells) and cells[at] for _, cells in table.rows)]
    return [heading_of(table, at) for at in with_words]


def heading_of(table: TextTable, at: int) -> str:
    return (table.headings[at] if at < len(table.headings) else "") or f"column {at + 1}"


def cells_of_row(cells: Sequence[str], columns: Mapping[str, int | None]) -> dict[str, str]:
    """What a row says, by the names of ``COLUMNS``; empty cells are left out."""
    found = {name: cells[at] for name, at in columns.items() if at is not None and at < len(cells)}
    return {name: words for name, words in found.items() if words}


def split_name(words: str) -> tuple[str | None, str | None, str, str]:
    """Genus, species, cultivar and what else stands there, of a name in one cell: "Petunia 'Plum Lamp' 12 cm".

    Without quotes the first word is taken for the genus. A genus that is not said is None.
    """
    if quoted := _NAME_IN_QUOTES.fullmatch(words.strip()):
        cultivar = next(found for found in quoted.groups()[1:5] if found)
        genus, species = _latin(quoted["before"])
        return genus, species, cultivar.strip(), quoted["after"].strip()
    hybrid = _HYBRID.match(words.strip())
    mark = "× " if hybrid else ""
    first, _, rest = words.strip()[hybrid.end() if hybrid else 0 :].partition(" ")
    if not rest or not first[:1].isupper():
        return None, None, words.strip(), ""
    return f"{mark}{first}", None, rest.strip(), ""


def without_quotes(words: str) -> str:
    return words.strip().strip("'‘’\"“”").strip()


def read_plants(words: str) -> int:
    """How many plants: a whole number, perhaps with x, pcs or the like behind it."""
    found = _A_COUNT.fullmatch(words.strip())
    if found is None:
        raise InputRefused(f"This must be a whole number of plants, not {shown(words)}.", "plants")
    return int(found[1])


def read_planted_on(words: str, order: str | None) -> str:
    """The day, ISO 8601."""
    try:
        return read_day(words, order).isoformat()
    except InputRefused as error:
        raise InputRefused(str(error), "planted_on") from None


def read_colours(words: str) -> list[str]:
    """The colour codes in one cell, each with its #; whether they are colours is checked where they are kept."""
    return [f"#{code}" for code in re.findall(r"[^\s,/|#]+", words)]


def read_exposure(words: str) -> str:
    """The exposure as it is kept, of everyday words for it; other words stay, to be refused where they are kept."""
    plain = _plain(words)
    return next((exposure for exposure, pattern in _EXPOSURES if re.fullmatch(pattern, plain)), words)


def kind_from_name(name: str) -> str:
    """The kind of planter that its name tells, else a trough."""
    lowered = name.lower()
    return next((kind for kind in PLANTER_KINDS if kind in lowered or kind.split()[-1] in lowered), "trough")


def next_number(name: str, taken: Sequence[str]) -> int:
    """The number behind the highest that a planter of this name has: planters are named "Trough 1", "Trough 2"."""
    numbers = [re.fullmatch(re.escape(name) + r" (\d{1,6})", words) for words in taken]
    return max((int(found[1]) for found in numbers if found), default=0) + 1


def _looks_like_headings(cells: Sequence[str]) -> bool:
    """Most of its words name columns, or some do and nothing in it is a number or a date."""
    named = [cell for cell in cells if any(re.fullmatch(pattern, _plain(cell)) for _, pattern in _HEADINGS)]
    values = [cell for cell in cells if re.search(r"\d", cell) or needs_an_order([cell])]
    return bool(named) and (2 * len(named) >= len(cells) or not values)


def _latin(before: str) -> tuple[str | None, str | None]:
    """Genus and species before a name in quotes; a hybrid mark goes with the genus."""
    hybrid = _HYBRID.match(before.strip())
    words = before.strip()[hybrid.end() if hybrid else 0 :].split()
    if not words:
        return None, None
    return ("× " if hybrid else "") + words[0], " ".join(words[1:]) or None


def _plain(heading: str) -> str:
    """ "Planted_on " as "planted on"."""
    return re.sub(r"[\s_.:]+", " ", heading.lower()).strip()
