"""Where the book lies, and whether that is a safe place for one."""

from __future__ import annotations

import os
import shlex
import stat
from pathlib import Path

import platformdirs

from auditor.book.ledger.documents import documents_of

OTHERS = stat.S_IRWXG | stat.S_IRWXO

SYNCED_WORDS = ("cloud", "sync", "drive")
"""In the name of a folder that a program keeps the same on several machines, as commonly named (from memory)."""

SYNCED_MARKS = (".stfolder", ".sync")
NETWORK = ("nfs", "cifs", "smb", "afp", "davfs", "sshfs", "9p")
MOUNTS = Path("/proc/mounts")


def usual() -> Path:
    """The book that is used where none is chosen."""
    return Path(platformdirs.user_data_path("auditor", appauthor=False), "book.sqlite")


def warnings(path: Path) -> list[str]:
    """What may come to harm where the book lies, or look into it."""
    return [*filter(None, (warning(path), open_to_others(path)))]


def warning(path: Path, mounts: Path = MOUNTS) -> str:
    """Why the book may come to harm where it lies, and what to do; "" when nothing speaks against the place."""
    path = path.absolute()
    synced = next((folder for folder in path.parents if _is_synced(folder)), None)
    if synced:
        reason = f"{synced} looks like a folder that a program copies to other machines"
    elif _is_remote(path, mounts):
        reason = "it lies on another machine, over the network"
    else:
        return ""
    return (
        f"The book {path}: {reason}. A copy made while the book is written can be half of each. Keep the book on this "
        "machine's own disk (--book), and put backups there instead: auditor book backup."
    )


def open_to_others(path: Path) -> str:
    """That other users of this machine may look into the book, and what to do; "" where they may not."""
    if os.name != "posix":
        return ""
    open_files = [
        file for file in (path, documents_of(path)) if file.exists() and stat.S_IMODE(file.stat().st_mode) & OTHERS
    ]
    if not open_files:
        return ""
    names = " ".join(shlex.quote(str(file)) if "'" in str(file) else f"'{file}'" for file in open_files)
    return (
        "Others on this machine may look into the book and its originals, which hold buyers' addresses. Close them: "
        f"chmod go= {names}"
    )


def _is_synced(folder: Path) -> bool:
    name = folder.name.casefold()
    return any(word in name for word in SYNCED_WORDS) or any((folder / mark).exists() for mark in SYNCED_MARKS)


def _is_remote(path: Path, mounts: Path) -> bool:
    """Whether the path lies on a network file system, by Linux's list of mounts, or by a Windows share's name."""
    if str(path).startswith("\\\\"):
        return True
    if not mounts.exists():
        return False
    lines = [line.split() for line in mounts.read_text(encoding="utf-8", errors="replace").splitlines()]
    holding = [(len(line[1]), line[2]) for line in lines if len(line) > 2 and path.is_relative_to(line[1])]  # noqa: PLR2004 - device, folder, kind
    return bool(holding) and max(holding)[1].removeprefix("fuse.").startswith(NETWORK)
