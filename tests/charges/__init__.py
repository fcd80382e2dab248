"""Tests of auditor/charges."""
