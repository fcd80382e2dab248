"""The whole run as one function: files in, an Audit out. What the command line, a notebook and a page call."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from auditor.tables import Problem


@dataclass(frozen=True)
class Step:
    """One step of a working: what was done, the figure it gave, and the rule it rests on with its version and source."""

    what: str
    figure: str
    rule: str = ""
    version: str = ""
    source: str = ""


@dataclass(frozen=True)
class Limit:
    """A limit of the tariff on the longest side: over `over_nm` a parcel pays `charge`."""

    charge: str
    over_nm: int


@dataclass(frozen=True)
class Audit:
    """What one run found. Every table's columns and units are in `auditor.tables` and docs/tables.md.

    `shipments`, `cartons`, `lines`, `statements`, `readings`, `findings`: tables of the schemas of those names.
    `never_billed`, `voided_billed`: rows of `shipments`. Sums: billed = expected + difference + not_audited.
    """

    shipments: pd.DataFrame
    cartons: pd.DataFrame
    lines: pd.DataFrame
    statements: pd.DataFrame
    readings: pd.DataFrame
    findings: pd.DataFrame
    never_billed: pd.DataFrame
    voided_billed: pd.DataFrame
    problems: tuple[Problem, ...]
    rules_name: str
    rules_version: str
    rules_sources: tuple[str, ...]
    limits: tuple[Limit, ...]
    billed_cents: int
    expected_cents: int
    difference_cents: int
    not_audited_cents: int
    disputable_cents: int
    workings: dict[str, tuple[tuple[str, tuple[Step, ...]], ...]] = field(default_factory=dict)
    """For each finding, headed parts of its working: ((heading, steps), …)."""
