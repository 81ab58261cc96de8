"""Pure plane geometry: metres in, metres out; no crop, machine, file or map projection."""
