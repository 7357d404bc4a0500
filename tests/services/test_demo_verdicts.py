import json

from made_season import measured_season

from journal_server.packaged import packaged_folder
from journal_server.services.apply_changes import apply_changes
from journal_server.services.demo import set_up_demo, write_demo_verdicts
from journal_server.services.journal import Journal
from journal_server.services.verdicts import verdicts_of_trial
from journal_server.storage.records import Record, load_records

SAMPLE = packaged_folder("sample_photos")
SEASON = json.loads((SAMPLE / "season.json").read_text(encoding="utf-8"))
DAYS = {"2026-06-04": (0.2, 0.05), "2026-06-17": (0.5, 0.46), "2026-07-01": (0.7, 0.4), "2026-08-22": (0.7, 0.2)}


def written(journal: Journal) -> dict[str, Record]:
    with journal.database.reading() as session:
        names = {cultivar.id: cultivar.fields["name"] for cultivar in load_records(session, "cultivar")}
        return {names[one.fields["cultivar_id"]]: one for one in load_records(session, "verdict")}


def set_up(journal: Journal) -> None:
    set_up_demo(journal, SAMPLE, SEASON)
    with journal.database.reading() as session:
        (planting,) = (p for p in load_records(session, "planting") if p.fields["card_code"] == "TAG-VT8T7X")
    measured_season(journal, planting.id, DAYS)
    write_demo_verdicts(journal, SAMPLE)


def test_the_sample_verdicts_quote_what_was_measured_and_claim_no_more(journal: Journal) -> None:
    set_up(journal)
    found = written(journal)
    assert set(found) == {"Tin Whistle", "Quarry Lamp", "Tidewrack"}
    fields = found["Tin Whistle"].fields
    assert "Bloom cover peaked at 46 % (" in fields["text"]
    assert len(fields["quoted"]) > 2
    lost = [one for one in fields["quoted"] if f"{one['before'] or ''} {one['shown']}" not in fields["text"]]
    assert lost == [], fields["text"]
    of_trial = verdicts_of_trial(journal, fields["trial_id"])["verdicts"]
    assert {one["state"] for one in of_trial if one["id"] == found["Tin Whistle"].id} == {"written"}
    assert not any(one["changed"] for one in of_trial)
    unmeasured = found["Tidewrack"].fields
    assert "full" not in unmeasured["text"], "no photo of it was measured here"


def test_what_was_done_with_the_sample_verdicts_stays(journal: Journal) -> None:
    set_up(journal)
    found = written(journal)
    changed, deleted = found["Tin Whistle"], found["Tidewrack"]
    edits = [
        {"kind": "verdict", "id": changed.id, "fields": {"one_line": "Mine."}},
        {"kind": "verdict", "id": deleted.id, "delete": True},
    ]
    apply_changes(journal, edits)
    write_demo_verdicts(journal, SAMPLE)
    after = written(journal)
    assert set(after) == {"Tin Whistle", "Quarry Lamp"}
    assert after["Tin Whistle"].fields["one_line"] == "Mine."
