from hypothesis import given
from hypothesis import strategies as st

from journal_server.domain.cards import CROCKFORD, is_card_code, new_card_code, normal_card_code


def test_the_alphabet_is_crockfords() -> None:
    # Crockford's base 32 (crockford.com/base32.html, from memory): digits and capitals without I, L, O and U.
    assert len(CROCKFORD) == len(set(CROCKFORD)) == 32
    assert not set("ILOU") & set(CROCKFORD)


def test_typed_codes_are_read_as_printed() -> None:
    assert normal_card_code(" tag-7k3q9m ") == "TAG-7K3Q9M"
    assert normal_card_code("7k3q9m") == "TAG-7K3Q9M"
    assert normal_card_code("TAG 7KO L9I") == "TAG-7K0191"


def test_a_new_code_is_never_one_that_is_taken() -> None:
    draws = iter("7K3Q9M" + "7K3Q9N")
    assert new_card_code({"TAG-7K3Q9M"}, lambda _: next(draws)) == "TAG-7K3Q9N"


@given(st.text(max_size=12))
def test_only_well_formed_codes_are_codes(text: str) -> None:
    well_formed = len(text) == 10 and text.startswith("TAG-") and all(c in CROCKFORD for c in text[4:])
    assert is_card_code(text) == well_formed
