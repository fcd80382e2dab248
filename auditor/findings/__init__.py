"""A difference → the finding: its facts, its sentence, the standing of a dispute, its working.

sentences.py  the one plain sentence
facts.py      what the words about a case are made of
standing.py   whether it is worth disputing, for how much, and why
assembly.py   cases and loose lines → findings
working.py    every step from the statement's line to the cent
"""
