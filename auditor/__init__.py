"""Accounts for every line of a parcel carrier's statement and says what each back-charge is."""
