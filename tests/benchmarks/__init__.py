"""Benchmarks: ratios to a floor measured in the same run. `python -m tests.benchmarks.pricing` and its like."""
