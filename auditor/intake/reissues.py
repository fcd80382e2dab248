"""A statement issued again, under its own number or another: what is in its place counts, and that is told.

What replaces what is told from the lines that two files have in common, from what the new one says, from the numbers
and from the days. Which was given first says nothing. What cannot be told is told of as such.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import PurePath

import numpy as np
import pandas as pd

from auditor.core.money import dollars
from auditor.core.schemas import Problem
from auditor.intake.reissue_words import CORRECTED, REPLACED, REPLACES, numbers, plain
from auditor.intake.vocabulary import FEES

HALF = 0.5
"""From this share of its lines in another statement on, one may have been issued again as that."""
NEARLY = 0.9
"""From this share of both on, two are nearly the same; chosen."""
FEW = 3
"""Statements with fewer labels in common say nothing by being alike: a charge made twice looks the same. Chosen."""
LATER = ("adjustment", "credit")
"""States of lines that a parcel may have on a later statement, and on one after that again; so are fees."""
NEAR = 4
"""A line that stands in many statements is held against the next four of them."""
SUFFIX = re.compile(r"[A-Z]{1,3}\d{0,2}|(?:V|R|REV|COR|CORR)\d{1,2}")
"""What a number may have behind that of the statement in whose place it is: NP-2026-03B, NP-2026-03-R1."""
NEVER = re.compile(r"(?!)")


@dataclass(frozen=True)
class Unit:
    """One statement in one file. `lines` are its rows about a parcel, `total` is what the file prints."""

    statement: str
    file: str
    lines: int
    rows: int
    cents: int
    on: pd.Timestamp | None
    total: int | None
    words: tuple[str, ...]

    @cached_property
    def number(self) -> str:
        """Its number as it is compared."""
        return plain(self.statement)

    @property
    def unnumbered(self) -> bool:
        """Whether it is called after its file, as it has no number of its own."""
        return self.statement == PurePath(self.file).stem

    @property
    def ties(self) -> bool:
        """Whether its lines come to the total that it prints."""
        return self.total == self.cents

    @property
    def says_so(self) -> bool:
        """Whether it says that it is a corrected one; what its file is called says nothing."""
        return any(
            not REPLACED.search(text) and (REPLACES.search(text) or CORRECTED.search(text)) for text in self.words
        )

    def names(self, other: Unit, pattern: re.Pattern[str], unless: re.Pattern[str] = NEVER) -> str:
        """The text of it with such words that names another statement; "" where none does."""
        named = (text for text in self.words if pattern.search(text) and other.number in numbers(text))
        return next((text for text in named if not unless.search(text)), "")


@dataclass(frozen=True)
class Pair:
    """Two units, the old one first: how many of the old one's lines stand in the new one, and as they were.

    `parcels` are those whose label both charge.
    """

    old: Unit
    new: Unit
    alike: int
    same: int
    parcels: int = 0
    taken_back: int = 0

    @property
    def both(self) -> tuple[Unit, Unit]:
        """The old one and the new one."""
        return self.old, self.new

    @property
    def turned(self) -> Pair:
        """The other way round."""
        return replace(self, old=self.new, new=self.old)

    @property
    def one_number(self) -> bool:
        """Whether both have the same number."""
        return self.old.number == self.new.number

    @property
    def words(self) -> str:
        """What the new one says of the old one, or the old one of the new."""
        return self.new.names(self.old, REPLACES, unless=REPLACED) or self.old.names(self.new, REPLACED)

    @property
    def share(self) -> float:
        """How much of the old one stands in the new one."""
        return self.alike / self.old.lines if self.old.lines else 0.0

    @property
    def nearly_all(self) -> bool:
        """Whether nearly all of both is in the other, labels with it, and at least half as it was."""
        more, fewer = max(self.old.lines, self.new.lines), min(self.old.lines, self.new.lines)
        return self.parcels >= FEW and self.alike >= NEARLY * more and self.same >= HALF * fewer

    @property
    def carried_on(self) -> bool:
        """Whether all of the old one stands in the new one, with more, as in a running account; it is not younger."""
        old, new = self.old, self.new
        grown = HALF * new.lines <= old.lines == self.same < new.lines and self.parcels >= FEW
        return grown and old.file != new.file and (old.on is None or new.on is None or old.on <= new.on)

    @property
    def mostly_as_it_was(self) -> bool:
        """Whether at least half of the old one stands in the new one, and at least half of that as it was."""
        return self.share >= HALF and self.same >= HALF * min(self.old.lines, self.new.lines)


@dataclass(frozen=True)
class Verdict:
    """That the new one of a pair is in the place of the old one; `why` in words, `sure` whether which is which is.

    `asked`: it may as well be that the carrier wants both.
    """

    pair: Pair
    why: str
    sure: bool = True
    asked: bool = False


Doubt = tuple[Problem, Pair]
"""What looks as if one statement were in the place of another, and both of them."""


def found(units: Mapping[int, Unit], lines: pd.DataFrame) -> tuple[list[Verdict], list[Doubt]]:
    """Which statements are in the place of which, each old one once, and what is in doubt.

    Args:
        units: by their number in `lines`.
        lines: `unit`, `number` (the parcel's), `charge`, `state` and `cents` of each line about a parcel.
    """
    verdicts: list[Verdict] = []
    doubts: list[Doubt] = []
    for pair in sorted(_pairs(units, lines), key=lambda one: (-one.same, -one.alike, one.old.file, one.new.file)):
        verdict = _verdict(pair)
        if verdict is None:
            doubts += [(problem, pair) for problem in _doubts(pair)]
        elif not _leads_back(verdict.pair, verdicts):
            verdicts.append(verdict)
    first = {(one.pair.old.statement, one.pair.old.file): one for one in reversed(verdicts)}
    return list(reversed(first.values())), doubts


def _leads_back(pair: Pair, verdicts: list[Verdict]) -> bool:
    """Whether the new one of a pair is itself replaced, in the end, by the old one."""
    by = {one.pair.old: one.pair.new for one in reversed(verdicts)}
    at: Unit | None = pair.new
    for _ in range(len(by) + 1):
        if at is None or at == pair.old:
            break
        at = by.get(at)
    return at == pair.old


def _verdict(pair: Pair) -> Verdict | None:
    """The pair in the order that its words, numbers and days tell; None where both count."""
    ways = (pair, pair.turned)
    if any(one.taken_back >= HALF * one.old.lines for one in ways):
        return None
    replacing = [one for one in ways if one.words and not one.turned.words and one.share >= HALF]
    if replacing:
        return Verdict(replacing[0], f"it is said: '{replacing[0].words}'")
    if pair.one_number:
        return _of_one_number(pair)
    likely = next((found for one in ways if (found := _of_another_number(one))), None)
    if likely is None and (grown := next((one for one in ways if one.carried_on), None)):
        return Verdict(grown, "all of its lines stand here again, with more, as in a running account", asked=True)
    return likely or (_in_order(pair) if pair.nearly_all and pair.old.file != pair.new.file else None)


def _of_another_number(pair: Pair) -> Verdict | None:
    """Whether the new one's words or number say that it is the old one corrected, and its lines do not contradict."""
    old, new = pair.old, pair.new
    if pair.mostly_as_it_was and (words := new.names(old, CORRECTED)):
        return Verdict(pair, f"it is said: '{words}'")
    tail = new.number.removeprefix(old.number)
    if pair.mostly_as_it_was and tail != new.number and SUFFIX.fullmatch(tail):
        return Verdict(pair, "its number is that one's with something behind it")
    if old.unnumbered and new.unnumbered and old.lines >= FEW and pair.same == old.lines:
        return Verdict(pair, "all lines of the one stand in the other")
    return None


def _of_one_number(pair: Pair) -> Verdict | None:
    whole = {pair.old.total, pair.new.total} - {None}
    if pair.old.cents + pair.new.cents in whole or not any(one.mostly_as_it_was for one in (pair, pair.turned)):
        return None
    ways = [one for one in (pair, pair.turned) if one.share >= HALF]
    if len(ways) == 1:
        return Verdict(ways[0], "most of its lines stand in the other file, which has more")
    return _in_order(pair)


def _in_order(pair: Pair) -> Verdict:
    """By what the one says of itself, then by day; the rest is no more than likely."""
    old, new = pair.old, pair.new
    if old.says_so != new.says_so:
        return Verdict(pair if new.says_so else pair.turned, "it is called a corrected one")
    if old.on is not None and new.on is not None and old.on != new.on:
        later = pair if new.on > old.on else pair.turned
        return Verdict(later, f"its day is the later one, {later.new.on:%Y-%m-%d}")
    if old.ties != new.ties:
        return Verdict(pair if new.ties else pair.turned, "its lines come to the total that it prints", sure=False)
    last = pair if (new.lines, new.file) > (old.lines, old.file) else pair.turned
    return Verdict(last, "neither says so nor has a later day", sure=False)


def told(verdict: Verdict, final: Unit) -> Problem:
    """What was not counted and why, and what to do if that is wrong."""
    pair, new, sure = verdict.pair, verdict.pair.new, verdict.sure
    sums = f"{dollars(pair.old.cents)} there, {dollars(final.cents)} {'here' if final is new else f'in {final.file}'}"
    why = verdict.why if sure or new.ties != pair.old.ties else f"one had to be, and {verdict.why}"
    chosen = (
        f"This one is in its place ({why}), so {_called(pair.old, new)} was not counted ({sums}). If that is wrong,"
        if sure
        else f"Which of the two is the final one cannot be told for certain; this one was counted, since {why} ({sums})"
        ". Look, and if it is the other,"
    )
    out = _taken_out(new, pair.old)
    both = (
        ""
        if (sure and not verdict.asked) or pair.one_number
        else " If the carrier wants both of them paid, dispute the whole of one."
    )
    return Problem(new.file, "", f"{_stands(pair)} {chosen} {out}{both}", note=sure and not verdict.asked)


def _called(unit: Unit, other: Unit) -> str:
    return unit.file if unit.file != other.file else f"statement {unit.statement}"


def _taken_out(unit: Unit, other: Unit) -> str:
    """What to do for one of two not to be counted."""
    if unit.file == other.file:
        return f"take the rows of statement {unit.statement} out of a copy of this file and run again with that."
    return f"take {unit.file} out (in a book: auditor book set-aside '{unit.file}') and run again."


def _stands(pair: Pair) -> str:
    """How much of the old one stands in the new one, in words."""
    old, new = pair.old, pair.new
    here = "here too" if pair.one_number else f"here again, as statement {new.statement}"
    changed, missing = pair.alike - pair.same, old.lines - pair.alike
    counts = [f"{pair.same:,} of its {old.lines:,} lines as they were"]
    counts += [f"{changed:,} with another amount"] * bool(changed) + [f"{missing:,} not"] * bool(missing)
    return f"Statement {old.statement} in {old.file} stands {here}: {', '.join(counts)}."


def _doubts(pair: Pair) -> Iterator[Problem]:
    """What looks as if one were in the place of the other, but both were counted."""
    fewer = min(pair.old.lines, pair.new.lines)
    if pair.taken_back >= max(HALF * fewer, 1):
        return
    if way := next((one for one in (pair, pair.turned) if one.words or one.new.names(one.old, CORRECTED)), None):
        old, new, text = way.old, way.new, way.words or way.new.names(way.old, CORRECTED)
        message = (
            f"Statement {new.statement} says of statement {old.statement}: '{text}'. But only {way.alike:,} of the "
            f"{old.lines:,} lines of that one stand in it, so both were counted. If it is in the place of it, "
            f"{_taken_out(old, new)}"
        )
        yield Problem(new.file, "", message)
    elif later := _nearly_replaced(pair):
        old, new = later.old, later.new
        message = (
            f"Statement {new.statement} has {pair.alike:,} of its {new.lines:,} lines in common with statement "
            f"{old.statement} in {old.file}, {pair.same:,} at the same amount. Both were counted, and what is billed "
            f"twice is told as that. If this one was issued in the place of the other, {_taken_out(old, new)}"
        )
        yield Problem(new.file, "", message)


def _nearly_replaced(pair: Pair) -> Pair | None:
    """The pair, the later one last, where that might be in the place of the other: it bills the labels of that anew."""
    days = [pd.Timestamp.min if unit.on is None else unit.on for unit in (pair.old, pair.new)]
    ways = [pair] * (days[0] <= days[1]) + [pair.turned] * (days[1] <= days[0])
    if pair.one_number:
        ways = ways if pair.alike >= max(HALF * min(pair.old.lines, pair.new.lines), FEW) else []
    else:
        ways = [one for one in ways if pair.parcels >= FEW and one.mostly_as_it_was]
    return ways[0] if ways else None


def _pairs(units: Mapping[int, Unit], lines: pd.DataFrame) -> Iterator[Pair]:
    """Every two units with a line in common, or of which one names the other."""
    key = ["number", "charge", "state"]
    alike = _shared(lines, key)
    same = _shared(lines, [*key, "cents"])
    labels = lines[~(lines["state"].isin(LATER) | lines["charge"].isin(FEES))].drop_duplicates(["number", "unit"])
    parcels = _shared(labels, ["number"])
    named = {
        (min(at, other), max(at, other)): 0
        for at, unit in units.items()
        if unit.words
        for other, one in units.items()
        if other != at and unit.names(one, re.compile(""))
    }
    for (one, other), count in {**named, **alike}.items():
        pair = Pair(units[one], units[other], count, same.get((one, other), 0), parcels.get((one, other), 0))
        yield replace(pair, taken_back=_taken_back(lines, one, other)) if count else pair


def _shared(lines: pd.DataFrame, key: list[str]) -> dict[tuple[int, int], int]:
    """How many lines two units have in common, each as often as it stands in both."""
    of_key = lines.groupby(key, sort=False).ngroup()
    nth = lines.groupby([of_key, lines["unit"]]).cumcount()
    code = lines.groupby([of_key, nth], sort=False).ngroup()
    ordered = pd.DataFrame({"code": code, "unit": lines["unit"]}).sort_values(["code", "unit"], kind="stable")
    codes, at = ordered["code"].to_numpy(), ordered["unit"].to_numpy()
    found: dict[tuple[int, int], int] = {}
    for step in range(1, min(NEAR, len(at) - 1) + 1):
        both = codes[step:] == codes[:-step]
        pairs, counts = np.unique(np.stack([at[:-step][both], at[step:][both]], axis=1), axis=0, return_counts=True)
        for (one, other), count in zip(pairs.tolist(), counts.tolist(), strict=True):
            found[one, other] = found.get((one, other), 0) + count
    return found


def _taken_back(lines: pd.DataFrame, one: int, other: int) -> int:
    """How many lines of the one the other takes back to the cent, or the one of the other."""
    both = lines[lines["unit"].isin([one, other])]
    sums = both.assign(size=both["cents"].abs()).groupby(["number", "size", "unit"])["cents"]
    against = pd.DataFrame({"up": sums.max(), "down": sums.min()}).reset_index()
    up, down = (
        against[against["up"] > 0].rename(columns={"unit": "from"}),
        against[against["down"] < 0].rename(columns={"unit": "to"}),
    )
    met = up.merge(down, on=["number", "size"])
    return int((met["from"] != met["to"]).sum())
