"""Rules and prices: what a parcel should cost. `load` a tariff, give it `Prices`, and `price` a table of parcels."""

from auditor.tariff.limits import limit_words, limits_passed
from auditor.tariff.loading import load
from auditor.tariff.margins import margins
from auditor.tariff.price import price
from auditor.tariff.priced import Priced, Unpriced, priced
from auditor.tariff.prices import Prices
from auditor.tariff.rule_files import RuleError, shipped
from auditor.tariff.rulebook import Rulebook, opened
from auditor.tariff.rules import Rounding, Rules, Tariff
from auditor.tariff.surcharges import column_of

__all__ = [
    "Priced",
    "Prices",
    "Rounding",
    "RuleError",
    "Rulebook",
    "Rules",
    "Tariff",
    "Unpriced",
    "column_of",
    "limit_words",
    "limits_passed",
    "load",
    "margins",
    "opened",
    "price",
    "priced",
    "shipped",
]
