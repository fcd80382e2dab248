"""Texts and pictures → PDF, by typst: tagged (PDF/UA-1), fonts embedded, the same bytes for the same input.

Texts are handed over as data, so that nothing in them is run, and only the fonts that come with the program, or that
the seller names, are used, so that it looks the same everywhere. Those have Latin, Greek, Cyrillic, Arabic, Hebrew and
Devanagari letters. A character that no font has is shown by its code, U+6F22, and that is said: a PDF for screen
readers may not have any it cannot show.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from types import TracebackType
from typing import Any, Self

import typst

from auditor.core.characters import is_unseen

STANDARD: typst.PDFStandard = "ua-1"
PAPERS = Path(__file__).parent
JOINERS = "\u200c\u200d"
"""Marks without which some scripts are not written."""

PROBE = b"""#set document(title: "probe")
#for text in json(bytes(sys.inputs.texts)) [#text
]"""


class Typesetter:
    """One compiler for many papers, in a folder of its own that is gone afterwards. Use it in a `with`."""

    def __init__(self, fonts: Path | None = None) -> None:
        """`fonts`: a folder of fonts for scripts that the built-in ones lack."""
        self._folder = TemporaryDirectory(prefix="auditor-")
        root = Path(self._folder.name)
        for paper in PAPERS.glob("*.typ"):
            (root / paper.name).write_bytes(paper.read_bytes())
        self._root = root
        self._compiler = typst.Compiler(
            root=root, ignore_system_fonts=True, font_paths=[fonts] if fonts else [], package_path=root / "none"
        )
        self._shown: dict[str, bool] = {}
        self._pictures = 0

    def __enter__(self) -> Self:
        """The typesetter itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Take the folder away."""
        self._folder.cleanup()

    def picture(self, content: bytes, kind: str) -> str:
        """Keep a picture for the paper that is set next; the name that the paper knows it by."""
        self._pictures += 1
        name = f"picture-{self._pictures}.{kind}"
        (self._root / name).write_bytes(content)
        return name

    def pdf(self, paper: str, texts: Mapping[str, Any]) -> bytes:
        """A paper filled with texts; `lacking` is added to them: the characters that are shown by their codes."""
        lacking = self._lacking(set().union(*_texts_in(texts)))
        shown = {**_with_codes(dict(texts), lacking), "lacking": [code(character) for character in sorted(lacking)]}
        made = self._compiler.compile(
            input=self._root / f"{paper}.typ",
            format="pdf",
            sys_inputs={"texts": json.dumps(shown)},
            pdf_standards=STANDARD,
            timestamp=0,
        )
        for picture in self._root.glob("picture-*"):
            picture.unlink()
        assert isinstance(made, bytes)  # noqa: S101 - told to the type checker
        return made

    def _lacking(self, characters: set[str]) -> frozenset[str]:
        """Those of the characters that cannot or should not be shown as they are."""
        unusual = {character for character in characters if not (" " <= character <= "~" or character == "\n")}
        new = sorted(unusual - self._shown.keys())
        self._shown |= dict.fromkeys(
            (character for character in new if is_unseen(character) and character not in JOINERS), False
        )
        seen = [character for character in new if character not in self._shown]
        self._shown |= (
            dict.fromkeys(seen, True)
            if self._shows(seen)
            else {character: self._shows([character]) for character in seen}
        )
        return frozenset(character for character in unusual if not self._shown[character])

    def _shows(self, texts: list[str]) -> bool:
        try:
            self._compiler.compile(
                input=PROBE, format="pdf", sys_inputs={"texts": json.dumps(texts)}, pdf_standards=STANDARD, timestamp=0
            )
        except typst.TypstError:
            return False
        return True


def code(character: str) -> str:
    """'漢' → 'U+6F22'."""
    return f"U+{ord(character):04X}"


def _texts_in(value: Any) -> Iterator[str]:
    """Every text within dictionaries and lists."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        yield from _texts_in(list(value.values()))
    elif isinstance(value, list | tuple):
        for part in value:
            yield from _texts_in(part)


def _with_codes(value: Any, lacking: frozenset[str]) -> Any:
    """The same with each lacking character replaced by its code in brackets, in every text in it."""
    if isinstance(value, dict):
        return {key: _with_codes(part, lacking) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_with_codes(part, lacking) for part in value]
    if not isinstance(value, str) or not lacking:
        return value
    return re.sub(f"[{re.escape(''.join(sorted(lacking)))}]", lambda found: f"[{code(found[0])}]", value)
