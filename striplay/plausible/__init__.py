"""Say which figures of a plan are so far from the trade's that a slip is likely."""
