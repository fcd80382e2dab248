"""Which carton habit costs what, and what to change.

same_carton.py, known_cartons.py   which parcels went in one carton; the shop's list of them
readings/        where the carrier's readings lie, and how far beyond the declared figure
outlook.py, history.py   what to expect of a parcel, and the shop's own past
recorded.py        what a study is given
rates.py, costs.py, changes.py, flat_charge.py   what it cost, and what buyers paid
advice/          cuts, weights, sentences, cautions
fit_shown.py, overview.py   all of it as tables
what_if.py, bench/   months repriced with one change; the check before shipping
"""

from auditor.habits.history import History, history
from auditor.habits.overview import Habits, study
from auditor.habits.recorded import Aims, Recorded

__all__ = ["Aims", "Habits", "History", "Recorded", "history", "study"]
