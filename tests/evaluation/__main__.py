"""Print the tables that docs/matching.md shows."""

from tests.evaluation.matching import tables

for line in tables():
    print(line)
