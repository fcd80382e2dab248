"""Tests of auditor/cli."""
