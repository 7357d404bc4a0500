"""Comparing over the API: two dates of a planting, cultivars, places, years, tries."""

from __future__ import annotations

import io
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from conftest import SetUp
from flask.testing import FlaskClient
from made_photos import jpeg
from made_season import keep_numbers, measured_season, numbers
from PIL import Image

from journal_server.domain.derived_ids import derived_id
from journal_server.services.apply_changes import apply_changes
from journal_server.services.journal import Journal
from journal_server.services.take_in_photo import take_in_photo
from journal_server.storage.records import load_record, load_records

CARD = "TAG-7K3Q9M"


def grown(planted_on: str, half_day: float, top: float, bloom: float) -> dict[str, tuple[float, float]]:
    """Fourteen weeks on a logistic curve, with bloom cover rising alongside."""
    start = date.fromisoformat(planted_on)
    days = {}
    for day in range(7, 99, 7):
        share = 1 / (1 + np.exp(-0.15 * (day - half_day)))
        days[(start + timedelta(days=day)).isoformat()] = (float(top * share), float(bloom * share))
    return days


def answer(client: FlaskClient, path: str, status: int = 200, **query: Any) -> Any:
    response = client.get(f"/api/{path}", query_string=query)
    assert response.status_code == status, response.get_data(as_text=True)
    return response.get_json()


@pytest.fixture
def two_photos(journal: Journal, set_up: SetUp) -> list[str]:
    """Two photos of one planting, each with its card, the second of the same place a little brighter."""
    planting_id = set_up.planting(CARD)
    ids = []
    for day, (fill, bloom), lab in (("06:04", (0.30, 0.10), [40, 60, -20]), ("07:14", (0.80, 0.11), [62, 40, -22])):
        content = jpeg(f"2026:{day} 10:00:00", seed=3, codes=(CARD,), size=(640 + len(ids), 480))
        photo = take_in_photo(journal, content, f"{day}.jpg").photo
        assert photo.fields["planting_id"] == planting_id
        colour = {"lab": lab, "hex": "#b01a7a", "spread_de00": 3.0, "error_de00": 3.0}
        keep_numbers(journal, photo.id, planting_id, numbers(fill, bloom, bloom_colour=colour))
        ids.append(photo.id)
    return ids


def test_what_changed_between_two_dates(client: FlaskClient, two_photos: list[str]) -> None:
    found = answer(client, "compare/dates", first=two_photos[0], second=two_photos[1])
    rows = {row["name"]: row for row in found["rows"]}
    assert list(rows) == ["canopy_fill", "bloom_cover", "spent_share", "dl", "dc", "dh", "de00"]
    fill = rows["canopy_fill"]
    assert (fill["change_words"], fill["interval"]) == ("+50 points", "+47 to +53")
    assert fill["verdict"] == "more than measuring error"
    assert rows["bloom_cover"]["verdict"] == "within measuring error"
    assert rows["dl"]["change_words"] == "+22.0"
    assert rows["de00"]["verdict"] == "more than measuring error"
    assert found["colour_doubt"] is None
    quoted = fill["quote"]["text"]
    assert quoted.startswith("Change of canopy fill, 30 % (28–32) then 80 % (78–82): +50 points (90 % interval +47 to")
    assert "points) from 4 June 2026 to 14 July 2026, Petunia ‘Made Up 1’ in Trough 1, photos 06" in quoted
    assert quoted.endswith("more than measuring error")
    assert found["first"]["bloom_quote"]["text"].startswith("Bloom colour: #b01a7a, CIELAB (D65) L* 40")
    assert "\t+50 points\t+47 to +53\tmore than measuring error\n" in found["copies"]["text"]


def test_a_photo_not_yet_measured_gives_reasons(client: FlaskClient, journal: Journal, set_up: SetUp) -> None:
    set_up.planting(CARD)
    ids = [
        take_in_photo(journal, jpeg(f"2026:06:{day} 10:00:00", seed=day, codes=(CARD,)), f"{day}.jpg").photo.id
        for day in (10, 20)
    ]
    found = answer(client, "compare/dates", first=ids[0], second=ids[1])
    assert all(row["change"] is None and row["verdict"] is None and row["reason"] for row in found["rows"])


def test_a_framed_photo_and_a_whole_one_are_not_compared(
    client: FlaskClient, journal: Journal, set_up: SetUp, two_photos: list[str]
) -> None:
    with journal.database.reading() as session:
        photo = load_record(session, two_photos[1])
    assert photo is not None
    keep_numbers(journal, photo.id, photo.fields["planting_id"], numbers(0.3, 0.1), framed=False)
    found = answer(client, "compare/dates", first=two_photos[0], second=two_photos[1])
    shares = found["rows"][:3]
    assert all(row["change"] is None and row["first"] is None for row in shares)
    assert all("in the planting's frame and one as a whole" in row["reason"] for row in shares)


def test_of_a_cultivar_grown_for_its_leaves_only_the_fill_is_compared(
    client: FlaskClient, set_up: SetUp, journal: Journal, two_photos: list[str]
) -> None:
    with journal.database.reading() as session:
        planting = load_records(session, "planting")[0]
    assert not set_up.edit("cultivar", planting.fields["cultivar_id"], foliage_only=True).errors
    rows = answer(client, "compare/dates", first=two_photos[0], second=two_photos[1])["rows"]
    assert rows[0]["change_words"] == "+50 points"
    assert {(row["reason"], row["change"]) for row in rows[1:]} == {("grown for its leaves", None)}


def test_one_photo_is_laid_on_the_other(client: FlaskClient, two_photos: list[str]) -> None:
    query = {"first": two_photos[0], "second": two_photos[1]}
    found = answer(client, "compare/registration", **query)
    assert found["how"] in ("features", "card")
    assert np.array(found["matrix"]) == pytest.approx(np.eye(3), abs=0.05) or found["matches"] >= 4
    assert "Laid over each other" in found["words"]
    assert answer(client, "compare/registration", **query) == found, "kept, not found anew"
    response = client.get("/api/compare/registered", query_string=query)
    assert response.mimetype == "image/webp"
    with Image.open(io.BytesIO(response.data)) as picture:
        assert picture.size == (640, 480)
        assert not picture.getexif()
        assert not {"exif", "xmp", "icc_profile"} & set(picture.info)
    assert client.get("/api/compare/registered", query_string=query).data == response.data


def test_what_cannot_be_laid_over_is_said(client: FlaskClient, journal: Journal, set_up: SetUp) -> None:
    planting_id = set_up.planting()
    ids = []
    for seed in (1, 2):
        photo = take_in_photo(journal, jpeg(f"2026:06:1{seed} 10:00:00", seed=seed), f"{seed}.jpg").photo
        assert not set_up.edit("photo", photo.id, planting_id=planting_id).errors
        ids.append(photo.id)
    found = answer(client, "compare/registration", first=ids[0], second=ids[1])
    assert (found["how"], found["matrix"]) == ("failed", None)
    assert "side by side" in found["words"]
    refused = answer(client, "compare/registered", 404, first=ids[0], second=ids[1])
    assert refused["error"]["message"] == found["words"]


def test_pairs_that_are_none_are_refused(client: FlaskClient, journal: Journal, two_photos: list[str]) -> None:
    stranger = take_in_photo(journal, jpeg("2026:06:12 10:00:00", seed=9), "stranger.jpg").photo.id
    for query, status, field in (
        ({}, 422, "first"),
        ({"first": two_photos[0]}, 422, "second"),
        ({"first": two_photos[0], "second": two_photos[0]}, 422, "second"),
        ({"first": two_photos[0], "second": stranger}, 422, "second"),
        ({"first": two_photos[0], "second": "nothing"}, 404, None),
        ({"first": two_photos[0], "second": "0" * 8 + two_photos[0][8:]}, 404, None),
    ):
        for path in ("compare/dates", "compare/registration", "compare/registered"):
            assert answer(client, path, status, **query)["error"]["field"] == field


@pytest.fixture
def cultivars(journal: Journal, set_up: SetUp) -> dict[str, str]:
    """Three cultivars of a genus: one clearly ahead, two alike of which one is the standard; ids by name."""
    ids = {}
    for name, standard, bloom, half_day in (
        ("Ahead", False, 0.6, 20),
        ("Known", True, 0.3, 24),
        ("Like", False, 0.31, 41),
    ):
        ids[name] = set_up.make("cultivar", genus="Petunia", name=name, standard=standard)
        planting_id = set_up.planting(cultivar_id=ids[name], plants=5)
        ids[f"planting of {name}"] = planting_id
        measured_season(journal, planting_id, grown("2026-05-16", half_day, 0.9, bloom))
    return ids


def test_cultivars_are_ranked_with_ties_and_against_the_standard(
    client: FlaskClient, set_up: SetUp, cultivars: dict[str, str]
) -> None:
    query = {"by": "cultivar", "trial": set_up.trial_id, "of": "bloom_cover", "week": 13}
    found = answer(client, "compare/plantings", **query)
    assert [(p["key"], p["rank"]) for p in found["ranks"]] == [
        (cultivars["Ahead"], "1"), (cultivars["Like"], "2–3"), (cultivars["Known"], "2–3"),
    ]  # fmt: skip
    assert found["standard"] == cultivars["Known"]
    assert found["title"] == "Bloom cover 13 weeks after planting"
    assert "One planter each: a difference may be the place." in found["sentences"]
    groups = {group["key"]: group for group in found["groups"]}
    assert groups[cultivars["Ahead"]]["against_standard"].startswith("+30 points")
    assert groups[cultivars["Like"]]["tied_words"] == "Petunia ‘Known’"
    slow = groups[cultivars["Like"]]["growth"]
    assert slow == ["Slow to start: 41 days to half fill against 22 (the median of 2 other plantings of Petunia)."]


def test_gaps_stay_gaps_and_nothing_is_read_beyond(
    client: FlaskClient, set_up: SetUp, cultivars: dict[str, str]
) -> None:
    beyond = answer(client, "compare/plantings", by="cultivar", trial=set_up.trial_id, of="canopy_fill", week=30)
    assert beyond["ranks"] == []
    assert {one["reason"] for one in beyond["unknown"]} == {"not measured after 22 August"}
    on = answer(client, "compare/plantings", by="cultivar", trial=set_up.trial_id, of="canopy_fill", on="2026-05-20")
    assert {one["reason"] for one in on["unknown"]} == {"not measured before 23 May"}


def test_figures_and_the_tables_behind_them(client: FlaskClient, set_up: SetUp, cultivars: dict[str, str]) -> None:
    query = {"by": "cultivar", "trial": set_up.trial_id, "of": "days_to_50", "width": 390}
    for name in ("ranking", "curves"):
        svg = client.get(f"/api/compare/{name}.svg", query_string=query)
        assert svg.mimetype == "image/svg+xml"
        assert "Known" in svg.get_data(as_text=True)
    ranking = answer(client, "compare/ranking", **query)
    assert ranking["headers"] == [
        "rank", "compared", "days to half of its full size", "planters", "tied with", "against the standard",
    ]  # fmt: skip
    assert [row[1] for row in ranking["rows"]] == ["Petunia ‘Ahead’", "Petunia ‘Known’", "Petunia ‘Like’"]
    assert ranking["rows"][2][5].startswith("+17 days")
    curves = answer(client, "compare/curves", **query)
    assert len(curves["rows"]) == 3 * 14
    assert curves["headers"][-1] == "canopy fill"


def test_all_of_a_comparison_comes_in_one_answer(client: FlaskClient, set_up: SetUp, cultivars: dict[str, str]) -> None:
    query = {"by": "cultivar", "trial": set_up.trial_id, "of": "bloom_cover", "week": 13}
    found = answer(client, "compare/side-by-side", width=358, **query)
    assert found["comparison"] == answer(client, "compare/plantings", **query)
    for name in ("ranking", "curves"):
        assert found[name]["table"] == answer(client, f"compare/{name}", **query)
        drawn = client.get(f"/api/compare/{name}.svg", query_string=query | {"width": 358})
        assert found[name]["svg"] == drawn.get_data(as_text=True)
    assert set(found["drawn"]) == {cultivars[name] for name in ("Ahead", "Known", "Like")}


def test_a_person_chooses_whose_curves_are_drawn(client: FlaskClient, set_up: SetUp, journal: Journal) -> None:
    ids = []
    for at in range(10):
        ids.append(set_up.make("cultivar", genus="Petunia", name=f"Number {at}", standard=at == 0))
        planting_id = set_up.planting(cultivar_id=ids[-1])
        measured_season(journal, planting_id, grown("2026-05-16", 24, 0.9, 0.05 + 0.05 * at))
    query = {"by": "cultivar", "trial": set_up.trial_id, "of": "bloom_cover", "week": 13}
    first = answer(client, "compare/side-by-side", **query)
    assert set(first["drawn"]) == {ids[0], *ids[3:]}, "the standard and the seven highest"
    chosen = answer(client, "compare/side-by-side", draw=[ids[1], ids[2]], **query)
    assert chosen["drawn"] == [ids[1], ids[2]]
    assert {row[0] for row in chosen["curves"]["table"]["rows"]} == {"Petunia ‘Number 1’", "Petunia ‘Number 2’"}
    assert len(chosen["comparison"]["ranks"]) == 10, "the ranking goes on naming all"
    assert "Number 5" not in chosen["curves"]["svg"]
    refused = answer(client, "compare/side-by-side", 422, draw=ids[:9], **query)["error"]
    assert (refused["field"], refused["message"]) == ("draw", "At most 8 curves can be told apart; choose fewer.")
    gone = answer(client, "compare/side-by-side", draw=["never planted"], **query)
    assert gone["drawn"] == first["drawn"]


def test_every_week_that_is_offered_is_answered_for_what_stands_for_years(
    client: FlaskClient, set_up: SetUp, journal: Journal
) -> None:
    for name in ("Plum", "Tin Bell"):
        cultivar_id = set_up.make("cultivar", genus="Petunia", name=name)
        planting_id = set_up.planting(cultivar_id=cultivar_id, planted_on="2023-05-16")
        measured_season(journal, planting_id, grown("2026-05-16", 24, 0.9, 0.4))
    query = {"by": "cultivar", "trial": set_up.trial_id, "of": "canopy_fill"}
    last = answer(client, "compare/side-by-side", week=0, **query)["comparison"]["weeks"][1]
    assert last > 156
    found = answer(client, "compare/side-by-side", week=last, **query)
    assert found["comparison"]["weeks"][1] == last


def test_survival_and_off_type_flowers_are_counted(
    client: FlaskClient, set_up: SetUp, cultivars: dict[str, str]
) -> None:
    planting_id = cultivars["planting of Like"]
    set_up.make("plant_count", planting_id=planting_id, counted_on="2026-06-10", plants=4, reason="died")
    walk_id = derived_id("walk", set_up.trial_id, "2026-06-10")
    visit_id = derived_id("visit", walk_id, planting_id)
    both = {"trial_id": set_up.trial_id}
    visit = {"walk_id": walk_id, "planting_id": planting_id, "visited_on": "2026-06-10"}
    results = apply_changes(
        set_up.journal,
        [
            {"kind": "walk", "id": walk_id, "fields": both | {"walked_on": "2026-06-10"}},
            {"kind": "visit", "id": visit_id, "fields": both | visit},
        ],
    )
    assert not [error for result in results for error in result.errors]
    for what in ("off-type flower", "off-type flower", "dry"):
        fields = {"visit_id": visit_id, "planting_id": planting_id, "found_on": "2026-06-10", "what": what}
        set_up.make("finding", **fields)
    found = answer(client, "compare/plantings", by="cultivar", trial=set_up.trial_id, of="peak")
    groups = {group["key"]: group for group in found["groups"]}
    assert groups[cultivars["Like"]]["survival_words"] == "4 of 5 plants living, 80 % (44–95)"
    assert groups[cultivars["Like"]]["off_type_flowers"] == 2
    assert groups[cultivars["Known"]]["survival_words"] == "5 planted, none counted as lost"


def test_one_cultivar_in_places_years_and_tries(client: FlaskClient, journal: Journal, set_up: SetUp) -> None:
    cultivar_id = set_up.make("cultivar", genus="Bidens", name="Everywhere")
    other_year = set_up.make("trial", title="Terrace", year=2025)
    places = {
        "bed": {"planter_kind": "bed", "exposure": "full sun"},
        "pot": {"planter_kind": "pot", "exposure": "full sun", "afternoon_shade": True},
    }
    for at, (name, fields) in enumerate(places.items()):
        planter_id = set_up.make("planter", trial_id=set_up.trial_id, name=name, **fields)
        planting_id = set_up.planting(cultivar_id=cultivar_id, planter_id=planter_id)
        measured_season(journal, planting_id, grown("2026-05-16", 24, 0.5 + 0.3 * at, 0.3))
    planter_id = set_up.make("planter", trial_id=other_year, name="Old pot", planter_kind="pot", exposure="shade")
    early = set_up.make(
        "planting", trial_id=other_year, planter_id=planter_id, cultivar_id=cultivar_id,
        planted_on="2025-05-16", removed_on="2025-06-20",
    )  # fmt: skip
    measured_season(journal, early, {"2025-06-01": (0.2, 0.0), "2025-06-15": (0.25, 0.0)})

    ways = answer(client, "compare/choices")["ways"]
    assert set(ways) == {"ground", "light", "year", "try"}
    assert all([one["name"] for one in found] == ["Bidens ‘Everywhere’"] for found in ways.values())
    expected = {
        "ground": {"in the ground", "in a container"},
        "light": {"in full sun", "in afternoon shade", "in shade"},
        "year": {"2025", "2026"},
        "try": {
            "try 1: Old pot, planted 16 May 2025, removed 20 June 2025",
            "try 2: bed, planted 16 May 2026",
            "try 3: pot, planted 16 May 2026",
        },
    }
    for way, labels in expected.items():
        found = answer(client, "compare/plantings", by=way, cultivar=cultivar_id, of="canopy_fill", week=3)
        assert {group["label"] for group in found["groups"]} == labels
    ground = answer(client, "compare/plantings", by="ground", cultivar=cultivar_id, of="canopy_fill", week=13)
    assert [place["key"] for place in ground["ranks"]] == ["container", "ground"]
    year = answer(client, "compare/plantings", by="year", cultivar=cultivar_id, of="canopy_fill", week=3)
    assert {place["key"]: place["plantings"] for place in year["ranks"]} == {"2026": 2, "2025": 1}
    assert year["sentences"][-2:] == [
        "Where a group is one planter, a difference may be the place.",
        "They did not grow in the same years: a difference may be the weather.",
    ]
    assert "weather" not in " ".join(ground["sentences"]), "both stood in 2026"


def test_a_try_follows_a_failure_and_what_stood_beside_it_is_none(client: FlaskClient, set_up: SetUp) -> None:
    cultivar_id = set_up.make("cultivar", genus="Bidens", name="Again")
    for name, fields in {
        "gave up": {"planted_on": "2026-05-16", "removed_on": "2026-06-10"},
        "beside it": {"planted_on": "2026-05-16"},
        "later": {"planted_on": "2026-06-12"},
    }.items():
        planter_id = set_up.make("planter", trial_id=set_up.trial_id, name=name, planter_kind="pot")
        set_up.planting(cultivar_id=cultivar_id, planter_id=planter_id, **fields)
    (found,) = answer(client, "compare/choices")["ways"]["try"]
    assert found["groups"] == [
        "try 1: gave up, planted 16 May 2026, removed 10 June 2026", "try 2: later, planted 12 June 2026",
    ]  # fmt: skip


def test_a_mean_says_how_many_planters_it_is_of(client: FlaskClient, set_up: SetUp, cultivars: dict[str, str]) -> None:
    set_up.planting(cultivar_id=cultivars["Ahead"])
    query = {"by": "cultivar", "trial": set_up.trial_id, "of": "bloom_cover", "week": 13}
    groups = {group["key"]: group for group in answer(client, "compare/plantings", **query)["groups"]}
    assert len(groups[cultivars["Ahead"]]["plantings"]) == 2
    assert groups[cultivars["Ahead"]]["measured"] == 1


def test_growth_of_several_plantings_says_which(
    client: FlaskClient, set_up: SetUp, journal: Journal, cultivars: dict[str, str]
) -> None:
    planter_id = set_up.make("planter", trial_id=set_up.trial_id, name="Second pot", planter_kind="pot")
    second = set_up.planting(cultivar_id=cultivars["Like"], planter_id=planter_id)
    measured_season(journal, second, grown("2026-05-16", 55, 0.9, 0.3))
    query = {"by": "cultivar", "trial": set_up.trial_id, "of": "bloom_cover", "week": 13}
    groups = {group["key"]: group for group in answer(client, "compare/plantings", **query)["groups"]}
    assert any(words.startswith("Second pot, slow to start: ") for words in groups[cultivars["Like"]]["growth"])


def test_growth_beside_the_genus(client: FlaskClient, cultivars: dict[str, str]) -> None:
    found = answer(client, f"plantings/{cultivars['planting of Ahead']}/summary")["growth"]
    assert found["sentences"] == [
        "Quick to start: 20 days to half fill against 32 (the median of 2 other plantings of Petunia)."
    ]


@pytest.mark.parametrize(
    ("query", "status", "field"),
    [
        ({"by": "colour"}, 422, "by"),
        ({"by": "cultivar"}, 422, "trial"),
        ({"by": "year"}, 422, "cultivar"),
        ({"by": "cultivar", "trial": "none", "of": "price"}, 422, "of"),
        ({"by": "cultivar", "trial": "none", "week": "x"}, 422, "week"),
        ({"by": "cultivar", "trial": "none", "on": "soon"}, 422, "on"),
        ({"by": "cultivar", "trial": "none"}, 404, None),
    ],
)
def test_what_cannot_be_compared_is_refused(
    client: FlaskClient, query: dict[str, str], status: int, field: str | None
) -> None:
    assert answer(client, "compare/plantings", status, **query)["error"]["field"] == field
