"""Tests of auditor/habits."""
