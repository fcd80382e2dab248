"""Accounts for every line of a parcel carrier's statement and says what each back-charge is.

import auditor
audit = auditor.reconcile(["my-month/"])
audit.findings          # a pandas table; its columns are in docs/tables.md
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from auditor.audit import Audit, reconcile

__all__ = ["Audit", "reconcile"]


def __getattr__(name: str) -> Any:
    """Load the audit only when it is asked for, so that the command line's help answers at once."""
    if name not in __all__:
        raise AttributeError(f"module 'auditor' has no {name}")
    from auditor import audit

    return getattr(audit, name)
