"""A hunt for ends that nobody foresaw: whole months, mutated, go through every command.

`python -m tests.hunt --seed N --runs N` goes through cases N, N+1, …, and prints each unforeseen end with its smallest
reproduction. A case follows from its number alone.
"""
