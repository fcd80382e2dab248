"""A difference → the finding: its facts, its sentence, the standing of a dispute, its working.

facts.py           what is known of a case: what all words about it are made of
figure_words.py    lengths, weights and sizes in words
facts_of_cases.py  tables → the facts of those cases that need words
sentences.py       the one plain sentence
standing.py        whether it is worth disputing, for how much, and why
assembly.py        cases and loose lines → findings
working.py         every step from the statement's line to the cent
"""
