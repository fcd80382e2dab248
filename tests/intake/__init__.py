"""Tests of auditor/intake."""
