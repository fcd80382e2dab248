"""The life of a dispute, on tables alone: the book keeps it, the commands mark it.

life.py       open → sent → answered → credited, refused or given up
deadlines.py  until when; reminders and a calendar
"""
