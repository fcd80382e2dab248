"""What a statement calls things: pools of words that are split, one of them without meaning."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random

POOLS = ("plain", "unheard", "nonsense")
FOLDER = Path(__file__).with_name("pools")
STARTS = (
    "b",
    "br",
    "d",
    "dr",
    "f",
    "fl",
    "g",
    "gl",
    "k",
    "kr",
    "l",
    "m",
    "n",
    "p",
    "pl",
    "r",
    "s",
    "sk",
    "t",
    "tr",
    "v",
    "w",
    "z",
)
VOWELS = ("a", "e", "i", "o", "u", "ai", "oo", "ou")
ENDS = ("", "", "b", "k", "l", "m", "n", "p", "r", "x", "sk", "nd", "lt")


@dataclass(frozen=True)
class Words:
    """What each thing is called, by its key."""

    pool: str
    called: Mapping[str, str]

    def __getitem__(self, key: str) -> str:
        """What the statement calls it."""
        return self.called[key]


@cache
def pool(name: str) -> Mapping[str, Mapping[str, list[str]]]:
    """The words by language and key."""
    read: Mapping[str, Mapping[str, list[str]]] = tomllib.loads((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))
    return read


@cache
def plain_words() -> frozenset[str]:
    """Every single word of the plain pool, in lower case."""
    phrases = (phrase for keys in pool("plain").values() for choices in keys.values() for phrase in choices)
    return frozenset(word for phrase in phrases for word in phrase.casefold().split())


def words(name: str, chance: Random) -> Words:
    """Words of a pool drawn at random: one language, one word for each key; or strings that mean nothing."""
    if name == "nonsense":
        return Words(name, _nonsense(chance))
    languages = pool(name)
    chosen = languages["en" if chance.random() < 0.4 else chance.choice(sorted(languages))]
    return Words(name, {key: chance.choice(choices) for key, choices in chosen.items()})


def _nonsense(chance: Random) -> dict[str, str]:
    """A string for each key, all different, each of its own number of words and in its own case."""
    seen = set(plain_words())
    case = chance.choice((str.capitalize, str.upper, str.lower, str.capitalize))
    called = {}
    for key in pool("plain")["en"]:
        parts = [string(chance, seen) for _ in range(chance.choice((1, 1, 2)))]
        called[key] = " ".join(case(part) for part in parts)
    return called


def string(chance: Random, seen: set[str]) -> str:
    """A pronounceable string that was not there before."""
    while True:
        made = "".join(
            chance.choice(STARTS) + chance.choice(VOWELS) + chance.choice(ENDS) for _ in range(chance.choice((2, 2, 3)))
        )
        if made not in seen and len(made) > 3:
            seen.add(made)
            return made
