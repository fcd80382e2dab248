"""What is wrong in what the user gave, as a value that goes along with the tables."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """A fault in what the user gave: where it is, the value seen, and what to do, in words for that user.

    `file` is the file's name as given, `place` the page, sheet or row ("" when it is the whole file). `unread` is true
    when the whole file could not be read. `note` marks a choice the program made and tells of, rather than a fault;
    `asks` a question that the user can answer.
    """

    file: str
    place: str
    message: str
    unread: bool = False
    note: bool = False
    asks: bool = False
