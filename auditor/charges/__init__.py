"""Statement lines and records → what was billed, what should have been, and why the two differ, in whole cents.

schema.py         the nouns: a row for each parcel and statement, figures and players
charge_words.py   how far the word for a charge is believed
learned/          prices learned from labels and statements, and changes of price found in them
duplicates.py, credits.py, taxes.py   what is charged again, given back, taxed oddly
measured/         what the carrier measured of each parcel, statement by statement, shown or inferred
gathering.py      lines, records and notices → cases
reckoning.py      cases and prices, each of which tells of the other
attribution.py    the difference → causes (shapley.py), in cents that add up to it
carrier_errors.py, outliers.py, checks.py   wrong charges named, odd measurements, whole statements
"""
