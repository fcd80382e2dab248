"""Rules and prices: what a parcel should cost. `load` a tariff, give it `Prices`, and `price` a table of parcels.

In go rule files, the seller's tables of prices, and parcels; out come the billable weight, every charge, and why a
parcel has no price. In the order they are read:

rules.py       what a tariff states, and its rules of a day
rule_files.py  where rule files lie; quantities.py, forms.py: how what they state is written; loading.py: a whole file
rulebook.py    which tariff holds for which service
prices.py      the seller's rates, fees and fuel, by columns; places.py: where in their files they stand
figures.py     parcels as arrays; limits.py: the limits they pass; weights.py: the billable weight
surcharges.py  which charges are due, and what they come to
price.py       all of it for a table; reasons.py: why a parcel has no price; priced.py: one price, or the reason
expected.py    what each recorded label should cost, as far as prices are known
margins.py     how far parcels are from each limit
sentences.py   rules in words; checks.py: rules that cannot mean what they say
"""

from auditor.tariff.expected import charges_due, expected_charges, expecting
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
    "charges_due",
    "column_of",
    "expected_charges",
    "expecting",
    "limit_words",
    "limits_passed",
    "load",
    "margins",
    "opened",
    "price",
    "priced",
    "shipped",
]
