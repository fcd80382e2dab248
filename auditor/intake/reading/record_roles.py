"""What columns of a shop's records are: by what statements say of the same parcels, by its cartons, then by words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from math import log

import numpy as np
import pandas as pd

from auditor.core.arrays import Masked, Places, Yes
from auditor.core.sides import SIDES
from auditor.intake import parsing
from auditor.intake.best_pairs import best_pairs
from auditor.intake.reading import agreement
from auditor.intake.reading.carton_list import plain
from auditor.intake.reading.cells import Column
from auditor.intake.reading.known import bare, zone_text
from auditor.intake.reading.record_measures import pounds_and_ounces, size, usual, weights
from auditor.intake.reading.record_scene import HELD, OF_ZERO, SHAPE, SURE, Chosen, One, Scene
from auditor.intake.reading.roles import LEAN, plain_roles
from auditor.intake.words import tokens

LEAST_SHARE = 0.3
"""A cost agrees for as many at least: the others were corrected later. Chosen."""
MOST_WORDS = 12
"""A column that says what state a label is in has no more words. Chosen."""
OPPOSITE = {"business", "commercial", "company", "firma", "gewerblich", "entreprise", "empresa", "azienda", "bedrijf"}
"""Headings whose yes is no home."""
LEAN_VOID = {r"\b(?:void|storn|annul|anul|geannul)": log(10**6), r"\bcancel": SURE, r"\brefund": log(20)}
"""How sure it is that a label is meant: an order is refunded after its parcel went, too. Chosen."""
UNHEARD_OF = -2 * SURE
"""A word that is not known may say anything. Chosen."""
BILLED_THOUGH_VOID = 0.05
"""Carriers bill so many of the labels that were cancelled. Chosen; a few are, and that is a finding."""


def roles_of_records(scene: Scene) -> dict[str, Chosen]:
    """The field of each column that has one."""
    carton = _carton(scene)
    weighs = usual(scene, carton)
    sized = size(scene)
    taken = {scene.number, *(sized[1].at if sized else ())}
    closed = {"tracking", *(["size", *SIDES] if sized else [])}
    free = [at for at in range(len(scene.columns)) if at not in taken]
    found = [one for at in free for one in _ones(scene, at, weighs) if one.field not in closed]
    weight = pounds_and_ounces(scene, found, free)
    if weight:
        found = [one for one in found if one.at not in weight.at and one.field != "weight_pg"]
    chosen = _assigned(found, scene)
    chosen["tracking"] = Chosen(tuple(scene.columns[scene.number].text()), (scene.number,), odds=SURE)
    if sized:
        chosen |= _sides_chosen(*sized, scene)
    if weight:
        chosen["weight_pg"] = weight
    return chosen


def _sides_chosen(name: str, size: Chosen, scene: Scene) -> dict[str, Chosen]:
    if name == "size":
        return {"size": size}
    return {
        side: Chosen(tuple(scene.columns[at].text()), (at,), size.unit, size.odds, size.said)
        for side, at in zip(SIDES, size.at, strict=True)
    }


def _assigned(found: Sequence[One], scene: Scene) -> dict[str, Chosen]:
    """Columns and fields for the greatest sum of evidence and words."""
    best: dict[tuple[int, str], One] = {}
    for one in sorted(found, key=lambda one: one.odds):
        best[one.at, one.field] = one
    weighed = {key: max(one.odds, 0.0) + scene.named(key[1], key[0]) for key, one in best.items()}
    places, names = sorted({at for at, _ in best}), sorted({name for _, name in best})
    if not places:
        return {}
    scores = np.array([[weighed.get((at, name), 0.0) for name in names] for at in places])
    pairs = [(places[row], names[column]) for row, column in best_pairs(scores) if scores[row, column] > 0]
    return {name: _chosen(best[at, name], scene) for at, name in pairs}


def _chosen(one: One, scene: Scene) -> Chosen:
    texts = one.texts or tuple(scene.columns[one.at].text())
    return Chosen(texts, (one.at,), one.unit, one.odds, one.said, changed=one.texts is not None)


def _ones(scene: Scene, at: int, weighs: Masked) -> Iterator[One]:
    """What one column may be."""
    column = scene.columns[at]
    if scene.words:
        yield from (One(name, at, 0.0, scene.unit(name, at)) for name in scene.words.columns if scene.named(name, at))
    if not column.used:
        return
    rows = np.flatnonzero((scene.places >= 0) & column.filled)
    if len(rows):
        yield from _plain(column.take(rows), scene.places[rows], scene, at)
    yield from weights(scene, at, weighs)
    for ways in (_cost, _residential, _voided, _cartons):
        yield from ways(scene, at)


def _plain(part: Column, places: Places, scene: Scene, at: int) -> Iterator[One]:
    for role in plain_roles(part, places, scene.billed.known):
        texts = None
        if role.name == "zone" and role.odds > SURE:
            texts = _zones(scene.columns[at])
        yield One(role.name, at, role.odds, None, texts, role.said)
    services = {bare(text) for text in scene.billed.known.shipments["service"].dropna().unique()}
    if {bare(text) for text in part.used} <= services:
        yield One("service", at, LEAN, said="the statement's own names of services")


ZONED = re.compile(r"(?:zon[ea]n?\b[\s:]*)?\d+", re.IGNORECASE)
"""A zone as it is read in any case."""


def _zones(column: Column) -> tuple[str, ...] | None:
    """Zones by their figures alone; None where nothing else stands beside these."""
    if all(ZONED.fullmatch(text) for text in column.used):
        return None
    return tuple(zone_text(text) if any(map(str.isdigit, text)) else text for text in column.text())


def _cost(scene: Scene, at: int) -> Iterator[One]:
    """Amounts that are what the first lines of parcels come to."""
    column = scene.columns[at]
    rows = np.flatnonzero((scene.places >= 0) & column.filled)
    cents = column.take(rows).money()
    if len(rows) and cents.known.mean() > HELD and scene.unit("weight_pg", at) is None:
        agrees = scene.billed.costs(cents)
        odds = agreement.at_least(
            agrees(scene.places[rows]), agreement.by_chance(agrees, scene.places[rows]), LEAST_SHARE
        )
        yield One("label_cost_cents", at, odds, said="what the parcel's label was billed")


# Words of few kinds: homes, states of labels, cartons


def _carton(scene: Scene) -> int | None:
    """The column in which the names of listed cartons stand most."""
    shares = [_in_list(column, scene) if at != scene.number else 0.0 for at, column in enumerate(scene.columns)]
    best = int(np.argmax(shares)) if shares else 0
    if shares and shares[best] >= 1 / 2:
        return best
    named = scene.words.columns.get("carton") if scene.words else None
    return named[0] if named else None


def _in_list(column: Column, scene: Scene) -> float:
    rows = column.where(lambda text: plain(text) in scene.cartons)
    return float(rows[column.filled].mean()) if column.filled.any() else 0.0


def _cartons(scene: Scene, at: int) -> Iterator[One]:
    column = scene.columns[at]
    if _in_list(column, scene) >= 1 / 2:
        listed = sum(plain(text) in scene.cartons for text in column.used)
        yield One("carton", at, listed * SHAPE + scene.named("carton", at), said="names in your list of cartons")


def _residential(scene: Scene, at: int) -> Iterator[One]:
    """Words that go with the charge for a home, whichever of them it is."""
    column = scene.columns[at]
    if not 1 <= len(column.used) <= 3 or len(set(column.text())) == 1:  # noqa: PLR2004 - yes, no and perhaps
        return
    rows = np.flatnonzero(scene.places >= 0)
    if len(rows):
        homes, texts = scene.billed.homes, column.take(rows).text()
        frame = pd.DataFrame({"text": texts, "home": homes[scene.places[rows]]})
        mean = frame["home"].mean()
        yes = {str(text) for text, share in frame.groupby("text")["home"].mean().items() if share > mean}
        is_home = np.array([text in yes for text in texts], dtype=bool)

        def agrees(places: Places) -> Yes:
            return np.asarray(is_home == homes[places])

        odds = agreement.held(agrees(scene.places[rows]), max(mean, 1 - mean), HELD) if 0 < mean < 1 else 0.0
        if odds > SURE:
            changed = _flags(column, yes)
            yield One("residential", at, odds, texts=changed, said="goes with the charge for homes")
            return
    if OPPOSITE & {*tokens(column.heading)} and _are_answers(column):
        home = {text for text in column.used if not parsing.flag(text)}
        yield One("residential", at, LEAN, texts=_flags(column, home), said="its yes is no home")


LONGEST_ANSWER = 5
"""Yes and no are no longer; 'business' is a word that says itself what it is."""


def _are_answers(column: Column) -> bool:
    return all(_is_flag(text) and len(text) <= LONGEST_ANSWER for text in column.used)


def _is_flag(text: str) -> bool:
    return text.strip().casefold() in parsing.YES | parsing.NO


def _flags(column: Column, homes: set[str]) -> tuple[str, ...] | None:
    """Yes and no for each row; None where the words say the same already."""
    if all(_is_flag(text) and parsing.flag(text) == (text in homes) for text in column.used):
        return None
    return tuple("yes" if text in homes else "no" for text in column.text())


def _voided(scene: Scene, at: int) -> Iterator[One]:
    """Words of which the parcels are not billed where those beside them are; known ones unless they are billed."""
    column = scene.columns[at]
    few = 2 <= len(set(column.text())) <= MOST_WORDS and len(column.used) <= MOST_WORDS  # noqa: PLR2004 - two or more
    if not few or scene.called_otherwise("voided", at):
        return
    frame = pd.DataFrame({"text": column.text(), "billed": scene.places >= 0})
    frame["day"] = _day_texts(scene)
    odds = {text: _odds_of_void(frame, text) for text in column.used if not parsing.IN_USE.match(text)}
    shares = frame["text"].value_counts(normalize=True)
    void = {
        text for text, found in odds.items() if found > 0 and (shares[text] <= RARELY or parsing.VOIDED.search(text))
    }
    if not void and not any(map(parsing.VOIDED.search, odds)):
        return
    told = None if _said_by_words(column, void) else tuple("yes" if text in void else "no" for text in frame["text"])
    said = f"labels cancelled where it says {', '.join(sorted(void))}" if void else "labels of all its words are billed"
    yield One("voided", at, max((abs(one) for one in odds.values()), default=0.0), texts=told, said=said)


RARELY = 0.25
"""So few of a shop's labels are cancelled; what is unbilled more often is of a carrier without a statement (chosen)."""


def _day_texts(scene: Scene) -> Sequence[str]:
    """What stands in the column of days, by its heading; blanks where none is called so."""
    named = scene.words.columns.get("shipped_on") if scene.words else None
    return list(scene.columns[named[0]].text()) if named else [""] * len(scene.places)


def _said_by_words(column: Column, void: set[str]) -> bool:
    """Whether its words are read so in any case."""
    try:
        return all(parsing.voided(text) == (text in void) for text in column.used)
    except ValueError:
        return False


def _odds_of_void(frame: pd.DataFrame, text: str) -> float:
    """Log odds that labels of a word were cancelled: not billed where the nearest of other words, or of the day, are.

    Labels at the end of a list are not billed yet, whatever their word is.
    """
    its = frame["text"] == text
    other = frame["billed"].astype(float).mask(its)
    days = set(frame.loc[other.eq(1), "day"]) - {""}
    beside = (other.ffill().eq(1) & other.bfill().eq(1)) | frame["day"].isin(days)
    billed, missing = int((its & frame["billed"]).sum()), int((its & ~frame["billed"] & beside).sum())
    share = min(float(other.mean()) if (~its).any() else 0.0, 1 - OF_ZERO)
    lean = next((odds for words, odds in LEAN_VOID.items() if re.search(words, text, re.IGNORECASE)), UNHEARD_OF)
    if share <= BILLED_THOUGH_VOID:
        return lean
    less, more = log(BILLED_THOUGH_VOID / share), log((1 - BILLED_THOUGH_VOID) / (1 - share))
    return lean + billed * less + missing * more
