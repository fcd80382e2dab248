"""Whether the tests of a room notice when its code is changed: small changes, one at a time.

`python -m tests.mutants match --runs 80 --seed 1` draws 80 changes of `auditor/match`, puts each into a copy of the
tree, and runs those quick tests of `tests/match` that reach the changed line, the quickest first. A change that some
test fails on is killed. One that none fails on has survived: it gets a test, or a line in `equivalent.toml` with the
reason why nobody could notice.

Two kept libraries were looked at. mutmut (3.8) changes only what stands in undecorated functions, so neither the
constants of a module nor a property or class method; cosmic-ray (8.7) writes into the tree itself and runs one command
of all tests in a new process for each change, a minute each here. Hence this one.

changes.py    a file's possible changes
running.py    which tests reach which line; the tests with a change in a process of their own
"""
