"""Across: rows and strips of one set, and the whole passes that cover them; plain arithmetic."""
