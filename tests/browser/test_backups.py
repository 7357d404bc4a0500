"""Backups on the screen: set up, made, failed and seen on Today, made good again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from browser.serving import Served
from playwright.sync_api import Page, expect

from journal_server.services.backup import restore_backup
from journal_server.services.backup.folder import kept_in


def test_a_folder_is_set_up_and_the_first_backup_made(
    empty: Served, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    folder = tmp_path / "disk" / "journal"
    folder.parent.mkdir()
    page = open_page(f"{empty.address}/#/set-up")
    page.get_by_role("link", name="Backup").click()
    expect(page.get_by_text("Never backed up.")).to_be_visible()
    page.get_by_label("Folder for the backups").fill("backups")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Give the whole path of the folder")).to_be_visible()
    page.get_by_label("Folder for the backups").fill(str(folder))
    page.get_by_label("Backups to keep").fill("2")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", name="In the folder")).to_be_visible()
    expect(page.get_by_text("Last good backup:")).to_be_visible()
    assert restore_backup(folder, tmp_path / "new").photos == 0

    folder.parent.rename(tmp_path / "unplugged")
    page.get_by_role("button", name="Back up now").click()
    expect(page.get_by_text("Is the disk connected?")).to_be_visible()
    page.get_by_role("link", name="Today").click()
    alarm = page.get_by_role("alert").filter(has_text="The last backup failed.")
    expect(alarm).to_contain_text("Is the disk connected?")
    (tmp_path / "unplugged").rename(folder.parent)
    alarm.get_by_role("link", name="See to the backup").click()
    page.get_by_role("button", name="Back up now").click()
    expect(page.locator("ul.rows li")).to_have_count(2)
    expect(page.get_by_text("Is the disk connected?")).to_have_count(0)
    page.get_by_role("link", name="Today").click()
    expect(page.get_by_text("Last good backup on")).to_be_visible()
    expect(page.get_by_text("The last backup failed.")).to_have_count(0)
    assert len(kept_in(folder)) == 2
