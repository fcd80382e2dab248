"""Prices learned from labels and statements, for a shop without tables or with older ones.

fuel.py          the fuel percentage of each week
rises.py         a day from which all prices are higher by one percentage
rates.py         freight by service, zone and weight; fees
older_tables.py  the seller's own tables brought up to what all labels show
"""
