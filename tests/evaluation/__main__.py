"""Print the tables that docs/evaluation.md shows."""

from tests.evaluation import hidden, learning, matching

for part in (matching, hidden, learning):
    print(f"{part.__doc__.splitlines()[0]}\n" if part.__doc__ else "")
    for line in part.tables():
        print(line)
    print()
