"""Tests of auditor/disputes."""
