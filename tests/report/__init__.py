"""Tests of auditor/report."""
