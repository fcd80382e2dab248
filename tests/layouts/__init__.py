"""Documents in layouts that the package was not written from, each with its planted truth."""
