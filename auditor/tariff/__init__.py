"""Rules and prices: what a parcel should cost. `load` a tariff, give it `Prices`, and `price` a table of parcels."""

from auditor.tariff.price import column_of, over_words, price
from auditor.tariff.prices import Prices
from auditor.tariff.rules import Rounding, RuleError, Rules, Tariff, load

__all__ = ["Prices", "Rounding", "RuleError", "Rules", "Tariff", "column_of", "load", "over_words", "price"]
