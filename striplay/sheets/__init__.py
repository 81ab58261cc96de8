"""The map book: pages to print, drawn on paper and bound; nothing is computed here but places."""
