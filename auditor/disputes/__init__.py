"""The life of a dispute: open → sent → answered → credited, refused or given up.

In go tables: the history so far (EVENTS), what was found, what statements credit, and what somebody marks by hand. Out
come events to add to the history, and how each dispute stands by it. The book keeps it; no file is touched here.

Read in this order:

history.py    what happened, to which is only added
states.py     the history → how each dispute stands, to the cent
opening.py    what findings open, change or leave nothing of
reissues.py   disputes go on when their statement is issued again
credits.py    money back on a later statement → the disputes it is for
marking.py    what somebody marks by hand, and what cannot be marked
deadlines.py  until when a dispute can be sent; reminders and a calendar
"""
