"""Which carton habit costs what, and what to change.

In reading order: `alike`, `lot` and `cells`, which parcels and readings are billed alike; `bounds`, where each reading
lies; `slips`, which parcels were sent otherwise than declared; `excess`, how far readings lie beyond the declared
figure; `outlook`, what to expect of a parcel; `cartons` and `history`, the shop's own past; `rates`, `costs`, `trims`,
`weights` and `changes`, what it means; `advice`, in words; `overview`, all of it.
"""

from auditor.habits.history import History, history
from auditor.habits.overview import Habits, study

__all__ = ["Habits", "History", "history", "study"]
