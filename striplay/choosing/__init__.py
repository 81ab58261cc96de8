"""Help to choose: variants of a plan side by side, and the five systems judged for a field."""
