import json

from feed_as_read import load_changes

from journal_server.packaged import packaged_folder
from journal_server.services.demo import set_up_demo
from journal_server.services.journal import Journal
from journal_server.storage.records import load_records

SAMPLE = packaged_folder("sample_photos")
SEASON = json.loads((SAMPLE / "season.json").read_text(encoding="utf-8"))


def test_the_sample_walks_are_noted_once_however_often_they_are_set_up(journal: Journal) -> None:
    set_up_demo(journal, SAMPLE, SEASON)
    with journal.database.reading() as session:
        before = load_changes(session, 0, 10_000)
        walks = {r.fields["walked_on"]: r.id for r in load_records(session, "walk")}
        visits = load_records(session, "visit")
    photo_days = {path.stem.split("_")[1] for path in SAMPLE.glob("*.jpg")}
    assert set(walks) == photo_days
    assert len(visits) == len(walks) * len(SEASON["plantings"])
    assert {v.fields["walk_id"] for v in visits} == set(walks.values())
    set_up_demo(journal, SAMPLE, SEASON)
    with journal.database.reading() as session:
        assert load_changes(session, 0, 10_000) == before


def test_what_was_noted_tells_the_story_of_the_photos(journal: Journal) -> None:
    set_up_demo(journal, SAMPLE, SEASON)
    with journal.database.reading() as session:
        cards = {r.id: r.fields["card_code"] for r in load_records(session, "planting")}
        findings = [r.fields for r in load_records(session, "finding")]
        ratings = [r.fields for r in load_records(session, "rating")]
    codes = {planting["card_code"]: planting["code"] for planting in SEASON["plantings"]}
    found = {(codes[str(cards[f["planting_id"]])], f["found_on"], f["what"], f["plant"]) for f in findings}
    assert ("P2", "2026-06-17", "one plant lagging", 3) in found
    assert ("P1", "2026-07-14", "caterpillar damage", None) in found
    assert ("P4", "2026-07-27", "wilted", None) in found
    flower = {r["rated_on"]: r["flower"] for r in ratings if codes[str(cards[r["planting_id"]])] == "P1"}
    assert flower["2026-07-14"] < flower["2026-08-22"] < flower["2026-07-01"]
    assert {r["flower"] for r in ratings if codes[str(cards[r["planting_id"]])] == "P7"} == {None}, (
        "grown for its leaves"
    )
