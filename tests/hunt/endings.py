"""Running a case, and what counts as an end that nobody foresaw."""

from __future__ import annotations

import pickle
import re
import shutil
import signal
import tempfile
import traceback
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

import auditor
from auditor import audit, habits, intake
from auditor.book import accounting, kept_audit
from auditor.cli import group
from auditor.habits.history import history
from auditor.habits.readings.excess import Seen, fitted
from tests.hunt.cases import Case, Place, calls_of, files_of
from tests.hunt.writing import write

DRAWS = 12
LONGEST = 180
"""Seconds by the clock that one call may take, a hundred times what most do on a quiet machine."""

FORESEEN = (0, 1, 2)
NO_WORD = re.compile(
    r"\bnan\b|\bNaN\b|\bNaT\b|<NA>|\binf\b|\bInfinity\b"
    r"|(?<![>\n])(?<![.!?] )\bNone\b(?!:| of)|\bobject at 0x|\bTimestamp\(|\bnp\.\w+\("
)
"""What Python and its libraries call what is missing, and their own things; nothing of it is for people.

"None" is a word too, where a sentence begins with it.
"""

SCRIPT = re.compile(r"<(script|style)\b.*?</\1>", re.DOTALL)

PACKAGE = str(Path(auditor.__file__).parent)


@dataclass(frozen=True)
class Ending:
    """An end that nobody foresaw: the call, what happened, and where in the program."""

    call: str
    what: str
    where: str
    trace: str = ""

    @property
    def kind(self) -> tuple[str, str]:
        """What two endings have in common that come from one fault."""
        return self.what.partition(":")[0], self.where


class Endless(BaseException):
    """No end so far: nothing in the program may take this for a fault of a file."""


def ending_of(case: Case, longest: int = 0) -> Ending | None:
    """Run a case in a folder of its own; None where all went as foreseen.

    Args:
        case: what is run.
        longest: seconds after which a call is said not to end; 0: wait.
    """
    folder = Path(tempfile.mkdtemp(prefix="hunt-"))
    try:
        place = Place(files_of(case), folder / "files", folder / "book.sqlite", folder / "out")
        write(place.files, place.folder)
        place.out.mkdir()
        with _alone(folder, place.book), _reckoned_once():
            return next(filter(None, (_ending(call, place, longest) for call in calls_of(case, place))), None)
    finally:
        shutil.rmtree(folder)


def _ending(call: list[str], place: Place, longest: int) -> Ending | None:
    said = " ".join(call).replace(str(place.folder.parent), "…")
    try:
        with warnings.catch_warnings(), _at_most(longest):
            warnings.simplefilter("error")
            result = CliRunner().invoke(group, call)
    except Endless as error:
        trace = "".join(traceback.format_exception(error))
        return Ending(said, f"no end in {longest} s", call[0], trace)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        what = f"{type(result.exception).__name__}: {result.exception}"
        return Ending(said, what[:300], _where(result), "".join(traceback.format_exception(result.exception)))
    if result.exit_code not in FORESEEN:
        return Ending(said, f"exit code: {result.exit_code}", call[0], result.output)
    shown = result.stdout + "".join(map(_text, sorted(place.out.glob("*.*"))))
    if found := NO_WORD.search(shown):
        around = shown[max(found.start() - 120, 0) : found.end() + 40]
        return Ending(said, f"no word for people: {found.group()}", call[0], around)
    return None


@contextmanager
def _at_most(seconds: int) -> Iterator[None]:
    if not seconds:
        yield
        return
    before = signal.signal(signal.SIGALRM, _stop)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def _stop(*_: object) -> None:
    raise Endless


def _text(file: Path) -> str:
    """What a person reads of a file; of a web page without its script."""
    if file.suffix not in {".csv", ".json", ".html", ".txt", ".ics"}:
        return ""
    return SCRIPT.sub("", file.read_text(encoding="utf-8", errors="replace"))


def _where(result: Result) -> str:
    """The innermost place in the program."""
    frames = traceback.extract_tb(result.exception.__traceback__) if result.exception else []
    ours = [frame for frame in frames if frame.filename.startswith(PACKAGE)]
    return f"{Path(ours[-1].filename).relative_to(PACKAGE)}, {ours[-1].name}" if ours else ""


@contextmanager
def _alone(folder: Path, book: Path) -> Iterator[None]:
    """Nobody's own book, settings or saved readings."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("AUDITOR_BOOK", str(book))
        for variable in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "APPDATA", "LOCALAPPDATA"):
            patch.setenv(variable, str(folder / "home"))
        patch.chdir(_made(folder / "here"))
        yield


def _made(folder: Path) -> Path:
    folder.mkdir(exist_ok=True)
    return folder


@contextmanager
def _reckoned_once() -> Iterator[None]:
    """Within a case each file is read, and the same tables are audited and studied, once: all of that is pure.

    The fits of readings give a few draws only, as what is done with them is the same.
    """
    audited, studied = _once(audit.audited, _of_audit), _once(habits.study, _of_study)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(intake, "part_of", _once(intake.part_of, lambda *given: given))
        for function in (fitted, Seen.fit, history):
            patch.setattr(function, "__kwdefaults__", {**(function.__kwdefaults__ or {}), "draws": DRAWS})
        for module in (audit, accounting, kept_audit):
            patch.setattr(module, "audited", audited)
        for module in (audit, habits):
            patch.setattr(module, "study", studied)
        yield


def _once(function: Callable[..., Any], key: Callable[..., object]) -> Callable[..., Any]:
    kept: dict[bytes, Any] = {}

    def once(*given: Any, **named: Any) -> Any:
        at = pickle.dumps((key(*given), named))
        if at not in kept:
            kept[at] = function(*given, **named)
        return kept[at]

    return once


def _of_audit(taken: Any, book: Any, not_mine: Any = ()) -> object:
    return vars(taken), _named(book), sorted(not_mine)


def _of_study(recorded: Any, aims: Any = None) -> object:
    *tables, book, prices = vars(recorded).values()
    return tables, aims, _named(book), (prices.rates, prices.fees, prices.fuel)


def _named(book: Any) -> object:
    return [(tariff.name, tariff.version) for tariff in book.tariffs], sorted(book.by_service)
