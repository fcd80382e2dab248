"""Tests of auditor/book."""
