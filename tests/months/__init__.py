"""Invented months of parcels with known faults, and a plain recomputation that shares no code with the package."""
