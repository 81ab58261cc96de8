"""Sheets to print: nothing is computed here but where things stand on paper."""
