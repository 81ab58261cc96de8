"""Pure plane geometry: meters in, meters out; no crop, machine, file or map projection."""
