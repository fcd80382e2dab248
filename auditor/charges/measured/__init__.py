"""What the carrier measured of each parcel, statement by statement.

repriced.py      a parcel priced by the carrier's figures
inferred.py      the figures that a bill implies where none is shown
by_statement.py  each statement held against the one before: figures, and the player that moves each
"""
