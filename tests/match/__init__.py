"""Tests of auditor/match."""
