"""Hold the field page: a layout in one file that a phone opens without a network."""
