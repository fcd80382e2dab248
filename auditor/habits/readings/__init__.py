"""Where the carrier's readings of a carton lie, from those it showed and from those it never corrected.

alike.py, lot.py, cells.py  which parcels and readings are billed alike
bounds.py                   between which figures each reading lies
slips.py                    parcels sent otherwise than declared by mistake
excess.py                   how far readings lie beyond the declared figure
likelihoods.py              how likely each such mean and spread is, on grids
tolerance.py                what to expect of them where nothing has been seen
combinations.py, silence.py readings of several figures together; what no correction says
"""
