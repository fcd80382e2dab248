"""report.html: one page for the seller that needs nothing beside it. `report.html.j2` lays it out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

import jinja2
import pandas as pd

from auditor.audit import Audit
from auditor.core.progress import each
from auditor.report import prepaid, wording
from auditor.report.groups import by_carton, by_cause
from auditor.report.html.habits_chapter import chapter
from auditor.report.plain import Row, plain_rows
from auditor.report.sums import sums

MOST_FINDINGS = 500
"""So many findings are shown, the largest; a browser is slow with more, and findings.csv has them all."""

MOST_ROWS = 500


def report_html(audit: Audit, reminders: Sequence[str] = ()) -> str:
    """The whole page as HTML text; every text from a file is escaped."""
    return _environment().get_template("report.html.j2").render(contents(audit) | {"reminders": list(reminders)})


def contents(audit: Audit) -> Row:
    """What the template is given, by name."""
    habits = chapter(audit)
    findings = _findings(audit)
    return {
        "audit": audit,
        "lede": " ".join(prepaid.lede(audit)),
        "balances": list(prepaid.balance(audit)),
        "sums": list(sums(audit, habits["paid"]["corrections_cents"])),
        "most_rows": MOST_ROWS,
        "period": wording.period(audit.lines["shipped_on"]) or wording.period(audit.statements["statement_on"]),
        "statements": plain_rows(audit.statements),
        "replaced": plain_rows(audit.replaced),
        "untied": plain_rows(audit.statements[audit.statements["ties"].eq(other=False).fillna(value=False)]),
        "faults": [problem for problem in audit.problems if not problem.note and not problem.asks],
        "questions": [problem for problem in audit.problems if problem.asks],
        "notes": [problem for problem in audit.problems if problem.note],
        "unread": [problem for problem in audit.problems if problem.unread],
        "causes": _with_bars(plain_rows(by_cause(audit.findings))),
        "cartons": _with_bars(plain_rows(by_carton(audit.findings))),
        "habits": habits,
        "findings": findings,
        "totals": list(_totals(findings, audit)),
        "disputes": _disputes(audit.findings),
        "never_billed": plain_rows(audit.never_billed),
        "voided_billed": plain_rows(audit.voided_billed),
        "ages": [wording.age(tariff, audit.lines["shipped_on"].max()) for tariff in audit.rulebook.tariffs],
        "learned": int(audit.findings["price_basis"].isin(["learned", "label"]).sum()),
    }


@cache
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        loader=jinja2.FileSystemLoader(Path(__file__).parent),
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    shown = (
        wording.chance,
        wording.counted,
        wording.day,
        wording.dollars,
        wording.inches,
        wording.over,
        wording.pounds,
        wording.share,
        wording.verdict,
    )
    environment.filters.update({write.__name__: write for write in shown})
    environment.globals.update(CAUSES=wording.CAUSES, WORDS=wording.WORDS, KINDS=wording.KINDS)
    environment.globals.update(PRICES=wording.PRICES, MATCHES=wording.MATCHES)
    return environment


def _with_bars(groups: list[Row]) -> list[Row]:
    longest = max((abs(group["amount_cents"]) for group in groups), default=0) or 1
    return [{**group, "bar": round(100 * abs(group["amount_cents"]) / longest, 1)} for group in groups]


def _largest(findings: pd.DataFrame, most: int) -> pd.DataFrame:
    order = findings["difference_cents"].abs().sort_values(ascending=False, kind="stable", na_position="last").index
    return findings.loc[order[:most]]


def _findings(audit: Audit) -> list[Row]:
    shown = _largest(audit.findings, MOST_FINDINGS)
    return [
        {
            **row,
            "shares": _shares(row),
            "parts": audit.workings.get(row["finding"], ()),
        }
        for row in each(plain_rows(shown), "Writing the working of each finding")
    ]


def _shares(finding: Row) -> list[tuple[str, int]]:
    """The causes of a finding with their cents, the largest first."""
    shares = [(name, finding[column]) for column, name in wording.SHARES.items() if finding[column]]
    return sorted(shares, key=lambda share: -abs(share[1]))


def _totals(shown: Sequence[Row], audit: Audit) -> Iterator[Row]:
    """The sums of the list of findings: of those that it shows, and of all where that is more."""
    columns = ("difference_cents", "disputable_cents", "billed_cents", "expected_cents")
    if len(shown) < len(audit.findings):
        yield {"name": f"these {len(shown):,}", **{name: sum(row[name] or 0 for row in shown) for name in columns}}
    if len(shown):
        sums = {name: int(audit.findings[name].sum()) for name in columns}
        yield {"name": f"all {len(audit.findings):,}", **sums}


def _disputes(findings: pd.DataFrame) -> Row:
    worth = findings[(findings["disputable_cents"] > 0).fillna(value=False)]
    first_day = worth["dispute_by"].min()
    return {"count": len(worth), "first_day": None if pd.isna(first_day) else first_day}
