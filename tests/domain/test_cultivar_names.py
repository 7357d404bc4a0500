import json
from pathlib import Path
from typing import Any

import pytest

from journal_server.domain.cultivar_names import cultivar_words, earlier_names, words_of_fields

CASES = json.loads((Path(__file__).parent / "earlier_names_cases.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_a_renamed_cultivar_keeps_its_earlier_names(case: dict[str, Any]) -> None:
    assert earlier_names(case["before"], case["before"] | case["edit"]) == case["earlier"]


def test_a_name_in_words_leaves_out_what_is_not_said() -> None:
    assert cultivar_words("Verbena", "Tall", "bonariensis") == "Verbena bonariensis ‘Tall’"
    assert cultivar_words("Verbena", "Tall") == "Verbena ‘Tall’"
    assert cultivar_words("", "Tall") == "‘Tall’"
    assert (
        words_of_fields({"genus": "Verbena", "species": "bonariensis", "name": "Tall"}) == "Verbena bonariensis ‘Tall’"
    )
    assert words_of_fields({"genus": "Verbena", "species": None, "name": None}) == "Verbena"
