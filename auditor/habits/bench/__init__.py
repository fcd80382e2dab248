"""Before shipping: `precheck.py` checks a parcel, by prices that may have been learned (`prices.py`)."""
