"""How well the program does on months whose truth is known: `python -m tests.evaluation` prints the tables of docs/."""
