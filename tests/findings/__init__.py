"""Tests of auditor/findings."""
