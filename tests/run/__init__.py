"""Tests of the whole run, and of what is written about it."""
