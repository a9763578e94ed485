"""A list that came as a file: its text goes where it can be seen and mended."""

from __future__ import annotations

from app.forms.lists_in import LONGEST_LIST, text_of
from app.web.deps import SentWithFiles
from app.workflow.words import counted

NOT_TEXT = "is no text: save the list as CSV first, and choose that file"


def with_file(sent: SentWithFiles) -> tuple[dict[str, str], str]:
    """The fields with the file's text among them, or why it cannot be read."""
    if not sent.files:
        return sent.fields, ""
    content = sent.files[0]
    if len(content) > LONGEST_LIST:
        lines = counted(content.count(b"\n"), "line")
        most = LONGEST_LIST // 1000
        return sent.fields, f"has {lines} and is larger than {most} kB; send it in parts"
    text = text_of(content)
    if text is None:
        return sent.fields, NOT_TEXT
    return {**sent.fields, "list": text, "do": ""}, ""
