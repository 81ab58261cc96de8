"""Say when crops grow, and how they suit each other."""
