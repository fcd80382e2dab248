"""Tests of auditor/tariff."""
