"""Say what happened in a season: entries, what they stand for, and what comes of them."""
