"""Open and write files: the only code that does."""
