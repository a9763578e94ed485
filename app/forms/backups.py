"""Where backups go."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import Form

LONGEST_PATH = 400


class BackupFolderForm(Form):
    """A folder on another disk; left empty, copies stay on this PC."""

    names: ClassVar[dict[str, str]] = {
        "folder": "Folder for backups",
        "confirm_same_disk": "Another disk",
    }

    folder: str

    def parse(self) -> None:
        self.folder = self.text("folder", most=LONGEST_PATH)
