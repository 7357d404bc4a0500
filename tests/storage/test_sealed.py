"""The sealed file: what is not exactly as it was sealed is refused, at whatever place it was touched."""

import io
import random
import tracemalloc
from functools import lru_cache
from pathlib import Path

import pytest

from journal_server.errors import InputRefused, JournalDamaged
from journal_server.storage import sealed
from journal_server.storage.sealed import HEADER, PIECE, TAG, SealedReader, SealedWriter, derive_key, is_sealed

PASSPHRASE = "seven plain troughs"


@pytest.fixture(autouse=True)
def one_key(monkeypatch: pytest.MonkeyPatch) -> None:
    """The slow hash once only: here the pieces are tried, thousands of times."""
    monkeypatch.setattr(sealed, "derive_key", lru_cache(derive_key))


def seal(content: bytes, step: int = 50_000) -> bytes:
    out = io.BytesIO()
    writer = SealedWriter(out, PASSPHRASE)
    for at in range(0, len(content), step):
        writer.write(content[at : at + step])
    writer.finish()
    return out.getvalue()


def unseal(content: bytes, passphrase: str = PASSPHRASE) -> bytes:
    return io.BufferedReader(SealedReader(io.BytesIO(content), passphrase), PIECE).read()  # type: ignore[type-var]


@pytest.mark.parametrize("size", [0, 1, PIECE - 1, PIECE, PIECE + 1, 3 * PIECE, 3 * PIECE + 5])
def test_what_comes_out_is_what_went_in(size: int) -> None:
    content = random.Random(size).randbytes(size)
    made = seal(content)
    assert unseal(made) == content
    assert len(made) == HEADER + size + TAG * max(1, -(-size // PIECE))
    assert content[:40] not in made or size < 8


def test_it_is_read_at_any_place() -> None:
    content = random.Random(1).randbytes(2 * PIECE + 100)
    reader = SealedReader(io.BytesIO(seal(content)), PASSPHRASE)
    for at in (0, PIECE - 3, 2 * PIECE + 99, 5, 2 * PIECE):
        reader.seek(at)
        target = bytearray(10)
        count = reader.readinto(target)
        assert target[:count] == content[at : at + count]
        assert count > 0


def test_cut_off_anywhere_it_is_refused() -> None:
    made = seal(random.Random(2).randbytes(PIECE + 300))
    places = {*range(0, HEADER + 40), *range(HEADER + PIECE, HEADER + PIECE + 2 * TAG + 40), *range(0, len(made), 997)}
    for keep in sorted(places - {len(made)}):
        with pytest.raises(JournalDamaged, match="cut off"):
            unseal(made[:keep])


def test_any_flipped_bit_is_noticed() -> None:
    made = seal(random.Random(3).randbytes(2 * PIECE + 50))
    chance = random.Random(4)
    for _ in range(200):
        changed = bytearray(made)
        changed[chance.randrange(len(made))] ^= 1 << chance.randrange(8)
        with pytest.raises((JournalDamaged, InputRefused)):
            unseal(bytes(changed))


def test_pieces_that_changed_places_or_are_left_out_are_noticed() -> None:
    made = seal(random.Random(5).randbytes(3 * PIECE + 50))
    head, step = made[:HEADER], PIECE + TAG
    pieces = [made[at : at + step] for at in range(HEADER, len(made), step)]
    for other in ([pieces[1], pieces[0], *pieces[2:]], pieces[:-1], [pieces[0], *pieces[2:]], [*pieces, pieces[-1]]):
        with pytest.raises(JournalDamaged):
            unseal(head + b"".join(other))


def test_two_files_of_one_passphrase_share_nothing() -> None:
    first, second = seal(b"the same"), seal(b"the same")
    assert first[8:] != second[8:]
    with pytest.raises((JournalDamaged, InputRefused)):
        unseal(first[:HEADER] + second[HEADER:])


def test_a_wrong_passphrase_is_told_from_damage(tmp_path: Path) -> None:
    made = seal(b"content")
    with pytest.raises(InputRefused, match="not that of this archive"):
        unseal(made, "seven other troughs")
    with pytest.raises(InputRefused, match="at least 8"):
        unseal(made, "short")
    (tmp_path / "made").write_bytes(made)
    assert is_sealed(tmp_path / "made")


def test_an_umlaut_is_one_passphrase_however_it_is_typed() -> None:
    """Systems differ: one letter, or a letter and a mark (Unicode forms NFC and NFD)."""
    assert derive_key("Blütenmeer", b"s" * 16) == derive_key("Blu\u0308tenmeer", b"s" * 16)


def test_sealing_and_reading_hold_a_few_pieces_in_memory(tmp_path: Path) -> None:
    with (tmp_path / "large").open("wb") as out:
        writer = SealedWriter(out, PASSPHRASE)
        tracemalloc.start()
        for _ in range(64):
            writer.write(bytes(1_000_000))
        writer.finish()
        written = tracemalloc.get_traced_memory()[1]
    with (tmp_path / "large").open("rb") as file:
        reader = io.BufferedReader(SealedReader(file, PASSPHRASE), PIECE)  # type: ignore[type-var]
        tracemalloc.reset_peak()
        total = 0
        while piece := reader.read(100_000):
            total += len(piece)
        read = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert total == 64_000_000
    assert max(written, read) < 8_000_000
