"""A stranger's file by evidence: figures decide, words lean, arithmetic proves.

known.py    what the shop's own files and the book say before a carrier's file is read
"""
