"""summary.json: the run in figures another program can read. Money is plain decimal text, what is missing is null."""

from __future__ import annotations

import json

import pandas as pd

from auditor.audit import Audit
from auditor.core import money
from auditor.report.groups import by_carton, by_cause
from auditor.report.plain import Row, plain_rows


def summary_json(audit: Audit) -> str:
    """The summary as JSON text."""
    return json.dumps(summary(audit), indent=2, ensure_ascii=False) + "\n"


def summary(audit: Audit) -> Row:
    """The summary as plain values; docs/outputs.md says what each key means."""
    return {
        "statements": [_statement(row) for row in plain_rows(audit.statements)],
        "replaced": [_replaced(row) for row in plain_rows(audit.replaced)],
        "counts": _counts(audit),
        "amounts": _amounts(audit),
        "by_cause": _groups(by_cause(audit.findings)),
        "by_carton": _groups(by_carton(audit.findings)),
        "rules": {
            "name": audit.rules_name,
            "version": audit.rules_version,
            "known_until": ", ".join(f"{tariff.known_until}" for tariff in audit.rulebook.tariffs),
            "sources": list(audit.rules_sources),
        },
        "never_billed": _labels(audit.never_billed),
        "voided_billed": _labels(audit.voided_billed),
        "problems": [
            {"file": problem.file, "place": problem.place, "message": problem.message} for problem in audit.problems
        ],
    }


def _statement(row: Row) -> Row:
    printed = row["printed_total_cents"]
    return {
        "statement": row["statement"],
        "lines": row["lines"],
        "lines_total": money.text(row["lines_total_cents"]),
        "printed_total": None if printed is None else money.text(printed),
        "ties": row["ties"],
        "reading": row["reading"],
        "proof": row["proof"],
    }


def _replaced(row: Row) -> Row:
    names = {"statement": "statement", "source_file": "file", "by_statement": "by_statement", "by_file": "by_file"}
    sums = {"billed": money.text(row["billed_cents"]), "by_billed": money.text(row["now_cents"])}
    return {name: row[column] for column, name in names.items()} | sums | {"reason": row["reason"]}


def _counts(audit: Audit) -> dict[str, int]:
    numbered, matched = audit.lines["tracking"].notna(), audit.lines["shipment"].notna()
    return {
        "lines": len(audit.lines),
        "matched": int(matched.sum()),
        "unmatched": int((numbered & ~matched).sum()),
        "shipments": len(audit.shipments),
        "never_billed": len(audit.never_billed),
        "findings": len(audit.findings),
    }


def _amounts(audit: Audit) -> dict[str, str]:
    return {
        "billed": money.text(audit.billed_cents),
        "expected": money.text(audit.expected_cents),
        "difference": money.text(audit.difference_cents),
        "not_audited": money.text(audit.not_audited_cents),
        "disputable": money.text(audit.disputable_cents),
    }


def _groups(table: pd.DataFrame) -> dict[str, Row]:
    return {
        row["name"]: {"count": row["count"], "amount": money.text(row["amount_cents"])} for row in plain_rows(table)
    }


def _labels(shipments: pd.DataFrame) -> list[Row]:
    named = shipments[["tracking", "source_file", "source_place"]]
    return plain_rows(named.rename(columns={"source_file": "file", "source_place": "place"}))
