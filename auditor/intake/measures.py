"""What sizes and weights look like in running text: regular expressions, to be read without regard to case."""

from __future__ import annotations

NUMBER = r"(?<!\d)\d{1,6}(?:[.,]\d{1,6})?(?:[ -]\d{1,3}/\d{1,3}|\s?[¼½¾⅛⅜⅝⅞])?"
INCHES = r"in(?:ch(?:es)?)?\b\.?|[\"″”]"
METRIC = r"cm\b|mm\b|centim[eè]t(?:er|re)s?\b"
LENGTH_UNIT = rf"(?:\s*(?:{INCHES}|{METRIC}))?"
TIMES = r"(?:\s*(?:[x×*]|by)\s*|\s/\s)"
SIZE = rf"{NUMBER}{LENGTH_UNIT}{TIMES}{NUMBER}{LENGTH_UNIT}{TIMES}{NUMBER}{LENGTH_UNIT}"
WEIGHT = (
    rf"(?<!\d)\d{{1,2}} \d{{3}}\s?g\b|"
    rf"{NUMBER}\s*(?:lbs?|pounds?|kgs?|kilo(?:gram(?:me)?)?s?|oz|ounces?|g|gram(?:me)?s?)\b"
    rf"(?:\s*{NUMBER}\s*(?:oz|ounces?)\b)?"
)
