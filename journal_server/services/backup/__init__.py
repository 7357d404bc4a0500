"""Backups with all that cannot be made again: one archive, sealed if wanted, or a folder that grows by what is new."""

from journal_server.services.backup.archive import make_backup
from journal_server.services.backup.folder import back_up_to_folder
from journal_server.services.backup.restore import restore_backup, verify_backup
from journal_server.services.backup.state import backup_state

__all__ = ["back_up_to_folder", "backup_state", "make_backup", "restore_backup", "verify_backup"]
