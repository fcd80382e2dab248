"""Files that are there whole or not at all."""

from __future__ import annotations

from pathlib import Path


def write_whole(path: Path, content: bytes | str) -> Path:
    """Write under another name and rename, so that a run that is stopped leaves no half file.

    Raises:
        OSError: the folder cannot be written to.
    """
    partial = path.with_name(f".{path.name}.partial")
    # A stranger's file may hold half a character pair, which UTF-8 cannot: it is shown as its code.
    partial.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8", errors="backslashreplace"))
    return partial.replace(path)
