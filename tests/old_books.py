"""Makes the book of the newest form, which is then kept for ever.

Run once for each new step: python -m tests.old_books
"""

from __future__ import annotations

import tempfile
from datetime import date
from pathlib import Path

from auditor.book import accounting, kept_disputes
from auditor.book.ledger import copies, opened
from auditor.book.ledger.opening import own_steps
from auditor.disputes.marking import Mark
from tests import small_book

FOLDER = Path(__file__).parent / "fixtures" / "books"


def main() -> None:
    """A book of March in which one dispute was sent. One that is there is never written anew."""
    target = FOLDER / f"form-{max(own_steps())}.sqlite"
    with tempfile.TemporaryDirectory() as name:
        path = Path(name, "book.sqlite")
        accounting.reconcile([small_book.march(Path(name, "march"))], book=path, today=date(2026, 4, 2))
        with opened(path) as book:
            how = Mark("sent", date(2026, 4, 3), reference="C-1")
            kept_disputes.mark(book, ["NP3"], how, today=date(2026, 4, 3))
            copies.backup(book, target)


if __name__ == "__main__":
    main()
