"""Which carton habit costs what, and what to change."""
