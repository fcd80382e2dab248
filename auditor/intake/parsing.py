"""Texts → values. Each function reads one text, exactly, or raises ValueError with the reason in plain words.

The reason goes on after the text: "'44x6' has 2 sides, needs three …". Nothing is guessed and no float is made.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from datetime import date as Date  # noqa: N812 - a type here; `date` is the function that reads one
from fractions import Fraction
from itertools import pairwise
from typing import TypeVar

import numpy as np
import pandas as pd

from auditor.core import units
from auditor.core.money import MOST_PRICE
from auditor.intake.texts import as_they_stand, by_code, coded, spread

Value = TypeVar("Value")

LONGEST = 100
MOST_CENTS = 10**14
MOST = {"length": 100 * 10**9, "weight": 9_000 * 10**15}
"""100 m and 9 t: beyond any parcel, and within a whole number of 64 bits."""
HALVES_OF_CENTURY = 70
MOST_DAYS = 31


def parsed(column: pd.Series, parse: Callable[[str], Value], dtype: str | None = None) -> tuple[pd.Series, pd.Series]:
    """Read a column of texts, each distinct text once.

    Args:
        column: texts, plain or categorical; a blank one is a missing value and no fault.
        parse: one of this module's functions.
        dtype: of the values; without one they are left as they are.

    Returns:
        The values over the same index, None where there is none; and the reasons of the texts that could not be read,
        over their rows only.
    """
    if parse is words and (values := as_they_stand(column, LONGEST)) is not None:
        return values, column[:0]
    codes, texts = coded(column)
    found, reasons = _outcomes(parse, texts)
    values = pd.Series(found, dtype=object)
    values = values.astype(dtype) if dtype else values  # type: ignore[call-overload]
    if not reasons:
        return spread(values, codes, column.index), column[:0].astype(object)
    are_refused = np.array([text in reasons for text in (*texts, None)])  # None is for a code of -1
    refused = column.iloc[np.flatnonzero(by_code(are_refused, codes))]
    return spread(values, codes, column.index), refused.astype(object).map(reasons)


def _outcomes(parse: Callable[[str], Value], texts: Sequence[str]) -> tuple[list[Value | None], dict[str, str]]:
    """What each text gives, None where that is nothing; and the reasons of those that could not be read."""
    found: list[Value | None] = []
    reasons: dict[str, str] = {}
    for text in texts:
        value = None
        if len(text) > LONGEST:
            reasons[text] = f"is longer than any such value ({len(text)} characters)"
        elif text and not text.isspace():
            try:
                value = parse(text)
            except ValueError as reason:
                reasons[text] = str(reason)
        found.append(value)
    return found, reasons


# Money

AMOUNT = re.compile(r"(?P<whole>\d{1,3}(?:,\d{3})+|\d+)?(?:\.(?P<part>\d*))?")
BARE_AMOUNT = re.compile(r"-?\d{1,9}\.\d\d", re.ASCII)
"""What most of all are, read in half the time of others."""
PLAIN_AMOUNTS = {
    False: re.compile(r"(-?)[$€£¥]?(\d{1,9}|\d{1,3}(?:,\d{3}){1,2})\.(\d\d)(?: ?[$€£¥])?", re.ASCII),
    True: re.compile(r"(-?)[$€£¥]?(\d{1,9}|\d{1,3}(?:\.\d{3}){1,2}),(\d\d)(?: ?[$€£¥])?", re.ASCII),
}
"""What most others are, without and with a decimal comma, which are read without further ado."""
SIGNS = re.compile(
    r"(?P<front>[-+−–]|\()?\s*(?P<amount>[\d.,'’\s]*\d[\d.,'’\s]*?)\s*(?P<back>\)|[-+−–]|cr|dr)?", re.IGNORECASE
)
BRACKETED_SIGN = re.compile(r"\(([-+−–])\)")
"""A sign in brackets of its own: '(-) 12.34'."""
CURRENCY = re.compile(
    r"us\s?\$|[$€£¥]|usd|us dollars?|dollars?|euros?|eur|gbp|cad|aud|nzd|chf|zar|inr|rs\.?|sek|nok|dkk|kr\.?|"
    r"pln|zł|czk|kč",
    re.IGNORECASE,
)
"""Currencies beside an amount, which is read as it stands; which there are is told by currency.py."""
DECIMALS = re.compile(r"\d([.,])\d{1,2}\D*$")
BELOW_ZERO = {("(", ")"), ("-", ""), ("", "-"), ("", "cr")}
ABOVE_ZERO = {("", ""), ("+", ""), ("", "+"), ("", "dr")}


def money(text: str, *, decimal_comma: bool = False, most: int = MOST_CENTS) -> int:
    """Cents of an amount: '-$1,234.50' → -123450, '(12.34)' → -1234, '12.34 CR' → -1234.

    Args:
        text: what stands there.
        decimal_comma: whether 12,34 is 12.34.
        most: the most cents that it may be, so that sums of such amounts hold (see `money.most_in`).

    Raises:
        ValueError: no amount of money, one with a part of a cent, or one of more than that.
    """
    cents = _signed_cents(text, decimal_comma=decimal_comma)
    if abs(cents) > min(most, MOST_CENTS):
        of = "parcel costs" if most == MOST_PRICE else "statement has"
        raise ValueError(f"is more money than any {of}")
    return cents


def _signed_cents(text: str, *, decimal_comma: bool) -> int:
    if not decimal_comma and BARE_AMOUNT.fullmatch(text):
        return int(text.replace(".", ""))
    if plain := PLAIN_AMOUNTS[decimal_comma].fullmatch(text):
        sign, whole, part = plain.groups()
        return int(f"{sign}{whole.replace('.' if decimal_comma else ',', '')}{part}")
    found = SIGNS.fullmatch(" ".join(CURRENCY.sub(" ", BRACKETED_SIGN.sub(r"\1", text)).split()))
    if not found:
        raise ValueError("is not an amount of money, such as 12.34, -12.34 or (12.34)")
    ends = tuple((found[side] or "").lower().translate({0x2212: "-", 0x2013: "-"}) for side in ("front", "back"))
    if ends not in BELOW_ZERO | ABOVE_ZERO:
        raise ValueError("has a sign that is not clear; write -12.34 or (12.34) for money back")
    cents = _cents(found["amount"], decimal_comma=decimal_comma)
    return -cents if ends in BELOW_ZERO else cents


def _cents(amount: str, *, decimal_comma: bool) -> int:
    plain = amount.translate({ord("."): ",", ord(","): "."}) if decimal_comma else amount
    plain = re.sub(r"(?<=\d)['’\s](?=\d{3})", ",", plain)
    found = AMOUNT.fullmatch(plain)
    if not found:
        mark = "comma" if decimal_comma else "point"
        raise ValueError(f"is not an amount of money with a decimal {mark} and thousands in threes")
    cents = Fraction(f"{(found['whole'] or '0').replace(',', '')}.{found['part'] or '0'}") * 100
    if cents.denominator != 1:
        raise ValueError("has a part of a cent")
    return int(cents)


def has_decimal_comma(texts: Iterable[str]) -> bool:
    """Whether a column of amounts writes 12,34 for 12.34: some end so, and none in a point and two digits or one."""
    comma = False
    for text in texts:
        if found := DECIMALS.search(text):
            if found[1] == ".":
                return False
            comma = True
    return comma


# Days

MONTHS_OF_YEAR = (
    ("jan", "january", "januar", "janvier", "enero", "gennaio", "januari", "gen", "ene"),
    ("feb", "february", "februar", "février", "fevrier", "febrero", "febbraio", "februari", "fév", "fev"),
    ("mar", "march", "märz", "maerz", "mars", "marzo", "maart", "mrt", "mär"),
    ("apr", "april", "avril", "abril", "aprile", "avr", "abr"),
    ("may", "mai", "mayo", "maggio", "mei", "mag"),
    ("jun", "june", "juni", "juin", "junio", "giugno", "giu"),
    ("jul", "july", "juli", "juillet", "julio", "luglio", "juil", "lug"),
    ("aug", "august", "août", "aout", "agosto", "augustus", "ago"),
    ("sep", "sept", "september", "septembre", "septiembre", "settembre", "set"),
    ("oct", "october", "oktober", "octobre", "octubre", "ottobre", "okt", "ott"),
    ("nov", "november", "novembre", "noviembre"),
    ("dec", "december", "dezember", "décembre", "decembre", "diciembre", "dicembre", "dez", "déc", "dic"),
)
MONTHS = {name: number for number, names in enumerate(MONTHS_OF_YEAR, start=1) for name in names}
TIME = r"(?:[T ,]+\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?\s*(?:[ap]m)?\s*(?:Z|UTC|[+-]\d{2}:?\d{2})?)?"
YEAR_FIRST = re.compile(rf"(\d{{4}})([-/.])(\d{{1,2}})\2(\d{{1,2}}){TIME}|(\d{{4}})(\d{{2}})(\d{{2}})", re.IGNORECASE)
YEAR_LAST = re.compile(rf"(\d{{1,2}})([-/.])(\d{{1,2}})\2(\d{{4}}|\d{{2}}){TIME}", re.IGNORECASE)
WORD = r"[^\W\d_]+"
NAMED = re.compile(
    rf"(?:(\d{{1,2}})[ .-]+(?:de )?({WORD})|({WORD})[ .]+(\d{{1,2}}))[., -]+(?:de )?(\d{{4}}){TIME}", re.IGNORECASE
)
CLOSE = re.compile(rf"(\d{{1,2}})[ ./-]?({WORD})[ ./-]?(\d{{4}}|\d{{2}}){TIME}", re.IGNORECASE)
"""A day first and its month in letters, so that nothing need part them: 26MAR26."""
WITHOUT_YEAR = re.compile(
    rf"(\d{{1,2}})[ ./-]{{0,2}}(?:de )?({WORD})\.?|({WORD})[ ./-]{{1,2}}(\d{{1,2}})|(\d{{1,2}})([/.-])(\d{{1,2}})\.?",
    re.IGNORECASE,
)


WEEKDAY = re.compile(
    r"(?:(?:mon|tue|wed|thu|fri|sat|sun|montag|dienstag|mittwoch|donnerstag|freitag|samstag|sonnabend|sonntag|lun|mar|"
    r"mer|jeu|ven|sam|dim|mi[eé]|jue|vie|s[aá]b|dom|gio|maa|din|woe|don|vri|zat|zon|seg|ter|qua|qui|sex|m[åa]n|tis|tir|"
    r"ons|tor|fre|l[öoø]r|s[öoø]n|pon|wto|[śs]ro|czw|pi[ąa]|sob|nie)[^\W\d_]{0,10}|mo|di|mi|do|fr|sa|so|ma|wo|vr|za|zo)"
    r"[.,]*\s+(?=\S)",
    re.IGNORECASE,
)
"""The day of the week before a date, in the languages in which months are known. From memory."""


def date(text: str, *, day_first: bool = False) -> Date:
    """The day of '2026-03-04', '3/4/2026' (March unless `day_first`), '04.03.2026' (March), 'Mar 4, 2026', '20260304'.

    Raises:
        ValueError: no day of the calendar between 1990 and 2099.
    """
    plain = re.sub(r"(?<=\d)(?:st|nd|rd|th)\b", "", " ".join(text.split()))
    year, month, day = _year_month_day(plain, day_first=day_first)
    try:
        found = Date(year, month, day)
    except ValueError:
        raise ValueError("is no day of the calendar; write it as 2026-03-31") from None
    if not 1990 <= year <= 2099:  # noqa: PLR2004 - years in which labels are printed
        raise ValueError(f"is in the year {year}, which cannot be right")
    return found


def _year_month_day(text: str, *, day_first: bool) -> tuple[int, int, int]:
    if found := YEAR_FIRST.fullmatch(text):
        year, month, day = (found[i] or found[j] for i, j in ((1, 5), (3, 6), (4, 7)))
        return int(year), int(month), int(day)
    if found := YEAR_LAST.fullmatch(text):
        one, other = int(found[1]), int(found[3])
        year = _whole_year(found[4])
        return (year, other, one) if day_first or found[2] == "." else (year, one, other)
    if (found := NAMED.fullmatch(text)) and (month := MONTHS.get((found[2] or found[3]).casefold())):
        return int(found[5]), month, int(found[1] or found[4])
    if (found := CLOSE.fullmatch(text)) and (month := MONTHS.get(found[2].casefold())):
        return _whole_year(found[3]), month, int(found[1])
    if found := WEEKDAY.match(text):
        return _year_month_day(text[found.end() :], day_first=day_first)
    raise ValueError("is not a date; write it as 2026-03-31")


def _whole_year(digits: str) -> int:
    year = int(digits)
    return year + (2000 if year < HALVES_OF_CENTURY else 1900) if len(digits) == 2 else year  # noqa: PLR2004 - digits


def month_and_day(text: str, *, day_first: bool = False) -> tuple[int, int] | None:
    """Month and day of '26-Mar', 'Mar 26', '26.03.' or '03/26'; None for any other text."""
    plain = " ".join(text.split())
    found = WITHOUT_YEAR.fullmatch(plain) or WITHOUT_YEAR.fullmatch(WEEKDAY.sub("", plain, count=1))
    if not found:
        return None
    if named := found[2] or found[3]:
        month, day = MONTHS.get(named.casefold(), 0), int(found[1] or found[4])
    else:
        one, other = int(found[5]), int(found[7])
        month, day = (other, one) if day_first or found[6] == "." or one > len(MONTHS_OF_YEAR) else (one, other)
    return (month, day) if 1 <= month <= len(MONTHS_OF_YEAR) and 1 <= day <= MOST_DAYS else None


def day_order(texts: Iterable[str]) -> str:
    """How a column of dates such as 3/4/2026 is written, told by the numbers over 12 in it.

    Returns:
        "day first", "month first", "open" when no number decides, or "none" when no date is of that form.
    """
    plain = (WEEKDAY.sub("", text.strip(), count=1) for text in texts)
    found = [match for text in plain if (match := YEAR_LAST.fullmatch(text)) and match[2] != "."]
    if not found:
        return "none"
    if any(int(match[3]) > len(MONTHS_OF_YEAR) for match in found):
        return "month first"
    return "day first" if any(int(match[1]) > len(MONTHS_OF_YEAR) for match in found) else "open"


# Lengths, sizes and weights

NUMBER = r"(?:\d+[ -]+\d+/\d+|\d+/\d+|\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+,\d{1,2}|\d*\.\d+|\d+\.?)"
PART = re.compile(rf"({NUMBER})\s*([^\W\d_]+\.?|[\"'″′”’#]+)?[\s,]*(?:and\s+)?", re.IGNORECASE)
VULGAR = re.compile(r"[¼-¾⅐-⅞]")
SLASH = re.compile(r"(?<=\d)\s*[/⁄∕]\s*(?=\d)")
FEET_DASH = re.compile(r"(?<=['′’])\s*-\s*(?=\d)")
"""The dash of 3'-11", which parts feet from inches and takes nothing away."""
WHICH_SIDE = re.compile(
    r"^(?:length|width|height|depth|[LWHD])[\s:=]*(?=[\d.])|(?<=\S)\s+(?:long|wide|high|deep|tall)$|(?<=[\"″”\d])[LWHD]$",
    re.IGNORECASE,
)
"""Which side a number is, as in L 44 or 44 in long; sides may stand in any order, so it says nothing more."""
TIMES = re.compile(r"\s*[x×✕⨯*]\s*|\s+by\s+", re.IGNORECASE)
SLASHED = re.compile(r"\d+(?:[.,]\d+)?(?:\s*[/;|]\s*\d+(?:[.,]\d+)?){2}\s*[^\W\d]{0,6}\.?")
PARTED = re.compile(r"\s*[/;|]\s*")
"""Three sides that stand so, as 48/20/8, can be no fraction."""
SIDES = 3
EXAMPLE = {"length": "such as 47 1/2 in or 121 cm", "weight": "such as 3 lb 4 oz or 1.5 kg"}


def length(text: str, unit: str | None = None) -> int:
    """Nanometres of one length: '47 1/2 in', '3 ft 11½ in', '121.5 cm'; `unit` is that of a bare number.

    Raises:
        ValueError: not a length, or below zero.
    """
    return _measure(text, unit, "length")


def weight(text: str, unit: str | None = None) -> int:
    """Picograms of one weight: '3 lb 4 oz', '3lb4oz', '1.5 kg', '52 oz'; `unit` is that of a bare number.

    Raises:
        ValueError: not a weight, or below zero.
    """
    return _measure(text, unit, "weight")


def above_zero(value: int) -> int:
    """The value; raises ValueError for zero."""
    if not value:
        raise ValueError("is zero")
    return value


def side(text: str, unit: str | None = None) -> int:
    """Nanometres of a side, as `length`, which cannot be zero."""
    return above_zero(length(text, unit))


def heft(text: str, unit: str | None = None) -> int:
    """Picograms of a parcel, as `weight`, which cannot be zero."""
    return above_zero(weight(text, unit))


def size(text: str, unit: str | None = None) -> tuple[int, int, int]:
    """Three sides in nanometres, in falling order, of '44 x 6 x 6 in' or '112×15×15 cm'.

    A side without a unit has that of the last one; `unit` is for sizes without any.

    Raises:
        ValueError: not three sides.
    """
    split = PARTED.split if SLASHED.fullmatch(text.strip()) else TIMES.split
    sides = [WHICH_SIDE.sub("", part.strip()) for part in split(text.strip())]
    count = len(list(filter(None, sides)))
    if len(sides) != SIDES or count != SIDES:
        counted = "1 side" if count == 1 else f"{count if count != SIDES else len(sides)} sides"
        raise ValueError(f"has {counted}, needs three: length x width x height, as in 44 x 6 x 6 in")
    last = [found[2] for found in PART.finditer(_simple(sides[-1]))]
    shared = last[-1] if last and last[-1] else unit
    longest, second, shortest = sorted((side(part, shared) for part in sides), reverse=True)
    return longest, second, shortest


def is_bare(text: str, kind: str) -> bool:
    """Whether a length, size or weight has numbers only and no unit."""
    sides = TIMES.split(text) if kind == "length" else [text]
    return not any(re.search(r"[^\W\d_]|[\"'″′”’#]", _simple(part)) for part in sides)


def _simple(text: str) -> str:
    """With fractions written out (11½ → 11 1/2, 1 ⁄ 2 → 1/2), 3'-11" as 3' 11", and without brackets."""
    spelled = VULGAR.sub(lambda found: " " + unicodedata.normalize("NFKC", found[0]), text)
    spelled = FEET_DASH.sub(" ", SLASH.sub("/", spelled))
    return " ".join(re.sub(r"[()\[\]]", " ", spelled).split())


def _measure(text: str, unit: str | None, kind: str) -> int:
    plain = _simple(text)
    if re.match(r"[-−–]\s*[\d.]", plain):
        raise ValueError("is below zero")
    parts = PART.findall(plain)
    if not parts or PART.sub("", plain):
        raise ValueError(f"is not a {kind}, {EXAMPLE[kind]}")
    named = [(number, _unit(written, unit if len(parts) == 1 else None, kind)) for number, written in parts]
    if any(units.factor(one, kind) <= units.factor(other, kind) for (_, one), (_, other) in pairwise(named)):
        raise ValueError(f"is not a {kind}, {EXAMPLE[kind]}")
    amount = sum(units.small(_number(number), one, kind) for number, one in named)
    if amount > MOST[kind]:
        raise ValueError(f"is more than any parcel's {kind}")
    return amount


def _unit(written: str, default: str | None, kind: str) -> str:
    meant = written or default
    if not meant:
        raise ValueError(f"has a number without a unit; write it {EXAMPLE[kind]}")
    known = units.symbol(meant, kind)
    if known is None:
        raise ValueError(f"has the unit '{meant}', which is not known; known are {', '.join(units.SPELLINGS[kind])}")
    return known


def _number(text: str) -> Fraction:
    """'47 1/2', '47-1/2', '1/2', '1,200', '112,5' or '112.5', exactly."""
    try:
        *whole, part = re.split(r"[ -]+", re.sub(r",(?=\d{3})", "", text).replace(",", ".").rstrip("."))
        return sum((Fraction(one) for one in whole), Fraction(part))
    except ZeroDivisionError:
        raise ValueError("has a fraction with zero below the line") from None


# The rest

YES = {"yes", "y", "true", "t", "1", "x", "✓", "✔", "residential", "voided", "void", "cancelled", "canceled"}
YES |= {"ja", "oui", "si", "sí", "sì", "vrai", "wahr", "residence", "home", "house", "privat", "private"}
NO = {"no", "n", "false", "f", "0", "-", "commercial", "business"}
NO |= {"nein", "non", "nee", "faux", "falsch", "company", "office", "gewerblich"}
VOIDED = re.compile(r"\b(?:void|cancel|refund|storn|annul|anul|geannul)", re.IGNORECASE)
IN_USE = re.compile(
    r"\b(?:active|valid|used|printed|purchased|created|accepted|shipped|sent|in transit|delivered|returned|complete|"
    r"billed|ok|open|pending|new)",
    re.IGNORECASE,
)
"""How the states of a label begin that was not cancelled."""
MOST_PERCENT = 1000


def percent(text: str) -> int:
    """Millionths of '15.25', '15.25 %' or '15,25%'.

    Raises:
        ValueError: not a percentage from 0 to 1000, or one with more than four decimals.
    """
    found = re.fullmatch(r"(\d+(?:[.,]\d+)?|[.,]\d+)\s*(?:%|percent|per cent)?", text.strip(), re.IGNORECASE)
    if not found:
        raise ValueError("is not a percentage, such as 15.25")
    share = Fraction(found[1].replace(",", ".")) * 10_000
    if share.denominator != 1:
        raise ValueError("has more than four decimals of a percent")
    if share > MOST_PERCENT * 10_000:
        raise ValueError("is more than any percentage of a charge")
    return int(share)


def flag(text: str) -> bool:
    """Yes or no.

    Raises:
        ValueError: neither.
    """
    word = text.strip().casefold()
    if word not in YES | NO:
        raise ValueError("is neither yes nor no")
    return word in YES


def voided(text: str) -> bool:
    """Whether a label was cancelled: yes or no, the day it was, or its state: 'Label voided', 'Delivered'.

    Raises:
        ValueError: none of these.
    """
    word = text.strip()
    if word.casefold() in YES | NO:
        return flag(word)
    if VOIDED.search(word):
        return True
    if IN_USE.match(word):
        return False
    try:
        date(word)
    except ValueError:
        raise ValueError("is neither yes nor no") from None
    return True


def zone(text: str) -> str:
    """A zone without the word and leading zeros: 'Zone 05' → '5'."""
    word = re.sub(r"^zon[ea]n?\b[\s:]*", "", text.strip(), flags=re.IGNORECASE)
    if not word:
        raise ValueError("names no zone")
    return word.lstrip("0") or "0" if word.isdecimal() else word


def words(text: str) -> str:
    """The text with single blanks."""
    return " ".join(text.split())
