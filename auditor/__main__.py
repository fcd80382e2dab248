"""`python -m auditor` is the command line."""

from auditor.cli import main

main()
