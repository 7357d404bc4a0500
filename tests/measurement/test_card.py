"""The card: read rightly or not at all, checked with a second decoder, its corners found to a fraction of a pixel."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from measurement.made_card import photo_of_card
from PIL import Image, ImageFilter

from journal_server.measurement.benchmark.scenes import scenes_in
from journal_server.measurement.card import read_cards
from journal_server.measurement.photo_file import luminance, open_photo

SCENES = Path(__file__).parents[1] / "scenes"
UPRIGHT = np.array([[300.0, 250], [520, 255], [515, 412], [298, 405]])
ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
codes = st.text(ALPHABET, min_size=6, max_size=6).map("TAG-{}".format)


@settings(max_examples=25, deadline=None)
@given(codes, st.lists(st.floats(-12, 12), min_size=8, max_size=8))
def test_corners_are_found_from_any_side(code: str, shifts: list[float]) -> None:
    corners = UPRIGHT + np.array(shifts).reshape(4, 2)
    reading = read_cards(np.asarray(photo_of_card(code, corners)))
    assert [card.code for card in reading.cards] == [code]
    assert np.linalg.norm(reading.cards[0].corners - corners, axis=1).max() < 1.0


@settings(max_examples=15, deadline=None)
@given(codes)
def test_a_second_decoder_reads_the_same(code: str) -> None:
    # The other decoder misses one code in some hundreds at any one size.
    pictures = [np.asarray(photo_of_card(code, UPRIGHT * size)) for size in (1.0, 1.2, 1.35)]
    texts = {cv2.QRCodeDetector().detectAndDecode(picture)[0] for picture in pictures}
    assert texts - {""} == {code}
    assert read_cards(pictures[1]).cards[0].code == code


def test_every_card_of_the_scenes_is_read_rightly_or_not_at_all() -> None:
    read, readable = 0, 0
    for scene in scenes_in(SCENES):
        tag = scene.truth["tag"]
        grey = luminance(open_photo(scene.photo))
        cards = read_cards(grey).cards
        assert all(tag and card.code == tag["payload"] for card in cards), scene.name
        second, _, _ = cv2.QRCodeDetector().detectAndDecode(np.ascontiguousarray(grey))
        if second and cards:
            assert second == cards[0].code, scene.name
        if tag and tag["decodes"]:
            readable += 1
            read += bool(cards)
            off = np.linalg.norm(cards[0].corners - np.array(tag["corners_px"]), axis=1)
            assert off.max() < 0.02 * np.ptp(cards[0].corners, axis=0).max() + 2, scene.name
    assert read == readable >= 25


def test_leaves_over_a_corner_do_not_pull_the_pose() -> None:
    picture = np.array(photo_of_card("TAG-7K3Q9M", UPRIGHT * 1.2))
    picture[500:, :460] = 40
    reading = read_cards(picture)
    assert reading.cards[0].code == "TAG-7K3Q9M"
    assert np.linalg.norm(reading.cards[0].corners - UPRIGHT * 1.2, axis=1).max() < 1.0


def test_several_cards_are_all_named_the_largest_first() -> None:
    near = np.asarray(photo_of_card("TAG-AAAAAA", UPRIGHT * 1.2))
    far = np.asarray(photo_of_card("TAG-BBBBBB", UPRIGHT * 0.5 + [20, 20]))
    picture = np.where(near == 96, far, near)
    assert [card.code for card in read_cards(picture).cards] == ["TAG-AAAAAA", "TAG-BBBBBB"]


def test_other_codes_are_listed_but_are_no_cards() -> None:
    picture = np.asarray(photo_of_card("TAG-7K3Q9I", UPRIGHT))  # I is not a Crockford character
    reading = read_cards(picture)
    assert reading.cards == ()
    assert reading.other_codes == ("TAG-7K3Q9I",)


def test_a_blurred_card_is_read_enlarged_or_not_at_all() -> None:
    for radius in np.linspace(0, 6, 13):
        picture = photo_of_card("TAG-7K3Q9M", UPRIGHT * 0.7).filter(ImageFilter.GaussianBlur(float(radius)))
        assert all(card.code == "TAG-7K3Q9M" for card in read_cards(np.asarray(picture)).cards)


def test_noise_is_no_card() -> None:
    random = np.random.default_rng(9)
    for _ in range(20):
        blocks = random.integers(0, 2, (60, 80)).astype(np.uint8) * 255
        picture = np.asarray(Image.fromarray(blocks).resize((640, 480), Image.Resampling.NEAREST))
        assert read_cards(picture).cards == ()
