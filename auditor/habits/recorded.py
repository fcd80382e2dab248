"""What a study of habits is given: what is recorded of a shop, and what is aimed at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

import pandas as pd

from auditor.tariff import Prices, Rulebook


@dataclass(frozen=True)
class Recorded:
    """A shop's tables, as an `auditor.audit.Audit` has them; `cartons` may be empty, `lines` have `shipment`."""

    shipments: pd.DataFrame
    cartons: pd.DataFrame
    lines: pd.DataFrame
    readings: pd.DataFrame
    findings: pd.DataFrame
    rulebook: Rulebook
    prices: Prices


@dataclass(frozen=True)
class Aims:
    """What is aimed at, and what the seller says.

    `most_chance`: of a back-charge that a safe length may have. `cover`: the share of parcels that a default weight is
    to cover at least. `changed_on`: by a carton's name the day from which it is used otherwise.
    """

    most_chance: float = 0.02
    cover: float = 0.9
    changed_on: Mapping[str, date] = field(default_factory=dict)


USUAL = Aims()
