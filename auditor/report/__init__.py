"""An Audit as files: a page for people, tables for a spreadsheet, a summary for programs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from auditor.audit import Audit
from auditor.core.whole_files import write_together
from auditor.report.csv_files import findings_csv, lines_csv
from auditor.report.html.page import report_html
from auditor.report.summary import summary_json

__all__ = ["write"]


def write(audit: Audit, folder: Path, *, reminders: Sequence[str] = ()) -> list[Path]:
    """Write the four files into `folder`, which is made where it is missing.

    All four are written or none, each whole: where one cannot be, an earlier run's four stay as they were. The same
    audit and reminders give the same bytes.

    Args:
        audit: what is written.
        folder: where.
        reminders: sentences that stand first in the page: what can be disputed for a few days only, say.

    Returns:
        The paths of report.html, findings.csv, lines.csv and summary.json, in that order.

    Raises:
        OSError: the folder cannot be made or written to.
    """
    texts = {
        "report.html": report_html(audit, reminders),
        "findings.csv": findings_csv(audit),
        "lines.csv": lines_csv(audit),
        "summary.json": summary_json(audit),
    }
    folder.mkdir(parents=True, exist_ok=True)
    return write_together(folder, texts)
