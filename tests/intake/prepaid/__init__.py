"""Tests of papers about prepaid labels."""
