"""Tests of auditor/core."""
